"""Writing back: the same file with its comments and order, written beside and then renamed."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterable
from pathlib import Path as FilePath
from typing import Any

import tomlkit

from inshell.errors import refuse
from inshell.house.ids import Addition
from inshell.house.places import Path, segments


def with_ids(text: str, additions: Iterable[Addition]) -> str:
    """The text of a house file with ids written in; everything else stays as it was.

    Each table is edited by itself and put back in its place, so that the order of tables stays whatever it was.
    """
    pieces = segments(text)
    edits: dict[int, list[Addition]] = {}
    for path, new in additions:
        holder = max(
            (k for k, (head, _) in enumerate(pieces) if path[: len(head)] == head), key=lambda k: len(pieces[k][0])
        )
        edits.setdefault(holder, []).append((path[len(pieces[holder][0]) :], new))
    return "".join(_edited(piece, head, edits[k]) if k in edits else piece for k, (head, piece) in enumerate(pieces))


def _edited(piece: str, head: Path, additions: list[Addition]) -> str:
    document = tomlkit.parse(piece)
    table: Any = document
    for part in head:
        table = table[0] if isinstance(part, int) else table[part]
    for path, new in additions:
        _set_id(table, path, new)
    return tomlkit.dumps(document)


def _set_id(table: Any, path: Path, new: str) -> None:
    if not path:
        _first(table, new)
        return
    parent = table
    for part in path[:-1]:
        parent = parent[part]
    item = parent[path[-1]]
    if isinstance(item, list):  # a corner written as a pair
        corner = tomlkit.inline_table()
        corner.append("id", new)
        corner.append("x", item[0])
        corner.append("y", item[1])
        parent[path[-1]] = corner
    else:
        _first(item, new)


def _first(table: Any, new: str) -> None:
    """Write the id; tomlkit appends, which is as good a place as any."""
    table["id"] = new


def must_be_new(path: FilePath, option: str, endings: tuple[str, ...], *, overwrite: bool = False) -> None:
    """Refuse a file that could not be written in the end, before the work is done."""
    if path.suffix.lower() not in endings:
        accepted = f"a name that ends in {', '.join(endings[:-1])} or {endings[-1]}"
        raise refuse(option, str(path), accepted, "Nothing is written")
    _refuse_place(path, overwrite=overwrite, make_folder=False)


def _refuse_place(path: FilePath, *, overwrite: bool, make_folder: bool) -> None:
    if path.is_dir():
        raise refuse(str(path), "a folder", "the name of a file in it", "Name a file in it")
    if not make_folder and not path.parent.is_dir():
        raise refuse(str(path), f"the folder {path.parent} does not exist", "a folder that exists", "Make it first")
    if path.exists() and not overwrite:
        raise refuse(str(path), "the file exists", "a new file", "Choose another name, or give --overwrite")


def write_text(path: FilePath, text: str, *, overwrite: bool = False, make_folder: bool = False) -> None:
    """Write a whole file or nothing: beside it first, then rename over it."""
    _refuse_place(path, overwrite=overwrite, make_folder=make_folder)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".part")
    except OSError as error:
        raise refuse(str(path), f"cannot be written: {error.strerror}", "a folder that can be written to") from None
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="") as file:
            file.write(text)
        os.chmod(name, 0o644)
        os.replace(name, path)
    except BaseException:
        FilePath(name).unlink(missing_ok=True)
        raise
