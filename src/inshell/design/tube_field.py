"""One field of floor tube: a line that winds inward through an area, and the tube that runs along both of its sides.

The tube of a field is the outline of that line thickened by half the spacing: there and back lie side by side, one
spacing from their neighbours, and can neither cross nor touch. Where an area forks, so does the line.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product

import numpy as np
from shapely import get_coordinates, line_interpolate_point, line_merge, maximum_inscribed_circle
from shapely.geometry import LineString, MultiPolygon, Point, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import nearest_points, substring, unary_union

from inshell.design.tube_bends import sharpest_m

XY = tuple[float, float]
ARC_DEG = 9.0
HALF = 0.49  # of a straight between two corners, the most that the arc of one takes
STRAIGHT_DEG = 15.0  # a leader that ends within it of its way on needs no corner there
WIDENS_M = 0.8  # along which a pair of leaders opens to the spacing
STRETCHES = (0.0, -0.05, 0.05, -0.095, 0.095)  # of the spacing
RUNS = (0.0, 1.0, 2.0)  # spacings along which the line moves inward
MARGINS = (0.02, 0.27, 0.52, 0.74, 0.93)  # spacings between the edge and the first tube
NEAR_BEND = 0.9  # of the bend radius, as it is seen at points 3 cm apart
GOOD = 0.02  # of a square of the spacing left bare: no other way is tried
LEAST_LENGTH = 1.5  # spacings, of a line worth following


@dataclass(frozen=True)
class Field:
    """The lines that the tube follows, their spacing, what lies too far from a tube [m2], and the leader."""

    lines: tuple[LineString, ...]
    spacing_m: float
    band: BaseGeometry
    bare_m2: float
    bare: BaseGeometry
    lead: tuple[XY, ...]


def lay_field(
    area: Polygon, lead: tuple[XY, ...], *, spacing_m: float, bend_m: float, gap_m: float,
    stretches: tuple[float, ...] = (),
) -> Field | None:  # fmt: skip
    """The best of several ways to wind through an area from the end of its leader; None where no line fits.

    The leader's middle line ends at the area's root; a single point is a root alone. Supply and return open from the
    gap that they keep along the leader to the spacing within 0.8 m at most, so that no bend at a doorway is tight.

    Tried are spacings within a tenth of the one asked, or the `stretches` that are given [-], and several distances
    from the area's edge, at most one spacing. The best leaves least floor further than one spacing from a tube,
    corners inside the bend radius apart.
    """
    best: tuple[float, Field] | None = None
    with np.errstate(divide="ignore", invalid="ignore"):  # slivers of no width
        for stretch, run, margin in product(stretches or STRETCHES, RUNS, MARGINS):
            if best is not None and best[0] < max(GOOD, 0.2 * abs(stretch)):
                break
            bound = 0.2 * abs(stretch) + 0.02 * margin + 0.02 * run
            if best is not None and bound >= best[0] - 1e-9:
                continue
            step = spacing_m * (1.0 + stretch)
            made = _wound(area, lead, step, margin * step, run * step, bend_m, gap_m)
            if made is None:
                continue
            lines, band = made
            bound += 5.0 * max(0.0, NEAR_BEND - sharpest_m(_but_mouth(band, lead[0], gap_m)) / bend_m)
            if best is not None and bound >= best[0] - 1e-9:
                continue  # whatever it leaves bare
            bare = bare_of(area, [LineString(band.exterior.coords)], spacing_m, bend_m)
            score = bound + float(bare.area) / spacing_m**2
            if best is None or score < best[0] - 1e-9:
                best = (score, Field(lines, step, band, float(bare.area), bare, lead))
    return best[1] if best else None


def _wound(
    area: Polygon, lead: tuple[XY, ...], step: float, margin: float, run: float, bend: float, gap: float
) -> tuple[tuple[LineString, ...], Polygon] | None:
    """The lines of one way to wind, and the band along them; None where it forks, meets itself or leaves its home."""
    lines = _tree(area, lead, step, margin, run, bend)
    if not lines:
        return None
    band = band_of(lines, lines[0].project(Point(lead[-1])), step, bend, gap)
    if not isinstance(band, Polygon) or band.interiors or not _home(area, lead, step).contains(band):
        return None
    return tuple(lines), band


def _home(area: Polygon, lead: tuple[XY, ...], step: float) -> BaseGeometry:
    """Where a band may lie: its area, and on the way from its root to it, where it leaves."""
    near, _ = nearest_points(area, Point(lead[-1]))
    return area.buffer(1e-3).union(LineString([*lead, (near.x, near.y)]).buffer(1.1 * step))


def bare_of(area: BaseGeometry, tubes: list[LineString], spacing_m: float, bend_m: float) -> BaseGeometry:
    """What of an area lies further than one spacing from a tube, its corners inside the bend radius left out."""
    round_area = area.buffer(-bend_m, quad_segs=6).buffer(bend_m, quad_segs=6)
    near = unary_union([tube.simplify(0.002) for tube in tubes]).buffer(1.01 * spacing_m, quad_segs=6)
    return round_area.difference(near)


def band_of(lines: list[LineString], after_m: float, step: float, bend: float, gap: float) -> BaseGeometry:
    """The lines thickened by half the spacing, inner corners filled to the bend radius, bulbs where ends need them.

    The first line begins as narrow as its leaders and widens along its way.
    """
    fill = min(bend, 0.47 * step)

    def filled(shape: BaseGeometry) -> BaseGeometry:
        return shape.buffer(fill, quad_segs=10).buffer(-fill, quad_segs=10)

    first = widening(lines[0], after_m, gap, step)
    plain = unary_union([first, *(line.buffer(0.5 * step, quad_segs=10) for line in lines[1:])])
    if bend <= 0.5 * step:
        return filled(plain)
    bulbs = [Point(line.coords[-1]).buffer(bend, quad_segs=10) for line in lines]
    told = filled(unary_union([plain, *bulbs]))
    if isinstance(told, Polygon) and not told.interiors:
        return told
    told = filled(plain)  # without those bulbs that would meet the band elsewhere
    for bulb in bulbs:
        with_bulb = filled(told.union(bulb))
        if isinstance(with_bulb, Polygon) and not with_bulb.interiors:
            told = with_bulb
    return told


def widening(line: LineString, after_m: float, gap: float, step: float) -> BaseGeometry:
    """A line as wide as the gap of leaders as far as a place, then widening within WIDENS_M to the spacing."""
    within = min(WIDENS_M, 0.12 * (line.length - after_m))
    lead = [substring(line, 0.0, after_m).buffer(0.5 * gap, cap_style="flat", quad_segs=10)] if after_m > 1e-6 else []
    if within < 0.1 * step:
        return unary_union([*lead, substring(line, after_m, line.length).buffer(0.5 * step, quad_segs=10)])
    stops = np.linspace(0.0, within, 25)
    share = stops / within
    half = 0.5 * gap + 0.5 * (step - gap) * (3.0 * share**2 - 2.0 * share**3)
    points = get_coordinates(line_interpolate_point(line, after_m + stops))
    near = get_coordinates(line_interpolate_point(line, after_m + stops + 1e-3))
    way = (near - points) / np.hypot(*(near - points).T)[:, None]
    side = np.column_stack([-way[:, 1], way[:, 0]]) * half[:, None]
    flare = Polygon([*(points + side), *(points - side)[::-1]]).buffer(0.0)
    return unary_union([*lead, flare, substring(line, after_m + within, line.length).buffer(0.5 * step, quad_segs=10)])


def _but_mouth(band: BaseGeometry, root: XY, gap: float) -> LineString:
    """A band's outline but for its narrow beginning."""
    ring = LineString(band.exterior.coords)
    cut = line_merge(ring.difference(Point(root).buffer(2.0 * gap)))
    pieces = list(getattr(cut, "geoms", [cut]))
    return max(pieces, key=lambda line: float(line.length), default=ring)


