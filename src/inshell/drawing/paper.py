"""A sheet of SVG in millimetres of paper, at a scale that a ruler can read."""

from __future__ import annotations

from dataclasses import dataclass, field
from xml.sax.saxutils import escape, quoteattr

from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from inshell.units import System

Point = tuple[float, float]
SCALES: dict[System, list[tuple[int, str]]] = {
    "us": [
        (24, "1/2 in = 1 ft"),
        (32, "3/8 in = 1 ft"),
        (48, "1/4 in = 1 ft"),
        (64, "3/16 in = 1 ft"),
        (96, "1/8 in = 1 ft"),
        (128, "3/32 in = 1 ft"),
        (192, "1/16 in = 1 ft"),
        (384, "1/32 in = 1 ft"),
    ],
    "si": [
        (20, "1:20"),
        (25, "1:25"),
        (50, "1:50"),
        (75, "1:75"),
        (100, "1:100"),
        (150, "1:150"),
        (200, "1:200"),
        (500, "1:500"),
    ],
}


def scale_for(width_m: float, height_m: float, *, paper_mm: tuple[float, float], system: System) -> tuple[int, str]:
    """The largest usual scale at which a drawing fits the paper.

    >>> scale_for(10.0, 8.0, paper_mm=(180.0, 200.0), system="si")
    (75, '1:75')
    """
    for ratio, name in SCALES[system]:
        if width_m * 1000.0 / ratio <= paper_mm[0] and height_m * 1000.0 / ratio <= paper_mm[1]:
            return ratio, name
    return 1000, "1:1000"


@dataclass
class Sheet:
    """Shapes in metres of the house, y up, turned into millimetres of paper, y down."""

    bounds: tuple[float, float, float, float]
    ratio: int
    margin_mm: float = 14.0
    parts: list[str] = field(default_factory=list)

    @property
    def size_mm(self) -> Point:
        """Width and height of the sheet."""
        x0, y0, x1, y1 = self.bounds
        k = 1000.0 / self.ratio
        return (x1 - x0) * k + 2 * self.margin_mm, (y1 - y0) * k + 2 * self.margin_mm

    def mm(self, point: Point) -> Point:
        """A point of the house on the paper."""
        x0, _, _, y1 = self.bounds
        k = 1000.0 / self.ratio
        return (point[0] - x0) * k + self.margin_mm, (y1 - point[1]) * k + self.margin_mm

    def area(self, shape: BaseGeometry, style: str) -> None:
        """A filled shape, holes left open."""
        path = ""
        for polygon in _polygons(shape):
            for ring in (polygon.exterior, *polygon.interiors):
                points = [self.mm((x, y)) for x, y in ring.coords]
                path += "M" + "L".join(f"{x:.2f} {y:.2f}" for x, y in points[:-1]) + "Z"
        if path:
            self.parts.append(f'<path d="{path}" fill-rule="evenodd" class="{style}"/>')

    def line(self, points: list[Point], style: str) -> None:
        """A line through points of the house."""
        self.line_mm([self.mm(p) for p in points], style)

    def line_mm(self, points: list[Point], style: str) -> None:
        """A line through points of the paper."""
        text = " ".join(f"{x:.2f},{y:.2f}" for x, y in points)
        self.parts.append(f'<polyline points="{text}" class="{style}"/>')

    def area_mm(self, points: list[Point], style: str) -> None:
        """A filled shape given on the paper."""
        text = " ".join(f"{x:.2f},{y:.2f}" for x, y in points)
        self.parts.append(f'<polygon points="{text}" class="{style}"/>')

    def text_mm(self, at: Point, text: str, style: str, *, turn: float = 0.0) -> None:
        """Text at a place on the paper."""
        x, y = at
        turned = f' transform="rotate({turn:.1f} {x:.2f} {y:.2f})"' if turn else ""
        self.parts.append(f'<text x="{x:.2f}" y="{y:.2f}" class="{style}"{turned}>{escape(text)}</text>')

    def mark(self, at: Point, number: int) -> None:
        """A numbered marker; the legend says what it is."""
        x, y = self.mm(at)
        self.parts.append(f'<circle cx="{x:.2f}" cy="{y:.2f}" r="2.6" class="mark"/>')
        self.text_mm((x, y + 0.95), str(number), "mark-text")

    def svg(self, title: str) -> str:
        """The finished drawing; it prints at its scale."""
        width, height = self.size_mm
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-label={quoteattr(title)} '
            f'width="{width:.1f}mm" height="{height:.1f}mm" viewBox="0 0 {width:.2f} {height:.2f}">'
            f"<title>{escape(title)}</title><style>{STYLE}</style>{''.join(self.parts)}</svg>"
        )


def _polygons(shape: BaseGeometry) -> list[Polygon]:
    if isinstance(shape, Polygon):
        return [] if shape.is_empty else [shape]
    if isinstance(shape, MultiPolygon):
        return list(shape.geoms)
    return [g for g in getattr(shape, "geoms", []) if isinstance(g, Polygon)]


STYLE = (
    "text{font-family:'DejaVu Sans',Verdana,sans-serif;fill:#111}"
    ".name,.note{paint-order:stroke;stroke:#fff;stroke-width:.9px;stroke-linejoin:round}.wall{fill:#333;stroke:none}.gap{fill:#fff;stroke:none}.room{fill:#fff;stroke:none}.buffer{fill:#eee;stroke:#777;"
    "stroke-width:.25;stroke-dasharray:1.5 1}.thin{fill:none;stroke:#111;stroke-width:.18}.glass{fill:none;stroke:#111;"
    "stroke-width:.3}.leaf{fill:none;stroke:#111;stroke-width:.25}.dash{fill:none;stroke:#111;stroke-width:.25;"
    "stroke-dasharray:1.6 1}.name{font-size:3.1px;text-anchor:middle;font-weight:bold}.note{font-size:2.5px;"
    "text-anchor:middle}.dim{font-size:2.4px;text-anchor:middle}.left{font-size:2.6px}.left-small{font-size:2.4px}.right-small{font-size:2.4px;text-anchor:end}.air{fill:none;stroke:#111;stroke-width:.5}.air-tip{fill:#111}.dim,.left-small,.right-small{paint-order:stroke;stroke:#fff;stroke-width:.8px;stroke-linejoin:round}.mark{fill:#fff;stroke:#111;"
    "stroke-width:.35}.mark-text{font-size:2.7px;text-anchor:middle;font-weight:bold}.ground{fill:#ddd;stroke:none}"
    ".tube{fill:none;stroke:#111;stroke-width:.42;stroke-linejoin:round}.hatch{fill:none;stroke:#777;stroke-width:.12}"
)
