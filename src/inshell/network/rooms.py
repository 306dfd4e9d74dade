"""The thermal network of a house: room air, layered surfaces, long-wave exchange, slab, furnishings."""

from __future__ import annotations

from dataclasses import dataclass, replace

from inshell.house.geometry import Geometry
from inshell.house.geometry.surfaces import GROUND, OUTDOORS, Surface
from inshell.house.model.house import House
from inshell.network.construction import assembly_u, film_resistances, layers_of
from inshell.network.thermal import ThermalNetwork
from inshell.physics.conduction import Layer, cells_within

# ISO 52016-1: convection up, level, down; long-wave inside; convection and long-wave outside
CONVECTION_W_M2K = {"up": 5.0, "level": 2.5, "down": 0.7}
# Where convection follows the difference, the network holds what no face passes below 20 K (level, heat rising); the
# step takes back what is too much from where it starts. What is held is never less than what is: no step swings apart.
BY_DIFFERENCE_W_M2K = 4.13
RADIATION_W_M2K = 5.13
OUTSIDE_W_M2K = (20.0, 4.14)
FURNISHINGS_J_M2K = 10_000.0
AIR_J_M3K = 1.2 * 1006.0
OUTDOOR, SKY, EARTH = 0, 1, 2
SHORTEST_SWING_S, MOST_CELLS = 10800.0, 4
SLICE_M = 0.01
FINER = 1  # times as many cells: tests double it
EDGE = "/edge"
Strips = tuple[tuple[float, float], tuple[float, float]]


@dataclass(frozen=True)
class Face:
    """One side of one surface in a room: its node, area and coefficients, and where its heat goes."""

    surface: str
    room: int
    node: int
    area_m2: float
    convection_w_m2k: float
    other: str


@dataclass(frozen=True)
class Skin:
    """The outer side of a surface that the sun and the sky see."""

    surface: str
    node: int
    area_m2: float


@dataclass(frozen=True)
class Core:
    """The node of a slab at the level of its tubes, and the face of the floor above it."""

    surface: str
    room: int
    node: int
    face: int
    area_m2: float


@dataclass(frozen=True)
class HouseThermal:
    """A thermal network with the faces of its rooms. Boundaries: outdoor air, sky, earth, then each buffer."""

    network: ThermalNetwork
    faces: tuple[Face, ...]
    buffers: tuple[str, ...]
    skins: tuple[Skin, ...] = ()
    radiant: tuple[int, ...] = ()
    cores: tuple[Core, ...] = ()


def thermal_of(house: House, geometry: Geometry, *, strips: dict[str, Strips], air_scale: float = 1.0) -> HouseThermal:
    """Room air, every surface and every window of a house. `air_scale` is the site's air density over sea level's.

    `strips` gives each floor on the ground as (area, U) behind its edge and along it.
    """
    buffers = tuple(buffer.id for buffer in house.buffer)
    network = ThermalNetwork(rooms=len(house.room), boundaries=3 + len(buffers))
    index = {room.id: k for k, room in enumerate(house.room)}
    for room in house.room:
        network.node(AIR_J_M3K * air_scale * geometry.space(room.id).volume_m3)
    faces: list[Face] = []
    skins: list[Skin] = []
    cores: list[Core] = []
    for surface in geometry.surfaces:
        if surface.net_m2 > 1e-6:
            faces += _surface(house, network, surface, index, buffers, strips, skins, cores)
    faces += _openings(house, geometry, network, index, buffers)
    for room in house.room:
        faces.append(_furnishings(network, index[room.id], geometry.space(room.id).floor_m2))
    if house.simulation.convection == "by-difference":
        faces = [replace(face, convection_w_m2k=BY_DIFFERENCE_W_M2K) for face in faces]
    for face in faces:
        network.join(face.room, face.node, face.area_m2 * face.convection_w_m2k)
    radiant = _radiation(network, faces, len(house.room))
    return HouseThermal(network, tuple(faces), buffers, tuple(skins), radiant, tuple(cores))


