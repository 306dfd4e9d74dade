"""`inshell seal` as text."""

from __future__ import annotations

from inshell.cli.show import print_lines, print_table
from inshell.jobs.seal import Seal
from inshell.units import System, show


def show_seal(result: Seal) -> None:
    """The list by rank, tests against repairs, the forecast, findings."""
    units = result.answer.house.units
    print_lines([f"{result.answer.house.name}: what to seal", ""])
    rows = [
        [
            str(row.number),
            str(row.priority) if row.priority < 9 else "–",
            row.record.ours["place"],
            row.record.ours["size"],
            f"{show(row.drop_m3_s[0], 'flow', units)} ({show(row.drop_m3_s[1], 'flow', units)} to "
            f"{show(row.drop_m3_s[2], 'flow', units)})",
            ", ".join(row.reasons),
            row.state,
        ]
        for row in result.rows
    ]
    headers = ["no.", "rank", "where", "size", "takes off at 50 Pa", "because", "state"]
    print_table(
        "Seals by rank: 1 rots or lets soil gas in and is buried, 2 hidden, 3 draught", headers, rows, right=(0, 1, 3)
    )
    print_lines(
        ["A row passes only with a photo and a retest. What each takes off is a guess to rank by, not a promise.", ""]
    )
    _tests(result, units)
    for finding in result.findings:
        print_lines([f"  {finding.severity}: {finding.where}: {finding.message(units)}"])
        print_lines([f"      {finding.action(units)}"])


def _tests(result: Seal, units: System) -> None:
    rows = [
        [
            f"{pair.first} to {pair.second}",
            show(pair.measured_m3_s, "flow", units),
            f"{show(pair.predicted_m3_s[0], 'flow', units)} ({show(pair.predicted_m3_s[1], 'flow', units)} to "
            f"{show(pair.predicted_m3_s[2], 'flow', units)})",
            ", ".join(map(str, pair.rows)) or "none",
        ]
        for pair in result.between
    ]
    if rows:
        print_table(
            "Tests in turn against the repairs between them", ["tests", "went", "should have", "rows"], rows, right=(1,)
        )
    f = result.forecast
    best, low, high = (show(q, "flow", units) for q in f.final_m3_s)
    lines = [
        f"Now {show(f.now_m3_s, 'flow', units)} at 50 Pa, from {f.basis}.",
        f"With the open rows of rank 1 and 2 sealed about {best} ({low} to {high}) is left."
        if f.is_tested
        else "What sealing leaves is not known before a test; the design is that of the finished house.",
        f"One open 4 in sleeve costs {show(f.one_hole_m3_s, 'flow', units)}.",
    ]
    if f.to_come:
        lines.append(f"Still to be cut, counted as sealed sleeves: {', '.join(f.to_come)}.")
    lines += [f"{rule}{_allows(limit, units)}: {f.verdict(rule)}." for rule, limit in f.limits_m3_s.items()]
    print_lines([*lines, ""])


def _allows(limit_m3_s: float | None, units: System) -> str:
    return "" if limit_m3_s is None else f" allows {show(limit_m3_s, 'flow', units)}"
