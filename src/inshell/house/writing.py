"""Writing back: the same file with its comments and order, written beside and then renamed."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import tomlkit

from inshell.errors import refuse
from inshell.house.ids import Addition


def with_ids(text: str, additions: Iterable[Addition]) -> str:
    """The text of a house file with ids written in; everything else stays as it was."""
    document = tomlkit.parse(text)
    for path, new in additions:
        _set_id(document, path, new)
    return tomlkit.dumps(document)


def _set_id(document: Any, path: tuple[str | int, ...], new: str) -> None:
    parent = document
    for part in path[:-1]:
        parent = parent[part]
    item = parent[path[-1]]
    if isinstance(item, list):  # a corner written as a pair
        table = tomlkit.inline_table()
        table.append("id", new)
        table.append("x", item[0])
        table.append("y", item[1])
        parent[path[-1]] = table
    else:
        item["id"] = new


def write_text(path: Path, text: str, *, overwrite: bool = False) -> None:
    """Write a whole file or nothing: beside it first, then rename over it."""
    if path.exists() and not overwrite:
        raise refuse(str(path), "the file exists", "a new file", "Choose another name, or give --overwrite")
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
        Path(name).unlink(missing_ok=True)
        raise
