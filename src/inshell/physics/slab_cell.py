"""Steady conduction from warm-water tubes in a slab: one cell between two lines of symmetry, in two dimensions."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np

from inshell.physics.types import Array, Floats

LEAST_COVER_M = 5e-4
GAUSS = 0.5 / math.sqrt(3.0)


@dataclass(frozen=True)
class SlabCell:
    """What a floor does per kelvin of mean water over room; the space below is at the room's temperature."""

    k_up_w_m2k: float
    k_down_w_m2k: float
    peak_to_mean: float


@lru_cache(maxsize=512)
def slab_cell(
    *,
    thickness_m: float,
    conductivity_w_mk: float,
    spacing_m: float,
    depth_m: float,
    outer_m: float,
    wall_m: float,
    tube_w_mk: float,
    cover_r_m2k_w: float,
    below_r_m2k_w: float,
    film_w_m2k: float = 10.8,
    cells: int = 24,
) -> SlabCell:
    """Flux up and down of a slab with tubes, and how much the floor above a tube is warmer than the mean.

    Formula: div(k grad T) = 0 in slab and tube wall by bilinear elements on rays from the tube's axis, logarithmic in
        the radius; top k dT/dn = T / (R_cover + 1/h), below T / R_below, lines of symmetry at the tube and half way to
        the next; inner tube wall at 1 K; two grids extrapolated (error of order h2)
    Arguments: thickness_m of the slab, spacing_m, depth_m [m] of the tube's axis below the top of the slab; outer_m
        diameter and wall_m of the tube [m]; conductivity_w_mk of the slab, tube_w_mk of the tube [W/mK]; cover_r_m2k_w,
        below_r_m2k_w [m2K/W], without heat along them; film_w_m2k [W/m2K] to the room; cells along half a turn of the
        tube, doubled for the second grid
    Returns: k_up_w_m2k, k_down_w_m2k [W/m2K] of floor; peak_to_mean of the surface's excess over the room
    Errors: ValueError where the tube does not lie in the slab, or tubes touch
    Valid: steady state; no film below; lateral conduction in the covering left out
    Source: heat conduction; a 4 in slab with 1/2 in tube at 12 in gives 4.678, .3159, 1.236 (two independent solutions)

    >>> cell = slab_cell(thickness_m=0.1016, conductivity_w_mk=1.8, spacing_m=0.3048, depth_m=0.0508, outer_m=0.015875,
    ...                  wall_m=0.001778, tube_w_mk=0.38, cover_r_m2k_w=0.0, below_r_m2k_w=1.761)
    >>> round(cell.k_up_w_m2k, 3), round(cell.k_down_w_m2k, 4), round(cell.peak_to_mean, 2)
    (4.678, 0.3159, 1.24)
    """
    outer = 0.5 * outer_m
    if not outer < 0.5 * spacing_m:
        raise ValueError(f"tubes of {outer_m:g} m at {spacing_m:g} m touch")
    if min(depth_m, thickness_m - depth_m) < outer - 1e-9:
        raise ValueError(f"a tube of {outer_m:g} m with its axis {depth_m:g} m deep leaves a slab of {thickness_m:g} m")
    depth = min(max(depth_m, outer + LEAST_COVER_M), thickness_m - outer - LEAST_COVER_M)
    if depth < outer:
        raise ValueError(f"a slab of {thickness_m:g} m does not cover a tube of {outer_m:g} m")
    edges = (0.5 * spacing_m, depth, thickness_m - depth)
    tops = (1.0 / (cover_r_m2k_w + 1.0 / film_w_m2k), 1.0 / below_r_m2k_w)
    radii = (outer - wall_m, outer)
    coarse, fine = (_solve(edges, radii, (tube_w_mk, conductivity_w_mk), tops, cells, fold) for fold in (1, 2))
    up, down, peak = (4.0 * f / 3.0 - c / 3.0 for c, f in zip(coarse, fine, strict=True))
    return SlabCell(float(up), float(down), float(peak))


