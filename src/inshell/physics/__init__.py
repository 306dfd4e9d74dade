"""Building physics as pure functions: keyword-only, SI, no houses. Temperatures in °C unless the name says k."""
