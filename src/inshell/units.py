"""Unit text in, SI out, at the edge of the program. Inside everything is SI (temperatures in °C)."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from fractions import Fraction
from functools import cache, lru_cache
from typing import Any, Literal

from inshell.sources import text

System = Literal["us", "si"]


@dataclass(frozen=True)
class Kind:
    """One physical kind: its unit inside, the units a bare number takes, and an example of accepted text."""

    name: str
    si: str
    us_bare: str
    si_bare: str
    example: str


_ROWS = """
length|m|ft|m|"12 ft 6 in", "12'-6 1/2\\"", "3.81 m"
area|m2|ft2|m2|"952 ft2", "88.4 m2"
volume|m3|ft3|m3|"7616 ft3", "215 m3"
flow|m3/s|cfm|m3/h|"80 cfm", "38 L/s", "136 m3/h"
temperature|degC|degF|degC|"70 °F", "21 °C"
temperature_difference|K|dF|K|"3 °F", "2 K"
pressure|Pa|Pa|Pa|"-5 Pa", "0.25 inwg"
u_value|W/m2.K|Btu/h.ft2.F|W/m2.K|"0.15 W/m2K", "0.30 Btu/h.ft2.F"
r_value|m2.K/W|h.ft2.F/Btu|m2.K/W|"R-24", "RSI-4.2", "4.2 m2K/W"
conductivity|W/m.K|Btu.in/h.ft2.F|W/m.K|"0.036 W/mK"
linear_transmittance|W/m.K|Btu/h.ft.F|W/m.K|"0.02 W/mK"
density|kg/m3|lb/ft3|kg/m3|"650 kg/m3"
specific_heat|J/kg.K|Btu/lb.F|J/kg.K|"1880 J/kgK"
power|W|Btu/h|W|"9000 Btu/h", "2.6 kW"
flux|W/m2|Btu/h.ft2|W/m2|"10 W/m2"
angle|deg|deg|deg|"26.6°", "6:12"
time|s|h|h|"20 min", "8 h"
speed|m/s|mph|m/s|"3 m/s", "7 mph"
water_speed|m/s|ft/s|m/s|"2 ft/s", "0.6 m/s"
head|Pa|ftwg|kPa|"12 ftwg", "20 kPa", "5 psi"
liquid|m3|gal|L|"15 gal", "60 L"
flow_per_area|m3/s.m2|cfm/ft2|m3/h.m2|"0.30 cfm/ft2"
water_flow|m3/s|gpm|L/min|"1.1 gpm", "4.2 L/min"
sd|m|m|m|"0.5 m"
conductance|W/K|Btu/h.F|W/K|"15 Btu/h.F", "8 W/K"
"""

KINDS: dict[str, Kind] = {row.split("|")[0]: Kind(*row.split("|")) for row in _ROWS.strip().splitlines()}

_NUMBER = r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?"
_FRACTION = rf"(?:{_NUMBER}\s+\d+/\d+|[-+]?\d+/\d+|{_NUMBER})"
_FOOT = r"(?:'|ft\.?|feet|foot)"
_INCH = r"(?:\"|''|in\.?|inches|inch)"
_FEET_INCHES = re.compile(rf"^([-+]?)\s*(?:(\d+\.?\d*)\s*{_FOOT})?\s*-?\s*(?:({_FRACTION})\s*{_INCH})?$")
_FOOT_MARK_ONLY = re.compile(rf"^([-+]?\d+')\s*-?\s*({_FRACTION})$")  # 18'6: the inch mark is often left out
_PLAIN = re.compile(rf"^({_FRACTION})\s*(.*)$")
_COMMA = re.compile(r"\d,\d")
_PITCH = re.compile(rf"^({_NUMBER})\s*(?::|/|in)\s*12$")
_R_TEXT = re.compile(rf"^(R|RSI|R-SI)[\s-]*({_NUMBER})$", re.IGNORECASE)
_UNIT_WORD = re.compile(r"([A-Za-z_]+)(-?\d)?")
_SYMBOLS = {
    "°C": "degC",
    "°F": "degF",
    "℃": "degC",
    "℉": "degF",
    "°": "deg",
    "²": "2",
    "³": "3",
    "·": ".",
    "′": "'",
    "″": '"',
    "’": "'",
    "”": '"',
    "“": '"',
    "‘": "'",
    "−": "-",
    "in.wg": "inwg",
    "in wg": "inwg",
    "in. w.g.": "inwg",
    "ft.wg": "ftwg",
    "sq ft": "ft2",
    "cu ft": "ft3",
    "sqft": "ft2",
    "cuft": "ft3",
}
_DIFFERENCES = {"degC": "kelvin", "C": "kelvin", "degF": "dF", "F": "dF"}
_ABBREVIATIONS = {
    "area": {"sf": "ft2"},
    "volume": {"cf": "ft3"},
    "flow": {"CFM": "cfm"},
    "power": {
        "BTU/h": "Btu/h",
        "BTUH": "Btu/h",
        "Btuh": "Btu/h",
        "btu/h": "Btu/h",
        "BTU/hr": "Btu/h",
        "Btu/hr": "Btu/h",
    },
}
_GLUED = {
    "mK": "m.K",
    "m2K": "m2.K",
    "kgK": "kg.K",
    "m2degC": "m2.degC",
    "hft2F": "h.ft2.F",
    "hft2degF": "h.ft2.degF",
    "hF": "h.F",
    "hdegF": "h.degF",
}


class UnitError(ValueError):
    """Text that is no quantity of the wanted kind; `found` and `accepted` say why."""

    def __init__(self, found: str, accepted: str) -> None:
        self.found, self.accepted = found, accepted
        super().__init__(f"{found}; accepted: {accepted}")


@cache
def _registry() -> Any:
    import pint

    return pint.UnitRegistry(text("units.txt").splitlines(), cache_folder=None)


def _normal(raw: str) -> str:
    for symbol, plain in _SYMBOLS.items():
        raw = raw.replace(symbol, plain)
    return raw.strip()


def _expression(unit: str) -> str:
    """`W/m2K` as `W/(m**2*kelvin)`: what stands after the slash divides, as the trade writes it."""
    if unit.count("/") > 1:
        head, *rest = unit.split("/")
        unit = head + "/" + ".".join(rest)
    parts = []
    for side in unit.replace("(", "").replace(")", "").split("/"):
        side = _GLUED.get(side.strip(), side.strip())
        words = _UNIT_WORD.findall(side)
        if not words or _UNIT_WORD.sub("", side).strip(" .*"):
            raise ValueError(unit)
        names = [(_DIFFERENCES.get(word, word), power) for word, power in words]
        parts.append("*".join(f"{word}**{power}" if power else word for word, power in names))
    return parts[0] if len(parts) == 1 else f"({parts[0]})/({parts[1]})"


@lru_cache(maxsize=1024)
def _affine(unit: str, kind: str) -> tuple[float, float]:
    """(scale, offset) that turn a number in `unit` into the inside unit of `kind`."""
    registry = _registry()
    if kind == "temperature":
        name = {"C": "degC", "F": "degF", "K": "kelvin"}.get(unit, unit)
        at_zero = float(registry.Quantity(0.0, name).to("degC").magnitude)
        return float(registry.Quantity(1.0, name).to("degC").magnitude) - at_zero, at_zero
    target = registry.Quantity(1.0, _expression(KINDS[kind].si))
    return float((registry.Quantity(1.0, _expression(unit)) / target).to("").magnitude), 0.0


def _number(raw: str) -> float:
    """A number that may carry a fraction: `3`, `3.5`, `5/8`, `3 1/2`."""
    sign = -1.0 if raw.strip().startswith("-") else 1.0
    total = 0.0
    for part in raw.strip().lstrip("+-").split():
        top, _, bottom = part.partition("/")
        total += float(top) / float(bottom) if bottom else float(top)
    return sign * total


def _special(raw: str, kind: str) -> float | None:
    """Forms that are not `number unit`: feet and inches, pitch, R-values, perms."""
    if kind == "length" and (found := _FOOT_MARK_ONLY.match(raw)):
        raw = f"{found[1]} {found[2]} in"
    if kind == "length" and (found := _FEET_INCHES.match(raw)) and (found[2] or found[3]):
        metres = _number(found[2] or "0") * 0.3048 + _number(found[3] or "0") * 0.0254
        return -metres if found[1] == "-" else metres
    if kind == "angle" and (found := _PITCH.match(raw)):
        return math.degrees(math.atan2(float(found[1]), 12.0))
    if kind == "r_value" and (found := _R_TEXT.match(raw)):
        us = found[1].upper() == "R"
        return float(found[2]) * (_affine("h.ft2.F/Btu", "r_value")[0] if us else 1.0)
    if kind == "sd" and (found := re.match(rf"^({_NUMBER})\s*perms?$", raw)) and float(found[1]) > 0:
        return 3.50 / float(found[1])
    return None


def parse_quantity(raw: object, kind: str, *, system: System = "si") -> float:
    """The value in the inside unit of `kind`; a bare number takes the unit of `system`.

    Raises UnitError, which says what was found and what is accepted.

    >>> round(parse_quantity("12'-6 1/2\\"", "length"), 4)
    3.8227
    >>> round(parse_quantity("R-24", "r_value"), 4)
    4.2266
    >>> round(parse_quantity(70, "temperature", system="us"), 6)
    21.111111
    """
    accepted = f"{kind.replace('_', ' ')} such as {KINDS[kind].example}"
    if isinstance(raw, bool) or not isinstance(raw, int | float | str):
        raise UnitError(f"{raw!r}", accepted)
    if isinstance(raw, str):
        value = _parse_text(raw, kind, accepted, system)
    else:
        bare = KINDS[kind].us_bare if system == "us" else KINDS[kind].si_bare
        value = _scaled(float(raw), bare, kind)
    if not math.isfinite(value):
        raise UnitError(f"{raw!r} is not a finite number", accepted)
    return value


def _scaled(number: float, unit: str, kind: str) -> float:
    scale, offset = _affine(unit, kind)
    return number * scale + offset


def _parse_text(raw: str, kind: str, accepted: str, system: System) -> float:
    if _COMMA.search(raw):
        raise UnitError(f"{raw!r} has a comma", f"{accepted}, with a point for decimals and no thousands mark")
    clean = _normal(raw)
    try:
        special = _special(clean, kind)
        if special is not None:
            return special
        found = _PLAIN.match(clean)
        if found and not found[2]:
            return parse_quantity(_number(found[1]), kind, system=system)
        if found:
            unit = found[2].strip()
            return _scaled(_number(found[1]), _ABBREVIATIONS.get(kind, {}).get(unit, unit), kind)
    except ZeroDivisionError:
        raise UnitError(f"{raw!r} divides by zero", accepted) from None
    except UnitError:
        raise
    except Exception as error:  # pint raises several families of errors; all mean the unit does not fit
        unit = clean.lstrip("+-0123456789./eE ") or clean
        raise UnitError(f"{raw!r}: {unit!r} is no unit of {kind.replace('_', ' ')}", accepted) from error
    raise UnitError(f"{raw!r}", accepted)


def to_unit(value: float, kind: str, unit: str) -> float:
    """An inside value in another unit.

    >>> round(to_unit(1.0, "flow", "cfm"), 2)
    2118.88
    """
    scale, offset = _affine(_normal(unit), kind)
    return (value - offset) / scale


_SHOWN: dict[str, tuple[tuple[str, str, int], tuple[str, str, int]]] = {
    "length": (("ft", "ft", 2), ("m", "m", 3)),
    "area": (("ft2", "ft²", 1), ("m2", "m²", 2)),
    "volume": (("ft3", "ft³", 0), ("m3", "m³", 1)),
    "flow": (("cfm", "cfm", 1), ("m3/h", "m³/h", 1)),
    "temperature": (("degF", "°F", 1), ("degC", "°C", 1)),
    "temperature_difference": (("dF", "°F", 1), ("K", "K", 1)),
    "pressure": (("Pa", "Pa", 1), ("Pa", "Pa", 1)),
    "u_value": (("Btu/h.ft2.F", "Btu/h·ft²·°F", 4), ("W/m2.K", "W/m²K", 3)),
    "r_value": (("h.ft2.F/Btu", "h·ft²·°F/Btu", 1), ("m2.K/W", "m²K/W", 2)),
    "linear_transmittance": (("Btu/h.ft.F", "Btu/h·ft·°F", 3), ("W/m.K", "W/mK", 3)),
    "power": (("Btu/h", "Btu/h", 0), ("W", "W", 0)),
    "flow_per_area": (("cfm/ft2", "cfm/ft²", 3), ("m3/h.m2", "m³/h·m²", 2)),
    "flux": (("Btu/h.ft2", "Btu/h·ft²", 1), ("W/m2", "W/m²", 1)),
    "speed": (("mph", "mph", 1), ("m/s", "m/s", 1)),
    "angle": (("deg", "°", 1), ("deg", "°", 1)),
    "water_flow": (("gpm", "gpm", 2), ("L/min", "L/min", 2)),
    "water_speed": (("ft/s", "ft/s", 2), ("m/s", "m/s", 2)),
    "head": (("ftwg", "ft", 1), ("kPa", "kPa", 1)),
    "liquid": (("gal", "gal", 1), ("L", "L", 1)),
}


def show_opening(area_m2: float | None, system: System) -> str:
    """A free area as a person on site reads it.

    >>> show_opening(0.0122, "us"), show_opening(0.0122, "si")
    ('19 in²', '122 cm²')
    """
    if area_m2 is None:
        return "none up to half a square metre"
    value, unit = (area_m2 / 0.0254**2, "in²") if system == "us" else (area_m2 * 1e4, "cm²")
    return f"{value:.1f} {unit}" if value < 10.0 else f"{value:.0f} {unit}"


def show(value: float | None, kind: str, system: System) -> str:
    """A value as a person of that system reads it.

    >>> print(show(3.8227, "length", "us"))
    12'-6 1/2"
    >>> show(0.02, "flow", "si")
    '72.0 m³/h'
    """
    if value is None:
        return "–"
    if kind == "length" and system == "us":
        return _feet_inches(value)
    unit, label, digits = _SHOWN[kind][0 if system == "us" else 1]
    number = f"{to_unit(value, kind, unit):,.{digits}f}".replace(",", " ")
    return f"{number}{'' if label == '°' else ' '}{label}"


_PROMISE_KINDS = {"m3/s": "flow", "Pa": "pressure", "W": "power", "K": "temperature_difference", "°C": "temperature"}


def show_promise(value: float | None, unit: str, system: System) -> str:
    """A value that carries its unit as text, in the reader's units where they differ.

    >>> show_promise(0.02, "m3/s", "us"), show_promise(0.87, "1/h", "us")
    ('42.4 cfm', '0.87 1/h')
    """
    if value is not None and unit not in _PROMISE_KINDS:
        return f"{value:.0f} ppm" if unit == "ppm" else f"{value:.2f}" + ("" if unit == "1" else f" {unit}")
    return show(value, _PROMISE_KINDS.get(unit, "flow"), system)


_SENSES = {"at_most": "at most", "at_least": "at least", "within": "within", "is": "is"}


def show_limit(limit: float | None, unit: str, sense: str, system: System) -> str:
    """A limit in words, so that nobody takes the sign of a suction for the wrong way round.

    >>> show_limit(-20.0, "Pa", "at_least", "us"), show_limit(1200.0, "ppm", "at_most", "si")
    ('no deeper than -20.0 Pa', 'at most 1200 ppm')
    """
    suction = unit == "Pa" and sense == "at_least" and limit is not None and limit < 0.0
    return f"{'no deeper than' if suction else _SENSES[sense]} {show_promise(limit, unit, system)}"


def _feet_inches(metres: float) -> str:
    """Feet and inches to the nearest eighth of an inch."""
    eighths = round(abs(metres) / 0.0254 * 8.0)
    feet, rest = divmod(eighths, 96)
    whole, part = divmod(rest, 8)
    fraction = f"{Fraction(part, 8)}" if part else ""
    inches = f"{whole} {fraction}" if part and (whole or feet) else fraction or f"{whole}"
    sign = "-" if metres < 0 and eighths else ""
    return f"{sign}{feet}'-{inches}\""
