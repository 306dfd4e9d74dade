"""Types of values in the house file: unit text in, SI out, with a range each."""

from __future__ import annotations

import re
from typing import Annotated, Any

from pydantic import AfterValidator, BeforeValidator, ValidationInfo, WithJsonSchema
from pydantic_core import PydanticCustomError

from inshell.units import KINDS, System, UnitError, parse_quantity, to_unit


def custom(found: str, accepted: str) -> PydanticCustomError:
    """A validation error in the two parts that every report of a problem has."""
    return PydanticCustomError("inshell", "{found}", {"found": found, "accepted": accepted})


def system_of(info: ValidationInfo) -> System:
    """The system that bare numbers take in the file being read."""
    return (info.context or {}).get("units", "si")  # type: ignore[no-any-return]


def _is_bare(raw: Any) -> bool:
    number = isinstance(raw, int | float) or (isinstance(raw, str) and bool(re.fullmatch(r"\s*[\d.]+\s*", raw)))
    return number and raw not in (0, "0")


def _reader(kind: str, low: float | None, high: float | None, *, bare: bool) -> BeforeValidator:
    def read(raw: Any, info: ValidationInfo) -> float:
        if not bare and _is_bare(raw):
            raise custom(f"{raw!r} without a unit", f"{kind} such as {KINDS[kind].example}")
        try:
            value = parse_quantity(raw, kind, system=system_of(info))
        except UnitError as error:
            raise custom(error.found, error.accepted) from None
        if (low is not None and value < low) or (high is not None and value > high):
            raise custom(f"{raw!r} is {value:.4g} {KINDS[kind].si}", _range(kind, low, high, system_of(info)))
        return value

    return BeforeValidator(read)


def _range(kind: str, low: float | None, high: float | None, system: System) -> str:
    """The accepted range in the inside unit, and in what a bare number of the file means where that differs."""
    text = f"{low:g} to {high:g} {KINDS[kind].si}"
    bare = KINDS[kind].us_bare if system == "us" else KINDS[kind].si_bare
    if bare == KINDS[kind].si or low is None or high is None:
        return text
    least, most = to_unit(low, kind, bare), to_unit(high, kind, bare)
    return f"{text} ({least:.4g} to {most:.4g} {bare}, which a bare number means)"


def quantity(kind: str, low: float | None = None, high: float | None = None, *, bare: bool = True) -> Any:
    """The annotated type of a value of one kind; outside low..high it is refused as absurd.

    Where `bare` is false a number without a unit is refused too.
    """
    schema = {"type": ["number", "string"], "description": f"{kind.replace('_', ' ')}, such as {KINDS[kind].example}"}
    return Annotated[float, _reader(kind, low, high, bare=bare), WithJsonSchema(schema)]


Length = quantity("length", 0.0, 200.0)
Coordinate = quantity("length", -1000.0, 1000.0)
Height = quantity("length", -30.0, 60.0)
Elevation = quantity("length", -500.0, 6000.0)
Thickness = quantity("length", 1e-5, 5.0)
Area = quantity("area", 0.0, 5000.0)
Volume = quantity("volume", 1.0, 50000.0)
Flow = quantity("flow", 0.0, 5.0)
WaterFlow = quantity("water_flow", 0.0, 0.1)
Head = quantity("head", 0.0, 5e5)
Liquid = quantity("liquid", 0.0, 10.0)
Temperature = quantity("temperature", -80.0, 150.0)
SetPoint = quantity("temperature", 4.0, 40.0)
TemperatureDifference = quantity("temperature_difference", 0.0, 100.0)
Pressure = quantity("pressure", -2000.0, 2000.0)
UValue = quantity("u_value", 0.01, 20.0)
RValue = quantity("r_value", 0.0, 50.0)
Conductivity = quantity("conductivity", 0.001, 500.0)
LinearTransmittance = quantity("linear_transmittance", -5.0, 5.0)
Density = quantity("density", 0.1, 12000.0)
SpecificHeat = quantity("specific_heat", 100.0, 10000.0)
Power = quantity("power", 0.0, 500000.0)
Flux = quantity("flux", 0.0, 200.0)
Angle = quantity("angle", -360.0, 360.0)
Pitch = quantity("angle", 0.0, 75.0, bare=False)
Duration = quantity("time", 0.0, 31536000.0)
FlowPerArea = quantity("flow_per_area", 0.0, 0.1)
VapourThickness = quantity("sd", 0.0, 10000.0)

_COMPASS = {
    "n": 0.0,
    "ne": 45.0,
    "e": 90.0,
    "se": 135.0,
    "s": 180.0,
    "sw": 225.0,
    "w": 270.0,
    "nw": 315.0,
    "north": 0.0,
    "north-east": 45.0,
    "east": 90.0,
    "south-east": 135.0,
    "south": 180.0,
    "south-west": 225.0,
    "west": 270.0,
    "north-west": 315.0,
}


def _direction(raw: Any, info: ValidationInfo) -> float:
    if isinstance(raw, str) and raw.lower() in _COMPASS:
        return _COMPASS[raw.lower()]
    try:
        return parse_quantity(raw, "angle", system=system_of(info)) % 360.0
    except UnitError as error:
        raise custom(error.found, 'a compass word such as "south" or an angle such as "190°"') from None


Direction = Annotated[
    float,
    BeforeValidator(_direction),
    WithJsonSchema({"type": ["number", "string"], "description": 'compass word or angle, such as "south", "190°"'}),
]


def _share(raw: Any) -> float:
    accepted = 'a share such as "45 %" or 0.45'
    if isinstance(raw, str) and (found := re.match(r"^\s*([0-9]+(?:\.[0-9]+)?)\s*%\s*$", raw)):
        value = float(found[1]) / 100.0
    elif isinstance(raw, int | float) and not isinstance(raw, bool):
        value = float(raw)
    else:
        raise custom(f"{raw!r}", accepted)
    if not 0.0 <= value <= 1.0:
        more = "; at most 100 %" if isinstance(raw, str) else f'; a number above 1 needs the sign %: "{raw} %"'
        raise custom(f"{raw!r}", accepted + more)
    return value


Share = Annotated[
    float,
    BeforeValidator(_share),
    WithJsonSchema({"type": ["number", "string"], "description": 'share, such as "45 %" or 0.45'}),
]


def _clock(raw: Any) -> float:
    found = re.match(r"^(\d{1,2}):(\d{2})$", raw) if isinstance(raw, str) else None
    if not found or int(found[1]) > 24 or int(found[2]) > 59 or int(found[1]) * 60 + int(found[2]) > 1440:
        raise custom(f"{raw!r}", 'a time of day such as "22:30"')
    return int(found[1]) + int(found[2]) / 60.0


Clock = Annotated[
    float, BeforeValidator(_clock), WithJsonSchema({"type": "string", "description": 'time of day, such as "22:30"'})
]


def _id(text: str) -> str:
    if not re.fullmatch(r"[a-z0-9][a-z0-9_-]*", text):
        raise custom(f"{text!r}", "an id of small letters, digits and hyphens, such as bed-1")
    return text


def _corner_id(text: str) -> str:
    if not re.fullmatch(r"[a-z0-9][a-z0-9_]*", text):
        raise custom(f"{text!r}", "a corner's id of small letters and digits, such as c1")
    return text


Id = Annotated[str, AfterValidator(_id)]
CornerId = Annotated[str, AfterValidator(_corner_id)]
