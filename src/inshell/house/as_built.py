"""The one overlay: a house with what was measured in place of what was designed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from inshell.house.model.house import House

MEASURABLE = {
    "fan": {"flow": "rated_flow_m3_s", "base_flow": "base_flow_m3_s"},
    "hood": {"flow": "flow_m3_s"},
    "dryer": {"flow": "flow_m3_s"},
    "ventilator": {"supply_flow": "supply_flow_m3_s", "exhaust_flow": "exhaust_flow_m3_s"},
    "transfer_fan": {"flow": "flow_m3_s"},
}


@dataclass(frozen=True)
class Measured:
    """One measured value of one device."""

    device: str
    what: str
    value_m3_s: float
    date: str
    person: str
    method: str
    instrument: str = ""

    @property
    def is_documented(self) -> bool:
        """Whether date, person and method are said; without them a value decides nothing."""
        return bool(self.date and self.person and self.method)


def as_built(house: House, measured: Mapping[tuple[str, str], Measured]) -> House:
    """A copy of the house with measured flows; the description itself is never changed.

    A fan whose flow was measured keeps its rated flow as the name of the setting and delivers what was measured.
    """
    update = {}
    for kind, fields in MEASURABLE.items():
        changed = []
        for item in getattr(house, kind):
            values = {
                field: measured[item.id, what].value_m3_s
                for what, field in fields.items()
                if (item.id, what) in measured
            }
            changed.append(item.model_copy(update=values) if values else item)
        update[kind] = tuple(changed)
    return house.model_copy(update=update)
