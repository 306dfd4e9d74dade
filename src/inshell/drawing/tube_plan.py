"""The tube plan to scale: circuits by number and line pattern, keep-outs, manifold, lengths; as SVG and as DXF."""

from __future__ import annotations

import io
from typing import Any

import numpy as np
from shapely.geometry import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from inshell.design.tube_plan import TubePlan, TubeRun
from inshell.drawing.dimensions import draw_dimensions, wall_m
from inshell.drawing.labels import label
from inshell.drawing.paper import Sheet, scale_for
from inshell.drawing.plan import Drawing, Level, draw_openings, draw_walls, levels_shown, north_and_scale
from inshell.house.geometry import Geometry
from inshell.house.model.house import House
from inshell.units import show

LANDSCAPE_MM, PORTRAIT_MM = (235.0, 150.0), (152.0, 190.0)  # of a sheet for the crew; of a page of the report
PATTERNS = ("", "5 1.2", "1.6 0.9", "6 1 1.2 1", "8 1.6 1.6 1.6 1.6 1.6", "3 0.8")
HATCH_M = 0.18
DO_NOT_DRILL = "TUBES BELOW: DO NOT DRILL, NAIL OR CUT THIS SLAB"
DXF_METRES, DXF_INCHES, TEXT_M = 6, 1, 0.12
LINETYPES = ("CONTINUOUS", "DASHED", "DOT", "DASHDOT", "DIVIDE", "CENTER")


def draw_tubes(
    house: House, geometry: Geometry, plan: TubePlan, paper_mm: tuple[float, float] = LANDSCAPE_MM
) -> list[Drawing]:
    """One plan for each level that has tubes, with the length of every circuit."""
    drawings = []
    for title, level in levels_shown(house, geometry):
        runs = [(k, run) for k, run in enumerate(plan.runs, start=1) if set(run.areas) & level.rooms]
        if not runs:
            continue
        page, scale, inside = _page(house, level, paper_mm)
        draw_walls(page, level, inside)
        taken: list[BaseGeometry] = list(draw_openings(page, level, wall_m(house)))
        _keep_outs(page, house, plan)
        for number, run in runs:
            _tube(page, number, run)
        taken += _marks(page, house, runs)
        for outline in level.outlines:
            label(page, outline.polygon, [house.room_named(outline.owner).name or outline.owner], taken)
        draw_dimensions(page, house, np.concatenate([o.points for o in level.outlines]), inside)
        north_and_scale(page, house, scale)
        heading = f"Tubes, {title.lower()}"
        legend = [(number, _words(house, run)) for number, run in runs]
        drawings.append(Drawing(heading, page.svg(f"{heading}, {house.name}"), scale, tuple(legend)))
    return drawings


def _page(house: House, level: Level, paper_mm: tuple[float, float]) -> tuple[Sheet, str, BaseGeometry]:
    inside = unary_union([o.polygon.buffer(1e-4, join_style="mitre") for o in level.outlines])
    x0, y0, x1, y1 = inside.bounds
    beyond = 1.5 * wall_m(house)
    bounds = (x0 - beyond, y0 - beyond, x1 + beyond, y1 + beyond)
    ratio, scale = scale_for(bounds[2] - bounds[0], bounds[3] - bounds[1], paper_mm=paper_mm, system=house.units)
    return Sheet(bounds, ratio), scale, inside


def _words(house: House, run: TubeRun) -> str:
    length, spacing = show(run.length_m, "length", house.units), show(run.spacing_m, "length", house.units)
    rooms = ", ".join(house.room_named(room).name or room for room in run.areas)
    return f"{run.id}: {length} of tube, {spacing} apart, {rooms}"


def _tube(page: Sheet, number: int, run: TubeRun) -> None:
    points = " ".join(f"{x:.2f},{y:.2f}" for x, y in (page.mm((px, py)) for px, py in run.tube.coords))
    dashes = PATTERNS[(number - 1) % len(PATTERNS)]
    pattern = f' stroke-dasharray="{dashes}"' if dashes else ""
    page.parts.append(f'<polyline points="{points}" class="tube"{pattern}/>')


