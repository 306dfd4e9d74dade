"""What lies in the job folder of a random house: pressure tests of every kind, measured flows, seals that are done."""

from __future__ import annotations

import csv
import io
import random
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

MEASURABLE = {
    "fan": ("flow", "base_flow"), "hood": ("flow",), "dryer": ("flow",), "ventilator": ("supply_flow", "exhaust_flow"),
    "transfer_fan": ("flow",),
}  # fmt: skip
HEAD = ("id", "what", "value", "date", "person", "method", "instrument")


def _day(dice: random.Random) -> str:
    return (datetime.now(UTC) - timedelta(days=dice.randint(1, 300))).date().isoformat()


def readings(dice: random.Random) -> str:
    """Readings of one test: one pressure or many, one direction or both, in any order, calm or windy, with zeros or without."""
    said = {
        "date": _day(dice),
        "person": "crew",
        "instrument": "fan and gauge",
        "method": dice.choice(["astm-e779", "iso-9972", "as-entered"]),
    }
    most = {
        "inside": f"{dice.uniform(10, 28):.1f} °C", "outside": f"{dice.uniform(-25, 35):.1f} °C", "elevation": f"{dice.randint(0, 2500)} m",
        "zero before": f"{dice.uniform(-6, 6):.1f} Pa", "zero after": f"{dice.uniform(-6, 6):.1f} Pa", "wind": f"{dice.uniform(0, 9):.1f} m/s",
        "volume": f"{dice.randint(60, 500)} m3", "temporary seals": "hood taped", "not yet cut": "hose bib", "calibration": "2020-01-02",
    }  # fmt: skip
    said |= {key: value for key, value in most.items() if dice.random() < 0.6}
    count, both = dice.choice([1, 3, 5, 7, 10]), dice.random() < 0.3
    if count == 1:
        said["one point"] = "0.65"
    elif dice.random() < 0.7 and not both:
        said["direction"] = dice.choice(["depressurise", "pressurise"])
    exponent, at_50 = dice.uniform(0.5, 1.05), dice.uniform(20, 900)
    rows = []
    for side in ("depressurise", "pressurise")[: 2 if both else 1]:
        for k in range(count):
            pa = dice.uniform(45, 60) if count == 1 else 10.0 + 55.0 * k / count
            flow = at_50 * (pa / 50.0) ** exponent * dice.uniform(0.97, 1.03)
            rows.append(f"{pa:.1f},{flow:.1f}" + (f",{side}" if both else ""))
    if dice.random() < 0.3:
        dice.shuffle(rows)
    columns = "pressure_pa,flow_m3_h" + (",direction" if both else "")
    return "\n".join([*(f"# {key}: {value}" for key, value in said.items()), columns, *rows]) + "\n"


def recorded(house: Path, seed: int) -> list[list[str]]:
    """Readings beside the house file, and the commands that put them into its job folder."""
    dice, told = random.Random(f"records {seed}"), []
    for k in range(dice.randint(0, 3)):
        path = house.with_name(f"readings-{k}.csv")
        path.write_text(readings(dice), encoding="utf-8")
        stage, purpose = (
            dice.choice(["final", "final", "interim", "pre-drywall"]),
            dice.choice(["compliance", "diagnostic"]),
        )
        told.append(["record-test", str(house), str(path), "--stage", stage, "--purpose", purpose, "--overwrite"])
    return told


def measured(content: dict[str, Any], seed: int) -> str:
    """Flows measured on some of the house's devices."""
    dice, out = random.Random(f"measured {seed}"), io.StringIO()
    writer = csv.writer(out)
    writer.writerow(HEAD)
    for table, fields in MEASURABLE.items():
        for row in content.get(table, []):
            for what in fields:
                if dice.random() < 0.3:
                    value = f"{dice.uniform(0.3, 40):.1f} m3/h"
                    writer.writerow([row["id"], what, value, _day(dice), "crew", "flow hood", "gauge"])
    return out.getvalue()


def sealed(folder: Path, seed: int) -> None:
    """Some rows of the seal list are done, some of those proved, others failed."""
    dice, path = random.Random(f"seals {seed}"), folder / "seal.csv"
    if not path.exists():
        return
    rows = list(csv.DictReader(io.StringIO(path.read_text(encoding="utf-8"))))
    for row in rows:
        if dice.random() < 0.5:
            row |= {"done": _day(dice), "who": "crew"}
            if dice.random() < 0.6:
                row |= {"retested": datetime.now(UTC).date().isoformat(), "photo": dice.choice(["p1.jpg", "none"]),
                        "how": dice.choice(["smoke", "test", "infrared", "failed"])}  # fmt: skip
    if rows and dice.random() < 0.3:
        rows.append(rows[0] | {"id": "gone", "number": "9999"})
    out = io.StringIO()
    writer = csv.DictWriter(out, fieldnames=list(rows[0]) if rows else [])
    writer.writeheader()
    writer.writerows(rows)
    path.write_text(out.getvalue(), encoding="utf-8")