def cell_on_grid(
    *, edges_m: tuple[float, float, float], radii_m: tuple[float, float], conductivity_w_mk: tuple[float, float],
    faces_w_m2k: tuple[float, float], cells: int, fold: int = 1,
) -> tuple[float, float, float]:  # fmt: skip
    """One grid of `slab_cell`, to watch its order of convergence.

    Formula: as `slab_cell`, not extrapolated
    Arguments: edges_m (half spacing, axis to top, axis to bottom); radii_m (inner, outer) of the tube [m];
        conductivity_w_mk (tube, slab); faces_w_m2k (top, bottom) from slab face to room; cells along half a turn,
        each cut into fold in both directions
    Returns: (k_up, k_down, peak over mean)
    Valid: as `slab_cell`
    Source: heat conduction

    >>> coarse, fine, finest = (cell_on_grid(edges_m=(0.1524, 0.0508, 0.0508), radii_m=(0.0061595, 0.0079375),
    ...     conductivity_w_mk=(0.38, 1.8), faces_w_m2k=(10.8, 1 / 1.761), cells=12, fold=n)[0] for n in (1, 2, 4))
    >>> bool((coarse - fine) / (fine - finest) > 2**1.8)
    True
    """
    return _solve(edges_m, radii_m, conductivity_w_mk, faces_w_m2k, cells, fold)


def _rays(edges: tuple[float, float, float], cells: int, fold: int) -> tuple[Floats, Floats, tuple[int, int]]:
    """Points of the cell's outline from above the tube to below it, corners among them; numbers of the corners."""
    half, up, down = edges
    corners = [np.array(p) for p in ((0.0, up), (half, up), (half, -down), (0.0, -down))]
    spread = []
    for start, end in pairwise(corners):
        line = start + np.linspace(0.0, 1.0, 401)[:, None] * (end - start)
        turn = np.abs(np.diff(np.arctan2(line[:, 0], line[:, 1]))) / math.pi
        run = np.hypot(*np.diff(line, axis=0).T) / (2.0 * half + up + down)
        spread.append((line, np.r_[0.0, np.cumsum(0.5 * turn + 0.5 * run)]))
    counts = [fold * max(3, round(cells * weight[-1])) for _, weight in spread]
    points = [np.zeros((1, 2)) + corners[0]]
    for (line, weight), count in zip(spread, counts, strict=True):
        at = np.interp(np.linspace(0.0, weight[-1], count + 1)[1:], weight, np.arange(401.0))
        points.append(np.column_stack([np.interp(at, np.arange(401.0), line[:, k]) for k in (0, 1)]))
    told = np.concatenate(points)
    return told[:, 0], told[:, 1], (counts[0], counts[0] + counts[1])


