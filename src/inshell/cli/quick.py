"""Quick answers without a house file: unit text in, text or JSON out."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from inshell.cli.show import emit, print_lines
from inshell.sources import table

quick = typer.Typer(no_args_is_help=True, rich_markup_mode=None, help="Answers without a house file.")
Json = Annotated[bool, typer.Option("--json", help="one JSON document on standard output")]
RULES_HELP = ", ".join(name for name, row in table("fresh_air").items() if "family" in row)
TIGHT_HELP = "tightness rule to judge by; repeat for several: " + ", ".join(table("tightness"))


@quick.command("fresh-air")
def fresh_air(
    area: Annotated[str, typer.Option(help='floor area, such as "952 ft2"; its unit picks the IP or SI form')],
    bedrooms: Annotated[int, typer.Option(help="number of bedrooms")],
    rule: Annotated[str, typer.Option(help=RULES_HELP)] = "ashrae-62.2-2019",
    cfm50: Annotated[str | None, typer.Option(help="tested flow at 50 Pa; a bare number is cfm")] = None,
    exponent: Annotated[float, typer.Option(help="pressure exponent of the test")] = 0.65,
    height: Annotated[str | None, typer.Option(help="lowest floor to highest ceiling")] = None,
    weather_factor: Annotated[float | None, typer.Option(help="wsf, from the standard's appendix")] = None,
    balanced: Annotated[bool, typer.Option("--balanced/--unbalanced", help="supply and exhaust within 10 %")] = False,
    new_house: Annotated[bool, typer.Option("--new/--existing", help="new houses: credit at most 2/3")] = True,
    occupants: Annotated[int | None, typer.Option(help="known occupants, if more than bedrooms + 1")] = None,
    as_json: Json = False,
) -> int:
    """Whole-house fresh air that a rule asks for, with the credit for infiltration."""
    from inshell.cli.show_quick import fresh_air_lines
    from inshell.jobs.quick_fresh_air import quick_fresh_air

    result = quick_fresh_air(
        area=area,
        bedrooms=bedrooms,
        rule=rule,
        cfm50=cfm50,
        exponent=exponent,
        height=height,
        weather_factor=weather_factor,
        balanced=balanced,
        new_house=new_house,
        occupants=occupants,
    )
    return emit(as_json, result.as_json(), lambda: print_lines(fresh_air_lines(result)))


@quick.command()
def tightness(
    readings: Annotated[Path, typer.Argument(help="CSV: pressure_pa,flow_m3_h or other units", metavar="READINGS.csv")],
    volume: Annotated[str, typer.Option(help='volume, such as "7616 ft3"')],
    envelope_area: Annotated[str | None, typer.Option(help="area of the enclosure")] = None,
    floor_area: Annotated[str | None, typer.Option(help="floor area")] = None,
    inside: Annotated[str | None, typer.Option(help="indoor temperature")] = None,
    outside: Annotated[str | None, typer.Option(help="outdoor temperature")] = None,
    elevation: Annotated[str | None, typer.Option(help="height above sea level")] = None,
    zero_before: Annotated[str | None, typer.Option(help="signed zero reading before, in to out")] = None,
    zero_after: Annotated[str | None, typer.Option(help="signed zero reading after")] = None,
    height: Annotated[str | None, typer.Option(help="height of the house, for a stack warning")] = None,
    direction: Annotated[
        str | None, typer.Option(help="depressurise or pressurise; gives unsigned readings a sign")
    ] = None,
    method: Annotated[str | None, typer.Option(help="astm-e779, iso-9972 or as-entered")] = None,
    one_point: Annotated[float | None, typer.Option(help="this is a one-point test; the exponent to assume")] = None,
    zone: Annotated[int | None, typer.Option(min=0, max=8, help="climate zone, for rules that ask")] = None,
    rule: Annotated[list[str] | None, typer.Option(help=TIGHT_HELP)] = None,
    as_json: Json = False,
) -> int:
    """Reduce a fan pressurisation test: fit, uncertainty, areas, warnings, verdict per rule; 1 if a rule is not met."""
    from inshell.cli.show_quick import tightness_lines
    from inshell.jobs.quick_tightness import quick_tightness

    result = quick_tightness(
        readings,
        volume=volume,
        envelope_area=envelope_area,
        floor_area=floor_area,
        inside=inside,
        outside=outside,
        elevation=elevation,
        zero_before=zero_before,
        zero_after=zero_after,
        height=height,
        direction=direction,
        method=method,
        one_point=one_point,
        zone=zone,
        rules=rule,
    )
    return emit(as_json, result.as_json(), lambda: print_lines(tightness_lines(result))) or int(result.any_broken)


@quick.command()
def pressure(
    flow_at_50: Annotated[str, typer.Option("--flow-at-50", help='flow at 50 Pa, such as "80 cfm"')],
    exhaust: Annotated[str, typer.Option(help='net exhaust, such as "100 cfm"')],
    exponent: Annotated[float, typer.Option(help="pressure exponent")] = 0.65,
    as_json: Json = False,
) -> int:
    """House pressure that a net exhaust makes: one zone, still air, an upper bound."""
    from inshell.jobs.quick_pressure import quick_pressure

    result = quick_pressure(flow_at_50=flow_at_50, exponent=exponent, exhaust=exhaust)
    return emit(
        as_json, result, lambda: print_lines([f"house pressure {result['house_pressure_pa']:.1f} Pa", result["note"]])
    )


@quick.command()
def assembly(
    file: Annotated[Path, typer.Argument(help="TOML with layers from outside to inside", metavar="FILE.toml")],
    as_json: Json = False,
) -> int:
    """U-value and daily response of a wall, roof or floor.

    \b
    The file holds layers from outside to inside, such as
      kind = "wall"
      layers = [
        { material = "osb", thickness = "7/16 in" },
        { material = "eps", thickness = "5 5/8 in", framing = { share = "5 %" } },
        { material = "gypsum", thickness = "1/2 in" },
      ]
    """
    from inshell.cli.show_quick import assembly_lines
    from inshell.jobs.quick_assembly import quick_assembly

    result = quick_assembly(file)
    return emit(as_json, result, lambda: print_lines(assembly_lines(result)))


@quick.command()
def transfer(
    room_loss: Annotated[str, typer.Option(help='from the room to outdoors, such as "15 Btu/h.F" or "8 W/K"')],
    partition: Annotated[str, typer.Option(help="through partitions from the source room")],
    flow: Annotated[str, typer.Option(help='what the fan moves, such as "60 cfm"')],
    source: Annotated[str, typer.Option(help="temperature of the room it takes air from")],
    outside: Annotated[str, typer.Option(help="outdoor temperature")],
    gain: Annotated[str, typer.Option(help='heat in the room, such as "800 Btu/h"')] = "0 W",
    elevation: Annotated[str | None, typer.Option(help="height above sea level")] = None,
    as_json: Json = False,
) -> int:
    """Steady temperature of a room that a transfer fan feeds."""
    from inshell.cli.show_quick import transfer_lines
    from inshell.jobs.quick_rooms import quick_transfer

    result = quick_transfer(
        room_loss=room_loss,
        partition=partition,
        flow=flow,
        source=source,
        outside=outside,
        gain=gain,
        elevation=elevation,
    )
    return emit(as_json, result, lambda: print_lines(transfer_lines(result)))


@quick.command()
def door(
    width: Annotated[str, typer.Option(help="clear width")],
    height: Annotated[str, typer.Option(help="clear height")],
    warm: Annotated[str, typer.Option(help="temperature of the warmer room")],
    cool: Annotated[str, typer.Option(help="temperature of the cooler room")],
    cd: Annotated[float, typer.Option(help="discharge coefficient, 0.4 to 0.78 in the literature")] = 0.6,
    net_flow: Annotated[str | None, typer.Option(help="net flow, positive from warm to cool")] = None,
    as_json: Json = False,
) -> int:
    """Air each way, and heat, through an open door."""
    from inshell.cli.show_quick import door_lines
    from inshell.jobs.quick_rooms import quick_door

    result = quick_door(width=width, height=height, warm=warm, cool=cool, discharge=cd, net_flow=net_flow)
    return emit(as_json, result, lambda: print_lines(door_lines(result)))


@quick.command()
def gap(
    flow: Annotated[str, typer.Option(help='flow, such as "60 cfm"')],
    area: Annotated[str, typer.Option(help='free area, such as "40 in2"')],
    as_json: Json = False,
) -> int:
    """Pressure that a flow needs through an undercut, gap or grille."""
    from inshell.cli.show_quick import gap_lines
    from inshell.jobs.quick_rooms import quick_gap

    result = quick_gap(flow=flow, area=area)
    return emit(as_json, result, lambda: print_lines(gap_lines(result)))


@quick.command()
def coil(
    entering: Annotated[str, typer.Option(help="air that enters, such as 80 °F")],
    wet_bulb: Annotated[str, typer.Option(help="its wet bulb")],
    flow: Annotated[str, typer.Option(help="air flow")],
    capacity: Annotated[str, typer.Option(help="total cooling capacity")],
    shr: Annotated[float, typer.Option(help="sensible share of it, 0.3 to 1")],
    as_json: Json = False,
) -> int:
    """Leaving air, apparatus dew point, bypass and moisture of a cooling coil."""
    from inshell.cli.show_quick import coil_lines
    from inshell.jobs.quick_rooms import quick_coil

    result = quick_coil(entering=entering, wet_bulb=wet_bulb, flow=flow, capacity=capacity, shr=shr)
    return emit(as_json, result, lambda: print_lines(coil_lines(result)))
