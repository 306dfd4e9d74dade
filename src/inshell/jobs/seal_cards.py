"""Task cards of the seal list, and its document."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import Any

from inshell.drawing.seal_plan import SealMark, draw_seals
from inshell.house.writing import must_be_new, write_text
from inshell.jobs.seal import Seal, SealRow
from inshell.jobs.seal_state import ORPHANED, PASSED
from inshell.pack.cards import render_cards
from inshell.pack.figures import Figure


def check_cards(output: Path, *, overwrite: bool) -> None:
    """Refuse a place that the cards could not be written to, before the year is run."""
    must_be_new(output, "--cards", (".html", ".htm"), overwrite=overwrite)


def write_cards(told: Seal, output: Path, *, overwrite: bool) -> None:
    """One HTML page a trade with the rows that are not proved, and the plan with their numbers."""
    write_text(output, render_cards(_facts(told)), overwrite=overwrite)


def _facts(told: Seal) -> dict[str, Any]:
    base = told.answer
    rows = [row for row in told.rows if row.state not in (PASSED, ORPHANED) and row.place is not None]
    trades = dict.fromkeys(row.record.ours["trade"] for row in rows)
    marks = [SealMark(row.number, row.place.room, row.place.plan) for row in rows if row.place is not None]
    drawings = draw_seals(base.house, base.geometry, marks)
    return {
        "house": base.house,
        "shell": base.file.shell_hash[:16],
        "cards": [{"trade": trade, "tasks": _tasks(told, trade, rows)} for trade in trades],
        "plans": [{"title": d.title, "scale": d.scale, "figure": Figure(d.svg)} for d in drawings],
    }


def _tasks(told: Seal, trade: str, rows: list[SealRow]) -> list[dict[str, Any]]:
    """Rows of a trade by what is to be done, in the order of the list."""
    mine = [row for row in rows if row.record.ours["trade"] == trade]
    kinds = dict.fromkeys(row.place.kind for row in mine if row.place is not None)
    names = {room.id: room.name or room.id for room in told.answer.house.room}
    tasks = []
    for kind in kinds:
        same = [row for row in mine if row.place is not None and row.place.kind == kind]
        first = same[0].record.ours
        tasks.append(
            {"kind": kind.replace("-", " "), "seal": first["task"], "never": first["never"],
             "rows": [_row(row, names) for row in same]}
        )  # fmt: skip
    return tasks


def _row(row: SealRow, names: dict[str, str]) -> dict[str, Any]:
    theirs = row.record.theirs
    return {
        "number": row.number, "where": f"{names.get(row.record.ours['room'], '')}{_host(row)}",
        "size": row.record.ours["size"], "priority": row.priority, "reasons": ", ".join(row.reasons),
        "done": theirs["done"], "who": theirs["who"], "photo": theirs["photo"],
        "proved": " ".join(filter(None, (theirs["how"], theirs["retested"]))),
    }  # fmt: skip


def _host(row: SealRow) -> str:
    """Which wall, corner or roof of the room, as the house file calls it."""
    if row.place is None:
        return ""
    kind, _, host = row.place.id.partition(":")
    room, slash, roof = host.partition("/")
    if slash:
        return f", {roof.replace('.', ' ')}"
    edge = room.partition(":")[2]
    if edge:
        return f", {'corner' if kind == 'corner' else 'wall'} {edge}"
    return "" if host == row.place.room else f", {host}"


def seal_json(told: Seal) -> dict[str, Any]:
    """The document of `inshell seal --json`."""
    forecast = told.forecast
    return {
        "format": 1,
        "house": told.answer.house.name,
        "house_hash": told.answer.file.model_hash,
        "shell_hash": told.answer.file.shell_hash,
        "rows": [
            {"id": row.record.id, "number": row.number, "priority": row.priority, "reasons": list(row.reasons),
             "drop_at_50_pa_m3_s": dict(zip(("best", "least", "most"), row.drop_m3_s, strict=True)),
             "state": row.state, "ours": row.record.ours, "theirs": row.record.theirs}
            for row in told.rows
        ],
        "between_tests": [asdict(pair) for pair in told.between],
        "forecast": {
            "from": forecast.basis, "now_m3_s": forecast.now_m3_s,
            "final_m3_s": dict(zip(("best", "least", "most"), forecast.final_m3_s, strict=True)),
            "still_to_be_cut": list(forecast.to_come), "one_open_4_in_sleeve_m3_s": forecast.one_hole_m3_s,
            "limits_m3_s": forecast.limits_m3_s,
            "verdicts": {rule: forecast.verdict(rule) for rule in forecast.limits_m3_s},
        },
        "findings": [finding.as_json(told.answer.house.units) for finding in told.findings],
    }  # fmt: skip
