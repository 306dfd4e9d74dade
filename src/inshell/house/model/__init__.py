"""The frozen parts of a house. A key of the file is the field's name without its unit."""

from inshell.house.model.house import House

__all__ = ["House"]
