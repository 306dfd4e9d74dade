"""Pages that are made from the code and the data: run `make docs`; a test says when they are stale."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any, get_args

from pydantic import BaseModel

from inshell.design.tightness import rule_names
from inshell.house.model import House
from inshell.house.model.base import file_key
from inshell.sources import table

HERE = Path(__file__).parent
MADE = "<!-- made by docs/generate.py; do not edit -->\n\n"


def inner(annotation: Any) -> type[BaseModel] | None:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    return next((m for m in map(inner, get_args(annotation)) if m is not None), None)


def takes(annotation: Any) -> str:
    """What a field accepts, in words."""
    text = str(annotation)
    model = inner(annotation)
    if model is not None:
        many = "tuple" in text or "dict" in text
        return f"{'tables' if many else 'a table'}, see [{model.__name__}](#{model.__name__.lower()})"
    for item in (annotation, *get_args(annotation)):
        for meta in getattr(item, "__metadata__", ()):
            schema = getattr(meta, "json_schema", None)
            if isinstance(schema, dict) and "description" in schema:
                return str(schema["description"])
    choices = [c for c in get_args(annotation) if isinstance(c, str)]
    if choices:
        return ", ".join(f"`{c}`" for c in choices)
    for word, said in (
        ("tuple", "a list"),
        ("dict", "a table"),
        ("bool", "true or false"),
        ("int", "a whole number"),
        ("float", "a number"),
    ):
        if word in text:
            return said
    return "text"


UNITS = {  # how a field's name ends, the longer endings first
    "m3_s_m2": "m3/s per m2",
    "m2k_w": "m2K/W",
    "w_m2k": "W/m2K",
    "w_mk": "W/mK",
    "kg_m3": "kg/m3",
    "j_kgk": "J/kgK",
    "w_m2": "W/m2",
    "m3_s": "m3/s",
    "m_s": "m/s",
    "deg": "°",
    "sone": "sone",
    "m2": "m2",
    "m3": "m3",
    "pa": "Pa",
    "ppm": "ppm",
    "c": "°C",
    "k": "K",
    "m": "m",
    "w": "W",
    "s": "s",
    "h": "h",
}


def default(name: str, field: Any) -> str:
    if field.is_required():
        return "**required**"
    value = field.get_default(call_default_factory=True, validated_data={})
    if value in (None, "", ()):
        return "–"
    if isinstance(value, BaseModel):
        return "its own defaults"
    if isinstance(value, float):
        unit = next((said for end, said in UNITS.items() if name.endswith(f"_{end}")), "")
        return f"{value:.4g} {unit}".strip()
    return str(value).lower() if isinstance(value, bool) else str(value)


def models(model: type[BaseModel], seen: list[type[BaseModel]]) -> list[type[BaseModel]]:
    if model not in seen:
        seen.append(model)
        for field in model.model_fields.values():
            found = inner(field.annotation) or next((inner(m) for m in field.metadata if inner(m)), None)
            if found is not None:
                models(found, seen)
    return seen


def house_file() -> str:
    lines = [
        MADE + "# The house file\n",
        "TOML with `format = 1`. Every quantity takes unit text; a bare number takes the file's `units`. Any value may say "
        'where it comes from: `{ value = "80 cfm", from = "measured", by = "…", date = "…", note = "…" }` with `from` measured, '
        "documented or assumed. Unknown keys are refused with the nearest known one. What has no `id` gets one when "
        "`inshell ids FILE` is run; corners may be written as pairs `[x, y]`.\n",
    ]
    for model in models(House, []):
        lines += [
            f"## {model.__name__}\n",
            f"{(model.__doc__ or '').strip()}\n",
            "| key | takes | default | meaning |",
            "|---|---|---|---|",
        ]
        for name, field in model.model_fields.items():
            annotation: Any = field.annotation
            said = takes(annotation)
            for meta in field.metadata:
                schema = getattr(meta, "json_schema", None)
                if isinstance(schema, dict) and "description" in schema:
                    said = str(schema["description"])
            lines.append(
                f"| `{field.alias or file_key(name)}` | {said} | {default(name, field)} | {(field.description or '').replace('|', '/')} |"
            )
        lines.append("")
    return "\n".join(lines)


def rows(name: str) -> Iterator[tuple[str, dict[str, Any]]]:
    yield from table(name).items()


def sold(row: dict[str, Any]) -> str:
    """The range of what is sold, where it lies farther apart."""
    return f" ({row['mu_least']} to {row['mu_most']} sold)" if "mu_least" in row else ""


def leak_places() -> list[str]:
    lines = ["", "## Places where shells leak\n", "Effective area, cm² at 4 Pa: best guess, least, most.\n"]
    lines += ["| place | per | cm² | rank | source |", "|---|---|---|---|---|"]
    for key, row in rows("leak_places"):
        values = ", ".join(f"{value:g}" for value in row["cm2"])
        lines.append(f"| {key} | {row['per']} | {values} | {row['priority']} | {row['source']} |")
    return lines


def coefficients() -> str:
    lines = [
        MADE + "# Coefficients and their sources\n",
        "Each row lives once, in `src/inshell/sources`. SI unless a unit is named.\n",
        "## Materials\n",
    ]
    lines += ["| id | name | k W/mK | density kg/m³ | heat J/kgK | mu dry / wet |", "|---|---|---|---|---|---|"]
    for key, row in rows("materials"):
        lines.append(
            f"| `{key}` | {row['name']} | {row['conductivity_w_mk']} | {row['density_kg_m3']} | {row['specific_heat_j_kgk']} | {row['mu_dry']} / {row['mu_wet']}{sold(row)} |"
        )
    lines += [
        "",
        "Source: ISO 10456:2007 and ASHRAE Handbook Fundamentals, from memory.\n",
        "## Fresh-air rules\n",
        "| rule | clause | source |",
        "|---|---|---|",
    ]
    lines += [
        f"| {row['title']} | {row['clause']} | {row['source']} |" for _, row in rows("fresh_air") if "title" in row
    ]
    lines += [
        "",
        "## Tightness rules\n",
        "| id | rule | metric | limits by climate zone | source |",
        "|---|---|---|---|---|",
    ]
    for key in rule_names():
        row = table("tightness")[key]
        limits = ", ".join(f"{zones}: {limit:g}" for zones, limit in row["limit"].items())
        unit = "air changes at 50 Pa" if row["metric"] == "ach50" else "cfm/ft² of enclosure at 50 Pa"
        lines.append(f"| `{key}` | {row['title']} | {unit} | {limits} | {row['source']} |")
    lines += ["", "## Design\n", "| table | values | source |", "|---|---|---|"]
    for key, row in rows("design"):
        values = "; ".join(f"{k} {v}" for k, v in row.items() if k != "source")
        lines.append(f"| {key} | {values} | {row['source']} |")
    lines += leak_places()
    for title, name in SOURCED.items():
        lines += ["", f"## {title}\n", "| table | values | source |", "|---|---|---|"]
        for key, row in rows(name):
            values = "; ".join(f"{k} {in_words(v)}" for k, v in row.items() if k != "source")
            lines.append(f"| {key} | {values} | {row['source']} |")
    fluids = table("fluids")
    freezing = zip(fluids["share"], fluids["freezing_c"], strict=True)
    lines += [
        "",
        "## Water and glycol\n",
        fluids["source"] + ".\n",
        "| share of glycol by mass | freezes at |",
        "|---|---|",
    ]
    lines += [f"| {share:.0%} | {freezes} °C |" for share, freezes in freezing]
    lines += ["", "## Typical years\n", "| name | year | credit |", "|---|---|---|"]
    lines += [f"| `{key}` | {row['title']} | {row['credit']} |" for key, row in rows("climates")]
    return "\n".join(lines) + "\n"


SOURCED = {
    "Household and finishes": "household", "Heated floors": "floor", "Floor tube": "tubes", "Taps": "hot_water",
}  # fmt: skip


def in_words(value: object) -> str:
    """A number; a row of numbers by its ends; a table within a table by its pairs."""
    if isinstance(value, dict):
        return "(" + ", ".join(f"{k} {in_words(v)}" for k, v in value.items()) + ")"
    if isinstance(value, list):
        return f"{len(value)} values" if not isinstance(value[0], list) else f"{len(value)} x {len(value[0])} values"
    return str(value)


def findings() -> str:
    lines = [
        MADE + "# Findings\n",
        "Every finding has a code, a severity, a sentence with values, an action and a source. Cautions cannot be suppressed.\n",
    ]
    lines += ["| code | severity | sentence | what to do | source |", "|---|---|---|---|---|"]
    for code, row in sorted(rows("findings")):
        lines.append(f"| `{code}` | {row['severity']} | {row['message']} | {row['action']} | {row['source']} |")
    return "\n".join(lines) + "\n"


PAGES = {"house-file.md": house_file, "coefficients.md": coefficients, "findings.md": findings}


def main() -> None:
    for name, make in PAGES.items():
        (HERE / name).write_text(make(), encoding="utf-8")
        print(f"written: docs/{name}")


if __name__ == "__main__":
    sys.exit(main())
