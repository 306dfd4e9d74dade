"""All the machinery inside the shell of a small, very tight house, from one description of it."""

__version__ = "0.1.0"
