"""Quick answers about moisture; they join the others in `quick`."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from inshell.cli.quick import Json
from inshell.cli.quick_air import quick
from inshell.cli.show import emit, print_lines

__all__ = ["quick"]
Inside = Annotated[str, typer.Option(help="indoor temperature")]
Humidity = Annotated[float, typer.Option(help="relative humidity, 0 to 1")]


@quick.command()
def vapour(
    file: Annotated[Path, typer.Argument(help="layers and climate, as in docs/methods/moisture.md", metavar="FILE")],
    as_json: Json = False,
) -> int:
    """Condensation inside layers month by month; 1 if something does not dry or the method does not reach."""
    from inshell.cli.show_quick_moisture import vapour_lines
    from inshell.jobs.quick_vapour import quick_vapour

    result = quick_vapour(file)
    emit(as_json, result, lambda: print_lines(vapour_lines(result)))
    return 0 if result["passes"] else 1


@quick.command("leak-moisture")
def leak_moisture(
    pressure: Annotated[str, typer.Option(help="across the leak, such as 4 Pa")],
    inside: Inside,
    humidity: Humidity,
    skin: Annotated[str, typer.Option(help="temperature of the cold skin")],
    area: Annotated[str | None, typer.Option(help="open area of a hole")] = None,
    slit: Annotated[str | None, typer.Option(help='width x depth x length, such as "0.5 mm x 250 mm x 1 m"')] = None,
    elevation: Annotated[str | None, typer.Option(help="above sea level")] = None,
    as_json: Json = False,
) -> int:
    """Air through a leak, and the water that it can leave on a cold skin."""
    from inshell.cli.show_quick_moisture import leak_lines
    from inshell.jobs.quick_moisture import quick_leak_moisture

    result = quick_leak_moisture(
        area=area, slit=slit, pressure=pressure, inside=inside, humidity=humidity, skin=skin, elevation=elevation
    )
    return emit(as_json, result, lambda: print_lines(leak_lines(result)))


@quick.command()
def mould(
    temperature: Annotated[str, typer.Option(help="of the surface")],
    humidity: Humidity,
    days: Annotated[float, typer.Option(help="how long")],
    surface: Annotated[str, typer.Option("--class", help="very-sensitive, sensitive, medium or resistant")],
    as_json: Json = False,
) -> int:
    """Mould index of a surface after days of steady conditions; 1 if it passes 3."""
    from inshell.cli.show_quick_moisture import mould_lines
    from inshell.jobs.quick_moisture import quick_mould

    result = quick_mould(temperature=temperature, humidity=humidity, days=days, surface=surface)
    emit(as_json, result, lambda: print_lines(mould_lines(result)))
    return 0 if result["index"] <= result["limit"] else 1


@quick.command()
def window(
    outside: Annotated[str, typer.Option(help="outdoor temperature")],
    inside: Inside,
    frsi: Annotated[float, typer.Option(help="temperature factor of the coldest inside point, 0 to 1")],
    as_json: Json = False,
) -> int:
    """Highest indoor humidity without condensation on a window or another cold point."""
    from inshell.cli.show_quick_moisture import window_lines
    from inshell.jobs.quick_moisture import quick_window

    result = quick_window(outside=outside, inside=inside, frsi=frsi)
    return emit(as_json, result, lambda: print_lines(window_lines(result)))


@quick.command()
def hole(
    pressure: Annotated[str, typer.Option(help="across the hole, such as 50 Pa")],
    diameter: Annotated[str | None, typer.Option(help="of a round hole")] = None,
    area: Annotated[str | None, typer.Option(help="open area")] = None,
    as_json: Json = False,
) -> int:
    """Air through a plain hole."""
    from inshell.cli.show_quick_moisture import hole_lines
    from inshell.jobs.quick_moisture import quick_hole

    result = quick_hole(diameter=diameter, area=area, pressure=pressure)
    return emit(as_json, result, lambda: print_lines(hole_lines(result)))


@quick.command()
def zone(
    before: Annotated[str | None, typer.Option(help="from house to zone, before the hole, such as 40 Pa")] = None,
    after: Annotated[str | None, typer.Option(help="the same with the hole open")] = None,
    hole: Annotated[str | None, typer.Option(help="area of the hole between house and zone")] = None,
    closed: Annotated[str | None, typer.Option(help="test flow with the zone's door shut")] = None,
    opened: Annotated[str | None, typer.Option("--open", help="test flow with it open")] = None,
    zone_pressure: Annotated[str | None, typer.Option("--zone", help="from zone to outdoors, door shut")] = None,
    exponent: Annotated[float, typer.Option(help="of all leaks")] = 0.65,
    house: Annotated[str, typer.Option(help="the house against outdoors")] = "50 Pa",
    as_json: Json = False,
) -> int:
    """Leaks of an attic, garage or crawl space under the test fan: add a hole, or open its door."""
    from inshell.cli.show_quick_moisture import zone_lines
    from inshell.jobs.quick_moisture import quick_zone

    result = quick_zone(
        before=before, after=after, hole=hole, closed=closed, opened=opened, zone=zone_pressure, exponent=exponent,
        house=house,
    )  # fmt: skip
    return emit(as_json, result, lambda: print_lines(zone_lines(result)))
