"""The report: one self-contained, printable, accessible page; drawings to scale."""

from __future__ import annotations

import html.parser
import re
from pathlib import Path
from types import SimpleNamespace
from xml.etree import ElementTree as ET

import pytest

from inshell.drawing.plan import draw_plans
from inshell.drawing.section import draw_sections
from inshell.house.reading import read_house
from inshell.jobs.report import write_report
from inshell.pack.balance_chart import balance_chart
from inshell.pack.figures import Figures
from tests.evidence import DEMO, EXAMPLES, FT, assert_close


class Page(html.parser.HTMLParser):
    """What a test asks of a page."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.text: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        self.text.append(data)


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> tuple[str, Page]:
    target = tmp_path_factory.mktemp("report") / "out.html"
    write_report(DEMO, target)
    text = target.read_text(encoding="utf-8")
    return text, Page(text)


@pytest.mark.invariant
def test_it_needs_nothing_from_outside(page: tuple[str, Page]) -> None:
    for tag, attrs in page[1].tags:
        assert tag not in ("script", "link", "img", "iframe")
        for name in ("src", "href", "xlink:href"):
            assert (attrs.get(name) or "#").startswith(("#", "data:image/png;base64,")), (tag, attrs)
    urls = {u for u in re.findall(r"https?://[^\"' )<]+", page[0]) if "w3.org" not in u}
    assert not urls


@pytest.mark.invariant
def test_it_can_be_read_without_seeing(page: tuple[str, Page]) -> None:
    tags = page[1].tags
    assert ("html", {"lang": "en"}) in tags
    assert [t for t, _ in tags].count("h1") == 1
    for _, attrs in (t for t in tags if t[0] == "svg"):
        assert attrs.get("role") == "img"
        assert attrs.get("aria-label")
    for _, attrs in (t for t in tags if t[0] == "th"):
        assert attrs.get("scope") in ("col", "row")
    ids = [attrs["id"] for tag, attrs in tags if tag in ("h2", "section") and attrs.get("id")]
    assert len(ids) == len(set(ids))
    labels = {attrs.get("aria-labelledby") for tag, attrs in tags if tag == "section"}
    assert labels <= set(ids)


@pytest.mark.invariant
def test_it_says_what_must_be_said(page: tuple[str, Page]) -> None:
    text = " ".join(page[1].text)
    for words in (
        "The code official may require another approved load method",
        "It certifies nothing",
        "carbon monoxide alarms",
        "test for radon after occupancy",
        "Values that were not given",
        "1 broken",
        "diagnostic, decides no promise",
        "TMY3, National Renewable Energy Laboratory",
    ):
        assert words in text, words
    assert "nan" not in text.lower().split()
    assert "None" not in text.split()


@pytest.mark.invariant
@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_drawings_are_to_scale(path: Path) -> None:
    file = read_house(path)
    for drawing in [*draw_plans(file.house, file.geometry), *draw_sections(file.house, file.geometry)]:
        root = ET.fromstring(drawing.svg)
        width = float(root.attrib["width"].removesuffix("mm"))
        box = [float(v) for v in root.attrib["viewBox"].split()]
        assert_close(box[2], width, abs=0.06, why="a unit of the drawing is a millimetre of paper")
        assert width < 188, "it must fit a letter page inside its margins"


@pytest.mark.analytic
def test_the_demo_plan_measures_on_paper() -> None:
    """36 ft at 1/8 in = 1 ft are 4.5 in; the dark ring of the outer walls is that long and its thickness more."""
    file = read_house(DEMO)
    plan = draw_plans(file.house, file.geometry)[0]
    assert plan.scale == "1/8 in = 1 ft"
    ring = re.search(r'<path d="([^"]+)" fill-rule="evenodd" class="wall"', plan.svg)
    assert ring
    xs = [float(x) for x in re.findall(r"(?:M|L)(-?[\d.]+) ", ring[1])]
    wall = (5.625 + 2 * 7 / 16 + 0.5) * 0.0254
    assert_close(
        max(xs) - min(xs),
        (36 * FT + 2 * wall) * 1000 / 96,
        abs=0.05,
        why="paper is drawn to a hundredth of a millimetre",
    )


@pytest.mark.invariant
def test_every_room_and_device_is_named_on_a_plan() -> None:
    file = read_house(DEMO)
    plans = draw_plans(file.house, file.geometry)
    everything = " ".join(plan.svg for plan in plans)
    for room in file.house.room:
        assert room.name in everything
    legend = {name for plan in plans for _, name in plan.legend}
    assert {"Bath fan", "Range hood", "Tankless heater", "Head in the living room"} <= legend
    assert "N</text>" in everything


@pytest.mark.analytic
def test_flow_per_enclosure_is_told_in_the_readers_units() -> None:
    """0.30 cfm/ft2 are 5.486 m3/(h m2): 0.3 x 1.699011 m3/h per cfm / 0.09290304 m2 per ft2."""
    verdict = SimpleNamespace(metric="flow_per_enclosure", value=0.30, limit=0.28)
    assert Figures("us").tightness(verdict, "value") == "0.30 cfm/ft²"
    assert Figures("si").tightness(verdict, "value") == "5.49 m³/h·m²"
    assert Figures("si").tightness(SimpleNamespace(metric="ach50", value=1.04, limit=3.0), "limit") == "3.00 1/h"


@pytest.mark.invariant
def test_a_day_on_which_nothing_passes_is_drawn_empty() -> None:
    """A room as warm as all around it on one design day: no bar there, the other day's bars as ever."""
    still = {"parts": [{"words": "wall", "watts": 0.2}], "stored_w": 0.1}
    cold = {"parts": [{"words": "wall", "watts": -250.0}, {"words": "heater", "watts": 250.0}], "stored_w": 0.0}
    days = [
        {
            "doors": "shut", "season": season,
            "rooms": [{"room": "a", "balance": balance, "air_c": [20.0], "worst_hour": 0}],
        }
        for season, balance in (("heating", cold), ("cooling", still))
    ]  # fmt: skip
    drawn = balance_chart({"design_days": days}, "a", "si")
    assert ET.fromstring(drawn[drawn.index("<svg") :]) is not None
    assert all(words in drawn for words in ("wall", "heater", "250"))
