"""A TOML file of layers for quick answers: read whole, or refused with everything that is wrong in it."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import TypeVar

from pydantic import ValidationError

from inshell.errors import InputRefused, Problem, refuse
from inshell.house.model.base import Part
from inshell.house.model.enclosure import Layer, Material
from inshell.house.problems import validation_problems
from inshell.house.provenance import strip
from inshell.house.reading import read_text
from inshell.sources import table

Spec = TypeVar("Spec", bound=Part)


def read_layers_file(path: Path, model: type[Spec]) -> Spec:
    """The file as a model that has `layers` and `material`."""
    text = read_text(path, what="TOML file of layers")
    try:
        raw = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise refuse(str(path), f"not TOML: {error}", "a file of layers in TOML") from None
    plain, _, problems = strip(raw)
    try:
        spec = model.model_validate(plain, context={"units": plain.get("units", "si")})
    except ValidationError as error:
        raise InputRefused([*problems, *validation_problems(error, plain, model, text)]) from None
    problems += _unknown_materials(getattr(spec, "layers"), getattr(spec, "material"))  # noqa: B009  (any such model)
    if problems:
        raise InputRefused(problems)
    return spec


def _unknown_materials(layers: tuple[Layer, ...], own: tuple[Material, ...]) -> list[Problem]:
    known = {*table("materials"), *(m.id for m in own)}
    named = [
        (k, name)
        for k, layer in enumerate(layers, start=1)
        for name in (layer.material, layer.framing.material if layer.framing else None)
    ]
    return [
        Problem(f"layers[{k}].material", f"no material has the id {name!r}", ", ".join(sorted(known)))
        for k, name in named
        if name is not None and name not in known
    ]
