"""`inshell ids`: write the ids that a house file has not got yet, and nothing else."""

from __future__ import annotations

from pathlib import Path

from inshell.house.ids import Addition
from inshell.house.reading import parse_house, read_house
from inshell.house.writing import with_ids, write_text


def write_ids(path: Path) -> tuple[Addition, ...]:
    """Write missing ids into the file; comments and order stay. Returns what was added."""
    import tomllib

    file = read_house(path)
    if not file.additions:
        return ()
    text = with_ids(file.text, file.additions)
    parse_house(tomllib.loads(text), text, path)  # never leave a file that cannot be read
    mark = "\ufeff" if path.read_bytes().startswith(b"\xef\xbb\xbf") else ""
    write_text(path, mark + text, overwrite=True)
    return file.additions
