"""Lines about rooms: from options, from a file, or asked for at the terminal."""

from __future__ import annotations

import sys
from pathlib import Path

from inshell.errors import InputRefused, refuse
from inshell.jobs.new import read_lines
from inshell.units import System

QUESTION = """One line a room, inside sizes, width (west to east) x depth (south to north). The first stands alone,
each other one beside a room before it. End with an empty line.
  living: 20 ft x 14 ft
  bed 1: 12 ft x 11 ft 6 in, east of living, align south
  loft: 12 x 8, over bed 1            (the storey above)
  window: bed 1 south, 4 x 4, sill 3
  door: living west, at 2"""


def room_lines(given: list[str] | None, path: Path | None, units: System) -> list[str]:
    """The lines, wherever they come from."""
    if path is not None:
        from inshell.house.reading import read_text

        text = read_text(path, what="text file of rooms")
        return [line for line in text.splitlines() if line.strip() and not line.lstrip().startswith("#")]
    if given:
        return given
    if not sys.stdin.isatty():
        raise refuse("--room", "no room was given", 'one --room "name: width x depth, side of room" for each room')
    print(QUESTION)
    lines: list[str] = []
    while line := input("room> ").strip():
        try:
            read_lines([*lines, line], units)
        except InputRefused as error:
            print(f"  not understood: {error.problems[-1].found}; accepted: {error.problems[-1].accepted}")
            continue  # what was said before stays
        lines.append(line)
    return lines
