"""Quick answers about moisture: a leak that wets a skin, mould, windows, a hole."""

from __future__ import annotations

import math
import re
from typing import Any

import numpy as np

from inshell.errors import InputRefused, Problem
from inshell.jobs.quick_values import Asked
from inshell.physics.air import pressure_at_altitude_pa
from inshell.physics.flow import hole_flow_m3_s
from inshell.physics.leak_moisture import (
    AIR_KG_M3,
    SEA_LEVEL_PA,
    VISCOSITY_PA_S,
    deposit_kg_s,
    highest_humidity,
    humidity_ratio,
    slit_flow_m3_s,
)
from inshell.physics.mould import CLASSES, LIMIT, critical_percent, mould_index
from inshell.physics.zones import add_a_hole, open_the_door_m3_s

DOOR_FLOW_ERROR = 0.01
DAY_S, LAMINAR_BELOW, MOST_DAYS = 86400.0, 1000.0, 36500.0


def quick_hole(*, diameter: str | None, area: str | None, pressure: str) -> dict[str, Any]:
    """Flow through a plain hole."""
    asked = Asked()
    space = _area(asked, diameter, area)
    drop = asked.quantity("--pressure", pressure, "pressure", low=0.0, high=1000.0, bare="si")
    if asked.problems:
        raise InputRefused(asked.problems)
    return {
        "flow_m3_s": float(hole_flow_m3_s(area_m2=space, pressure_pa=drop)), "area_m2": space,
        "source": "sharp hole, Cd 0.6, air of 1.2041 kg/m3",
    }  # fmt: skip


def _area(asked: Asked, diameter: str | None, area: str | None) -> float:
    if (diameter is None) == (area is None):
        found = "both" if diameter is not None else "neither"
        asked.problems.append(Problem("--diameter or --area", found, "one of them"))
        return 0.0
    if diameter is not None:
        return math.pi / 4.0 * asked.quantity("--diameter", diameter, "length", low=0.0, high=2.0) ** 2
    return asked.quantity("--area", area or "", "area", low=0.0, high=4.0)


def quick_leak_moisture(
    *, area: str | None, slit: str | None, pressure: str, inside: str, humidity: float, skin: str,
    elevation: str | None,
) -> dict[str, Any]:  # fmt: skip
    """Flow through a hole or slit, and what it can leave on a cold skin in a day."""
    asked = Asked()
    drop = asked.quantity("--pressure", pressure, "pressure", low=0.0, high=200.0, bare="si")
    air = asked.quantity("--inside", inside, "temperature", low=-30.0, high=50.0)
    cold = asked.quantity("--skin", skin, "temperature", low=-60.0, high=60.0)
    height = asked.optional("--elevation", elevation, "length", low=-500.0, high=6000.0) or 0.0
    damp = share_of(asked, "--humidity", humidity)
    if (area is None) == (slit is None):
        found = "both" if area is not None else "neither"
        asked.problems.append(Problem("--area or --slit", found, "one of them"))
    hole = asked.optional("--area", area, "area", low=0.0, high=1.0)
    sides = _slit(asked, slit) if slit is not None else None
    if asked.problems:
        raise InputRefused(asked.problems)
    here = float(pressure_at_altitude_pa(elevation_m=height))
    density = AIR_KG_M3 * here / SEA_LEVEL_PA
    note = "a hole, Cd 0.6"
    if sides is not None:
        flow = float(slit_flow_m3_s(width_m=sides[0], depth_m=sides[1], length_m=sides[2], pressure_pa=drop))
        reynolds = density * flow / (VISCOSITY_PA_S * sides[2])
        whole = 0.6 * sides[0] * sides[2] * math.sqrt(2.0 * drop / density)
        note = "a laminar slit" if reynolds < LAMINAR_BELOW else "too wide to be laminar all through"
        if flow > whole:
            flow, note = whole, "so wide or short that it passes as a plain hole, Cd 0.6"
    else:
        flow = 0.6 * float(hole or 0.0) * math.sqrt(2.0 * drop / density)
    left = float(deposit_kg_s(flow_m3_s=flow, inside_c=air, humidity=damp, skin_c=cold, pressure_pa=here))
    carried = float(humidity_ratio(temperature_c=air, humidity=damp, pressure_pa=here))
    return {
        "flow_m3_s": flow, "deposit_kg_day": left * DAY_S, "carried_kg_kg": carried, "frost": bool(cold < 0.0),
        "note": f"{note}; an upper bound: the skin catches everything and the leak does not warm it",
    }  # fmt: skip


