"""Air on the plan: an arrow with its flow at every door, fan and ventilator, and what leaks bring into each room."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from shapely.geometry import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from inshell.drawing.labels import label
from inshell.drawing.paper import Sheet
from inshell.drawing.plan import Drawing, bare_plans, north_and_scale
from inshell.house.geometry import Geometry
from inshell.house.model.house import House
from inshell.units import show, to_unit

ARROW_MM, WIDE_MM, WORD_MM = 9.0, 1.2, 1.35


@dataclass(frozen=True)
class AirWay:
    """Air that passes one door, fan or ventilator between two rooms, or outdoors (None): both ways, actual volume."""

    name: str
    from_room: str | None
    to_room: str | None
    there_m3_s: float
    back_m3_s: float
    opening: str | None = None
    at: tuple[float, float] | None = None


@dataclass(frozen=True)
class RoomLeaks:
    """Air through all leaks of a room, in from outdoors and out."""

    room: str
    in_m3_s: float
    out_m3_s: float


def draw_air(house: House, geometry: Geometry, ways: list[AirWay], leaks: list[RoomLeaks]) -> list[Drawing]:
    """One plan a level: arrows with figures in cfm or m3/h; after the stroke, what comes back by the same way."""
    plans = []
    for title, scale, level, page, taken in bare_plans(house, geometry):
        taken += [_arrow(page, house, geometry, way, k) for k, way in enumerate(_here(house, ways, level.rooms))]
        by_room = {leak.room: leak for leak in leaks}
        for outline in level.outlines:
            room = house.room_named(outline.owner)
            lines = [room.name or room.id, *_leak_lines(by_room.get(room.id), house)]
            label(page, outline.polygon, lines, taken)
        north_and_scale(page, house, scale)
        plans.append(Drawing(f"Air, {title.lower()}", page.svg(f"Air, {title.lower()}, {house.name}"), scale))
    return plans


def _here(house: House, ways: list[AirWay], rooms: frozenset[str]) -> list[AirWay]:
    """Ways of a level; one between two floors is drawn on the upper one alone, clear of what lies below."""

    def home(way: AirWay) -> str:
        ends = [house.room_named(name) for name in (way.to_room, way.from_room) if name]
        return max(ends, key=house.floor_height_m).id

    return [way for way in ways if home(way) in rooms]


def _leak_lines(leaks: RoomLeaks | None, house: House) -> list[str]:
    if leaks is None:
        return []
    parts = [("in", leaks.in_m3_s), ("out", leaks.out_m3_s)]
    return [f"leaks {way} {show(flow, 'flow', house.units)}" for way, flow in parts if flow > 5e-5]


def _arrow(sheet: Sheet, house: House, geometry: Geometry, way: AirWay, k: int) -> BaseGeometry:
    """Draw one arrow; returns the floor that it covers, so that labels keep clear of it."""
    at, along = _place(geometry, way, k)
    if way.there_m3_s < way.back_m3_s:
        along = -along
    most, least = max(way.there_m3_s, way.back_m3_s), min(way.there_m3_s, way.back_m3_s)
    x, y = sheet.mm((float(at[0]), float(at[1])))
    u = np.array([along[0], -along[1]])
    v = np.array([-u[1], u[0]])
    tail, tip = np.array([x, y]) - 0.5 * ARROW_MM * u, np.array([x, y]) + 0.5 * ARROW_MM * u
    neck = tip - 2.4 * u
    sheet.line_mm([_pair(tail), _pair(neck)], "air")
    sheet.area_mm([_pair(tip), _pair(neck + WIDE_MM * v), _pair(neck - WIDE_MM * v)], "air-tip")
    unit = "cfm" if house.units == "us" else "m3/h"
    figures = [to_unit(flow, "flow", unit) for flow in (most, least)]
    text = f"{figures[0]:.0f}" + (f" / {figures[1]:.0f}" if figures[1] >= 0.5 else "")
    text += " out" if way.to_room is None else " in" if way.from_room is None else ""
    side = v if v[1] < -0.1 or (abs(v[1]) <= 0.1 and v[0] > 0) else -v
    words = np.array([x, y]) + side * (2.2 if abs(side[1]) > 0.5 else 1.5)
    style = "dim" if abs(side[1]) > 0.5 else ("left-small" if side[0] > 0 else "right-small")
    sheet.text_mm((float(words[0]), float(words[1]) + 0.8), text, style)
    m = sheet.ratio / 1000.0
    reach = max(0.5 * ARROW_MM, WORD_MM * len(text) / 2.0) * m
    return (
        Point(float(at[0]), float(at[1]))
        .buffer(reach)
        .intersection(LineString([(at[0] - reach, at[1]), (at[0] + reach, at[1])]).buffer(4.0 * m))
    )


def _pair(point: np.ndarray) -> tuple[float, float]:
    return float(point[0]), float(point[1])


def _place(geometry: Geometry, way: AirWay, k: int) -> tuple[np.ndarray, np.ndarray]:
    """Where an arrow stands and which way it points: through the opening, or in or out of the room by its device."""
    shapes = {o.owner: o.polygon for o in geometry.outlines}
    placed = next((o for o in geometry.openings if o.id == way.opening), None)
    if placed is not None and placed.start != placed.end:
        start, end = np.array(placed.start), np.array(placed.end)
        along = np.array([(end - start)[1], -(end - start)[0]]) / max(float(np.hypot(*(end - start))), 1e-9)
        middle = 0.5 * (start + end)
        target = shapes.get(way.to_room or "")
        if target is not None and not _towards(target, middle, along):
            along = -along
        return middle, along
    room = shapes[way.to_room or way.from_room or ""]
    at = np.array(way.at) if way.at else _edge_point(room, k)
    if way.from_room and way.to_room and way.from_room in shapes:
        along = np.array(shapes[way.to_room].centroid.coords[0]) - np.array(shapes[way.from_room].centroid.coords[0])
    else:
        outward = at - np.array(room.centroid.coords[0])
        along = outward if way.to_room is None else -outward
    return at, along / max(float(np.hypot(*along)), 1e-9)


def _towards(target: Polygon, middle: np.ndarray, along: np.ndarray) -> bool:
    return bool(target.distance(Point(*(middle + 0.4 * along))) < target.distance(Point(*(middle - 0.4 * along))))


def _edge_point(room: Polygon, k: int) -> np.ndarray:
    inner = room.buffer(-0.35 * min(room.bounds[2] - room.bounds[0], room.bounds[3] - room.bounds[1]))
    ring = inner.exterior if isinstance(inner, Polygon) and not inner.is_empty else room.exterior
    point = ring.interpolate((0.31 + 0.27 * k) % 1.0, normalized=True)
    return np.array([point.x, point.y])
