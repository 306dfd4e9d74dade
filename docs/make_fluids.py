"""Build `sources/fluids.toml` from a reference library of properties (development only): water, propylene glycol."""

from __future__ import annotations

from pathlib import Path

from CoolProp.CoolProp import PropsSI

SOURCE = (
    "water by IAPWS-95; mixtures by the incompressible fit of Melinder, Properties of Secondary Working Fluids, 2010"
)
OUT = Path(__file__).parents[1] / "src" / "inshell" / "sources" / "fluids.toml"
TEMPERATURES = list(range(-50, 101, 5))
SHARES = (0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6)
PRESSURE_PA = 2e5
HEAD = """\
# Water and propylene glycol in water, by mass of glycol, at 2 bar. Rows are shares, columns temperatures.
# Built by docs/make_fluids.py with CoolProp 8: water by IAPWS-95 (HEOS), mixtures by the incompressible fit MPG
# (Melinder, Properties of Secondary Working Fluids, 2010). Below its freezing point a mixture keeps the value there.
"""


def name_of(share: float) -> str:
    return "Water" if share == 0.0 else f"INCOMP::MPG[{share}]"


def value(key: str, share: float, celsius: float) -> float:
    least = freezing_c(share) + 0.05
    return float(PropsSI(key, "T", max(celsius, least) + 273.15, "P", PRESSURE_PA, name_of(share)))


def freezing_c(share: float) -> float:
    return float(PropsSI("T_FREEZE", "T", 300.0, "P", PRESSURE_PA, name_of(share))) - 273.15 if share else 0.0


def rows(key: str) -> str:
    lines = [", ".join(f"{value(key, share, t):.6g}" for t in TEMPERATURES) for share in SHARES]
    return "[\n" + "".join(f"  [{line}],\n" for line in lines) + "]"


if __name__ == "__main__":
    text = HEAD + f'source = "{SOURCE}"\n' + f"temperature_c = {TEMPERATURES}\nshare = {list(SHARES)}\n"
    text += f"freezing_c = {[round(freezing_c(s), 2) for s in SHARES]}\n"
    for key, letter in (("density_kg_m3", "D"), ("viscosity_pa_s", "V"), ("heat_j_kgk", "C")):
        text += f"{key} = {rows(letter)}\n"
    OUT.write_text(text, encoding="utf-8")
