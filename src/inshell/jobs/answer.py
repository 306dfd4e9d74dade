"""Everything that can be said of a house at once: the calculations behind check and report."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from inshell.climate.choose import HouseClimate, climate_of
from inshell.design.cautions import cautions, pressure_findings
from inshell.design.fresh_air import FreshAir, Leakage, calculate_fresh_air
from inshell.design.heating import HeatingResult, calculate_heating, tightness_ach50
from inshell.design.in_place import in_place
from inshell.design.local_exhaust import LocalExhaust, calculate_local_exhaust
from inshell.design.observations import observe
from inshell.design.pressure import PressureResult, calculate_pressures
from inshell.errors import InputRefused
from inshell.findings import Finding, by_severity
from inshell.house.geometry import Geometry
from inshell.house.model.air_devices import Fan
from inshell.house.model.house import House
from inshell.house.reading import HouseFile, read_house
from inshell.network.fans import full_curve
from inshell.records.jobfolder import JobFolder, TestRecord, read_jobfolder


@dataclass(frozen=True)
class Answer:
    """A house with every result that needs no simulation."""

    file: HouseFile
    climate: HouseClimate
    job: JobFolder
    heating: HeatingResult
    fresh_air: tuple[FreshAir, ...]
    local_exhaust: tuple[LocalExhaust, ...]
    measured_exhaust: tuple[LocalExhaust, ...]
    pressure: PressureResult
    test: TestRecord | None
    findings: tuple[Finding, ...]

    @property
    def house(self) -> House:
        """The house as designed."""
        return self.file.house

    @property
    def geometry(self) -> Geometry:
        """What follows from the drawing."""
        return self.file.geometry

    @property
    def built(self) -> House:
        """The house with what was measured."""
        return in_place(self.house, self.job.measured, {})


def answer(path: Path) -> Answer:
    """Read a house and its job folder and compute; raises InputRefused with every problem of all files."""
    file = read_house(path)
    problems = []
    try:
        climate = climate_of(file.house, file.folder)
    except InputRefused as error:
        problems += error.problems
    try:
        job = read_jobfolder(file.folder, file.house, file.geometry.volume_m3)
    except InputRefused as error:
        problems += error.problems
    if problems:
        raise InputRefused(file.placed(problems))
    return computed(file, climate, job)


def computed(file: HouseFile, climate: HouseClimate, job: JobFolder) -> Answer:
    """Every static calculation of one house."""
    house, geometry = file.house, file.geometry
    test = job.deciding_test(file.shell_hash)
    heating = calculate_heating(house, geometry, climate)
    ach50, _ = tightness_ach50(house, geometry.volume_m3)
    flow50 = test.result.flow_at_50_pa_m3_s if test else ach50 * geometry.volume_m3 / 3600.0
    exponent = test.result.exponent if test else house.tightness.exponent
    pressure = calculate_pressures(
        house,
        geometry,
        flow_at_50_pa_m3_s=flow50,
        exponent=exponent,
        inside_c=house.household.heating_set_point_c,
        outside_c=climate.design.heating_c,
        pressure_pa=climate.pressure_pa,
    )
    airs = tuple(fresh_air_of(file, rule, flow50, exponent) for rule in house.rules.fresh_air)
    findings = [*climate.findings, *heating.findings, *pressure.findings, *pressure_findings(house, pressure)]
    findings += [f for air in airs for f in air.findings] + cautions(house, geometry)
    findings += observe(house, geometry, climate, heating)
    if climate.design.mean_basis == "not known":
        findings.append(
            Finding(
                "mean-annual-assumed",
                "climate.mean_annual",
                {"temperature": (climate.design.mean_annual_c, "temperature")},
            )
        )
    return Answer(
        file=file,
        climate=climate,
        job=job,
        heating=heating,
        fresh_air=airs,
        local_exhaust=tuple(calculate_local_exhaust(house, geometry)),
        measured_exhaust=tuple(calculate_local_exhaust(in_place(house, job.measured, {}), geometry)),
        pressure=pressure,
        test=test,
        findings=tuple(by_severity(findings)),
    )


def fresh_air_of(file: HouseFile, rule: str, flow50: float, exponent: float) -> FreshAir:
    """One whole-house rule applied to a house."""
    house, geometry = file.house, file.geometry
    leakage = None
    if house.rules.weather_factor is not None:
        leakage = Leakage(flow50, geometry.height_m, house.rules.weather_factor, exponent)
    return calculate_fresh_air(
        rule=rule,
        area_m2=geometry.floor_m2,
        bedrooms=house.bedrooms,
        occupants=house.household.occupants,
        system=house.units,
        leakage=leakage,
        balanced=is_balanced(house),
        new_house=house.rules.new_house,
        detached=not any(buffer.kind == "house-next-door" for buffer in house.buffer),
        supplied=is_supplied(house),
    )


def whole_house_flows(house: House) -> tuple[float, float]:
    """(supply, exhaust) that run always and are counted for the whole house; dryers and transfer fans never are.

    A base flow counts as far as the fan reaches it on its run, the house at no pressure.
    """
    supply = sum(reached_m3_s(f) for f in house.fan if f.kind == "supply" and "whole-house" in f.serves)
    exhaust = sum(reached_m3_s(f) for f in house.fan if f.kind == "exhaust" and "whole-house" in f.serves)
    supply += sum(u.supply_flow_m3_s * (1.0 - u.exhaust_transfer) for u in house.ventilator)
    exhaust += sum(u.exhaust_flow_m3_s for u in house.ventilator)
    return supply, exhaust


def reached_m3_s(fan: Fan) -> float:
    """The base flow of a fan as far as its run lets it."""
    return min(float(fan.base_flow_m3_s), float(full_curve(fan).flow_m3_s[0])) if fan.base_flow_m3_s > 0.0 else 0.0


def switched(house: House) -> tuple[set[str], set[str]]:
    """(devices counted for the whole house that rows of control switch off at times, those that rows run more)."""
    counted = {f.id for f in house.fan if "whole-house" in f.serves} | {u.id for u in house.ventilator}
    rows = [row for row in house.control if row.target in counted]
    return {row.target for row in rows if row.does == "off"}, {row.target for row in rows if row.does == "full"}


def certain_flow_m3_s(house: House) -> float:
    """What runs always whatever rows of control do: devices that a row switches off count for nothing."""
    off, _ = switched(house)
    update = {
        "fan": tuple(f.model_copy(update={"base_flow_m3_s": 0.0}) if f.id in off else f for f in house.fan),
        "ventilator": tuple(u for u in house.ventilator if u.id not in off),
    }
    return max(whole_house_flows(house.model_copy(update=update)))


def is_balanced(house: House) -> bool:
    """Whether supply and exhaust lie within 10 % of each other."""
    supply, exhaust = whole_house_flows(house)
    return min(supply, exhaust) > 0.9 * max(supply, exhaust) > 0.0


LIVING = ("kitchen-living", "living", "dining", "kitchen")


def is_supplied(house: House) -> bool:
    """Whether outdoor air comes by duct to each bedroom and to one living, dining or kitchen room."""
    reached = {room for unit in house.ventilator if unit.ducted for room in unit.supply_rooms}
    reached |= {fan.room for fan in house.fan if fan.kind == "supply" and fan.base_flow_m3_s > 0.0}
    bedrooms = {room.id for room in house.room if room.is_bedroom}
    living = {room.id for room in house.room if room.use in LIVING}
    return bool(bedrooms) and bedrooms <= reached and bool(living & reached)
