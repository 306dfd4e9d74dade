"""Commands on a house file."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

import typer

from inshell.cli.quick_water import quick
from inshell.cli.show import emit, print_lines
from inshell.errors import refuse

app = typer.Typer(
    add_completion=False,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    help="Heating, cooling, fresh air and tightness of a small, very tight house, from one description of it.",
    epilog="Exit codes: 0 nothing broken, 1 a promise is broken, 2 the input was refused, 3 internal failure.",
)
app.add_typer(quick, name="quick")

HouseArg = Annotated[Path, typer.Argument(help="the house file", metavar="FILE", show_default=False)]
Json = Annotated[bool, typer.Option("--json", help="one JSON document on standard output")]
Overwrite = Annotated[bool, typer.Option("--overwrite", help="replace a file that exists")]


@app.command()
def new(
    file: HouseArg,
    room: Annotated[
        list[str] | None,
        typer.Option(
            help='"name: width x depth, east of other room", "window: name south, 4 x 4, sill 3", "door: name west"'
        ),
    ] = None,
    rooms: Annotated[Path | None, typer.Option(help="a text file with one such line a room")] = None,
    units: Annotated[Literal["us", "si"], typer.Option(help="what bare numbers mean")] = "us",
    name: Annotated[str, typer.Option(help="name of the house")] = "",
    height: Annotated[str | None, typer.Option(help="ceiling height of all rooms to begin with")] = None,
    partition: Annotated[str | None, typer.Option(help="thickness of partitions")] = None,
    year: Annotated[str, typer.Option(help="typical year")] = "greensboro",
    overwrite: Overwrite = False,
    as_json: Json = False,
) -> int:
    """Write a first house file from measured room sizes."""
    from inshell.cli.asking import room_lines
    from inshell.jobs.new import new_house, shown_house

    lines = room_lines(room, rooms, units)
    new_house(
        file,
        lines=lines,
        units=units,
        name=name or file.stem,
        partition=partition,
        height=height,
        year=year,
        overwrite=overwrite,
    )
    return emit(
        as_json,
        {"written": str(file), "rooms": len(lines)},
        lambda: print_lines([*shown_house(lines, file), f"Written: {file}", f"Next: inshell check {file}"]),
    )


@app.command()
def describe(file: HouseArg, as_json: Json = False) -> int:
    """Show what follows from the drawing: areas, volumes, joints."""
    from inshell.cli.show_house import show_described
    from inshell.jobs.describe import describe as derive

    result = derive(file)
    return emit(as_json, result.as_json(), lambda: show_described(result))


@app.command()
def check(
    file: HouseArg,
    full: Annotated[
        bool, typer.Option("--full", help="also run what takes longer; nothing does in this version")
    ] = False,
    as_json: Json = False,
) -> int:
    """Judge every promise: kept, broken or unknown."""
    from inshell.cli.show_check import show_checked
    from inshell.jobs.check import check as judge

    result = judge(file)
    emit(as_json, result.as_json(), lambda: show_checked(result, full=full))
    return 1 if result.broken else 0


@app.command()
def simulate(
    file: HouseArg,
    day: Annotated[str, typer.Option(help="heating, cooling, or of the year: coldest, hottest, MM-DD")] = "heating",
    year: Annotated[bool, typer.Option("--year", help="the whole weather year instead of a day")] = False,
    step: Annotated[str, typer.Option(help='length of a step, such as "5 min" (days: 1 min, year: 10 min)')] = "",
    every: Annotated[str, typer.Option(help="length of a row of --output, at most 1 h")] = "1 h",
    output: Annotated[
        Path | None, typer.Option("-o", "--output", help="series as a .parquet file, with --year")
    ] = None,
    as_json: Json = False,
) -> int:
    """Show room temperatures, humidity and carbon dioxide on a day, doors open and shut, or through the year."""
    from inshell.cli.show_simulate import show_real_day, show_simulated, show_year, shown_progress
    from inshell.jobs.simulate import simulate as design_day
    from inshell.jobs.simulate import simulate_day
    from inshell.jobs.steps import StepsAsked

    asked = StepsAsked.of(step=step, every=every, year=year, day=day, output=output)
    if year:
        from inshell.jobs.simulate_year import simulate_year

        run = simulate_year(file, step_s=asked.step_s, slot_s=asked.slot_s, output=output, progress=shown_progress())
        return emit(as_json, run.as_json(), lambda: show_year(run))
    if day == "heating":
        design = design_day(file)
        return emit(as_json, design.as_json(), lambda: show_simulated(design))
    real = simulate_day(file, day=day, step_s=asked.step_s, progress=shown_progress())
    return emit(as_json, real.as_json(), lambda: show_real_day(real))


@app.command()
def rooms(
    file: HouseArg,
    room: Annotated[str, typer.Option(help="the room in question; else the one that drifts most")] = "",
    samples: Annotated[int, typer.Option(help="houses drawn from what is not known: 0, or a power of two")] = 256,
    remedies: Annotated[bool, typer.Option("--remedies/--no-remedies", help="try what would change the answer")] = True,
    as_json: Json = False,
) -> int:
    """Show whether every room is comfortable behind its door, why, how sure that is, and what would change it."""
    from inshell.cli.show_rooms import show_rooms, shown_stages
    from inshell.jobs.prove_rooms import prove_rooms

    result, document = prove_rooms(file, room=room, samples=samples, remedies=remedies, progress=shown_stages())
    emit(as_json, document, lambda: show_rooms(result))
    return 1 if result.broken else 0


@app.command()
def air(
    file: HouseArg,
    placements: Annotated[int, typer.Option(help="leak placements drawn: 0, or a power of two")] = 64,
    as_json: Json = False,
) -> int:
    """Show what fans move on their ducts, what sleepers breathe, the sheet to measure by; 1 if a rule is not met."""
    from inshell.cli.show_air import show_air
    from inshell.cli.show_rooms import shown_stages
    from inshell.jobs.air import air as breathe
    from inshell.jobs.air_json import air_json

    result = breathe(file, placements=placements, progress=shown_stages())
    emit(as_json, air_json(result), lambda: show_air(result))
    return 1 if result.broken else 0


@app.command()
def settings(
    file: HouseArg,
    picture: Annotated[Path | None, typer.Option(help="the trade-off as an .svg file")] = None,
    overwrite: Overwrite = False,
    as_json: Json = False,
) -> int:
    """Find the smallest fan settings that keep every promise about air; 1 if no setting can."""
    from inshell.cli.show_rooms import shown_stages
    from inshell.cli.show_settings import show_settings
    from inshell.jobs.keep_settings import keep_settings

    result, document = keep_settings(file, picture=picture, overwrite=overwrite, progress=shown_stages())
    emit(as_json, document, lambda: show_settings(result))
    return 1 if result.broken else 0


@app.command()
def dry(file: HouseArg, as_json: Json = False) -> int:
    """Show where the house gets wet, by diffusion, through joints hour by hour, on cold points, and what rules it."""
    from inshell.cli.show_dry import show_dry
    from inshell.cli.show_rooms import shown_stages
    from inshell.jobs.keep_dry import keep_dry

    result, document = keep_dry(file, progress=shown_stages())
    return emit(as_json, document, lambda: show_dry(result))


@app.command()
def seal(
    file: HouseArg,
    write: Annotated[bool, typer.Option("--write", help="bring seal.csv of the job folder up to date")] = False,
    cards: Annotated[Path | None, typer.Option(help="task cards, one page a trade, as an .html file")] = None,
    overwrite: Overwrite = False,
    as_json: Json = False,
) -> int:
    """List every joint and opening to seal, ranked, with what it should take off the test, and what proves it."""
    from inshell.cli.show_rooms import shown_stages
    from inshell.cli.show_seal import show_seal
    from inshell.jobs.seal import seal as list_seals
    from inshell.jobs.seal_cards import check_cards, seal_json, write_cards

    if cards is not None:
        check_cards(cards, overwrite=overwrite)
    result = list_seals(file, write=write, progress=shown_stages())
    if cards is not None:
        write_cards(result, cards, overwrite=overwrite)
    emit(as_json, seal_json(result), lambda: show_seal(result))
    return 0


@app.command()
def floor(
    file: HouseArg,
    plan: Annotated[
        Path | None, typer.Option(help="the tube plan: .html the crew's sheet, .svg or .dxf the drawing")
    ] = None,
    year: Annotated[bool, typer.Option("--year", help="through the weather year, beside other ways")] = False,
    overwrite: Overwrite = False,
    as_json: Json = False,
) -> int:
    """Lay the floor's tubes, say how warm water and floor must be, balance the loops, and see how the heater cycles."""
    from inshell.cli.show_floor import show_floor
    from inshell.jobs.floor import floor as warm
    from inshell.jobs.floor_json import floor_json
    from inshell.jobs.floor_sheet import check_plan, write_plan

    if plan is not None:
        check_plan(plan, overwrite=overwrite)
    result = warm(file, through_year=year)
    if plan is not None:
        write_plan(result, plan, overwrite=overwrite)
    emit(as_json, floor_json(result), lambda: show_floor(result))
    return int(any(promise.verdict == "broken" for promise in result.promises))


