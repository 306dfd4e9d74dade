"""Weather, sun, ground and mains water."""
