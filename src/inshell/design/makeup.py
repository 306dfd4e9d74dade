"""What would ease a house's pressure: an opening to outdoors, found by halving, or devices that never run together.

Make-up air is for licensed trades: its intake stays clear of vents, garage and exhausts.
"""

from __future__ import annotations

from collections.abc import Callable

from inshell.house.model.house import House
from inshell.house.model.openings import Leak
from inshell.physics.flow import hole_flow_m3_s

HALVINGS, MOST_M2 = 10, 0.5


def with_opening(house: House, room: str, area_m2: float) -> House:
    """The same house with an opening to outdoors in a room."""
    hole = Leak.model_validate({"id": "new-make-up", "room": room, "height": "0.5 m", "area": f"{area_m2} m2"})
    return house.model_copy(update={"leak": (*house.leak, hole)})


def opening_flow_50_m3_s(area_m2: float) -> float:
    """What such an opening passes at 50 Pa: it comes on top of the leakage of the shell."""
    return float(hole_flow_m3_s(area_m2=area_m2, pressure_pa=50.0))


def least_area_m2(keeps: Callable[[float], bool], most_m2: float = MOST_M2) -> float | None:
    """The least opening that keeps what `keeps` asks, by halving; None if even the greatest does not."""
    if not keeps(most_m2):
        return None
    low, high = 0.0, most_m2
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        low, high = (low, middle) if keeps(middle) else (middle, high)
    return high


def greatest_share(keeps: Callable[[float], bool]) -> float | None:
    """The greatest share of one that keeps what `keeps` asks, by halving; None if even a hundredth does not."""
    if not keeps(0.01):
        return None
    low, high = 0.01, 1.0
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if keeps(middle) else (low, middle)
    return low


def least_sets(offending: list[tuple[str, ...]], most: int = 4) -> tuple[tuple[str, ...], ...]:
    """Sets of settings that offend and of which no smaller one does; a fan at full counts as at base and more."""
    reach = {names: frozenset(names) | {f"{n}:base" for n in names if not n.endswith(":base")} for names in offending}
    least = [one for one in offending if not any(reach[two] < reach[one] for two in offending if two != one)]
    return tuple(sorted(least, key=len)[:most])