@app.command("hot-water")
def hot_water(file: HouseArg, as_json: Json = False) -> int:
    """Say what the taps draw at once, whether the heater keeps up by season, and what can scald or stand."""
    from inshell.cli.show_floor import show_hot_water
    from inshell.jobs.hot_water import hot_water as hot
    from inshell.jobs.hot_water import hot_water_json

    result = hot(file)
    return emit(as_json, hot_water_json(result), lambda: show_hot_water(result))


@app.command()
def report(
    file: HouseArg,
    output: Annotated[Path, typer.Option("-o", "--output", help="the HTML file to write")] = Path("report.html"),
    as_json: Json = False,
) -> int:
    """Write one printable page about a house."""
    from inshell.jobs.report import write_report

    checked = write_report(file, output)
    counts = {verdict: checked.count(verdict) for verdict in ("kept", "broken", "unknown")}
    lines = [f"Report: {output}", ", ".join(f"{count} {verdict}" for verdict, count in counts.items())]
    emit(as_json, {"written": str(output), "promises": counts}, lambda: print_lines(lines))
    return 1 if checked.broken else 0


@app.command()
def climate(file: HouseArg, as_json: Json = False) -> int:
    """Show the weather, the ground, mains water and sun on windows."""
    from inshell.cli.show_climate import show_climate
    from inshell.jobs.climate import site_climate

    result = site_climate(file)
    return emit(as_json, result.as_json(), lambda: show_climate(result))


