"""`inshell verify` as text."""

from __future__ import annotations

from inshell.cli.show import print_lines, print_table
from inshell.jobs.verify import Verified


def show_verified(rows: list[Verified]) -> None:
    """Every check with source, expected, got, tolerance, and whether it holds."""
    table = [
        [
            "holds" if r.holds else "FAILS",
            r.name,
            f"{r.expected:.7g}",
            f"{r.got:.7g}",
            f"{r.tolerance:.1g}",
            r.unit,
            r.source,
        ]
        for r in rows
    ]
    print_table("Checks", ["", "check", "expected", "got", "within", "unit", "source"], table, right=(2, 3, 4))
    failed = sum(not r.holds for r in rows)
    print_lines([f"{len(rows)} checks, {len(rows) - failed} hold" + (f", {failed} FAIL" if failed else "")])


def _row(r: Verified) -> list[str]:
    word = "holds" if r.holds else "FAILS"
    return [word, r.name, f"{r.expected:.7g}", f"{r.got:.7g}", f"{r.tolerance:.1g}", r.unit, r.source]
