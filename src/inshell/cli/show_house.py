"""`inshell describe` as text."""

from __future__ import annotations

from inshell.cli.show import print_lines, print_table
from inshell.jobs.describe import Described
from inshell.units import show


def show_described(result: Described) -> None:
    """Sizes, rooms, surfaces and joints of a house."""
    house, g, units = result.house, result.geometry, result.house.units
    print_lines([house.name or result.file.path.stem, ""])
    print_table("Sizes", ["", "net", "air barrier", "gross"], [
        ["floor area", show(sum(s.net_floor_m2 for s in g.spaces), "area", units), show(g.floor_m2, "area", units),
         show(result.gross.floor_m2, "area", units)],
        ["volume", show(g.net_volume_m3, "volume", units),
         show(result.gross.air_barrier_m3(house, g), "volume", units), show(result.gross.volume_m3, "volume", units)],
    ], right=(1, 2, 3))
    print_lines([f"enclosure {show(g.enclosure_m2, 'area', units)}, height {show(g.height_m, 'length', units)}", ""])
    print_table("Rooms", ["room", "floor", "volume", "highest"], [
        [s.room, show(s.floor_m2, "area", units), show(s.volume_m3, "volume", units),
         show(s.highest_m - g.lowest_m, "length", units)] for s in g.spaces], right=(1, 2, 3))
    print_table("Surfaces", ["surface", "kind", "beyond", "area", "net", "faces", "tilt", "mid height"], [
        [s.id, s.kind, s.other, show(s.area_m2, "area", units), show(s.net_m2, "area", units),
         f"{s.azimuth_deg:.0f}°", f"{s.tilt_deg:.0f}°", show(s.centre_m - g.lowest_m, "length", units)]
        for s in g.surfaces], right=(3, 4, 5, 6, 7))
    print_table("Joints", ["kind", "length"], [
        [kind, show(length, "length", units)] for kind, length in result.joints_m().items()], right=(1,))
    print_lines([f"shell {result.file.shell_hash[:16]}, model {result.file.model_hash[:16]}"])
