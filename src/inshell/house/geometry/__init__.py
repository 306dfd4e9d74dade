"""Everything that follows from outlines, heights and planes. Derived once; `derive` is the way in."""

from inshell.house.geometry.derive import Geometry, derive

__all__ = ["Geometry", "derive"]
