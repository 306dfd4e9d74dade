"""`inshell new`: a first house file from measured inside sizes, with everything else ready to be changed."""

from __future__ import annotations

import json
import math
from pathlib import Path

from shapely.ops import unary_union

from inshell.climate.prepare import named_year
from inshell.errors import InputRefused, Problem, refuse
from inshell.house.placing import Rectangle, outlines_from, place_rooms
from inshell.house.placing_openings import Openings, block, read_openings, split_lines
from inshell.house.reading import parse_house, read_house
from inshell.house.writing import write_text
from inshell.units import System, UnitError, parse_quantity, show

USES = {
    "bed": "bedroom",
    "bath": "bath",
    "toilet": "toilet",
    "wc": "toilet",
    "kitchen": "kitchen",
    "living": "living",
    "hall": "hall",
    "closet": "closet",
    "utility": "utility",
    "laundry": "laundry",
    "office": "office",
    "stair": "stair",
    "loft": "loft",
}


def new_house(
    path: Path,
    *,
    lines: list[str],
    units: System,
    name: str,
    partition: str | None,
    height: str | None,
    year: str,
    overwrite: bool,
) -> str:
    """Write a house file; returns its text. Raises InputRefused with every line that cannot be placed."""
    partition_m = _size("--partition", partition or ("4 1/2 in" if units == "us" else "0.115 m"), units)
    height_m = _size("--height", height or ("8 ft" if units == "us" else "2.5 m"), units)
    rectangles, openings = read_lines(lines, units, partition_m=partition_m)
    text = _text(rectangles, openings, units=units, name=name, partition_m=partition_m, height_m=height_m, year=year)
    import tomllib

    parse_house(tomllib.loads(text), text, path)  # what is written must be readable, or nothing is written
    write_text(path, text, overwrite=overwrite, make_folder=True)
    return text


WIDE_M = 0.9  # of wall that two rooms share, for a door to fit
LIMITS_M = {"--partition": (0.0, 0.6), "--height": (1.0, 12.0)}


def read_lines(lines: list[str], units: System, *, partition_m: float = 0.1143) -> tuple[list[Rectangle], Openings]:
    """Rooms, windows and doors from lines of text; raises InputRefused with every line that is not understood."""
    rooms, holes = split_lines(lines)
    rectangles = place_rooms(rooms, partition_m=partition_m, system=units)
    return rectangles, read_openings(holes, {name: r.id for r in rectangles for name in (r.id, r.name)}, system=units)


def _size(option: str, text: str, units: System) -> float:
    low, high = LIMITS_M[option]
    try:
        value = parse_quantity(text, "length", system=units)
    except UnitError as error:
        raise InputRefused([Problem(option, error.found, error.accepted)]) from None
    if not low <= value <= high:
        raise refuse(option, repr(text), f"{show(low, 'length', units)} to {show(high, 'length', units)}")
    return value


def _length(value: float, units: System) -> str:
    if units == "si":
        return f"{value:.3f} m"
    feet, inches = divmod(round(abs(value) / 0.0254 * 16) / 16, 12)
    sign = "-" if value < 0 and (feet or inches) else ""
    whole = f"{inches:g} in" if inches else ""
    return (sign + (f"{feet:g} ft {whole}" if feet else whole or "0 ft")).strip()


def _use(name: str) -> str:
    low = name.lower()
    if "kitchen" in low and "living" in low:
        return "kitchen-living"
    return next((use for key, use in USES.items() if key in low), "other")


def _storeys(count: int, height_m: float, units: System) -> str:
    """Storeys one ceiling height and a floor apart; nothing where there is one."""
    deck = 0.3048 if units == "us" else 0.3
    if count == 1:
        return ""
    heights = [_length(k * (height_m + deck), units) for k in range(count)]
    blocks = [f'[[storey]]\nid = "storey-{k}"\nfloor_height = "{high}"\n' for k, high in enumerate(heights, start=1)]
    return "# change: heights of the floors above the lowest one\n" + "\n".join(blocks) + STAIR


