"""Documents that leave the house: the report."""
