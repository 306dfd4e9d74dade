"""Validation errors as problems a person can act on: place, what was found, what is accepted."""

from __future__ import annotations

from difflib import get_close_matches
from typing import Any, get_args

from pydantic import BaseModel, ValidationError

from inshell.errors import Problem
from inshell.house import provenance
from inshell.house.model.base import file_key
from inshell.house.model.house import House
from inshell.house.places import line_map, line_of


def validation_problems(
    error: ValidationError, content: dict[str, Any], root: type[BaseModel] = House, text: str = ""
) -> list[Problem]:
    """Every problem of a validation, in the order of the file where its text is given."""
    entries = error.errors(include_url=False)
    found = [_problem_of(entry, content, root) for entry in entries if not _follows(entry, entries)]
    return placed(found, content, line_map(text)) if text else found


def _follows(entry: Any, entries: list[Any]) -> bool:
    """Whether a list only seems too short because something in it could not be read."""
    place = entry["loc"]
    return entry["type"] == "too_short" and any(
        len(other["loc"]) > len(place) and other["loc"][: len(place)] == place for other in entries
    )


def _problem_of(entry: Any, content: dict[str, Any], root: type[BaseModel]) -> Problem:
    path = tuple(part for part in entry["loc"] if not (isinstance(part, str) and part.startswith("literal[")))
    kind, context = entry["type"], entry.get("ctx") or {}
    where = path_text(path, content)
    if kind == "inshell":
        return Problem(where, str(context["found"]), str(context["accepted"]))
    if kind == "extra_forbidden":
        known = sorted(keys_at(path[:-1], root))
        near = get_close_matches(str(path[-1]), known, n=1, cutoff=0.5)
        return Problem(where, "unknown key", ", ".join(known), f"Did you mean {near[0]!r}?" if near else "")
    if kind == "missing":
        return Problem(where, "missing", _described(path, root), "Add it")
    found = _short(entry.get("input"))
    if kind in ("literal_error", "model_type", "tuple_type", "string_type", "int_parsing", "int_type", "bool_type"):
        return Problem(where, found, str(context.get("expected", "")) or _described(path, root))
    if kind in ("too_short", "too_long"):
        side, count = ("at least", "min_length") if kind == "too_short" else ("at most", "max_length")
        return Problem(where, f"{context['actual_length']} values", f"{side} {context[count]} values")
    message = str(entry["msg"]).removeprefix("Input should be ").removeprefix("Value error, ")
    return Problem(where, found, message)


def _short(value: Any) -> str:
    text = repr(value)
    return text if len(text) <= 60 else text[:57] + "…"


def path_text(path: provenance.Path, content: Any) -> str:
    """A path as a person reads it: `room.living.outline.c3.x`; places in lists without ids count from 1."""
    text, here = "", content
    for part in path:
        try:
            here = here[part]
        except (KeyError, IndexError, TypeError):
            here = None
        if isinstance(part, int):
            name = here.get("id") if isinstance(here, dict) else None
            text += f".{name}" if isinstance(name, str) else f"[{part + 1}]"
        else:
            text += f".{part}" if text else str(part)
    return text


def _model_at(path: provenance.Path, root: type[BaseModel]) -> type[BaseModel] | None:
    model: Any = root
    for part in path:
        if isinstance(part, int):
            continue
        fields = {field.alias or file_key(name): field for name, field in model.model_fields.items()}
        if part not in fields:
            return None
        model = _inner_model(fields[part].annotation)
        if model is None:
            return None
    return model  # type: ignore[no-any-return]


def _inner_model(annotation: Any) -> type[BaseModel] | None:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    return next((m for m in map(_inner_model, get_args(annotation)) if m is not None), None)


def keys_at(path: provenance.Path, root: type[BaseModel] = House) -> set[str]:
    """The keys that a file may have at a path."""
    model = _model_at(path, root)
    return {field.alias or file_key(name) for name, field in model.model_fields.items()} if model else set()


def _described(path: provenance.Path, root: type[BaseModel]) -> str:
    model = _model_at(path[:-1], root)
    for name, field in (model.model_fields if model else {}).items():
        if path and (field.alias or file_key(name)) == path[-1]:
            return field.description or f"a value for {path[-1]}"
    return "a value"


def placed(problems: list[Problem], content: dict[str, Any], lines: dict[Any, int]) -> list[Problem]:
    """Problems with line numbers, each once, in the order of the file."""
    unique = {problem.sentence(): problem for problem in problems}
    result = [
        Problem(p.where, p.found, p.accepted, p.action, line_of(lines, keys_of(p.where, content)))
        for p in unique.values()
    ]
    return sorted(result, key=lambda p: (p.line or 0, p.where))


def keys_of(where: str, content: Any) -> provenance.Path:
    """The keys of a place that `path_text` wrote."""
    path: provenance.Path = ()
    here = content
    for part in where.replace("[", ".[").split("."):
        if isinstance(here, list):
            index = (
                int(part.strip("[]")) - 1
                if part.startswith("[")
                else next((k for k, item in enumerate(here) if isinstance(item, dict) and item.get("id") == part), None)
            )
            if index is None or index >= len(here):
                break
            path, here = (*path, index), here[index]
        elif isinstance(here, dict):
            path, here = (*path, part), here.get(part)
        else:
            break
    return path