def _tree(area: Polygon, lead: tuple[XY, ...], step: float, margin: float, run: float, bend: float) -> list[LineString]:
    """Rings at every second spacing, opened and joined into one line from the root, with branches where they fork."""
    items = list(_items(area.buffer(-(margin + 0.5 * step), join_style="mitre"), step))
    if not items:
        return []
    lines: list[LineString] = []
    left = list(range(len(items)))
    root = lead[-1]
    first = min(left, key=lambda k: items[k][0].distance(Point(root)))
    here = _opened(items[first], root, step, run)
    start = here.coords[0]
    path = [*_towards(lead, start), *here.coords]
    left.remove(first)
    while left:
        tail = path[-1]
        near = min(left, key=lambda k: items[k][0].distance(Point(tail)))
        if items[near][0].distance(Point(tail)) <= 2.3 * step and items[first][1]:
            path += list(_opened(items[near], _ahead(path, run), step, run).coords)
        else:
            lines.append(rounded(path, bend + 0.5 * step))
            known = unary_union(lines)
            near = min(left, key=lambda k: items[k][0].distance(known))
            if items[near][0].distance(known) > 4.0 * step:
                return lines  # what is left lies behind a neck that no band passes
            at, _ = nearest_points(known, items[near][0])
            branch = _opened(items[near], (at.x, at.y), step, run)
            path = [(at.x, at.y), *branch.coords]
        first = near
        left.remove(near)
    lines.append(rounded(path, bend + 0.5 * step))
    return lines


