"""`python -m proofs.terms`: double every term of every sum that a row of `inshell verify` runs, and see a row fail.

A tolerance that lets the smallest term be twice as large as it is proves little; this names each sum where that is so.
"""

from __future__ import annotations

import ast
import copy
import json
import os
import sys
import time
import tomllib
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import partial
from typing import TYPE_CHECKING, Any, cast

from proofs.operators import is_tolerance, with_change
from proofs.run_one import NO_PROOF, Changed, preload
from proofs.trace import HOME, ROOT

if TYPE_CHECKING:
    from inshell.jobs.recipes import Recipe
    from inshell.jobs.verify import Verified

SOURCE = ROOT / "src" / "inshell"
PAGE = ROOT / "docs" / "evidence" / "terms.md"
EQUAL = ROOT / "proofs" / "equivalent_terms.toml"


@dataclass(frozen=True)
class Doubled:
    """One term of one sum, twice as large; `lines` are those of its function."""

    file: str
    function: str
    line: int
    term: str
    whole: str
    source: str

    @property
    def name(self) -> str:
        """How the page names it."""
        return f"{self.file} {self.function}: {self.term} twice in {self.whole}"


def doubled(file: str, text: str) -> Iterator[Doubled]:
    """Every term of every sum of real numbers in a file."""
    for function in (n for n in ast.walk(ast.parse(text)) if isinstance(n, ast.FunctionDef)):
        errors = {id(n) for bad in ast.walk(function) if isinstance(bad, ast.Raise) for n in ast.walk(bad)}
        for node in ast.walk(function):
            if not isinstance(node, ast.BinOp) or not isinstance(node.op, ast.Add | ast.Sub) or id(node) in errors:
                continue
            sides = (node.left, node.right)
            if any(_is_whole(s) or is_tolerance(s) for s in sides) or any(
                isinstance(s, ast.List | ast.Tuple) for s in sides
            ):
                continue
            for side in ("left", "right"):
                new = copy.deepcopy(node)
                term = getattr(node, side)
                setattr(new, side, ast.BinOp(ast.Constant(2.0), ast.Mult(), copy.deepcopy(term)))
                changed = with_change(text, node, ast.unparse(new))
                yield Doubled(file, function.name, node.lineno, ast.unparse(term)[:60], ast.unparse(node)[:80], changed)


def _is_whole(node: ast.expr) -> bool:
    """A whole number or a text: the sum is an index or words, no quantity."""
    return isinstance(node, ast.Constant) and not isinstance(node.value, float)


def in_child(fault: dict[str, str], only: list[str]) -> dict[str, object] | None:
    """Rows of `verify` (all, or those named) under a fault, in a forked process: name -> [holds, functions called]."""
    read, write = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(read)
        try:
            told: dict[str, object] = _rows(fault, only)
        except BaseException as problem:
            told = {"": repr(problem)[:200]}
        with os.fdopen(write, "w") as pipe:
            pipe.write(json.dumps(told))
        os._exit(0)
    os.close(write)
    with os.fdopen(read) as pipe:
        text = pipe.read()
    os.waitpid(child, 0)
    return json.loads(text) if text else None


def _rows(fault: dict[str, str], only: list[str]) -> dict[str, object]:
    if fault:
        module = "inshell." + fault["file"].removesuffix(".py").replace("/", ".")
        sys.meta_path.insert(0, Changed(module, fault["source"], ""))
    told: dict[str, object] = {}
    for name, run in _each():
        if only and name not in only:
            continue
        called: set[str] = set()

        def seen(frame: object, event: str, _: object, called: set[str] = called) -> None:
            code = frame.f_code  # type: ignore[attr-defined]
            if event == "call" and "/inshell/" in code.co_filename:
                called.add(f"{code.co_filename.rpartition('/inshell/')[2]} {code.co_name}")

        if not fault:
            sys.setprofile(seen)
        try:
            holds = all(one.holds for one in run())
        except Exception as problem:
            if type(problem).__name__ in NO_PROOF or isinstance(problem, IndexError):
                return {}
            holds = False
        sys.setprofile(None)
        told[name] = [holds, sorted(called)]
    return told


def _one(row: dict[str, Any]) -> Sequence[Verified]:
    from inshell.jobs.verify import called

    return [called(row)]


def _all(recipe: Recipe) -> Sequence[Verified]:
    from inshell.jobs.verify import Verified

    return [Verified(got=got, **recipe.facts_of(name)) for name, got in recipe.run().items()]


def _each() -> Iterator[tuple[str, Callable[[], Sequence[Verified]]]]:
    from inshell.jobs.recipes import RECIPES
    from inshell.sources import table

    for row in table("checks")["check"]:
        yield row["name"], partial(_one, row)
    for recipe in RECIPES:
        yield recipe.title, partial(_all, recipe)


def write(found: dict[Doubled, bool], seconds: float) -> None:
    """The dated page: how many terms, which stay unseen, which of those are equivalent and why."""
    known: dict[str, str] = tomllib.loads(EQUAL.read_text(encoding="utf-8")) if EQUAL.exists() else {}
    equal = [one for one, caught in found.items() if not caught and one.name in known]
    left = [one for one, caught in found.items() if not caught and one.name not in known]
    caught = sum(found.values())
    functions = {(one.file, one.function) for one in found}
    page = [
        "# Terms doubled", "",
        f"`python -m proofs.terms`, {datetime.now(UTC):%d %B %Y}: every term of every sum in the physics and the design that `inshell "
        f"verify` runs was made twice as large, and the rows that run it were run again. {len(found)} terms of "
        f"{len(functions)} functions: **{caught} make a row fail**, {len(equal)} change nothing by proof, "
        f"{len(left)} stay within every tolerance.", "",
        f"## No row fails ({len(left)})", "", *[f"- `{one.name}`" for one in left], "",
        f"## Equivalent ({len(equal)})", "", *[f"- `{one.name}`: {known[one.name]}" for one in equal], "",
    ]  # fmt: skip
    PAGE.write_text("\n".join(page), encoding="utf-8")
    print(f"{caught} of {len(found) - len(equal)} in {seconds:.0f} s")


def main() -> int:
    """Every term of every function that a row calls; writes the page."""
    began = time.monotonic()
    preload()
    plain = in_child({}, [])
    assert plain is not None
    calls: dict[str, list[str]] = defaultdict(list)
    for row, told in plain.items():
        for function in cast(list[Any], told)[1]:
            calls[function].append(row)
    HOME.mkdir(parents=True, exist_ok=True)
    found: dict[Doubled, bool] = {}
    for path in (p for layer in ("physics", "design") for p in sorted((SOURCE / layer).glob("*.py"))):
        file = str(path.relative_to(SOURCE))
        if not any(key.startswith(f"{file} ") for key in calls):
            continue
        for one in doubled(file, path.read_text(encoding="utf-8")):
            rows = calls.get(f"{file} {one.function}")
            if rows:
                again = in_child({"file": one.file, "source": one.source}, rows)
                if not again:
                    continue  # it ends the program, and proves nothing
                found[one] = not all(v[0] for v in again.values() if isinstance(v, list))
                print("caught  " if found[one] else "SURVIVED", one.name, flush=True)
    write(found, time.monotonic() - began)
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
