"""Quick answers about warm floors and hot water; they join the others in `quick`."""

from __future__ import annotations

from typing import Annotated

import typer

from inshell.cli.quick import Json
from inshell.cli.quick_moisture import quick
from inshell.cli.show import emit, print_lines

__all__ = ["quick"]
Room = Annotated[str, typer.Option(help="temperature of the room")]
Length = Annotated[str, typer.Option(help='of the tube, such as "250 ft"')]
Flow = Annotated[str, typer.Option(help='of water, such as "0.5 gpm"')]
Cold = Annotated[str, typer.Option(help="temperature of the cold water")]
Hot = Annotated[str, typer.Option(help="temperature of the hot water")]


@quick.command("floor-output")
def floor_output(
    floor: Annotated[str, typer.Option(help="mean temperature of the floor's surface")],
    room: Room,
    method: Annotated[str, typer.Option(help="en-1264, panel or practice")] = "en-1264",
    as_json: Json = False,
) -> int:
    """Heat from a warm floor by its surface temperature; 1 if people would stand on a floor above 29 °C."""
    from inshell.cli.show_quick_water import floor_lines
    from inshell.jobs.quick_floor import quick_floor_output

    result = quick_floor_output(floor=floor, room=room, method=method)
    emit(as_json, result, lambda: print_lines(floor_lines(result)))
    return 0 if result["is_within_limit"] else 1


@quick.command("slab-cell")
def slab_cell(
    thickness: Annotated[str, typer.Option(help="of the slab")],
    conductivity: Annotated[str, typer.Option(help='of the slab, such as "1.8 W/mK"')],
    spacing: Annotated[str, typer.Option(help="between tubes")],
    tube: Annotated[str, typer.Option(help="nominal size: 3/8, 1/2, 5/8, 3/4, 16x2, 17x2, 20x2")],
    depth: Annotated[str, typer.Option(help="of the tube's axis below the top of the slab")],
    cover_r: Annotated[str, typer.Option(help="resistance of the floor covering, 0 if bare")],
    below_r: Annotated[str, typer.Option(help="resistance below the slab")],
    as_json: Json = False,
) -> int:
    """Heat up and down of a slab with tubes, per kelvin of mean water over room."""
    from inshell.cli.show_quick_water import cell_lines
    from inshell.jobs.quick_floor import quick_slab_cell

    result = quick_slab_cell(
        thickness=thickness, conductivity=conductivity, spacing=spacing, tube=tube, depth=depth, cover_r=cover_r,
        below_r=below_r,
    )  # fmt: skip
    return emit(as_json, result, lambda: print_lines(cell_lines(result)))


@quick.command()
def tube(
    size: Annotated[str, typer.Option(help="nominal size: 3/8, 1/2, 5/8, 3/4, 16x2, 17x2, 20x2")],
    length: Length,
    flow: Flow,
    fluid: Annotated[str, typer.Option(help='water, or "glycol 30 %" (propylene, by mass)')] = "water",
    temperature: Annotated[str, typer.Option(help="of the water")] = "100 °F",
    as_json: Json = False,
) -> int:
    """Loss of pressure, Reynolds number and velocity in a tube."""
    from inshell.cli.show_quick_water import tube_lines
    from inshell.jobs.quick_floor import quick_tube

    result = quick_tube(size=size, length=length, flow=flow, fluid=fluid, temperature=temperature)
    return emit(as_json, result, lambda: print_lines(tube_lines(result)))


@quick.command("circuit-out")
def circuit_out(
    supply: Annotated[str, typer.Option(help="temperature of the water that enters")],
    room: Room,
    length: Length,
    flow: Flow,
    output: Annotated[str, typer.Option(help='heat of each length per degree, such as "0.88 Btu/h.ft.F"')],
    as_json: Json = False,
) -> int:
    """Temperature of the water that comes back from a circuit."""
    from inshell.cli.show_quick_water import circuit_lines
    from inshell.jobs.quick_floor import quick_circuit_out

    result = quick_circuit_out(supply=supply, room=room, length=length, flow=flow, output=output)
    return emit(as_json, result, lambda: print_lines(circuit_lines(result)))


@quick.command()
def buffer(
    minimum: Annotated[str, typer.Option(help="least heat that the heater gives")],
    load: Annotated[str, typer.Option(help="heat that is taken away")],
    minutes: Annotated[float, typer.Option(help="how long it should run at a time")],
    difference: Annotated[str, typer.Option(help='between switching on and off, such as "20 dF" or "10 K"')],
    as_json: Json = False,
) -> int:
    """Water that keeps a heater from short cycling below its least fire."""
    from inshell.cli.show_quick_water import buffer_lines
    from inshell.jobs.quick_water import quick_buffer

    result = quick_buffer(minimum=minimum, load=load, minutes=minutes, difference=difference)
    return emit(as_json, result, lambda: print_lines(buffer_lines(result)))


@quick.command()
def mix(
    flow: Annotated[str, typer.Option(help="at the tap")],
    mixed: Annotated[str, typer.Option(help="temperature at the tap")],
    cold: Cold,
    hot: Hot,
    as_json: Json = False,
) -> int:
    """Hot water in a mixed flow; 1 if what leaves the tap scalds."""
    from inshell.cli.show_quick_water import mix_lines
    from inshell.jobs.quick_water import TAP_MOST_C, quick_mix

    result = quick_mix(flow=flow, mixed=mixed, cold=cold, hot=hot)
    emit(as_json, result, lambda: print_lines(mix_lines(result)))
    return 0 if result["mixed_c"] <= TAP_MOST_C + 0.05 else 1


@quick.command()
def expansion(
    volume: Annotated[str, typer.Option(help="of the whole closed circuit")],
    cold: Cold,
    hot: Hot,
    fill: Annotated[str, typer.Option(help='gauge pressure cold, such as "12 psi"')],
    relief: Annotated[str, typer.Option(help='gauge pressure at which the relief valve opens, such as "30 psi"')],
    glycol: Annotated[float, typer.Option(help="propylene glycol by mass, 0 to 0.6")] = 0.0,
    as_json: Json = False,
) -> int:
    """Least expansion tank of a closed circuit."""
    from inshell.cli.show_quick_water import expansion_lines
    from inshell.jobs.quick_water import quick_expansion

    result = quick_expansion(volume=volume, cold=cold, hot=hot, fill=fill, relief=relief, glycol=glycol)
    return emit(as_json, result, lambda: print_lines(expansion_lines(result)))
