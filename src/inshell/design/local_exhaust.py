"""Exhaust from baths and kitchens under a rule."""

from __future__ import annotations

from dataclasses import dataclass, replace

from inshell.design.fresh_air import CFM_M3_S
from inshell.house.geometry import Geometry
from inshell.house.model.air_devices import Fan, Hood
from inshell.house.model.house import House
from inshell.house.model.rooms import WET_USES, Room
from inshell.network.fans import full_curve
from inshell.sources import table

KITCHENS = ("kitchen", "kitchen-living")


@dataclass(frozen=True)
class LocalExhaust:
    """One room's exhaust: what serves it continuously and on demand, against what the rule asks of each."""

    room: str
    continuous_m3_s: float
    demand_m3_s: float
    continuous_limit_m3_s: float
    demand_limit_m3_s: float
    source: str
    devices: tuple[str, ...]
    split_m3_s: float = 0.0
    """Part of the continuous rate that is an even split of a total over several rooms."""

    def without_split(self) -> LocalExhaust:
        """The same room by what is certain: without shares of a total."""
        return replace(self, continuous_m3_s=self.continuous_m3_s - self.split_m3_s, split_m3_s=0.0)

    @property
    def met(self) -> bool:
        """Whether either way of meeting the rule is met."""
        return self.by_continuous or self.demand_m3_s >= self.demand_limit_m3_s - 1e-9

    @property
    def by_continuous(self) -> bool:
        """Whether the continuous rate alone meets the rule."""
        return self.continuous_m3_s >= self.continuous_limit_m3_s - 1e-9

    @property
    def shown(self) -> tuple[float, float]:
        """(value, limit) of the way that decides: the continuous one if it is met, else the nearer one."""
        ways = [(self.continuous_m3_s, self.continuous_limit_m3_s), (self.demand_m3_s, self.demand_limit_m3_s)]
        return ways[0] if self.by_continuous else max(reversed(ways), key=lambda way: way[0] / way[1])


def calculate_local_exhaust(house: House, geometry: Geometry, rule: str | None = None) -> list[LocalExhaust]:
    """Every bath and kitchen against a rule for local exhaust (else the house's): ashrae-62.2 or irc."""
    rule = rule or house.rules.local_exhaust
    results = []
    for room in house.room:
        if room.use in WET_USES:
            results.append(_bath(house, room))
        elif room.use in KITCHENS:
            results.append(_kitchen(house, geometry, room, rule))
    return results


def _ventilator_flow(house: House, room: Room) -> tuple[float, float, list[str]]:
    """(flow, the part of it that is a split, ids)."""
    units = [u for u in house.ventilator if room.id in u.exhaust_rooms]
    flows = [u.exhaust_flow_m3_s / len(u.exhaust_rooms) for u in units]
    split = sum(flow for flow, u in zip(flows, units, strict=True) if len(u.exhaust_rooms) > 1)
    return sum(flows), split, [u.id for u in units]


def delivered_m3_s(device: Fan | Hood) -> float:
    """What a device moves on its run with the house at no pressure; its rated flow where no run is described."""
    rated = device.rated_flow_m3_s if isinstance(device, Fan) else device.flow_m3_s
    return float(min(rated, full_curve(device).flow_m3_s[0]) if device.duct else rated)


def _always(house: House, fan: Fan) -> float:
    """Its base flow as far as its run lets it; nothing where a row of control switches it off at times."""
    if any(row.target == fan.id and row.does == "off" for row in house.control):
        return 0.0
    return float(min(fan.base_flow_m3_s, full_curve(fan).flow_m3_s[0])) if fan.base_flow_m3_s > 0.0 else 0.0


def _bath(house: House, room: Room) -> LocalExhaust:
    row = table("fresh_air")["local"]["bath"]
    fans = [f for f in house.fan if f.room == room.id and f.kind == "exhaust"]
    steady, split, units = _ventilator_flow(house, room)
    return LocalExhaust(
        room.id,
        steady + sum(_always(house, f) for f in fans),
        sum(delivered_m3_s(f) for f in fans),
        row["continuous_cfm"] * CFM_M3_S,
        row["demand_cfm"] * CFM_M3_S,
        row["source"],
        (*(f.id for f in fans), *units),
        split,
    )


def _kitchen(house: House, geometry: Geometry, room: Room, rule: str) -> LocalExhaust:
    row = table("fresh_air")["local"]["kitchen-irc" if rule == "irc" else "kitchen-ashrae"]
    hoods = [h for h in house.hood if h.room == room.id]
    fans = [f for f in house.fan if f.room == room.id and f.kind == "exhaust" and "kitchen" in f.serves]
    steady, split, units = _ventilator_flow(house, room)
    if "continuous_ach" in row:
        steady_limit = row["continuous_ach"] * geometry.space(room.id).net_volume_m3 / 3600.0
    else:
        steady_limit = row["continuous_cfm"] * CFM_M3_S
    no_hood = bool(fans) and not hoods and "not_a_hood_cfm" in row
    demand_limit = row["not_a_hood_cfm"] if no_hood else row["demand_cfm"]
    demand = sum(delivered_m3_s(h) for h in hoods) + (0.0 if hoods else sum(delivered_m3_s(f) for f in fans))
    return LocalExhaust(
        room.id,
        steady + sum(_always(house, f) for f in fans),
        demand,
        steady_limit,
        demand_limit * CFM_M3_S,
        row["source"],
        (*(h.id for h in hoods), *(f.id for f in fans), *units),
        split,
    )