@app.command()
def ids(file: HouseArg, as_json: Json = False) -> int:
    """Write the ids that a house file has not got yet."""
    from inshell.jobs.write_ids import write_ids

    added = write_ids(file)
    document = {"added": [{"path": list(path), "id": new_id} for path, new_id in added]}
    return emit(as_json, document, lambda: print_lines([f"{len(added)} ids written to {file}"]))


@app.command("record-test")
def record_test(
    file: HouseArg,
    readings: Annotated[Path, typer.Argument(help="CSV of readings", metavar="READINGS", show_default=False)],
    stage: Annotated[str, typer.Option(help="pre-drywall, interim or final")] = "",
    purpose: Annotated[str, typer.Option(help="diagnostic or compliance")] = "",
    date: Annotated[str, typer.Option(help="day of the test")] = "",
    person: Annotated[str, typer.Option(help="who tested")] = "",
    instrument: Annotated[str, typer.Option(help="fan and gauge")] = "",
    temporary_seals: Annotated[str, typer.Option(help="what was taped for the test")] = "",
    not_yet_cut: Annotated[str, typer.Option(help="holes still to come")] = "",
    one_point: Annotated[str, typer.Option(help="exponent assumed if one pressure was read, usually 0.65")] = "",
    overwrite: Overwrite = False,
    as_json: Json = False,
) -> int:
    """Put a pressurisation test into the job folder."""
    from inshell.cli.show_quick import show_recorded
    from inshell.jobs.record_test import record_test as record

    said = {
        "stage": stage,
        "purpose": purpose,
        "date": date,
        "person": person,
        "instrument": instrument,
        "temporary_seals": temporary_seals,
        "not_yet_cut": not_yet_cut,
        "one_point": one_point,
    }
    recorded = record(file, readings, said=said, overwrite=overwrite)
    return emit(as_json, recorded.as_json(), lambda: show_recorded(recorded))


@app.command()
def schema(as_json: Json = False) -> int:
    """Print the JSON schema of the house file."""
    from inshell.house.model import House

    del as_json  # the schema is JSON either way
    return emit(True, House.model_json_schema(by_alias=True), lambda: None)


@app.command()
def years(as_json: Json = False) -> int:
    """List the typical years that are installed."""
    from inshell.jobs.years import list_years

    rows = list_years()
    missing = {True: "", False: "  (its package is not installed; the README says how to add it)"}
    lines = [f"{r['name']:16} {r['title']}{missing[r['installed']]}" for r in rows]
    return emit(as_json, {"years": rows}, lambda: print_lines(lines))


@app.command()
def verify(
    only: Annotated[str, typer.Option(help="run only checks whose name or source contains this")] = "",
    as_json: Json = False,
) -> int:
    """Run the checks of the calculations on this machine."""
    from inshell.cli.show_verify import show_verified
    from inshell.jobs.verify import verify as run_checks

    rows = run_checks(only)
    if not rows:
        raise refuse("--only", repr(only), "part of a check's name or source; without it, every check")
    emit(as_json, {"checks": [row.as_json() for row in rows]}, lambda: show_verified(rows))
    return 0 if all(row.holds for row in rows) else 1


@app.command()
def version(as_json: Json = False) -> int:
    """Print the version."""
    from inshell import __version__

    return emit(as_json, {"version": __version__}, lambda: print_lines([__version__]))
