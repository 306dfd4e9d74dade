"""What an assembly is as numbers: its layers, its films, its U-value in the place of a surface."""

from __future__ import annotations

from functools import cache

from inshell.house.geometry.surfaces import GROUND, OUTDOORS
from inshell.house.model.enclosure import Assembly, Material
from inshell.house.model.house import House
from inshell.physics.conduction import BridgedU, Layer, u_value
from inshell.sources import table


def layers_of(assembly: Assembly, materials: tuple[Material, ...]) -> list[Layer]:
    """The layers of an assembly, outside to inside, as numbers."""
    own = {m.id: m for m in materials}
    layers = []
    for layer in assembly.layers:
        conductivity, density, heat = _material(own, layer.material)
        framing = layer.framing
        layers.append(
            Layer(
                thickness_m=layer.thickness_m or 0.0,
                conductivity_w_mk=layer.conductivity_w_mk or conductivity,
                density_kg_m3=layer.density_kg_m3 or density,
                specific_heat_j_kgk=layer.specific_heat_j_kgk or heat,
                framing_share=framing.share if framing else 0.0,
                framing_conductivity_w_mk=_material(own, framing.material)[0] if framing else 0.13,
                resistance_m2k_w=layer.r_m2k_w,
            )
        )
    return layers


def _material(own: dict[str, Material], name: str | None) -> tuple[float, float, float]:
    if name is None:
        return 1.0, 0.0, 0.0
    if name in own:
        m = own[name]
        return m.conductivity_w_mk, m.density_kg_m3, m.specific_heat_j_kgk
    row = table("materials")[name]
    return row["conductivity_w_mk"], row["density_kg_m3"], row["specific_heat_j_kgk"]


@cache
def _films() -> dict[str, float]:
    return {k: v for k, v in table("design")["surface_resistance"].items() if k != "source"}


def film_resistances(surface_kind: str, other: str) -> tuple[float, float]:
    """(inside, outside) surface resistances: heat up through roofs, level through walls, down through floors."""
    films = _films()
    inside = films["up" if surface_kind in ("roof", "ceiling") else "down" if surface_kind == "floor" else "level"]
    return inside, films["outside"] if other in (OUTDOORS, GROUND) else inside


def assembly_u(house: House, name: str, surface_kind: str, other: str) -> BridgedU:
    """U-value of an assembly in the place of a surface (ISO 6946 with framing)."""
    assembly = next(a for a in house.assembly if a.id == name)
    if assembly.u_w_m2k is not None:
        r = 1.0 / assembly.u_w_m2k
        return BridgedU(assembly.u_w_m2k, r, r)
    inside, outside = film_resistances(surface_kind, other)
    return u_value(layers=layers_of(assembly, house.material), rsi_m2k_w=inside, rse_m2k_w=outside)
