"""Showing results: JSON on standard output, or text for a person."""

from __future__ import annotations

import json
import math
import sys
from collections.abc import Callable, Iterable
from typing import Any, Literal

LONGEST_WORD = 11  # longer ones may be broken in a table
MARKS = {"kept": "[kept]   ✓", "broken": "[BROKEN] ✗", "unknown": "[unknown] ?"}


def emit(as_json: bool, document: dict[str, Any], show: Callable[[], None]) -> int:
    """Print the document as JSON, or show it; returns 0."""
    if as_json:
        print(json.dumps(finite(document), ensure_ascii=False, indent=1, allow_nan=False))  # whole, or not at all
    else:
        show()
    return 0


def finite(value: Any) -> Any:
    """Plain data for JSON: tuples as lists, numbers that are not finite as null."""
    if isinstance(value, dict):
        return {str(key): finite(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [finite(item) for item in value]
    if isinstance(value, float) and not math.isfinite(value):
        return None
    if hasattr(value, "model_dump"):
        return finite(value.model_dump())
    return value


def print_lines(lines: Iterable[str]) -> None:
    """Print plain lines."""
    for line in lines:
        print(line)


def print_table(title: str, headers: list[str], rows: list[list[str]], *, right: Iterable[int] = ()) -> None:
    """Print a table that fits the terminal; numbers (columns in `right`) are never broken, nor are shorter words."""
    from rich import box
    from rich.console import Console
    from rich.table import Table

    grid = Table(title=title, box=box.SIMPLE_HEAD, title_justify="left", title_style="bold", pad_edge=False)
    for k, header in enumerate(headers):
        number = k in set(right)
        texts = [header, *(row[k] for row in rows)]
        words = [len(word) for text in texts for word in text.split()]
        least = max(map(len, texts)) if number else min(max(words, default=1), LONGEST_WORD)
        side: Literal["left", "right"] = "right" if number else "left"
        grid.add_column(header, justify=side, overflow="fold", no_wrap=number, min_width=least)
    for row in rows:
        grid.add_row(*row)
    wide = 110 if not sys.stdout.isatty() else Console().width
    needs = Console(width=10_000).measure(grid).minimum  # a console cuts what it measures to its own width
    Console(width=max(wide, needs), highlight=False, markup=False, emoji=False).print(grid)
