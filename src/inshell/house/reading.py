"""Reading a house file: bytes in, a checked House out, every problem at once."""

from __future__ import annotations

import copy
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
from inshell.house.problems import placed, validation_problems
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
    content: dict[str, Any]

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

    def placed(self, problems: list[Problem]) -> list[Problem]:
        """Problems with the lines of this file that they are about."""
        return placed(problems, self.content, line_map(self.text))

    @property
    def folder(self) -> Path:
        """The job folder."""
        return self.path.parent


def read_text(path: Path, *, what: str) -> str:
    """The text of a file a person named, or a refusal that says what it is instead."""
    where = str(path)
    if path.is_dir():
        raise refuse(where, "a directory", f"a {what}", "Name the file inside it")
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
        raise refuse(
            f"{where} (line {line})",
            f"byte 0x{data[error.start]:02x} is not UTF-8",
            "text in UTF-8",
            "Save the file as UTF-8",
        ) from None


def read_house(path: Path) -> HouseFile:
    """A house file, checked and with its geometry; raises InputRefused with every problem."""
    text = read_text(path, what="house file")
    try:
        raw = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise refuse(
            str(path), f"not TOML: {error}", "a house file in TOML", "Look at that line: a missing quote or bracket"
        ) from None
    except (ValueError, RecursionError) as error:
        raise refuse(
            str(path), f"not read: {error}", "a house file in TOML, no number of thousands of digits"
        ) from None
    return parse_house(raw, text, path)


def parse_house(raw: dict[str, Any], text: str, path: Path) -> HouseFile:
    """A house from parsed content; raises InputRefused with every problem."""
    if raw.get("format", 1) != 1:
        raise refuse("format", repr(raw["format"]), "1, the format that this version reads")
    plain, said, problems = provenance.strip(raw)
    content, additions = give_ids(plain)
    context = {"units": content.get("units", "si")}
    try:
        house = House.model_validate(content, context=context)
    except ValidationError as error:
        found = [*problems, *validation_problems(error, content), *_rest_problems(content, context, error)]
        raise InputRefused(placed(found, content, line_map(text))) from None
    result = HouseFile(house, path, text, said, tuple(additions), sha256(text.encode()), content)
    problems += reference_problems(house)
    if not problems:
        try:
            result.geometry  # noqa: B018  (derived now, so that its problems are reported with the rest)
        except InputRefused as error:
            problems = error.problems
    if problems:
        raise InputRefused(result.placed(problems))
    return result


def _rest_problems(content: dict[str, Any], context: dict[str, Any], error: ValidationError) -> list[Problem]:
    """Problems of the house without what could not be read, so that the others are told at once."""
    trimmed = copy.deepcopy(content)
    lost: set[str] = set()
    for entry in error.errors(include_url=False):
        table, *rest = entry["loc"]
        part = trimmed.get(str(table))
        if isinstance(part, list) and rest and isinstance(rest[0], int) and rest[0] < len(part):
            item = part[rest[0]]
            lost.add(str(item.get("id", "")) if isinstance(item, dict) else "")
            part[rest[0]] = None
        elif isinstance(part, dict) and rest:
            part.pop(str(rest[0]), None)
        else:
            trimmed.pop(str(table), None)
    trimmed = {k: [i for i in v if i is not None] if isinstance(v, list) else v for k, v in trimmed.items()}
    try:
        house = House.model_validate(trimmed, context=context)
    except ValidationError:
        return []
    shapeless = any(entry["loc"][0] in SHAPES for entry in error.errors(include_url=False))
    return _seen_in(house, frozenset(lost), shapeless=shapeless)


SHAPES = ("room", "roof", "buffer", "enclosure")


def _seen_in(house: House, lost: frozenset[str], *, shapeless: bool) -> list[Problem]:
    """Problems of what is left; where a room or roof is lost, its neighbours' shapes would only seem wrong."""
    problems = reference_problems(house, ignore=lost)
    if not problems and not shapeless:
        try:
            derive(house)
        except InputRefused as error:
            return error.problems
        except (KeyError, StopIteration):  # the rest points at something that could not be read
            return []
    return problems