def _marks(page: Sheet, house: House, runs: list[tuple[int, TubeRun]]) -> list[BaseGeometry]:
    """The number and length of every circuit in the middle of its largest area."""
    taken: list[BaseGeometry] = []
    for number, run in runs:
        area: Polygon = max(run.areas.values(), key=lambda a: a.area)
        at = area.centroid if area.contains(area.centroid) else area.representative_point()
        page.mark((at.x, at.y), number)
        x, y = page.mm((at.x, at.y))
        page.text_mm((x, y + 5.6), show(run.length_m, "length", house.units), "note")
        taken.append(Point(at.x, at.y).buffer(7.0 * page.ratio / 1000.0))
    for manifold in house.manifold:
        if manifold.position is not None:
            x, y = page.mm((manifold.position.x_m, manifold.position.y_m))
            page.line_mm(
                [(x - 6.0, y - 1.6), (x + 6.0, y - 1.6), (x + 6.0, y), (x - 6.0, y), (x - 6.0, y - 1.6)], "thin"
            )
            page.text_mm((x, y - 2.4), "manifold", "note")
    return taken


def _keep_outs(page: Sheet, house: House, plan: TubePlan) -> None:
    """What stays free: hatched, with its name; anchors crossed."""
    for item in house.keep_out:
        shape = plan.keep_outs[item.id]
        ring = [(x, y) for x, y in shape.exterior.coords]
        page.line(ring, "thin")
        x0, y0, x1, y1 = shape.bounds
        offset = x0 - (y1 - y0)
        while offset < x1:
            cut = LineString([(offset, y0), (offset + (y1 - y0), y1)]).intersection(shape)
            if isinstance(cut, LineString) and not cut.is_empty:
                page.line([(x, y) for x, y in cut.coords], "hatch")
            offset += HATCH_M
        if item.kind != "anchor":
            middle = shape.centroid
            x, y = page.mm((middle.x, middle.y))
            page.text_mm((x, y + 0.8), item.name or item.kind, "note")


class _Dxf:
    """A drawing in inches or metres with layers as they are needed."""

    def __init__(self, inches: bool) -> None:
        from ezdxf.filemanagement import new

        self.per_m = 1.0 / 0.0254 if inches else 1.0
        self.document = new("R2010", setup=True)
        self.document.header["$INSUNITS"] = DXF_INCHES if inches else DXF_METRES
        self.space = self.document.modelspace()

    def layer(self, name: str, linetype: str = "CONTINUOUS") -> str:
        """A layer, made where it is not there."""
        if name not in self.document.layers:
            self.document.layers.add(name, linetype=linetype)
        return name

    def line(self, points: Any, name: str, *, closed: bool = False) -> None:
        """A polyline."""
        scaled = [(x * self.per_m, y * self.per_m) for x, y in points]
        self.space.add_lwpolyline(scaled, close=closed, dxfattribs={"layer": name})

    def text(self, words: str, at: tuple[float, float], name: str) -> None:
        """Words at a place."""
        placed = self.space.add_text(words, height=TEXT_M * self.per_m, dxfattribs={"layer": name})
        placed.set_placement((at[0] * self.per_m, at[1] * self.per_m))


def tubes_dxf(house: House, geometry: Geometry, plan: TubePlan) -> str:
    """The same as DXF in inches or metres: rooms, keep-outs, one layer a circuit with its number and length."""
    out = _Dxf(house.units == "us")
    rooms = {room for run in plan.runs for room in (*run.areas, *run.passes)}
    for outline in geometry.outlines:
        if outline.owner in rooms:
            out.line(outline.polygon.exterior.coords[:-1], out.layer("ROOMS"), closed=True)
            at = outline.polygon.representative_point()
            out.text(house.room_named(outline.owner).name or outline.owner, (at.x, at.y), out.layer("NAMES"))
    for item in house.keep_out:
        shape = plan.keep_outs[item.id]
        name = out.layer("ANCHORS" if item.kind == "anchor" else "KEEP-OUT", "DASHED")
        out.line(shape.exterior.coords[:-1], name, closed=True)
        out.text(item.name or item.kind, (shape.centroid.x, shape.centroid.y), name)
    for number, run in enumerate(plan.runs, start=1):
        name = out.layer(f"TUBE-{number}", LINETYPES[(number - 1) % len(LINETYPES)])
        out.line(run.tube.coords, name)
        x, y = run.tube.coords[0]
        out.text(f"{number}: {_words(house, run)}", (x, y + TEXT_M * number), name)
    for manifold in house.manifold:
        if manifold.position is not None:
            out.text("manifold", (manifold.position.x_m, manifold.position.y_m), out.layer("MANIFOLD"))
    x0, y0, _, _ = unary_union([o.polygon for o in geometry.outlines]).bounds
    out.text(DO_NOT_DRILL, (x0, y0 - 0.5), out.layer("NOTES"))
    text = io.StringIO()
    out.document.write(text)
    return text.getvalue()