def _slit(asked: Asked, text: str) -> tuple[float, float, float]:
    """Width, depth and length of a slit written WIDTH x DEPTH x LENGTH."""
    parts = [part.strip() for part in re.split(r"\s+[x×]\s+", text.strip())]
    if len(parts) != 3:
        accepted = 'width x depth along the flow x length, such as "0.5 mm x 250 mm x 1 m"'
        asked.problems.append(Problem("--slit", repr(text), accepted))
        return 0.0, 1.0, 0.0
    names = ("width of --slit", "depth of --slit", "length of --slit")
    bounds = ((0.0, 0.02), (1e-3, 2.0), (0.0, 100.0))
    told = [asked.quantity(n, p, "length", low=b[0], high=b[1]) for n, p, b in zip(names, parts, bounds, strict=True)]
    return told[0], told[1], told[2]


def share_of(asked: Asked, name: str, value: float) -> float:
    """A humidity as a share; 45 instead of 0.45 is named, not guessed."""
    if not 0.0 <= value <= 1.0:
        said = f"{value:g}; did you mean {value / 100:g}?" if 1.0 < value <= 100.0 else f"{value:g}"
        asked.problems.append(Problem(name, said, "a share from 0 to 1, such as 0.45"))
    return value


def quick_mould(*, temperature: str, humidity: float, days: float, surface: str) -> dict[str, Any]:
    """Mould index after days of steady conditions."""
    asked = Asked()
    air = asked.quantity("--temperature", temperature, "temperature", low=-40.0, high=60.0)
    damp = share_of(asked, "--humidity", humidity)
    if surface not in CLASSES:
        asked.problems.append(Problem("--class", repr(surface), ", ".join(CLASSES)))
    if not 0.0 < days <= MOST_DAYS:
        asked.problems.append(Problem("--days", f"{days:g}", f"above 0, at most {MOST_DAYS:g}"))
    if asked.problems:
        raise InputRefused(asked.problems)
    hours = max(1, round(24.0 * days))
    course = mould_index(temperature_c=np.full(hours, air), humidity=np.full(hours, damp), surface=surface)
    critical = critical_percent(temperature_c=air, least_percent=CLASSES[surface].least_percent) / 100.0
    reached = np.flatnonzero(course >= LIMIT)
    return {
        "index": float(course[-1]), "critical_humidity": float(critical) if 0.0 < air < 50.0 else None, "limit": LIMIT,
        "days_to_limit": float((reached[0] + 1) / 24.0) if len(reached) else None,
        "note": "an index of likelihood; 3 is where mould can be seen (ASHRAE 160-2016, from memory)",
    }  # fmt: skip


def quick_window(*, outside: str, inside: str, frsi: float) -> dict[str, Any]:
    """The highest indoor humidity that leaves the coldest inside point dry."""
    asked = Asked()
    cold = asked.quantity("--outside", outside, "temperature", low=-60.0, high=40.0)
    warm = asked.quantity("--inside", inside, "temperature", low=0.0, high=40.0)
    if not 0.0 <= frsi <= 1.0:
        asked.problems.append(Problem("--frsi", f"{frsi:g}", "0 to 1: (surface - outside)/(inside - outside)"))
    if not asked.problems and cold >= warm:
        asked.problems.append(Problem("--outside", f"{outside} with {inside} inside", "colder than --inside"))
    if asked.problems:
        raise InputRefused(asked.problems)
    return {
        "max_humidity": float(highest_humidity(outside_c=cold, inside_c=warm, factor=frsi)),
        "surface_c": cold + frsi * (warm - cold), "source": "ISO 13788:2012, temperature factor",
    }  # fmt: skip