Item = tuple[LineString, bool]  # a line, and whether it is closed


def _towards(lead: tuple[XY, ...], start: XY) -> list[XY]:
    """A leader without its end where that lies straight on its way to a place."""
    if math.dist(lead[-1], start) < 1e-6:
        return list(lead[:-1])
    if len(lead) > 1:
        (x0, y0), (x1, y1), (x2, y2) = lead[-2], lead[-1], start
        one, two = (x1 - x0, y1 - y0), (x2 - x1, y2 - y1)
        turn = math.atan2(one[0] * two[1] - one[1] * two[0], one[0] * two[0] + one[1] * two[1])
        if abs(turn) < math.radians(STRAIGHT_DEG):
            return list(lead[:-1])
    return list(lead)


def _items(region: BaseGeometry, step: float) -> Iterator[Item]:
    """Closed rings where a region is wide, open spines where it is narrow; then what lies two spacings further in."""
    for part in polygons(region):
        if part.area < 0.02 * step**2:
            continue
        wide = part.buffer(-0.95 * step, join_style="mitre").buffer(0.95 * step, join_style="mitre").intersection(part)
        wides = [p for p in polygons(wide) if p.area > step**2]
        for piece in wides:
            for ring in (piece.exterior, *piece.interiors):
                yield LineString(ring.coords), True
        narrow = part.difference(unary_union(wides).buffer(1.0 * step)) if wides else part
        for piece in polygons(narrow):
            spine = _spine(piece, step)
            if spine is not None:
                yield spine, False
        if wides:
            inner = unary_union(wides).buffer(-2.0 * step, join_style="mitre")
            yield from _items(inner, step)
            deep = unary_union(wides).buffer(-1.5 * step, join_style="mitre").difference(inner.buffer(1.45 * step))
            for piece in polygons(deep):
                if piece.area > 1e-3 * step**2:
                    yield _spine(piece, step) or _stub(piece, step), False


def _spine(piece: Polygon, step: float) -> LineString | None:
    """The middle line of a narrow piece, from one end to the other."""
    radius = float(maximum_inscribed_circle(piece, tolerance=0.02 * step).length)
    core = piece.buffer(-0.9 * radius, join_style="mitre")
    core = max(polygons(core), key=lambda p: p.length, default=None)
    if core is None:
        return None
    ring = np.array(core.exterior.coords[:-1])
    apart = np.hypot(*(ring[:, None, :] - ring[None, :, :]).transpose(2, 0, 1))
    i, j = sorted(int(v) for v in np.unravel_index(int(np.argmax(apart)), apart.shape))
    one, two = ring[i : j + 1], np.concatenate([ring[j:], ring[: i + 1]])[::-1]
    count = 9
    along = np.linspace(0.0, 1.0, count)
    halves = (LineString(one), LineString(two))
    sides = [get_coordinates(line_interpolate_point(half, along, normalized=True)) for half in halves]
    middle = LineString(0.5 * (sides[0] + sides[1])).simplify(0.1 * step)
    return middle if middle.length >= 0.25 * step else None


