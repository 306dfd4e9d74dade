"""Heat, carbon dioxide and sun that enter a house hour by hour."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inshell.climate.sun import incident
from inshell.climate.year import ClimateYear
from inshell.house.geometry import Geometry
from inshell.house.geometry.surfaces import GROUND, OUTDOORS, Surface
from inshell.house.model.house import House
from inshell.house.model.openings import Window
from inshell.house.model.people import Person
from inshell.network.rooms import Face, HouseThermal
from inshell.physics.glass import DIFFUSE_RATIO, shgc_angle_ratio
from inshell.physics.people import MET, basal_rate_mj_day, carbon_dioxide_l_s
from inshell.physics.shading import fins_sunlit_fraction, overhang_sunlit_fraction
from inshell.physics.types import Floats
from inshell.sources import table

ABSORPTANCE = 0.6
PERSON_W = {"asleep": 60.0, "awake": 70.0}


def sun_on_nodes(
    house: House, geometry: Geometry, thermal: HouseThermal, year: ClimateYear, hours: NDArray[np.int64]
) -> Floats:
    """Sun taken up by every node [W], shape (hours, nodes): outer skins, and what windows let in.

    The beam lands on the floor of the room (spread over its faces where it has none), the rest on all its faces by
    area; the sum is what entered.
    """
    result = sun_through_windows(house, geometry, thermal, year, hours)
    surfaces = {s.id: s for s in geometry.surfaces}
    skyline = house.site.horizon
    for skin in thermal.skins:
        host = surfaces[skin.surface]
        if host.tilt_deg < 179.0:
            total = incident(
                year,
                tilt_deg=host.tilt_deg,
                azimuth_deg=host.azimuth_deg,
                ground_reflectance=house.site.ground_reflectance,
                skyline=skyline,
            ).total_w_m2[hours]
            result[:, skin.node] += ABSORPTANCE * skin.area_m2 * total
    return result


def sun_through_windows(
    house: House, geometry: Geometry, thermal: HouseThermal, year: ClimateYear, hours: NDArray[np.int64]
) -> Floats:
    """The part of `sun_on_nodes` that comes in through windows."""
    result = np.zeros((len(hours), len(thermal.network.capacity_j_k)))
    surfaces = {s.id: s for s in geometry.surfaces}
    skyline = house.site.horizon
    index = {room.id: k for k, room in enumerate(house.room)}
    for placed in geometry.openings:
        host = surfaces[placed.surface]
        if placed.kind == "window" and host.other == OUTDOORS:
            beam, rest = window_gain_w(house, placed.id, host, year, skyline)
            _land(result, thermal.faces, index[host.room], beam[hours], rest[hours])
    return result


def window_gain_w(
    house: House, name: str, host: Surface, year: ClimateYear, skyline: tuple[tuple[float, float], ...]
) -> tuple[Floats, Floats]:
    """(beam, diffuse) heat that a window lets in, through its solar heat gain coefficient at the angle of the sun."""
    window = next(w for w in house.window if w.id == name)
    shgc = next(g.shgc for g in house.glazing if g.id == window.glazing)
    sun = incident(
        year,
        tilt_deg=host.tilt_deg,
        azimuth_deg=host.azimuth_deg,
        ground_reflectance=house.site.ground_reflectance,
        skyline=skyline,
        beam_share=overhang_share(window, host, year),
    )
    scale = shgc * window.shade * window.area_m2
    beam = scale * sun.beam_w_m2 * shgc_angle_ratio(angle_deg=sun.angle_deg)
    return np.asarray(beam), np.asarray(scale * sun.diffuse_w_m2 * DIFFUSE_RATIO)


def overhang_share(window: Window, host: Surface, year: ClimateYear) -> Floats | float:
    """Share of the beam that an overhang and fins let through to a window, hour by hour (one times the other)."""
    if host.tilt_deg != 90.0 or (window.overhang is None and window.fin_m <= 0.0):
        return 1.0
    share: Floats = np.ones(len(year.sun_zenith_deg))
    if window.overhang is not None:
        share = np.asarray(
            overhang_sunlit_fraction(
                altitude_deg=90.0 - year.sun_zenith_deg,
                azimuth_deg=year.sun_azimuth_deg,
                window_azimuth_deg=host.azimuth_deg,
                width_m=window.width_m,
                height_m=window.height_m,
                overhang_m=window.overhang.depth_m,
                gap_m=window.overhang.gap_m,
                side_m=window.overhang.side_m,
            )
        )
    if window.fin_m > 0.0:
        share = share * fins_sunlit_fraction(
            altitude_deg=90.0 - year.sun_zenith_deg,
            azimuth_deg=year.sun_azimuth_deg,
            window_azimuth_deg=host.azimuth_deg,
            width_m=window.width_m,
            fin_m=window.fin_m,
        )
    return share


def _land(result: Floats, faces: tuple[Face, ...], room: int, beam: Floats, rest: Floats) -> None:
    mine = [face for face in faces if face.room == room and face.surface != "furnishings"]
    floors = [f for f in mine if f.other == GROUND or "/floor" in f.surface or "/mid-floor" in f.surface] or mine
    for group, watts in ((floors, beam), (mine, rest)):
        total = sum(face.area_m2 for face in group)
        for face in group:
            result[:, face.node] += watts * face.area_m2 / total


@dataclass(frozen=True)
class People:
    """What people give off in each room at an hour of the day."""

    heat_w: Floats
    carbon_dioxide_kg_s: Floats
    vapour_kg_s: Floats


def people_at(house: House, hour: float, room_c: float = 21.0, *, working: bool = True) -> People:
    """Heat, vapour and carbon dioxide of the household: asleep in their rooms, awake where the house lives, or away."""
    index = {room.id: k for k, room in enumerate(house.room)}
    common = next((k for k, r in enumerate(house.room) if "living" in r.use), 0)
    heat, gas, vapour = np.zeros(len(index)), np.zeros(len(index)), np.zeros(len(index))
    rates = table("household")["vapour"]
    for person in house.person:
        state = _state(person, hour, working)
        if state == "away":
            continue
        room = index[person.sleeps_in] if state == "asleep" else common
        met = MET["asleep" if state == "asleep" else "sitting"]
        litres = float(
            carbon_dioxide_l_s(basal_mj_day=basal_rate_mj_day(age=person.age, sex=person.sex), met=met, room_c=room_c)
        )
        heat[room] += person.count * PERSON_W[state]
        vapour[room] += person.count * rates[f"{state}_kg_h"] / 3600.0
        gas[room] += person.count * litres * 1e-3 * 101325.0 * 0.04401 / (8.314462 * (273.15 + room_c))
    return People(heat, gas, vapour)


def _state(person: Person, hour: float, working: bool) -> str:
    if within(hour, person.asleep_from_h, person.asleep_to_h):
        return "asleep"
    if working and person.away_from_h is not None and person.away_to_h is not None:
        return "away" if within(hour, person.away_from_h, person.away_to_h) else "awake"
    return "awake"


def within(hour: float, start: float, end: float) -> bool:
    """Whether an hour lies in a span that may pass midnight.

    >>> within(23.0, 22.0, 6.0), within(12.0, 22.0, 6.0)
    (True, False)
    """
    return start <= hour < end if start <= end else hour >= start or hour < end
