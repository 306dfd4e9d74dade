"""`make ledger`: what every calculation is checked against, from the tests and `inshell verify`."""

from __future__ import annotations

import ast
import tomllib
from collections import Counter, defaultdict
from dataclasses import dataclass
from pathlib import Path

from inshell.jobs.verify import verify
from inshell.sources import table

ROOT = Path(__file__).parents[1]
PAGE = ROOT / "docs" / "evidence" / "ledger.md"
MARKS = ("published", "analytic", "invariant")
FACTS = ROOT / "src" / "inshell" / "sources" / "evidence.toml"
HEAD = """# Made by `make ledger`: what a report prints that is not checked by two sources outside this project, or by one and
# a limit case solved by hand. The report says so.
"""
OF_ONE_TABLE = 10  # rows of one source that count
LEAST_OUTSIDE = 200


@dataclass(frozen=True)
class Check:
    """One test: where, its mark, what it says of its source, tolerances with their reasons, modules that it guards."""

    file: str
    name: str
    mark: str
    source: str
    comparisons: int
    why: tuple[str, ...]
    guards: tuple[str, ...]


def checks() -> list[Check]:
    """Every labelled test."""
    told = []
    for path in sorted((ROOT / "tests").glob("test_*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        lines = path.read_text(encoding="utf-8").splitlines()
        uses = _uses(tree)
        for node in tree.body:
            if isinstance(node, ast.FunctionDef) and node.name.startswith("test_"):
                marks = [m for m in MARKS if any(f"mark.{m}" in ast.unparse(d) for d in node.decorator_list)]
                if marks:
                    told.append(_check(path.name, node, marks[0], lines, uses))
    return told


def _check(file: str, node: ast.FunctionDef, mark: str, lines: list[str], uses: dict[str, set[str]]) -> Check:
    said = (ast.get_docstring(node) or "").split("\n")[0]
    if not said:
        first = next(
            (line.strip() for line in lines[node.lineno : node.lineno + 3] if line.strip().startswith("#")), ""
        )
        said = first.lstrip("# ")
    calls = [n for n in ast.walk(node) if isinstance(n, ast.Call) and getattr(n.func, "id", "") == "assert_close"]
    why = {ast.unparse(k.value).strip("\"'") for c in calls for k in c.keywords if k.arg == "why"}
    plain = sum(isinstance(n, ast.Assert) for n in ast.walk(node))
    return Check(file, node.name, mark, said, len(calls) + plain, tuple(sorted(why)), tuple(sorted(uses[node.name])))


def _uses(tree: ast.Module) -> dict[str, set[str]]:
    """Modules of this project that each function of a file uses, through helpers of the same file."""
    home: dict[str, str] = {}
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("inshell"):
            for alias in node.names:
                home[alias.asname or alias.name] = (node.module or "").removeprefix("inshell.")
    functions = {n.name: n for n in tree.body if isinstance(n, ast.FunctionDef | ast.ClassDef)}
    names = {k: {n.id for n in ast.walk(f) if isinstance(n, ast.Name)} | _arguments(f) for k, f in functions.items()}
    told = {k: {home[n] for n in found if n in home} for k, found in names.items()}
    for _ in range(4):
        for k, found in names.items():
            for other in found & told.keys():
                told[k] |= told[other]
    if "CASES" in {
        t.id for n in tree.body if isinstance(n, ast.AnnAssign) for t in [n.target] if isinstance(t, ast.Name)
    }:
        told = {k: set(home.values()) for k in told}  # a table of cases reaches everything
    return defaultdict(set, told)


def _arguments(node: ast.AST) -> set[str]:
    """Names of arguments: fixtures are functions of the file too."""
    return {a.arg for a in node.args.args} if isinstance(node, ast.FunctionDef) else set()


def write() -> int:
    """The page; returns how many checks there are against something outside."""
    tests, rows = checks(), verify()
    functions: dict[str, list[str]] = defaultdict(list)
    for row in table("checks")["check"]:
        functions[row["function"].rpartition(".")[0]].append(row["source"])
    stands = _calculations(tests, functions)
    outside = Counter(r.source for r in rows if r.kind == "published")
    by_test = Counter(t.source for t in tests if t.mark == "published")
    counted = sum(min(n, OF_ONE_TABLE) for n in outside.values())
    counted += sum(min(n, OF_ONE_TABLE) for s, n in by_test.items() if s not in outside) + derived_values()
    page = [
        "# Evidence", "",
        "Made by `make ledger` from the tests and the rows of `inshell verify`; do not edit.", "",
        f"{len(tests)} labelled tests ({', '.join(f'{sum(t.mark == m for t in tests)} {m}' for m in MARKS)}) and "
        f"{len(rows)} rows of `inshell verify`, {sum(r.holds for r in rows)} of which hold. **{counted} checks against "
        f"something outside**, at most {OF_ONE_TABLE} of any one source counted, {derived_values()} results derived by "
        "others among them: [derivations](derivations/README.md). "
        "Faults on purpose: [faults](faults.md). Random houses and broken files: [soak](soak.md).", "",
        "## What a report prints, and what guards it", "",
        "| calculation | rows of `verify` | published tests | analytic | invariant | standing |",
        "|---|---|---|---|---|---|",
        *[row for row, _ in stands.values()], "",
        "## Rows of `inshell verify`", "", "| check | source | expected | tolerance | unit |", "|---|---|---|---|---|",
        *[f"| {r.name} | {r.source} | {r.expected:.6g} | {r.tolerance:.2g} | {r.unit} |" for r in rows], "",
        "## Tests", "", "| test | mark | against | comparisons | tolerances, why | guards |",
        "|---|---|---|---|---|---|",
        *[
            f"| `{t.file.removesuffix('.py')}::{t.name}` | {t.mark} | {t.source.replace('|', '/')} | {t.comparisons} | "
            f"{'; '.join(t.why).replace('|', '/')[:160]} | {', '.join(t.guards)} |"
            for t in tests
        ], "",
    ]  # fmt: skip
    left = [name for name, (_, stand) in stands.items() if stand != "checked outside"]
    lines = "".join(f'  "{name}",\n' for name in left)
    FACTS.write_text(f"{HEAD}not_outside = [\n{lines}]\n", encoding="utf-8")
    PAGE.write_text("\n".join(page), encoding="utf-8")
    return counted


def derived_values() -> int:
    """Values that people derived apart and this program is compared with; one a question counts for each."""
    from tests.test_derivations import DERIVED, NOT_OURS

    return len(DERIVED.keys() - NOT_OURS.keys())


def standing(published: int, sources: int, analytic: int) -> str:
    """Two sources, or one and a limit case; else it is not checked outside."""
    if sources >= 2 or (sources >= 1 and analytic >= 1):
        return "checked outside"
    return "not checked outside" if not published else "one source"


def _calculations(tests: list[Check], functions: dict[str, list[str]]) -> dict[str, tuple[str, str]]:
    """name -> (row of the table, standing)."""
    groups = tomllib.loads((ROOT / "proofs" / "calculations.toml").read_text(encoding="utf-8"))
    told = {}
    for name, modules in groups.items():
        mine = [t for t in tests if set(t.guards) & set(modules)]
        counts = Counter(t.mark for t in mine)
        rows = [s for m in modules for s in functions.get(m, [])]
        sources = set(rows) | {t.source for t in mine if t.mark == "published" and t.source}
        if any(t.file == "test_derivations.py" for t in mine):
            sources.add("derived apart by people who had not seen the code")
        stands = standing(counts["published"] + len(rows), len(sources), counts["analytic"])
        told[name] = f"| {name} | {len(rows)} | {' | '.join(str(counts[m]) for m in MARKS)} | {stands} |", stands
    return told


if __name__ == "__main__":
    print(f"{write()} checks against something outside")