def _text(
    rectangles: list[Rectangle],
    openings: Openings,
    *,
    units: System,
    name: str,
    partition_m: float,
    height_m: float,
    year: str,
) -> str:
    outlines = outlines_from(rectangles, partition_m=partition_m)
    storeys = 1 + max(r.storey for r in rectangles)
    parts = [_head(units, name, year, partition_m), _storeys(storeys, height_m, units)]
    for r in rectangles:
        corners = ",\n".join(
            f'  {{ id = "c{k}", x = "{_length(x, units)}", y = "{_length(y, units)}" }}'
            for k, (x, y) in enumerate(outlines[r.id], start=1)
        )
        parts.append(
            ROOM.format(
                id=r.id,
                name=json.dumps(r.name, ensure_ascii=False)[1:-1],
                use=_use(r.name),
                height=_length(height_m, units),
                corners=corners,
                storey=f'storey = "storey-{r.storey + 1}"\n' if storeys > 1 else "",
            )
        )
    first = rectangles[0]
    at = "1 ft" if units == "us" else "0.3 m"
    if openings.doors:
        parts += [block(opening) for opening in openings.doors]
    else:
        parts.append(FRONT_DOOR.format(room=first.id, wall=_free_wall(rectangles, outlines), at=at))
    parts += [block(opening) for opening in openings.windows] or [NO_WINDOW.format(room=first.id)]
    for one, two in _neighbours(rectangles, outlines):
        parts.append(DOOR.format(id=f"door-{one}-{two}", one=one, two=two))
    return "\n".join(part for part in parts if part)


US_SIZES = {
    "wall_foam": "5 5/8 in",
    "roof_foam": "9 3/8 in",
    "skin": "7/16 in",
    "board": "1/2 in",
    "stud": "3 1/2 in",
    "slab": "4 in",
    "under": "R-10",
    "edge_depth": "2 ft",
    "u": "0.28 Btu/h.ft2.F",
    "u_door": "0.20 Btu/h.ft2.F",
    "warm": "70 °F",
    "width": "4 ft",
}
SI_SIZES = {
    "wall_foam": "0.143 m",
    "roof_foam": "0.238 m",
    "skin": "0.011 m",
    "board": "0.0125 m",
    "stud": "0.09 m",
    "slab": "0.1 m",
    "under": "1.8 m2K/W",
    "edge_depth": "0.6 m",
    "u": "1.6 W/m2K",
    "u_door": "1.1 W/m2K",
    "warm": "21 °C",
    "width": "1.2 m",
}


def _head(units: System, name: str, year: str, partition_m: float) -> str:
    sizes = US_SIZES if units == "us" else SI_SIZES
    plain = json.dumps(name, ensure_ascii=False)[1:-1]
    station = named_year(year, "--year")
    sizes = sizes | {"cold": show(station.percentile_c(1.0), "temperature", units)}
    return HEAD.format(
        units=units,
        name=plain,
        year=year,
        partition=_length(partition_m, units),
        latitude=station.latitude_deg,
        longitude=station.longitude_deg,
        elevation=f"{station.elevation_m / 0.3048:.0f} ft" if units == "us" else f"{station.elevation_m:.0f} m",
        **sizes,
    )


def _free_wall(rectangles: list[Rectangle], outlines: dict[str, list[tuple[float, float]]]) -> str:
    """The side of the first room that no room stands against: its outer door goes there."""
    r, (x0, y0), (x1, y1) = rectangles[0], outlines[rectangles[0].id][0], outlines[rectangles[0].id][2]
    taken = (abs(r.y0 - y0) > 1e-9, abs(x1 - r.x1) > 1e-9, abs(y1 - r.y1) > 1e-9, abs(r.x0 - x0) > 1e-9)
    sides = ("south", "east", "north", "west")
    return next((side for side, used in zip(sides, taken, strict=True) if not used), "south")


def _neighbours(rectangles: list[Rectangle], outlines: dict[str, list[tuple[float, float]]]) -> list[tuple[str, str]]:
    """One door from each room to a room before it that it shares enough wall with."""
    pairs = []
    for k, r in enumerate(rectangles):
        for other in (o for o in rectangles[:k] if o.storey == r.storey):
            (x0, y0), (x1, y1) = outlines[r.id][0], outlines[r.id][2]
            (u0, v0), (u1, v1) = outlines[other.id][0], outlines[other.id][2]
            across = min(abs(x0 - u1), abs(u0 - x1)) < 1e-6 and min(y1, v1) - max(y0, v0) > 0.9
            along = min(abs(y0 - v1), abs(v0 - y1)) < 1e-6 and min(x1, u1) - max(x0, u0) > 0.9
            if across or along:
                pairs.append((other.id, r.id))
                break
    return pairs


