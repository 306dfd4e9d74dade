"""A house as numbers: what both steppers read, what drives it hour by hour, where it stands, what a run tells.

Nodes: the first are room air, the rest walls, slabs and radiant means. The air network has one node more, outdoors.
Everything here is SI; tracers are mass fractions of the air.
"""

from __future__ import annotations

from dataclasses import dataclass, field, fields, replace
from enum import IntEnum

import numpy as np

from inshell.errors import refuse
from inshell.network.links import AirNetwork, Exchange, Recovery
from inshell.network.thermal import ThermalNetwork
from inshell.physics.air import mass_fraction, saturation_pressure_pa
from inshell.physics.types import Floats

OUTDOOR_PPM = 420.0
AIR_KG_MOL, CARBON_DIOXIDE_KG_MOL = 0.0289645, 0.04401
LONGEST_STEP_S = 900.0


def fraction_of_ppm(ppm: float) -> float:
    """Parts of carbon dioxide per million by volume as a mass fraction."""
    return ppm * 1e-6 * CARBON_DIOXIDE_KG_MOL / AIR_KG_MOL


class Sensor(IntEnum):
    """What a control row reads at the start of a step."""

    NOTHING = 0  # on whenever its schedule permits
    AIR_C = 1
    HUMIDITY = 2  # relative, 0 to 1
    CARBON_DIOXIDE_PPM = 3
    OUTDOOR_C = 4
    NODE_C = 5  # any node's temperature; `room` is the node


class Target(IntEnum):
    """What a control row sets: a share of a route's flow, heat at a node, vapour into a room, a tube's flow."""

    ROUTE_SHARE = 0
    NODE_W = 1
    VAPOUR_KG_S = 2
    TUBE_SHARE = 3


@dataclass(frozen=True)
class Control:
    """One row of control: on when its sensor passes `on_at`, off when it passes back over `off_at`.

    `above` says on which side it switches on. It stays on for `min_on_s`, off for `min_off_s`, and runs on for `hold_s`
    after its cause has gone. Where several rows set one target, the last that is on prevails: order them by priority.
    """

    name: str
    sensor: Sensor
    room: int
    above: bool
    on_at: float
    off_at: float
    target: Target
    index: int
    level_on: float
    level_off: float | None = None
    min_on_s: float = 0.0
    min_off_s: float = 0.0
    hold_s: float = 0.0


@dataclass(frozen=True)
class Film:
    """Convection between a room's air and a face that follows their difference; `constant_w_m2k` is in the network.

    `sense` is 1 where heat rises from a warm face (floors), -1 where it rises to a cold one (ceilings), 0 upright.
    """

    node: int
    room: int
    area_m2: float
    constant_w_m2k: float
    tilt_deg: float
    sense: int


@dataclass(frozen=True)
class Coil:
    """A cooling coil that serves a room's holder: dry air that it touches, m (1 - BF), and whether its fan never stops.

    The fan slows with the load: `low_kg_s` at the least that the machine gives, `high_kg_s` at its most.
    """

    room: int
    low_kg_s: float
    high_kg_s: float
    fan_always: bool = False


@dataclass(frozen=True)
class Tube:
    """Water tubes at a node of a slab: what they pass per kelvin of supply over the node while they flow [W/K].

    Heat goes one way, from water warmer than the node; the node's own warming within a step is counted.
    """

    node: int
    w_k: float