def _stub(piece: Polygon, step: float) -> LineString:
    """A short line in the middle of a small piece."""
    at = piece.representative_point()
    return LineString([(at.x - 0.1 * step, at.y), (at.x + 0.1 * step, at.y)])


def _opened(item: Item, at: XY, step: float, run: float) -> LineString:
    """A ring opened at the point nearest to a place, two spacings and its way inward short of closing."""
    line, closed = item
    if not closed:
        coords = list(line.coords)
        return LineString(coords if math.dist(coords[0], at) <= math.dist(coords[-1], at) else coords[::-1])
    if not Polygon(line.coords).exterior.is_ccw:
        line = line.reverse()
    start = line.project(Point(at))
    rolled = _rolled(line, start)
    keep = rolled.length - 2.0 * step - run
    if keep < LEAST_LENGTH * step:
        keep = max(rolled.length - 2.0 * step, 0.4 * rolled.length)
    return substring(rolled, 0.0, keep)


def _rolled(ring: LineString, start: float) -> LineString:
    """A closed line that begins elsewhere."""
    one, two = substring(ring, start, ring.length), substring(ring, 0.0, start)
    points = list(one.coords) if isinstance(one, LineString) else []
    more = list(two.coords) if isinstance(two, LineString) else []
    return LineString([*points, *more[1:]] if points else more)


def _ahead(path: list[XY], run: float) -> XY:
    """Where the way inward should land: a run further on than where it leaves."""
    (x0, y0), (x1, y1) = path[-2], path[-1]
    length = math.hypot(x1 - x0, y1 - y0) or 1.0
    return x1 + run * (x1 - x0) / length, y1 + run * (y1 - y0) / length


def rounded(path: list[XY], radius: float, first: float = HALF) -> LineString:
    """A path whose corners are arcs of a radius, smaller where its pieces are too short for it."""
    points = np.array(path, dtype=float)
    points = points[np.r_[True, np.hypot(*np.diff(points, axis=0).T) > 1e-6]]
    if len(points) < 3:
        return LineString(points if len(points) > 1 else [points[0], points[0] + 1e-4])
    ways = np.diff(points, axis=0)
    lengths = np.hypot(*ways.T)
    one, two, here = ways[:-1], ways[1:], points[1:-1]
    turn = np.arctan2(one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0], (one * two).sum(axis=1))
    bent = (np.abs(turn) >= math.radians(3.0)) & (np.abs(turn) <= math.radians(175.0))
    tangent = np.tan(0.5 * np.abs(np.where(bent, turn, 1.0)))
    share = np.r_[first, np.full(len(here) - 1, HALF)]
    reach = np.where(bent, np.minimum(radius * tangent, np.minimum(share * lengths[:-1], HALF * lengths[1:])), 0.0)
    along = one / lengths[:-1, None]
    inward = np.sign(turn)[:, None] * np.column_stack([-along[:, 1], along[:, 0]]) * (reach / tangent)[:, None]
    centre = here - along * reach[:, None] + inward
    count = np.where(bent, np.maximum(2, np.ceil(np.abs(turn) / math.radians(ARC_DEG))), 0).astype(int)
    at = np.repeat(np.arange(len(here)), count + 1)
    k = np.arange(len(at)) - np.repeat(np.cumsum(count + 1) - (count + 1), count + 1)
    angle = turn[at] * k / np.maximum(count, 1)[at]
    c, s, (x, y) = np.cos(angle), np.sin(angle), -inward[at].T
    arcs = centre[at] + np.column_stack([c * x - s * y, s * x + c * y])
    return LineString(np.vstack([points[:1], arcs, points[-1:]]))


def polygons(shape: BaseGeometry) -> list[Polygon]:
    """The polygons of a shape."""
    if isinstance(shape, Polygon):
        return [] if shape.is_empty else [shape]
    if isinstance(shape, MultiPolygon):
        return list(shape.geoms)
    return [g for g in getattr(shape, "geoms", []) if isinstance(g, Polygon) and not g.is_empty]
