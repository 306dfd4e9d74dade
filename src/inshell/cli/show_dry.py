"""`inshell dry` as text."""

from __future__ import annotations

from inshell.cli.show import print_lines, print_table
from inshell.design.skin_cases import JointYear
from inshell.jobs.dry import Dry, moisture_words
from inshell.jobs.dry_json import RANGED
from inshell.units import System, show, show_opening

MOST_ROWS = 12
ONLY_OUTER = (
    "Judged are wooden boards outside the insulation alone; inner skins that cooling chills in humid weather are not."
)
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def show_dry(result: Dry) -> None:
    """Assemblies, joints, soil, cold points, humidity, findings."""
    units = result.answer.house.units
    area = show_opening(result.leakage_m2, units)
    print_lines(
        [f"{result.answer.house.name}: moisture", "", f"Leakage shared out: {area} at 4 Pa, from {result.basis}", ""]
    )
    _assemblies(result)
    _joints(result, units)
    _soil(result, units)
    _points(result, units)
    _humidity(result)
    for finding in result.findings:
        print_lines([f"  {finding.severity}: {finding.where}: {finding.message(units)}"])
        print_lines([f"      {finding.action(units)}"])


def _assemblies(result: Dry) -> None:
    rows = [
        [
            a.assembly,
            a.kind,
            f"{a.better.most_kg_m2:.3f} to {a.worse.most_kg_m2:.3f}",
            "–" if a.beyond else "dries" if a.block.holds else "does NOT dry",
            f"{a.factor:.2f} (at least {a.least_factor:.2f})",
            a.verdict,
        ]
        for a in result.assemblies
    ]
    headers = ["assembly", "is a", "most held, kg/m²", "two seasons", "inside factor", "by month"]
    print_table("By diffusion alone: both bounds of its skins; no joint is cleared by it", headers, rows, right=(2,))


def _joints(result: Dry, units: System) -> None:
    for scenario in result.scenarios:
        judged = [j for j in scenario.joints if j.cases]
        rows = [_joint(j, units) for j in judged[:MOST_ROWS]]
        blind = len(scenario.joints) - len(judged)
        count = f"{len(judged)} judged, {blind} could not be; the {min(len(judged), MOST_ROWS)} wettest are shown"
        title = f"Through joints at cold skins, {scenario.name}: {count}, wettest first"
        headers = [
            "joint", "length", "outward", "at mean", "leaves, kg/m", "board at its wettest", "mould index", "ruled by",
            "so",
        ]  # fmt: skip
        print_table(title, headers, rows, right=(1, 2, 3, 4, 5, 6))

    print_lines([ONLY_OUTER, ""])


def _joint(j: JointYear, units: System) -> list[str]:
    middle = j.of("central")
    deposit, moisture, mould = (j.span(name) for name in RANGED)
    size = show(j.share.place.size, "length", units) if j.share.place.is_joint else f"{j.share.place.size:.0f}"
    return [
        j.share.place.id,
        size,
        f"{j.outward_h} h",
        f"{j.mean_pa:+.1f} Pa",
        f"{middle.deposit_kg_m:.2f} ({deposit[0]:.2f} to {deposit[1]:.1f})",
        f"{moisture_words(middle.most_kg_kg)} ({moisture_words(moisture[0])} to {moisture_words(moisture[1])})",
        f"{middle.mould:.1f} ({mould[0]:.1f} to {mould[1]:.1f})",
        j.rules,
        j.worst,
    ]


def _soil(result: Dry, units: System) -> None:
    rows = [
        [
            s.name,
            o.place.id,
            show_opening(o.place.open_m2, units),
            f"{o.mean_pa:.1f} Pa",
            *(show(flow, "flow", units) for flow in o.inflow_m3_s),
        ]
        for s in result.scenarios
        for o in s.soil
    ]
    if rows:
        headers = ["", "opening", "open", "drawn at", "silty soil", "sandy", "gravel"]
        print_table("Openings in the slab while they are open", headers, rows, right=range(2, 7))


def _points(result: Dry, units: System) -> None:
    rows = [
        [
            p.room,
            p.where,
            f"{p.factor:.2f} ({p.source})",
            show(p.coldest_c, "temperature", units),
            str(p.hours_wet),
            str(p.hours_damp),
            f"{p.mould:.1f}",
        ]
        for p in result.points[:MOST_ROWS]
    ]
    if rows:
        headers = ["room", "point", "factor", "coldest", "hours wet", "hours above 80 %", "mould index"]
        print_table("Cold points inside", headers, rows, right=(3, 4, 5, 6))
    weeks = result.weekly_limit
    if weeks:
        low = min(range(len(weeks)), key=lambda k: weeks[k])
        print_lines(
            [f"Keep humidity below {weeks[low]:.0%} in the coldest week ({low + 1}) so that no window runs.", ""]
        )


def _humidity(result: Dry) -> None:
    rows = [[h.room, *(f"{m:.0%}" for m in h.mean)] for h in result.humidity]
    rows += [[f"{h.room}, first year", *(f"{m:.0%}" for m in h.first_year)] for h in result.humidity[:1]]
    print_table("Mean humidity by month", ["room", *MONTHS], rows, right=range(1, 13))
