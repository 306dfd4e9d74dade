"""Quick answers about ducts, fans, carbon dioxide and run time; they join the others in `quick`."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from inshell.cli.quick import Json, quick
from inshell.cli.show import emit, print_lines

__all__ = ["quick"]
Diameter = Annotated[str, typer.Option(help='inside diameter, such as "4 in"')]
Length = Annotated[str, typer.Option(help='stretched length, such as "14 ft"')]
Fittings = Annotated[
    str, typer.Option(help="sum of loss coefficients, or elbow:2,cap:1 with elbow, mitred, entry, exit, damper, cap")
]
Material = Annotated[str, typer.Option(help="smooth or flex")]
Compression = Annotated[float, typer.Option(help="how much shorter than stretched a flexible duct lies, as a share")]


@quick.command()
def duct(
    diameter: Diameter,
    length: Length,
    fittings: Fittings,
    flow: Annotated[str, typer.Option(help="air flow")],
    material: Material = "smooth",
    compression: Compression = 0.04,
    as_json: Json = False,
) -> int:
    """Pressure and speed of air in a duct."""
    from inshell.cli.show_quick_air import duct_lines
    from inshell.jobs.quick_air import quick_duct

    result = quick_duct(
        diameter=diameter, length=length, fittings=fittings, flow=flow, material=material, compression=compression
    )
    return emit(as_json, result, lambda: print_lines(duct_lines(result)))


@quick.command()
def fan(
    curve: Annotated[Path, typer.Option(help="CSV headed flow_cfm,pressure_pa or other units")],
    diameter: Diameter,
    length: Length,
    fittings: Fittings,
    house_pressure: Annotated[str | None, typer.Option(help="of the house against outdoors, such as -11 Pa")] = None,
    material: Material = "smooth",
    compression: Compression = 0.04,
    as_json: Json = False,
) -> int:
    """Flow of a fan on its duct, with the house at a pressure."""
    from inshell.cli.show_quick_air import fan_lines
    from inshell.jobs.quick_air import quick_fan

    result = quick_fan(
        curve=curve, diameter=diameter, length=length, fittings=fittings, house_pressure=house_pressure,
        material=material, compression=compression,
    )  # fmt: skip
    return emit(as_json, result, lambda: print_lines(fan_lines(result)))


@quick.command()
def co2(
    people: Annotated[str, typer.Option(help="such as adult-asleep:2,child-asleep")],
    outdoor_flow: Annotated[str, typer.Option(help="outdoor air")],
    volume: Annotated[str | None, typer.Option(help="of the room, for its course")] = None,
    hours: Annotated[float, typer.Option(help="how long")] = 8.0,
    start: Annotated[float | None, typer.Option(help="ppm at the beginning")] = None,
    as_json: Json = False,
) -> int:
    """Carbon dioxide of people in one room."""
    from inshell.cli.show_quick_air import co2_lines
    from inshell.jobs.quick_air import quick_co2

    result = quick_co2(people=people, outdoor_flow=outdoor_flow, volume=volume, hours=hours, start=start)
    return emit(as_json, result, lambda: print_lines(co2_lines(result)))


@quick.command()
def exposure(
    required: Annotated[str, typer.Option(help="flow that would meet the rule if it always ran")],
    volume: Annotated[str, typer.Option(help="of the house")],
    flows: Annotated[str, typer.Option(help="hourly flows in the unit of --required, such as 0,0,100,100")],
    as_json: Json = False,
) -> int:
    """Relative exposure under flows that change by the hour; 1 if the mean or the highest is too high."""
    from inshell.cli.show_quick_air import exposure_lines
    from inshell.jobs.quick_air import quick_exposure

    result = quick_exposure(required=required, volume=volume, flows=flows)
    emit(as_json, result, lambda: print_lines(exposure_lines(result)))
    return 0 if result["meets"] else 1


@quick.command()
def intermittent(
    rule: Annotated[str, typer.Option(help="ashrae-62.2-2019 or another edition, irc-2018-table")],
    required: Annotated[str, typer.Option(help="flow if it always ran")],
    on_fraction: Annotated[float, typer.Option(help="share of the time that it runs")],
    cycle: Annotated[str, typer.Option(help='from one start to the next, such as "4 h"')],
    volume: Annotated[str | None, typer.Option(help="of the house, for long cycles")] = None,
    as_json: Json = False,
) -> int:
    """Flow that a fan needs while it runs, if it runs a part of the time."""
    from inshell.cli.show_quick_air import intermittent_lines
    from inshell.jobs.quick_air import quick_intermittent

    result = quick_intermittent(rule=rule, required=required, on_fraction=on_fraction, cycle=cycle, volume=volume)
    return emit(as_json, result, lambda: print_lines(intermittent_lines(result)))