def _direction(kind: str) -> str:
    """Which way heat flows through a surface of a warm room."""
    return {"roof": "up", "ceiling": "up", "floor": "down"}.get(kind, "level")


def _surface(
    house: House,
    network: ThermalNetwork,
    surface: Surface,
    index: dict[str, int],
    buffers: tuple[str, ...],
    strips: dict[str, Strips],
    skins: list[Skin],
    cores: list[Core],
) -> list[Face]:
    area, room = surface.net_m2, index[surface.room]
    convection = CONVECTION_W_M2K[_direction(surface.kind)]
    if surface.other == GROUND:
        parts = zip(strips[surface.id], ("", EDGE), strict=True)
        return [_slab(house, network, surface, room, *part, name, cores) for part, name in parts if part[0] > 1e-6]
    first, last = _chain(network, _layers(house, surface), area)
    if not surface.is_outer:
        inner = Face(surface.id, room, last, area, CONVECTION_W_M2K["level"], surface.other)
        outer = Face(surface.id, index[surface.other], first, area, CONVECTION_W_M2K["level"], surface.room)
        return [inner, outer]
    _outside(network, first, area, surface.other, buffers)
    if surface.other == OUTDOORS:
        skins.append(Skin(surface.id, first, area))
    return [Face(surface.id, room, last, area, convection, surface.other)]


def _chain(network: ThermalNetwork, layers: list[Layer], area_m2: float) -> tuple[int, int]:
    """Layers cut so that no cell is thicker than a swing of three hours reaches, in four at most."""
    cells = [_cells(layer) for layer in layers]
    return network.chain(layers=layers, area_m2=area_m2, cells=cells)


def _cells(layer: Layer) -> int:
    return FINER * min(MOST_CELLS, cells_within(layer=layer, period_s=SHORTEST_SWING_S))


def _round_tubes(concrete: Layer, depth_m: float) -> list[Layer]:
    """Concrete below, round and above the axes of the tubes; the slice round them is one cell."""
    half = min(SLICE_M, 0.8 * depth_m, 0.8 * (concrete.thickness_m - depth_m))
    parts = (concrete.thickness_m - depth_m - half, 2.0 * half, depth_m - half)
    return [replace(concrete, thickness_m=part) for part in parts]


def _layers(house: House, surface: Surface) -> list[Layer]:
    """Layers from outside to inside, scaled so that with the standard's films they give the U-value with framing and
    the allowance for thermal bridges."""
    assembly = next(a for a in house.assembly if a.id == surface.assembly)
    inside, outside = film_resistances(surface.kind if surface.is_outer else "partition", surface.other)
    other = surface.other if surface.is_outer else "room"
    u = assembly_u(house, assembly.id, surface.kind if surface.is_outer else "partition", other).u_w_m2k
    bridge = house.enclosure.thermal_bridge_w_m2k if surface.is_outer else 0.0
    target = max(1.0 / (u + bridge) - inside - outside, 1e-3)
    layers = layers_of(assembly, house.material) if assembly.layers else [Layer(0.0, 1.0, resistance_m2k_w=target)]
    scale = target / sum(layer.r_m2k_w for layer in layers)
    return [
        Layer(
            thickness_m=layer.thickness_m,
            conductivity_w_mk=layer.conductivity_w_mk,
            density_kg_m3=layer.density_kg_m3,
            specific_heat_j_kgk=layer.specific_heat_j_kgk,
            resistance_m2k_w=layer.r_m2k_w * scale,
        )
        for layer in layers
    ]


def _outside(network: ThermalNetwork, node: int, area: float, other: str, buffers: tuple[str, ...]) -> None:
    if other in buffers:
        network.face(node, 3 + buffers.index(other), area / 0.13)
    else:
        network.face(node, OUTDOOR, area * OUTSIDE_W_M2K[0])
        network.face(node, SKY, area * OUTSIDE_W_M2K[1])


