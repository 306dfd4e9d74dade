"""Air routes as rows of numbers: cracks, open doors, fans. The last node is outdoors."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import IntEnum
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from inshell.physics.fan import FanCurve
from inshell.physics.types import Floats


class LinkKind(IntEnum):
    """How flow follows pressure on a route."""

    CRACK = 0  # power law at one height
    DOOR = 1  # large upright opening, two-way
    FAN = 2  # curve against the pressure it must make, from a to b


@dataclass(frozen=True)
class Link:
    """One route from node `a` to node `b`.

    A crack stands at `low_m`, a door from `low_m` to `high_m`; `coefficient_m3_s_pan` and `exponent` are those of a
    crack, `width_m` and `discharge` those of a door. A fan moves air from a to b along its curve. `wind_pa` acts at the
    outdoor end.
    """

    name: str
    kind: LinkKind
    a: int
    b: int
    low_m: float = 0.0
    high_m: float = 0.0
    coefficient_m3_s_pan: float = 0.0
    exponent: float = 0.65
    width_m: float = 0.0
    discharge: float = 0.6
    curve: FanCurve | None = None
    wind_pa: float = 0.0


@dataclass(frozen=True)
class LinkColumns:
    """Routes as columns; `cracks`, `doors` and `fans` are the rows of each kind."""

    a: NDArray[np.int64]
    b: NDArray[np.int64]
    low_m: Floats
    height_m: Floats
    coefficient: Floats
    exponent: Floats
    width_m: Floats
    discharge: Floats
    cracks: NDArray[np.int64]
    doors: NDArray[np.int64]
    fans: NDArray[np.int64]

    @classmethod
    def of(cls, links: tuple[Link, ...]) -> LinkColumns:
        """Columns of a list of routes."""

        def column(name: str) -> Floats:
            return np.array([getattr(link, name) for link in links], dtype=float)

        def of_kind(kind: LinkKind) -> NDArray[np.int64]:
            return np.array([k for k, link in enumerate(links) if link.kind is kind], dtype=np.int64)

        ends = np.array([[link.a, link.b] for link in links], dtype=np.int64).reshape(-1, 2)
        return cls(
            ends[:, 0], ends[:, 1], column("low_m"), column("high_m") - column("low_m"), column("coefficient_m3_s_pan"),
            column("exponent"), column("width_m"), column("discharge"),
            of_kind(LinkKind.CRACK), of_kind(LinkKind.DOOR), of_kind(LinkKind.FAN),
        )  # fmt: skip


@dataclass(frozen=True)
class AirNetwork:
    """Rooms by name (outdoors follows as the last node) and the routes between them."""

    rooms: tuple[str, ...]
    links: tuple[Link, ...]

    @property
    def outdoors(self) -> int:
        """Index of the outdoor node."""
        return len(self.rooms)

    @cached_property
    def columns(self) -> LinkColumns:
        """The routes as columns of numbers."""
        return LinkColumns.of(self.links)


@dataclass(frozen=True)
class Recovery:
    """A recovery ventilator as the heat balance sees it: outdoor air that comes in warmed by a room's exhaust."""

    link: int
    exhaust_room: int
    share: float


@dataclass(frozen=True)
class Exchange:
    """A horizontal opening between a room above and a room below."""

    name: str
    above: int
    below: int
    diameter_m: float


@dataclass(frozen=True)
class AirState:
    """A solved network: datum pressures, and mass flow from a to b and back on every route."""

    pressure_pa: Floats
    forward_kg_s: Floats
    back_kg_s: Floats
    residual_kg_s: Floats
    iterations: int
    throughput_kg_s: float
    isolated: tuple[str, ...] = field(default=())

    @property
    def net_kg_s(self) -> Floats:
        """Net mass flow from a to b on every route."""
        return np.asarray(self.forward_kg_s - self.back_kg_s)


def orifice_crack(*, area_m2: float, discharge: float, density_kg_m3: float) -> tuple[float, float]:
    """(coefficient, exponent) of a crack that is an orifice for air of a density.

    >>> orifice_crack(area_m2=0.01, discharge=0.6, density_kg_m3=1.2)[1]
    0.5
    """
    return discharge * area_m2 * float(np.sqrt(2.0 / density_kg_m3)), 0.5
