"""Outlines written with a corner twice, and walls that stay one wall however the plan is turned."""

from __future__ import annotations

import math

import pytest

from inshell.errors import InputRefused
from inshell.house.geometry import derive
from inshell.house.geometry.joints import panel_joints_m
from tests.evidence import assert_close
from tests.houses import BASE, content, house, moved, read, rectangle


@pytest.mark.analytic
@pytest.mark.parametrize("turn_deg", [0.0, 10.0, 37.0, 45.0, 60.0, 179.99, 180.0])
@pytest.mark.parametrize("y", [0.0, 2.125, 2.005])
def test_panels_of_one_wall_run_on_however_the_plan_is_turned(turn_deg: float, y: float) -> None:
    """Rooms of 6 and 4 m in a row: 10 m of wall are seven panels of 1.5 m, six joints of 2.5 m between them."""
    wall = BASE["assembly"][0] | {"panel": {"width": "1.5 m", "length": "3 m"}}
    rooms = [{"id": "a", "outline": rectangle(0, y, 6, y + 3), "ceiling": 2.5},
             {"id": "c", "outline": rectangle(-4, y, 0, y + 3), "ceiling": 2.5}]  # fmt: skip
    turned = house(moved(rooms, turn_deg=turn_deg, dx=0.0, dy=0.0), assembly=[wall, BASE["assembly"][1]])
    for azimuth in (0.0, 180.0):
        one = tuple(
            s for s in derive(turned).surfaces
            if s.kind == "wall" and abs((s.azimuth_deg + turn_deg - azimuth + 180.0) % 360.0 - 180.0) < 1.0
        )  # fmt: skip
        assert len(one) == 2
        assert_close(panel_joints_m(turned, one)["w"], 15.0, abs=1e-3, why="a millionth of buffer at either end")


@pytest.mark.invariant
@pytest.mark.parametrize(
    ("corners", "twice"),
    [
        ([[0, 0], [4, 0], [4, 3], [0, 3], [0, 0]], "corner c1 lies on corner c5"),
        ([[0, 0], [4, 0], [4, 0.0004], [4, 3], [0, 3]], "corner c3 lies on corner c2"),
    ],
)
def test_a_corner_written_twice_is_told(corners: list[list[float]], twice: str) -> None:
    beside = {"id": "b", "outline": rectangle(4.05, 0, 7, 3), "ceiling": 2.5}
    with pytest.raises(InputRefused) as refused:
        derive(read(content([{"id": "a", "outline": corners, "ceiling": 2.5}, beside])).house)
    told = [(p.where, p.found.startswith(twice), "once" in p.action) for p in refused.value.problems]
    assert ("room.a.outline", True, True) in told


@pytest.mark.analytic
def test_a_house_is_as_high_as_its_ridge() -> None:
    """Eaves at 2.5 m, 30 degrees over half of 6 m: 2.5 + 3 tan 30."""
    planes = [{"id": k, "falls": k, "pitch": "30 deg", "eave_height": 2.5} for k in ("north", "south")]
    rooms = [{"id": "a", "outline": rectangle(0, 0, 10, 6), "ceiling": "roof"}]
    told = derive(house(rooms, roof=[{"id": "r", "plane": planes}]))
    assert_close(told.height_m, 2.5 + 3.0 * math.tan(math.radians(30.0)), rel=1e-9, why="by hand")