def _slab(
    house: House,
    network: ThermalNetwork,
    surface: Surface,
    room: int,
    area_m2: float,
    u_w_m2k: float,
    part: str,
    cores: list[Core],
) -> Face:
    """Concrete and insulation as layers, half a metre of soil, and the resistance that restores the part's steady U.

    With tubes a slice of the concrete round their axes is a cell of its own, in every room of a house with circuits.
    """
    slab = next(s for s in house.slab if s.id == surface.assembly)
    soil = Layer(0.5, 1.5, 1800.0, 1100.0)
    concrete = Layer(slab.thickness_m, slab.conductivity_w_mk, 2300.0, 880.0)
    covering = Layer(0.0, 1.0, resistance_m2k_w=slab.covering_r_m2k_w)
    under = Layer(0.0, 1.0, resistance_m2k_w=slab.under_r_m2k_w)
    rest = 1.0 / u_w_m2k - 0.17 - sum(layer.r_m2k_w for layer in (concrete, covering, under))
    depths = [c.depth_m for c in house.circuit if surface.room in c.rooms and 0.0 < c.depth_m < slab.thickness_m]
    if not depths:  # leaders may pass
        depths = [c.depth_m for c in house.circuit if SLICE_M < c.depth_m < slab.thickness_m - SLICE_M]
    pour = _round_tubes(concrete, min(depths)) if depths else [concrete]
    if rest > soil.r_m2k_w + 0.05:
        below = [Layer(0.0, 1.0, resistance_m2k_w=rest - soil.r_m2k_w), soil, under]
    else:
        below = [Layer(0.0, 1.0, resistance_m2k_w=max(rest, 0.01)), under]
    first, last = _chain(network, [*below, *pour, covering], area_m2)
    if depths:
        cores.append(Core(surface.id + part, room, last - 1 - _cells(pour[2]), last, area_m2))
    network.face(first, EARTH, area_m2 * 1e4)
    return Face(surface.id + part, room, last, area_m2, CONVECTION_W_M2K["down"], GROUND)


def _openings(
    house: House, geometry: Geometry, network: ThermalNetwork, index: dict[str, int], buffers: tuple[str, ...]
) -> list[Face]:
    surfaces = {s.id: s for s in geometry.surfaces}
    glazing = {g.id: g.u_w_m2k for g in house.glazing}
    kinds = {t.id: t.u_w_m2k for t in house.door_type}
    windows, doors = {w.id: w for w in house.window}, {d.id: d for d in house.door}
    faces = []
    for placed in geometry.openings:
        host = surfaces[placed.surface]
        if not host.is_outer:
            continue
        is_window = placed.kind == "window"
        u = glazing[windows[placed.id].glazing] if is_window else kinds.get(doors[placed.id].type or "", 1.8)
        u += house.enclosure.thermal_bridge_w_m2k
        inside, outside = film_resistances(host.kind, OUTDOORS)
        layer = Layer(0.0, 1.0, resistance_m2k_w=max(1.0 / u - inside - outside, 1e-3))
        first, last = network.chain(layers=[layer], area_m2=placed.area_m2, cells=1)
        _outside(network, first, placed.area_m2, host.other, buffers)
        convection = CONVECTION_W_M2K[_direction(host.kind)]
        faces.append(Face(placed.id, index[host.room], last, placed.area_m2, convection, host.other))
    return faces


def _furnishings(network: ThermalNetwork, room: int, floor_m2: float) -> Face:
    node = network.node(FURNISHINGS_J_M2K * floor_m2)
    return Face("furnishings", room, node, floor_m2, CONVECTION_W_M2K["level"], "")


def _radiation(network: ThermalNetwork, faces: list[Face], rooms: int) -> tuple[int, ...]:
    """Long-wave exchange: each face with a mean of its room, so weighted that two like faces see each other fully.

    Returns the node of each room's mean.
    """
    means = []
    for room in range(rooms):
        mine = [face for face in faces if face.room == room]
        total = sum(face.area_m2 for face in mine)
        star = network.node()
        for face in mine:
            seen = max(1.0 - face.area_m2 / total, 0.05)
            network.join(face.node, star, face.area_m2 * RADIATION_W_M2K / seen)
        means.append(star)
    return tuple(means)
