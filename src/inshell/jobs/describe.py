"""`inshell describe`: everything that follows from the drawing."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from inshell.design.envelope import calculate_elements, calculate_slab, f_factor_loss_w_k
from inshell.house.geometry import Geometry
from inshell.house.geometry.gross import Gross, gross_of
from inshell.house.geometry.joints import panel_joints_m
from inshell.house.model.house import House
from inshell.house.reading import HouseFile, read_house

JOINT_KINDS = ("ridge", "hip", "valley", "eave", "high-edge", "rake", "wall-ceiling", "corner", "floor-edge", "sill")


SPACE_FIELDS = ("floor_m2", "net_floor_m2", "volume_m3", "net_volume_m3", "highest_m")
ELEMENT_FIELDS = ("id", "room", "kind", "other", "area_m2", "u_w_m2k", "bridge_w_m2k")
SURFACE_FIELDS = (
    "id",
    "kind",
    "room",
    "other",
    "area_m2",
    "azimuth_deg",
    "tilt_deg",
    "low_m",
    "high_m",
    "centre_m",
    "length_m",
    "foot_m",
    "assembly",
)


def _fields(item: object, names: tuple[str, ...]) -> dict[str, Any]:
    return {name: getattr(item, name) for name in names}


@dataclass(frozen=True)
class Described:
    """A house file with the sizes outside its outlines."""

    file: HouseFile
    gross: Gross

    @property
    def house(self) -> House:
        """The house."""
        return self.file.house

    @property
    def geometry(self) -> Geometry:
        """Its geometry."""
        return self.file.geometry

    def joints_m(self) -> dict[str, float]:
        """Length of joints by kind, panel joints by assembly."""
        lengths = {kind: self.geometry.joint_m(kind) for kind in JOINT_KINDS}
        joints = panel_joints_m(self.house, self.geometry.surfaces)
        lengths |= {f"panel joints, {assembly}": length for assembly, length in joints.items()}
        return {kind: length for kind, length in lengths.items() if length > 1e-9}

    def as_json(self) -> dict[str, Any]:
        """The document of `describe --json`."""
        g, file = self.geometry, self.file
        return {
            "format": 1,
            "house": self.house.name or file.path.stem,
            "house_hash": file.model_hash,
            "shell_hash": file.shell_hash,
            "file_sha256": file.file_sha256,
            **self._sizes(),
            "rooms": [{"id": s.room} | _fields(s, SPACE_FIELDS) for s in g.spaces],
            "surfaces": [_fields(s, SURFACE_FIELDS) | {"net_area_m2": s.net_m2} for s in g.surfaces],
            "elements": [_fields(e, ELEMENT_FIELDS) for e in calculate_elements(self.house, g)],
            "slabs": self._slabs(),
            "joints_m": self.joints_m(),
        }

    def _sizes(self) -> dict[str, Any]:
        g, inside = self.geometry, self.gross.air_barrier_m3(self.house, self.geometry)
        net_floor = sum(s.net_floor_m2 for s in g.spaces)
        return {
            "floor_area_m2": {"net": net_floor, "air_barrier": g.floor_m2, "gross": self.gross.floor_m2},
            "volume_m3": {"net": g.net_volume_m3, "air_barrier": inside, "gross": self.gross.volume_m3},
            "enclosure_m2": g.enclosure_m2,
            "height_m": g.height_m,
        }

    def _slabs(self) -> list[dict[str, Any]]:
        rows = []
        for slab in self.house.slab:
            result = calculate_slab(self.house, self.geometry, slab)
            if result:
                rows.append(
                    {
                        "id": slab.id,
                        "area_m2": result.area_m2,
                        "perimeter_m": result.perimeter_m,
                        "u_w_m2k": result.u_w_m2k,
                        "edge_psi_w_mk": result.edge_psi_w_mk,
                        "effective_u_w_m2k": result.effective_u_w_m2k,
                        "f_factor_loss_w_k": f_factor_loss_w_k(self.geometry, self.house, slab),
                    }
                )
        return rows


def describe(path: Path) -> Described:
    """Read a house and derive everything."""
    file = read_house(path)
    return Described(file, gross_of(file.house, file.geometry))