def shown_house(lines: list[str], path: Path) -> list[str]:
    """The rooms as they were understood, the whole inside, doors that were put in, neighbours that have none."""
    file = read_house(path)
    units, geometry = file.house.units, file.geometry
    sizes = [(r.name, show(r.x1 - r.x0, "length", units), show(r.y1 - r.y0, "length", units))
             for r in read_lines(lines, units)[0]]  # fmt: skip
    west, south, east, north = unary_union([o.polygon for o in geometry.outlines]).bounds
    whole = " x ".join(show(size, "length", units) for size in (east - west, north - south))
    partition = show(float(file.house.enclosure.partition_thickness_m), "length", units)
    joined = {frozenset(door.between) for door in file.house.door if door.between}
    joined |= {frozenset(passage.between) for passage in file.house.passage}
    beside = {
        frozenset((s.room, s.other)): None for s in geometry.surfaces
        if s.kind == "partition" and s.ends and math.dist(*s.ends) > WIDE_M
    }  # fmt: skip
    words = {True: [], False: []}  # type: dict[bool, list[str]]
    for pair in beside:
        words[pair in joined].append(" and ".join(sorted(pair)))
    told = [f"{name}: {wide} x {deep}" for name, wide, deep in sizes]
    told += [f"All rooms together: {whole} inside; sizes are clear, partitions of {partition} lie between."]
    told += [f"Doors or passages were put between {'; '.join(words[True])}."] if words[True] else []
    return told + ([f"Neighbours without a door: {'; '.join(words[False])}."] if words[False] else [])


HEAD = """# Written by inshell new. Change anything; comments and order are kept.
# Every value may say where it comes from: {{ value = "80 cfm", from = "measured" }}
format = 1
units = "{units}"
name = "{name}"

[site]
latitude = {latitude:.2f}     # the weather station's place; change: where the house stands
longitude = {longitude:.2f}
elevation = "{elevation}"
plan_north = "north"   # true direction of the plan's top
# climate_zone = 4     # energy-code zone, for tightness limits

[climate]
year = "{year}"        # inshell years lists them; or [climate.file] for your own
heating_design = {{ value = "{cold}", from = "assumed", note = "99 % of the year; ask the code official" }}

[household]
heating_set_point = "{warm}"

[tightness]
ach50 = 1.0            # what is designed; tests lie in the job folder

[enclosure]
wall = "wall-panel"
roof = "roof-panel"
floor = "slab"
partition = "partition"
mid_floor = "partition"
partition_thickness = "{partition}"

[[assembly]]           # layers from outside to inside
id = "wall-panel"
panel = {{ width = "{width}" }}
layers = [
  {{ material = "osb", thickness = "{skin}" }},
  {{ material = "eps", thickness = "{wall_foam}", framing = {{ share = "5 %" }} }},
  {{ material = "osb", thickness = "{skin}" }},
  {{ material = "gypsum", thickness = "{board}" }},
]

[[assembly]]
id = "roof-panel"
panel = {{ width = "{width}" }}
layers = [
  {{ material = "osb", thickness = "{skin}" }},
  {{ material = "eps", thickness = "{roof_foam}", framing = {{ share = "3 %" }} }},
  {{ material = "osb", thickness = "{skin}" }},
  {{ material = "gypsum", thickness = "{board}" }},
]

[[assembly]]
id = "partition"
layers = [
  {{ material = "gypsum", thickness = "{board}" }},
  {{ r = "0.16 m2K/W", thickness = "{stud}", framing = {{ share = "12 %" }} }},
  {{ material = "gypsum", thickness = "{board}" }},
]

[[slab]]
id = "slab"
thickness = "{slab}"
under_r = "{under}"
edge = {{ kind = "vertical", r = "{under}", depth = "{edge_depth}" }}

[[glazing]]
id = "window"
u = "{u}"
shgc = 0.30

[[door_type]]
id = "outer-door"
u = "{u_door}"

[rules]
fresh_air = ["ashrae-62.2-2019", "irc-2018-table"]
"""

ROOM = """[[room]]
id = "{id}"
name = "{name}"
use = "{use}"
{storey}ceiling = "{height}"
outline = [
{corners},
]
"""

FRONT_DOOR = """[[door]]
id = "front-door"
room = "{room}"
wall = "{wall}"
at = "{at}"            # from the wall's left end seen from outside
type = "outer-door"
"""

NO_WINDOW = """# [[window]]
# id = "window-1"
# room = "{room}"
# wall = "south"
# at = "..."           # from the wall's left end seen from outside
# sill = "..."
# width = "..."
# height = "..."
# glazing = "window"
"""

STAIR = """
# [[passage]]
# id = "stair"
# kind = "stair"
# between = ["room below", "room above"]
# area = "..."         # free area of the hole in the floor
"""

DOOR = """[[door]]
id = "{id}"
between = ["{one}", "{two}"]
"""
