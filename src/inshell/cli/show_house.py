"""`inshell describe` as text."""

from __future__ import annotations

from inshell.cli.show import print_lines, print_table
from inshell.jobs.describe import Described
from inshell.units import show


def show_described(result: Described) -> None:
    """Sizes, rooms, surfaces and joints of a house."""
    file, units = result.file, result.house.units
    print_lines([result.house.name or file.path.stem, ""])
    _sizes(result)
    _rooms(result)
    _surfaces(result)
    lengths = [[kind, show(length, "length", units)] for kind, length in result.joints_m().items()]
    print_table("Joints", ["kind", "length"], lengths, right=(1,))
    print_lines([f"shell {file.shell_hash[:16]}, model {file.model_hash[:16]}"])


def _sizes(result: Described) -> None:
    g, gross, units = result.geometry, result.gross, result.house.units
    areas = (sum(s.net_floor_m2 for s in g.spaces), g.floor_m2, gross.floor_m2)
    volumes = (g.net_volume_m3, gross.air_barrier_m3(result.house, g), gross.volume_m3)
    rows = [
        ["floor area", *(show(area, "area", units) for area in areas)],
        ["volume", *(show(volume, "volume", units) for volume in volumes)],
    ]
    print_table("Sizes", ["", "net", "air barrier", "gross"], rows, right=(1, 2, 3))
    print_lines([f"enclosure {show(g.enclosure_m2, 'area', units)}, height {show(g.height_m, 'length', units)}", ""])


def _rooms(result: Described) -> None:
    g, units = result.geometry, result.house.units
    rows = [
        [
            s.room,
            show(s.floor_m2, "area", units),
            show(s.volume_m3, "volume", units),
            show(s.highest_m - g.lowest_m, "length", units),
        ]
        for s in g.spaces
    ]
    print_table("Rooms", ["room", "floor", "volume", "highest"], rows, right=(1, 2, 3))


def _surfaces(result: Described) -> None:
    g, units = result.geometry, result.house.units
    rows = [
        [
            s.id,
            s.kind,
            s.other,
            show(s.area_m2, "area", units),
            show(s.net_m2, "area", units),
            f"{s.azimuth_deg:.0f}°",
            f"{s.tilt_deg:.0f}°",
            show(s.centre_m - g.lowest_m, "length", units),
        ]
        for s in g.surfaces
    ]
    headers = ["surface", "kind", "beyond", "area", "net", "faces", "tilt", "mid height"]
    print_table("Surfaces", headers, rows, right=(3, 4, 5, 6, 7))