def _grid(
    edges: tuple[float, float, float], radii: tuple[float, float], cells: int, fold: int
) -> tuple[Floats, Floats, int, tuple[int, int]]:
    """Nodes (ray, ring) in x and y, the ring on the outside of the tube, and the rays through the corners."""
    out_x, out_y, corners = _rays(edges, cells, fold)
    far = np.hypot(out_x, out_y)
    wall = fold * max(2, cells // 8)
    inside = radii[0] * (radii[1] / radii[0]) ** (np.arange(wall) / wall)
    rings = np.arange(fold * cells + 1) / (fold * cells)
    outside = radii[1] * (far[:, None] / radii[1]) ** rings
    radius = np.concatenate([np.broadcast_to(inside, (len(far), wall)), outside], axis=1)
    return radius * (out_x / far)[:, None], radius * (out_y / far)[:, None], wall, corners


def _stiffness(x: Floats, y: Floats, conductivity: Floats) -> Floats:
    """Conductances of every bilinear element between its four corners (ray, ring): 00, 01, 10, 11."""
    px, py = (np.stack([v[:-1, :-1], v[:-1, 1:], v[1:, :-1], v[1:, 1:]], axis=-1) for v in (x, y))
    total = np.zeros((*conductivity.shape, 4, 4))
    for a in (0.5 - GAUSS, 0.5 + GAUSS):
        for b in (0.5 - GAUSS, 0.5 + GAUSS):
            along = np.array([-(1 - b), -b, 1 - b, b])
            across = np.array([-(1 - a), 1 - a, -a, a])
            xa, ya, xb, yb = px @ along, py @ along, px @ across, py @ across
            area = xa * yb - xb * ya
            dx = (yb[..., None] * along - ya[..., None] * across) / area[..., None]
            dy = (xa[..., None] * across - xb[..., None] * along) / area[..., None]
            both = dx[..., :, None] * dx[..., None, :] + dy[..., :, None] * dy[..., None, :]
            total += 0.25 * (conductivity * np.abs(area))[..., None, None] * both
    return total


def _solve(
    edges: tuple[float, float, float],
    radii: tuple[float, float],
    conductivity: tuple[float, float],
    faces: tuple[float, float],
    cells: int,
    fold: int,
) -> tuple[float, float, float]:
    x, y, wall, corners = _grid(edges, radii, cells, fold)
    rays, rings = x.shape
    k = np.where(np.arange(rings - 1) < wall, conductivity[0], conductivity[1])
    element = _stiffness(x, y, np.broadcast_to(k, (rays - 1, rings - 1)))
    here, next_ = np.zeros((rays, rings, rings)), np.zeros((rays - 1, rings, rings))
    ring = np.arange(rings - 1)
    for i, (ray_i, ring_i) in enumerate(((0, 0), (0, 1), (1, 0), (1, 1))):
        for j, (ray_j, ring_j) in enumerate(((0, 0), (0, 1), (1, 0), (1, 1))):
            if ray_i == ray_j:
                here[ray_i : rays - 1 + ray_i, ring + ring_i, ring + ring_j] += element[..., i, j]
            elif ray_j > ray_i:
                next_[:, ring + ring_i, ring + ring_j] += element[..., i, j]
    lost, top_weight = np.zeros((2, rays)), np.zeros(rays)
    for ray in range(rays - 1):
        face = 0 if ray < corners[0] else 1 if ray >= corners[1] else None
        if face is None:
            continue
        length = math.hypot(x[ray + 1, -1] - x[ray, -1], y[ray + 1, -1] - y[ray, -1])
        for one, two, part in ((ray, ray, 3), (ray, ray + 1, 6), (ray + 1, ray, 6), (ray + 1, ray + 1, 3)):
            if one == two:
                here[one, -1, -1] += faces[face] * length / part
            elif two > one:
                next_[one, -1, -1] += faces[face] * length / part
            lost[face, one] += faces[face] * length / part
            top_weight[one] += length / part if face == 0 else 0.0
    warm = _rays_solved(here, next_)
    face_k = warm[:, -1]
    up, down = (lost @ face_k) / edges[0]
    top = slice(0, corners[0] + 1)
    return float(up), float(down), float(np.max(face_k[top]) * edges[0] / (top_weight @ face_k))


def _rays_solved(here: Floats, next_: Floats) -> Floats:
    """Temperatures of all nodes, the inner ring at 1: block elimination ray by ray."""
    rays = len(here)
    free = slice(1, None)
    right = -here[:, free, 0]
    right[:-1] -= next_[:, free, 0]
    right[1:] -= next_[:, 0, free]
    blocks, links = here[:, free, free].copy(), next_[:, free, free]
    for ray in range(1, rays):
        gain = np.linalg.solve(blocks[ray - 1], np.column_stack([links[ray - 1], right[ray - 1]]))
        blocks[ray] -= links[ray - 1].T @ gain[:, :-1]
        right[ray] -= links[ray - 1].T @ gain[:, -1]
    warm = np.ones(here.shape[:2])
    warm[-1, free] = np.linalg.solve(blocks[-1], right[-1])
    for ray in range(rays - 2, -1, -1):
        warm[ray, free] = np.linalg.solve(blocks[ray], right[ray] - links[ray] @ warm[ray + 1, free])
    return warm


def tube_to_core_m2k_w(*, k_up_w_m2k: Array, k_down_w_m2k: Array, up_r_m2k_w: Array, down_r_m2k_w: Array) -> Array:
    """Resistance between water and the level of the tubes that makes plain layers give what the cell gives in total.

    Formula: R_t = 1 / (K_up + K_down) - 1 / (1/R_up + 1/R_down)
    Arguments: k_up_w_m2k, k_down_w_m2k [W/m2K] of a cell; up_r_m2k_w, down_r_m2k_w [m2K/W] of the layers from the
        tubes' level to the room and to the space below
    Returns: resistance [m2K/W], at least 1e-4
    Valid: both sides at one temperature when the cell was solved
    Source: star of three resistances with the same sum of flows

    >>> core = tube_to_core_m2k_w(k_up_w_m2k=4.678, k_down_w_m2k=0.3159, up_r_m2k_w=0.1208, down_r_m2k_w=1.789)
    >>> round(float(core), 3)
    0.087
    """
    layers = 1.0 / (1.0 / np.asarray(up_r_m2k_w) + 1.0 / np.asarray(down_r_m2k_w))
    return np.maximum(1.0 / (np.asarray(k_up_w_m2k) + np.asarray(k_down_w_m2k)) - layers, 1e-4)
