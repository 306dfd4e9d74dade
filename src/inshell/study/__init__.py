"""Many versions of one house: what is not known, what would change the answer, which head to choose."""
