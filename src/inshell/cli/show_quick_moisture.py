"""Quick answers about moisture as text."""

from __future__ import annotations

from typing import Any

from inshell.units import show

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def _both(flow: float) -> str:
    return f"{show(flow, 'flow', 'us')} ({flow * 1000.0:.3g} L/s)"


def vapour_lines(result: dict[str, Any]) -> list[str]:
    """Planes by month, the verdict, the second opinion."""
    lines = [f"OUTSIDE THE METHOD: {result['outside_the_method']}"] if result["outside_the_method"] else []
    for bound, case in result["bounds"].items():
        words = {"middle": "", "worse": "skins at their worse bound: ", "better": "skins at their better bound: "}[
            bound
        ]
        if not case["planes"]:
            lines.append(f"{words}no condensation in any month")
        for plane in case["planes"]:
            lines.append(f"{words}{_where(plane)}, kg/m2 held at the end of each month:")
            first = case["first_month"] - 1
            held = [(MONTHS[k % 12], plane["held_kg_m2"][k % 12]) for k in range(first, first + 12)]
            lines.append("  dry before, then  " + "  ".join(f"{month} {value:.3f}" for month, value in held))
        if case["planes"]:
            dries = "dry again within the year" if case["dries"] else "NOT dry again within the year"
            lines.append(f"  most {case['most_kg_m2']:.3f} kg/m2; {dries}")
        block = case["two_seasons"]
        word = "dries" if block["holds"] else "does NOT dry"
        amounts = f"{block['condensed_kg_m2']:.3f} condenses, {block['dried_kg_m2']:.3f} can dry"
        lines.append(f"  two seasons as blocks: {amounts}: {word}")
    most = max(case["most_kg_m2"] for case in result["bounds"].values())
    if most > result["bears_kg_m2"]:
        lines.append(f"holds {most:.2f} kg/m2: MORE than the {result['bears_kg_m2']:.2f} that its boards bear")
    return [*lines, result["note"]]


def _where(plane: dict[str, Any]) -> str:
    pair = plane["between_layers"]
    return f"between layers {pair[0]} and {pair[1]}" if pair else f"inside a layer, sd {plane['depth_sd_m']:.2f} m"


def leak_lines(result: dict[str, Any]) -> list[str]:
    """Flow and deposit."""
    kilograms = result["deposit_kg_day"]
    return [
        f"flow      {_both(result['flow_m3_s'])}",
        f"leaves    {kilograms:.3f} kg a day ({kilograms * 2.204623:.2f} lb){', as frost' if result['frost'] else ''}",
        result["note"],
    ]


def mould_lines(result: dict[str, Any]) -> list[str]:
    """Index, the humidity above which it grows, days to the limit."""
    days = result["days_to_limit"]
    return [
        f"index              {result['index']:.2f} (at most {result['limit']:.0f})",
        "grows above        "
        + (f"{c:.0%}" if (c := result["critical_humidity"]) is not None else "never this cold or hot"),
        "reaches the limit  " + ("not in this time" if days is None else f"after {days:.1f} days"),
        result["note"],
    ]


def window_lines(result: dict[str, Any]) -> list[str]:
    """Highest humidity and the surface."""
    both = f"{show(result['surface_c'], 'temperature', 'us')} ({result['surface_c']:.1f} °C)"
    return [f"highest humidity  {result['max_humidity']:.1%}", f"surface           {both}"]


def hole_lines(result: dict[str, Any]) -> list[str]:
    """Flow and area."""
    area = f"{result['area_m2'] / 0.0254**2:.2f} in² ({result['area_m2'] * 1e4:.1f} cm²)"
    return [f"flow   {_both(result['flow_m3_s'])}", f"area   {area}", f"source: {result['source']}"]


def zone_lines(result: dict[str, Any]) -> list[str]:
    """Both sides of a zone, with their errors where readings give them."""
    lines = []
    names = {"zone_to_outdoors": "zone to outdoors", "house_to_zone": "house to zone", "direct": "house to outdoors"}
    for key, words in names.items():
        if result.get(f"{key}_m3_s") is not None:
            error = result.get(f"{key}_error_m3_s")
            more = "" if error is None else f" +- {show(error, 'flow', 'us')}"
            lines.append(f"{words:18} {_both(result[f'{key}_m3_s'])}{more}")
    if result.get("usable") is False:
        lines.append("NOT usable: the error is more than half of the result")
    return [*lines, result["note"]]
