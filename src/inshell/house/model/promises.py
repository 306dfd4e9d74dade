"""Rules chosen and promises made."""

from __future__ import annotations

from difflib import get_close_matches
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, Field, ValidationInfo, WithJsonSchema, model_validator

from inshell.house.model.base import Part, note
from inshell.house.quantities import Id, Share, custom, system_of
from inshell.sources import table
from inshell.units import UnitError, parse_quantity, show


def fresh_air_rules() -> list[str]:
    """Rules that a house may be judged by: rows of the table that have a family."""
    return [name for name, row in table("fresh_air").items() if "family" in row]


def _known_rule(name: str) -> str:
    if name not in fresh_air_rules():
        raise custom(repr(name), ", ".join(fresh_air_rules()))
    return name


FreshAirRule = Annotated[
    str, AfterValidator(_known_rule), WithJsonSchema({"type": "string", "enum": fresh_air_rules()})
]
Sense = Literal["at_most", "at_least", "within", "is"]

# kind: (how its limit is read, unit inside, sense)
KINDS: dict[str, tuple[str, str, Sense]] = {
    "house-pressure": ("pressure", "Pa", "at_least"),
    "room-temperature-offset": ("temperature_difference", "K", "at_most"),
    "relative-humidity": ("share", "1", "at_most"),
    "carbon-dioxide": ("number", "ppm", "at_most"),
    "floor-surface-temperature": ("temperature", "°C", "at_most"),
    "mould-index": ("number", "1", "at_most"),
    "sound": ("number", "sone", "at_most"),
    "house-heating-load": ("power", "W", "at_most"),
    "hours-outside-band": ("number", "h", "at_most"),
}
POSITIVE = ("hours-outside-band", "carbon-dioxide", "sound", "house-heating-load", "mould-index", "relative-humidity")


def _known_kind(name: str) -> str:
    if name not in KINDS:
        near = get_close_matches(name, KINDS, n=1)
        raise custom(repr(name) + (f" (did you mean {near[0]!r}?)" if near else ""), ", ".join(KINDS))
    return name


PromiseKind = Annotated[str, AfterValidator(_known_kind), WithJsonSchema({"type": "string", "enum": list(KINDS)})]


class Rules(Part):
    """The rules that this house is judged by, beside the promises of its own."""

    fresh_air: tuple[FreshAirRule, ...] = Field(("ashrae-62.2-2019",), description="whole-house rules")
    local_exhaust: Literal["ashrae-62.2", "irc"] = Field("ashrae-62.2", description="rule for baths and kitchens")
    tightness: tuple[str, ...] = Field((), description="tightness rules, see `inshell quick tightness --help`")
    weather_factor: float | None = Field(
        None, gt=0, le=3, description="wsf of the place, from the standard's appendix; no infiltration credit without"
    )
    new_house: bool = Field(True, description="new houses may take no more than two thirds as credit")
    level: Share = Field(0.9, description="share of runs in which a sampled promise must hold")


class Promise(Part):
    """A promise made to the owner, the code official or the funder."""

    id: Id
    name: str = note()
    kind: PromiseKind
    limit: float = Field(description="the limit, in unit text or a bare number")
    room: Id | None = Field(None, description="room it is about, if one")
    fans: tuple[str, ...] = Field(
        (), description='for house-pressure: devices that run, such as "hood" or "bath-fan:base"; else the worst of all'
    )
    stack: bool = Field(True, description="for house-pressure: with the design-cold stack")
    season: Literal["heating", "cooling", "both"] = Field(
        "both", description="for room-temperature-offset: design days"
    )
    doors: Literal["shut", "open", "by-hours"] = Field(
        "shut", description="for room-temperature-offset: on the design days; by-hours: every hour of the year"
    )
    temperature: Literal["air", "operative"] = Field("air", description="what a comfort promise is about")
    condition: str = Field("", description='when it holds, such as "doors shut"')
    source: str = Field("", description="who asks for it")

    @model_validator(mode="before")
    @classmethod
    def _limit(cls, raw: Any, info: ValidationInfo) -> Any:
        kind = KINDS.get(raw.get("kind", "")) if isinstance(raw, dict) else None
        if not kind or "limit" not in raw:
            return raw
        value = raw["limit"]
        if isinstance(value, str) and kind[0] == "share" and value.strip().endswith("%"):
            value = float(value.strip().rstrip("% ")) / 100.0
        elif kind[0] not in ("share", "number"):
            try:
                value = parse_quantity(value, kind[0], system=system_of(info))
            except UnitError as error:
                raise custom(f"limit {error.found}", error.accepted) from None
        if raw["kind"] == "room-temperature-offset" and not 0.0 < value <= 20.0:
            raise custom(
                f"limit {raw['limit']!r}, a difference of {show(value, 'temperature_difference', system_of(info))}",
                'a difference between two rooms of at most 20 K (36 °F), such as "3 °F"',
            )
        if raw["kind"] == "house-heating-load" and raw.get("room"):
            raise custom(f"room {raw['room']!r}", "no room: this promise is about the whole house")
        if raw["kind"] in POSITIVE and not (isinstance(value, int | float) and value > 0):
            raise custom(f"limit {raw['limit']!r}", "a limit above zero")
        if raw["kind"] == "house-pressure" and value > 0.0:
            raise custom(
                f"limit {raw['limit']!r}", f'a pressure below outdoors is negative: write "-{value:g} Pa", or 0 Pa'
            )
        if kind[0] == "share" and isinstance(value, int | float) and value > 1:
            raise custom(f"limit {raw['limit']!r}", 'a share such as "45 %" or 0.45, at most 100 %')
        return {**raw, "limit": value}
