"""Which line of a TOML file holds a key, so that every problem can name its place."""

from __future__ import annotations

import re

_HEADER = re.compile(r"^\s*(\[\[?)\s*([^\]]+?)\s*\]\]?\s*(?:#.*)?$")
_KEY = re.compile(r"^\s*(\"[^\"]+\"|'[^']+'|[A-Za-z0-9_-]+)\s*(?:\.\s*[A-Za-z0-9_.-]+\s*)?=")

Path = tuple[str | int, ...]


def line_map(text: str) -> dict[Path, int]:
    """Line number of every table header and key that begins a line."""
    lines: dict[Path, int] = {}
    counts: dict[Path, int] = {}
    here: Path = ()
    quote: str | None = None
    for number, line in enumerate(text.splitlines(), start=1):
        if quote:
            quote = None if quote in line else quote
            continue
        header, key = _HEADER.match(line), _KEY.match(line)
        if header:
            here = _table_path(header[1] == "[[", header[2].split("."), counts)
            lines.setdefault(here, number)
        elif key:
            lines.setdefault((*here, key[1].strip("\"'")), number)
            for mark in ('"""', "'''"):
                if line.count(mark) == 1:
                    quote = mark
    return lines


def segments(text: str) -> list[tuple[Path, str]]:
    """The text cut before every table header: each piece with the path of its table, the first with an empty one."""
    pieces: list[tuple[Path, list[str]]] = [((), [])]
    counts: dict[Path, int] = {}
    quote: str | None = None
    for line in text.splitlines(keepends=True):
        header = None if quote else _HEADER.match(line.rstrip("\r\n"))
        if header:
            pieces.append((_table_path(header[1] == "[[", header[2].split("."), counts), []))
        for mark in ('"""', "'''"):
            if line.count(mark) == 1 and quote in (None, mark):
                quote = None if quote == mark else mark
        pieces[-1][1].append(line)
    return [(path, "".join(lines)) for path, lines in pieces]


def _table_path(is_array: bool, names: list[str], counts: dict[Path, int]) -> Path:
    path: Path = ()
    for k, raw in enumerate(names):
        name = raw.strip().strip("\"'")
        path = (*path, name)
        if k == len(names) - 1 and is_array:
            counts[path] = counts.get(path, -1) + 1
        if path in counts:
            path = (*path, counts[path])
    return path


def line_of(lines: dict[Path, int], path: Path) -> int | None:
    """The line of a path, or of the nearest thing around it that stands on a line of its own."""
    for end in range(len(path), 0, -1):
        if path[:end] in lines:
            return lines[path[:end]]
    return None