def _door_opened(shut: float, wide: float, drop: float, exponent: float, held: float) -> dict[str, Any]:
    """A zone by opening its door, with the error of readings off by half a pascal and a hundredth of each flow."""

    def flow_of(one: float, two: float, zone: float) -> float:
        return open_the_door_m3_s(closed_m3_s=one, open_m3_s=two, zone_pa=zone, exponent=exponent, house_pa=held)

    flow = flow_of(shut, wide, drop)
    near = min(drop, held - 1e-3) - 0.5
    by_pressure = abs(flow - flow_of(shut, wide, max(near, 0.0)))
    by_flow = math.hypot(DOOR_FLOW_ERROR * shut, DOOR_FLOW_ERROR * wide) * flow / (wide - shut)
    error = math.hypot(by_pressure, by_flow)
    usable = bool(flow < wide and error < 0.5 * flow)
    return {
        "zone_to_outdoors_m3_s": flow, "zone_to_outdoors_error_m3_s": error,
        "direct_m3_s": wide - flow if flow < wide else None, "usable": usable,
        "note": f"flows at {held:.0f} Pa; readings off by half a pascal and 1 % of each flow"
        + ("" if flow < wide else ": more than the whole flow, so these readings cannot be right"),
    }  # fmt: skip


def quick_zone(
    *, before: str | None, after: str | None, hole: str | None, closed: str | None, opened: str | None,
    zone: str | None, exponent: float, house: str,
) -> dict[str, Any]:  # fmt: skip
    """Leaks of a zone under the test fan: by a hole towards the house, or by opening its door."""
    asked = Asked()
    held = asked.quantity("--house", house, "pressure", low=10.0, high=100.0, bare="si")
    if not 0.5 <= exponent <= 1.0:
        asked.problems.append(Problem("--exponent", f"{exponent:g}", "0.5 to 1"))
    if before and after and hole:
        p1, p2 = (
            asked.quantity(n, t, "pressure", low=0.1, high=100.0, bare="si")
            for n, t in (("--before", before), ("--after", after))
        )
        area = asked.quantity("--hole", hole, "area", low=1e-5, high=2.0)
        if not asked.problems and not 0.0 < p2 < p1 < held:
            said = f"{before} then {after} with the house at {house}"
            asked.problems.append(Problem("--after", said, "below --before, both below the house's pressure"))
        if asked.problems:
            raise InputRefused(asked.problems)
        told = add_a_hole(before_pa=p1, after_pa=p2, hole_m2=area, exponent=exponent, house_pa=held)
        scale = held**exponent
        return {
            "zone_to_outdoors_m3_s": told.outdoors * scale, "zone_to_outdoors_error_m3_s": told.outdoors_error * scale,
            "house_to_zone_m3_s": told.house * scale, "house_to_zone_error_m3_s": told.house_error * scale,
            "usable": bool(told.outdoors_error < 0.5 * told.outdoors and told.house_error < 0.5 * told.house),
            "note": f"flows at {held:.0f} Pa, readings off by half a pascal; where they hardly move open a larger hole",
        }  # fmt: skip
    if closed and opened and zone:
        shut, wide = (
            asked.quantity(n, t, "flow", low=0.0, high=5.0) for n, t in (("--closed", closed), ("--open", opened))
        )
        drop = asked.quantity("--zone", zone, "pressure", low=0.0, high=100.0, bare="si")
        if not asked.problems and not (wide > shut and drop < held):
            asked.problems.append(
                Problem(
                    "--open", f"{opened} with {closed} shut, zone at {zone}", "more flow open, a zone below the house"
                )
            )
        if asked.problems:
            raise InputRefused(asked.problems)
        return _door_opened(shut, wide, drop, exponent, held)
    accepted = "--before, --after and --hole, or --closed, --open and --zone"
    raise InputRefused([*asked.problems, Problem("zone", "neither way is complete", accepted)])
