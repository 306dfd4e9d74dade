"""`inshell climate` as text."""

from __future__ import annotations

from inshell.cli.show import print_lines, print_table
from inshell.jobs.climate import PERCENTS, SiteClimate
from inshell.units import show

MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"]


def show_climate(result: SiteClimate) -> None:
    """Design conditions, months and windows."""
    design, year, units = result.climate.design, result.climate.year, result.file.house.units
    print_lines(
        [
            f"design cold  {show(design.heating_c, 'temperature', units)} ({design.heating_basis})",
            f"design heat  {show(design.cooling_c, 'temperature', units)} ({design.cooling_basis})",
            f"yearly mean  {show(design.mean_annual_c, 'temperature', units)} ({design.mean_basis})",
            f"air at 20 °C {result.density_kg_m3:.3f} kg/m³ at {result.climate.pressure_pa / 1000:.1f} kPa",
        ]
    )
    if year is not None:
        shown = ", ".join(f"{p:g} % {show(year.percentile_c(p), 'temperature', units)}" for p in PERCENTS)
        print_lines([f"{year.title}: not exceeded {shown}", year.credit, ""])
        _months(result)
        _windows(result)
    print_lines(f"{f.severity}: {f.message(units)} {f.action(units)}" for f in result.findings)


def _months(result: SiteClimate) -> None:
    units = result.file.house.units
    series = (result.outdoor_c, result.ground_c, result.mains_c)
    rows = [
        [month, *(show(float(values[k]), "temperature", units) for values in series if values is not None)]
        for k, month in enumerate(MONTHS)
    ]
    print_table("Months", ["", "outdoors", "ground at 1 m", "cold mains"], rows, right=(1, 2, 3))


def _windows(result: SiteClimate) -> None:
    rows = [
        [w.window, f"{w.azimuth_deg:.0f}°", f"{w.free_kwh_m2:.0f} kWh/m²", f"{w.shaded_kwh_m2:.0f} kWh/m²"]
        for w in result.windows
    ]
    headers = ["window", "faces", "nothing in its way", "with overhang and skyline"]
    print_table("Sun on windows in a year", headers, rows, right=(1, 2, 3))
