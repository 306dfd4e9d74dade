"""Reading a house file: bytes in, a checked House out, every problem at once."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from inshell.errors import InputRefused, Problem, refuse
from inshell.house import provenance
from inshell.house.geometry.derive import Geometry, derive
from inshell.house.hashes import model_hash, sha256, shell_hash
from inshell.house.ids import Addition, give_ids
from inshell.house.model.house import House
from inshell.house.places import line_map
from inshell.house.problems import keys_at, placed, validation_problems
from inshell.house.references import reference_problems

LIMIT_BYTES = 5_000_000


@dataclass(frozen=True)
class HouseFile:
    """A house as it was read: content, where values come from, ids not yet written."""

    house: House
    path: Path
    text: str
    said: dict[provenance.Path, provenance.Said]
    additions: tuple[Addition, ...]
    file_sha256: str

    @cached_property
    def geometry(self) -> Geometry:
        """What follows from the drawing."""
        return derive(self.house)

    @cached_property
    def model_hash(self) -> str:
        """Hash of what a run reads."""
        return model_hash(self.house)

    @cached_property
    def shell_hash(self) -> str:
        """Hash of the shell."""
        return shell_hash(self.house)

    @property
    def folder(self) -> Path:
        """The job folder."""
        return self.path.parent


def read_text(path: Path, *, what: str) -> str:
    """The text of a file a person named, or a refusal that says what it is instead."""
    where = str(path)
    if path.is_dir():
        raise refuse(where, "a directory", f"a {what}", f"Name the file inside it, such as {path / 'house.toml'}")
    try:
        size = path.stat().st_size
    except OSError as error:
        raise refuse(where, f"cannot be read: {error.strerror}", f"a {what}", "Check the path") from None
    if size > LIMIT_BYTES:
        raise refuse(where, f"{size / 1e6:.0f} MB", f"a {what} of at most {LIMIT_BYTES / 1e6:.0f} MB")
    try:
        data = path.read_bytes()
        return data.decode("utf-8-sig")
    except OSError as error:
        raise refuse(where, f"cannot be read: {error.strerror}", f"a {what}") from None
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        raise refuse(f"{where} (line {line})", f"byte 0x{data[error.start]:02x} is not UTF-8", "text in UTF-8",
                     "Save the file as UTF-8") from None


def read_house(path: Path) -> HouseFile:
    """A house file, checked and with its geometry; raises InputRefused with every problem."""
    text = read_text(path, what="house file")
    try:
        raw = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise refuse(str(path), f"not TOML: {error}", "a house file in TOML",
                     "Look at that line: a missing quote or bracket") from None
    return parse_house(raw, text, path)


def parse_house(raw: dict[str, Any], text: str, path: Path) -> HouseFile:
    """A house from parsed content; raises InputRefused with every problem."""
    if raw.get("format", 1) != 1:
        raise refuse("format", repr(raw["format"]), "1, the format that this version reads")
    plain, said, problems = provenance.strip(raw)
    content, additions = give_ids(plain)
    lines = line_map(text)
    context = {"units": content.get("units", "si")}
    house, more = _validated(content, context)
    problems += more
    if house is None:
        house = _rest(content, context, more)
        problems += _seen_in(house, frozenset(_lost(content, more))) if house else []
        raise InputRefused(placed(problems, content, lines))
    problems += reference_problems(house)
    result = HouseFile(house, path, text, said, tuple(additions), sha256(text.encode()))
    if not problems:
        try:
            result.geometry  # noqa: B018  (derived now, so that its problems are reported with the rest)
        except InputRefused as error:
            problems = error.problems
    if problems:
        raise InputRefused(placed(problems, content, lines))
    return result


def _validated(content: dict[str, Any], context: dict[str, Any]) -> tuple[House | None, list[Problem]]:
    try:
        return House.model_validate(content, context=context), []
    except ValidationError as error:
        return None, validation_problems(error, content)


def _lost(content: dict[str, Any], problems: list[Problem]) -> set[str]:
    """Ids of the items that could not be read."""
    parts = {part for problem in problems for part in problem.where.split(".")[1:2]}
    return {str(part) for part in parts}


def _rest(content: dict[str, Any], context: dict[str, Any], problems: list[Problem]) -> House | None:
    """The house without the items that could not be read, so that the others can still be checked."""
    bad = {tuple(problem.where.split(".")[:2]) for problem in problems}
    trimmed = dict(content)
    for key, items in content.items():
        if isinstance(items, list):
            trimmed[key] = [i for i in items if not (isinstance(i, dict) and (key, str(i.get("id"))) in bad)]
    known = keys_at(())
    trimmed = {key: value for key, value in trimmed.items() if key in known}
    return _validated(trimmed, context)[0]


def _seen_in(house: House, lost: frozenset[str]) -> list[Problem]:
    problems = reference_problems(house, ignore=lost)
    if not problems:
        try:
            derive(house)
        except InputRefused as error:
            return error.problems
        except (KeyError, StopIteration):  # the rest points at something that could not be read
            return []
    return problems