@dataclass(frozen=True)
class System:
    """A house ready to be stepped. `buffer_kg` is moisture that finishes hold per unit of relative humidity.

    `senses` names for each room the room whose air its holder's thermostat reads (empty: its own).
    """

    thermal: ThermalNetwork
    air: AirNetwork
    mass_kg: Floats
    buffer_kg: Floats
    buffer_kg_s_pa: Floats
    pressure_pa: float
    radiant: tuple[int, ...]
    recoveries: tuple[Recovery, ...] = ()
    exchanges: tuple[Exchange, ...] = ()
    controls: tuple[Control, ...] = ()
    films: tuple[Film, ...] = ()
    coils: tuple[Coil, ...] = ()
    senses: tuple[int, ...] = ()
    tubes: tuple[Tube, ...] = ()

    @property
    def sensed(self) -> list[int]:
        """For each room the room that its thermostat reads."""
        return list(self.senses) or list(range(self.rooms))

    @property
    def rooms(self) -> int:
        """Number of rooms."""
        return len(self.air.rooms)

    @property
    def nodes(self) -> int:
        """Number of thermal nodes."""
        return len(self.thermal.capacity_j_k)


def _none() -> Floats:
    return np.zeros((0, 0))


@dataclass(frozen=True)
class Forcing:
    """What acts on a house; one row for each hour, constant within it.

    Columns: boundaries, nodes, rooms, routes, rooms, controls, coils, rooms. Set points are NaN where nothing holds a
    room. `gains_w` is heat to rooms' air beside `source_w`; coils and gains may be left empty.
    `supply_c` is the water that each tube is fed with; it flows where a row of control says so.
    Coils have the total heat (sensible and latent) that they take out at most, and at least while they run.
    """

    outdoor_c: Floats
    outdoor_vapour: Floats
    boundary_c: Floats
    source_w: Floats
    vapour_kg_s: Floats
    gas_kg_s: Floats
    wind_pa: Floats
    route_share: Floats
    heat_at_c: Floats
    cool_at_c: Floats
    most_w: Floats
    least_w: Floats
    permit: Floats
    coil_most_w: Floats = field(default_factory=_none)
    coil_least_w: Floats = field(default_factory=_none)
    gains_w: Floats = field(default_factory=_none)
    supply_c: Floats = field(default_factory=_none)
    outdoor_gas: float = fraction_of_ppm(OUTDOOR_PPM)

    @property
    def hours(self) -> int:
        """Number of rows."""
        return len(self.outdoor_c)

    def rows(self, first: int, last: int) -> Forcing:
        """The hours from first to before last."""
        return replace(
            self, **{f.name: getattr(self, f.name)[first:last] for f in fields(self) if f.name != "outdoor_gas"}
        )


@dataclass
class State:
    """Where a house stands. `on_s` is how long each control has been on (negative: off), `hold_s` what is left.

    The flows of the last step are where the next one begins to look.
    """

    nodes_c: Floats
    vapour: Floats
    buffer_rh: Floats
    gas: Floats
    age_s: Floats
    pressure_pa: Floats
    on_s: Floats
    hold_s: Floats
    forward_kg_s: Floats
    back_kg_s: Floats

    def copy(self) -> State:
        """The same state, apart."""
        return State(*(getattr(self, f.name).copy() for f in fields(self)))


@dataclass(frozen=True)
class Balances:
    """Worst imbalance of one step and of the whole run, and what passed, for heat, vapour and carbon dioxide."""

    heat_w: float
    air_share: float
    vapour_share: float
    gas_share: float
    rounds: int
    newton: int


@dataclass(frozen=True)
class Series:
    """Means over the slots of a run: rows are slots, columns rooms, nodes or routes."""

    slot_s: float
    nodes_c: Floats
    holder_w: Floats
    humidity: Floats
    carbon_dioxide_ppm: Floats
    age_s: Floats
    pressure_pa: Floats
    forward_kg_s: Floats
    back_kg_s: Floats
    control_on: Floats
    condensed_kg: Floats
    removed_kg: Floats
    tube_w: Floats
    balances: Balances
    state: State = field(repr=False)


