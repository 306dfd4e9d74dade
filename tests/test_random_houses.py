"""Random houses and random damage: volumes against integration, closed rooms, no crash, no changed file."""

from __future__ import annotations

import contextlib
import io
import json
import math
import random
import re
import time
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely
from shapely.geometry import Polygon, box
from shapely.ops import unary_union

from inshell.cli.run import run
from inshell.drawing.plan import draw_plans
from inshell.drawing.section import draw_sections
from inshell.house.geometry import Geometry, derive
from inshell.house.model import House
from tests.evidence import EXAMPLES, assert_close, sampled
from tests.houses import house, moved

FALLS = {"north": 0.0, "east": 90.0, "south": 180.0, "west": 270.0}
ROOFS = {"gable": ("north", "south"), "shed": ("west",), "hip": tuple(FALLS), "flat": ()}
EAVE_M = 2.5


def plan(rng: random.Random) -> list[list[list[float]]]:
    """Outlines of rooms: cells of an uneven grid, merged here and there, with a corner cut away."""
    xs, ys = ([0.0, *np.cumsum([round(rng.uniform(2, 6), 2) for _ in range(rng.randint(1, n))])] for n in (4, 3))
    cells = {(i, j) for i in range(len(xs) - 1) for j in range(len(ys) - 1)}
    if len(cells) > 3 and rng.random() < 0.6:
        cells.discard(rng.choice([(0, 0), (len(xs) - 2, len(ys) - 2)]))
    rooms = []
    left = sorted(cells)
    while left:
        cell = left.pop(0)
        group = [cell]
        for other in ((cell[0] + 1, cell[1]), (cell[0], cell[1] + 1)):
            if other in left and rng.random() < 0.35:
                group.append(other)
                left.remove(other)
        shape = unary_union([box(xs[i], ys[j], xs[i + 1], ys[j + 1]) for i, j in group])
        rooms.append([[float(x), float(y)] for x, y in shape.exterior.coords[:-1]])
    return rooms


def integrated(rooms: list[dict[str, Any]], kind: str, pitch: float) -> float:
    """Volume by summing the lowest plane over a fine grid, from the description alone."""
    roofed = [Polygon(r["outline"]) for r in rooms if r["ceiling"] == "roof"]
    west, south, east, north = unary_union(roofed).bounds if roofed else (0, 0, 0, 0)
    total = 0.0
    for room in rooms:
        shape = Polygon(room["outline"])
        if room["ceiling"] != "roof":
            total += shape.area * room["ceiling"]
            continue
        x0, y0, x1, y1 = shape.bounds
        n = 300
        x, y = np.meshgrid(x0 + (np.arange(n) + 0.5) * (x1 - x0) / n, y0 + (np.arange(n) + 0.5) * (y1 - y0) / n)
        inward = {"north": north - y, "south": y - south, "east": east - x, "west": x - west}
        height = np.min([EAVE_M + math.tan(math.radians(pitch)) * inward[d] for d in ROOFS[kind]], axis=0)
        inside = shapely.contains_xy(shape, x, y)
        total += float((height * inside).sum()) * (x1 - x0) * (y1 - y0) / n**2
    return total


def closure(h: House, g: Geometry) -> float:
    """The largest sum of area times outward normal over the rooms: nothing for closed surfaces."""
    sums = {room.id: np.zeros(3) for room in h.room}
    for s in g.surfaces:
        tilt, azimuth = math.radians(s.tilt_deg), math.radians(s.azimuth_deg)
        normal = np.array([math.sin(tilt) * math.sin(azimuth), math.sin(tilt) * math.cos(azimuth), math.cos(tilt)])
        sums[s.room] += s.area_m2 * normal
        if not s.is_outer:
            sums[s.other] -= s.area_m2 * normal
    return float(max(np.abs(v).max() for v in sums.values()))


@pytest.mark.analytic
@pytest.mark.parametrize("seed", sampled(range(40), 4))
def test_random_house(seed: int) -> None:
    rng = random.Random(seed)
    kind, pitch = rng.choice(sorted(ROOFS)), rng.uniform(0.5, 55)
    turn = rng.choice([0.0, rng.uniform(0, 360)])
    rooms = [
        {"id": f"r{k}", "outline": outline, "ceiling": "roof" if kind != "flat" and rng.random() < 0.8 else EAVE_M}
        for k, outline in enumerate(plan(rng))
    ]
    planes = [
        {"id": d, "falls": f"{(FALLS[d] - turn) % 360}°", "pitch": f"{pitch}°", "eave_height": EAVE_M}
        for d in ROOFS[kind]
    ]
    roof = [{"id": "roof", "plane": planes}] if any(r["ceiling"] == "roof" for r in rooms) else []
    h = house(moved(rooms, turn_deg=turn, dx=rng.uniform(-20, 20), dy=rng.uniform(-20, 20)), roof=roof)
    g = derive(h)
    assert_close(g.volume_m3, integrated(rooms, kind, pitch), rel=5e-3, why="a grid of 300 x 300 points a room")
    assert_close(g.floor_m2, sum(Polygon(r["outline"]).area for r in rooms), rel=1e-5, why="the 1e-6 m grid")
    assert closure(h, g) < 5e-3
    assert draw_plans(h, g)
    assert all(s.svg for s in draw_sections(h, g))


JUNK = (
    '""', "-1", "1e9", "nan", "inf", "true", "[]", "{}", "[1, 2, 3]", '"0,6 m"', '"x"', '"12 ft"', "1979-05-27", '"é"', "-0.0",
    '"1/0 in"', '"R-"', '[["a"]]', '"9999999999999999999999 ft"', '{ value = "3 ft" }', '{ value = "3 ft", from = "measured" }',
    '"roof"', '"c1-c2"', "0",
)  # fmt: skip


def damaged(text: str, rng: random.Random) -> str:
    """One thing wrong: a line lost, doubled, moved, a value replaced, digits or words changed."""
    lines = text.splitlines()
    i = rng.randrange(len(lines))
    match rng.randrange(8):
        case 0:
            del lines[i]
        case 1:
            lines.insert(i, lines[i])
        case 2:
            lines[i] = re.sub(r"(=\s*).*$", lambda m: m[1] + rng.choice(JUNK), lines[i])
        case 3:
            lines[i] = lines[i].replace('"', "", 1)
        case 4:
            j = rng.randrange(len(lines))
            lines[i], lines[j] = lines[j], lines[i]
        case 5:
            lines[i] = re.sub(r"\d+", lambda m: str(int(m[0]) * rng.choice([-1, 0, 10, 1000, 100000])), lines[i])
        case 6:
            lines[i] = re.sub(r"[a-z]+", lambda m: m[0][::-1] if rng.random() < 0.3 else m[0], lines[i])
        case _:
            del lines[i : i + rng.randrange(1, 12)]
    return "\n".join(lines) + "\n"


@pytest.mark.invariant
@pytest.mark.parametrize("batch", sampled(range(8), 4))
def test_random_damage(batch: int, tmp_path: Path) -> None:
    rng = random.Random(1000 + batch)
    path = tmp_path / "house.toml"
    for _ in range(30):
        text = damaged(rng.choice(EXAMPLES).read_text(encoding="utf-8"), rng)
        path.write_text(text, encoding="utf-8")
        out, start = io.StringIO(), time.perf_counter()
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(io.StringIO()):
            code = run(["check", str(path), "--json"])
        assert code in (0, 1, 2), text
        result = json.loads(out.getvalue())
        assert ("refused" in result) == (code == 2)
        assert path.read_text(encoding="utf-8") == text
        assert time.perf_counter() - start < 5.0