def first_state(system: System, *, air_c: float, humidity: float = 0.4) -> State:
    """Everything at one temperature, air and finishes at one humidity, outdoor carbon dioxide."""
    rooms, controls, links = system.rooms, len(system.controls), len(system.air.links)
    vapour = humidity * float(saturation_pressure_pa(temperature_c=air_c))
    share = float(mass_fraction(vapour_pa=vapour, pressure_pa=system.pressure_pa))
    return State(
        nodes_c=np.full(system.nodes, air_c),
        vapour=np.full(rooms, share),
        buffer_rh=np.full(rooms, humidity),
        gas=np.full(rooms, fraction_of_ppm(OUTDOOR_PPM)),
        age_s=np.zeros(rooms),
        pressure_pa=np.zeros(rooms),
        on_s=np.full(controls, -1e9),
        hold_s=np.zeros(controls),
        forward_kg_s=np.zeros(links),
        back_kg_s=np.zeros(links),
    )


def forcing_shape(system: System) -> tuple[int, ...]:
    """How wide what acts on a house must be: boundaries, nodes, rooms, routes, controls, coils, tubes."""
    s = system
    return (s.thermal.boundaries, s.nodes, s.rooms, len(s.air.links), len(s.controls), len(s.coils), len(s.tubes))


def check_run(
    system: System, forcing: Forcing, state: State, step_s: float, slot_s: float, *, only_state: bool = False
) -> int:
    """Number of steps in an hour; refuses arrays of the wrong shape, numbers that are none, steps that do not fit.

    `only_state` where the same forcing has been looked at for a house of the same `forcing_shape`.
    """
    if not 0.0 < step_s <= LONGEST_STEP_S:
        raise refuse("--step", f"{step_s:g} s", "at most 15 min: longer steps part the air from the heat")
    if abs(3600.0 / step_s - round(3600.0 / step_s)) > 1e-9:
        raise refuse("--step", f"{step_s:g} s", "a whole number of steps in an hour")
    if abs(slot_s / step_s - round(slot_s / step_s)) > 1e-9 or abs(3600.0 / slot_s - round(3600.0 / slot_s)) > 1e-9:
        raise refuse("slot", f"{slot_s:g} s", "a whole number of steps, and of slots in an hour")
    if not only_state:
        _check_forcing(system, forcing)
    _check_state(state)
    return round(3600.0 / step_s)


def _check_forcing(system: System, forcing: Forcing) -> None:
    hours = forcing.hours
    boundaries, nodes, rooms, links, controls, coils, tubes = forcing_shape(system)
    columns = {
        "outdoor_c": (), "outdoor_vapour": (), "boundary_c": (boundaries,), "source_w": (nodes,),
        "vapour_kg_s": (rooms,), "gas_kg_s": (rooms,), "wind_pa": (links,), "route_share": (links,),
        "heat_at_c": (rooms,), "cool_at_c": (rooms,), "most_w": (rooms,), "least_w": (rooms,), "permit": (controls,),
        "coil_most_w": (coils,), "coil_least_w": (coils,), "gains_w": (rooms,), "supply_c": (tubes,),
    }  # fmt: skip
    for name, rest in columns.items():
        values = getattr(forcing, name)
        if values.shape != (hours, *rest) and (values.size or (rest != (0,) and name != "gains_w")):
            raise ValueError(f"{name} has the shape {values.shape}, not {(hours, *rest)}")
        if name not in ("heat_at_c", "cool_at_c", "most_w", "least_w") and not np.isfinite(values).all():
            raise refuse(
                name, "a gap or a number that is none", "a number for every hour", "Fill the gap in the weather"
            )
    crossed = np.argwhere(forcing.heat_at_c > forcing.cool_at_c)
    if len(crossed):
        hour, room = map(int, crossed[0])
        found = f"heating to {forcing.heat_at_c[hour, room]:g} °C above cooling to {forcing.cool_at_c[hour, room]:g} °C"
        raise refuse(f"set points of {system.air.rooms[room]}", found, "heating below cooling")


def _check_state(state: State) -> None:
    for f in fields(state):
        if not np.isfinite(getattr(state, f.name)).all():
            raise ValueError(f"the state's {f.name} holds a number that is none")
