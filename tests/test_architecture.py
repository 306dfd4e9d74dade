"""The shape of the project: layers, sizes, the docstring contract, the catalogue of findings, and what may not stand in it."""

from __future__ import annotations

import ast
import inspect
import re
import string
import subprocess
import tomllib
from collections.abc import Iterator
from importlib import import_module
from pathlib import Path

import pytest

from tests.evidence import ROOT

SOURCE = ROOT / "src" / "inshell"
FILES = sorted(SOURCE.rglob("*.py"))

# an arrow may only point down; parts in one row may know each other
LAYERS = (
    ("cli", "__main__"),
    ("jobs",),
    ("pack", "drawing", "study"),
    ("records",),
    ("design",),
    ("network",),
    ("house", "climate"),
    ("physics",),
    ("findings",),
    ("units", "errors"),
    ("sources", "__init__"),
)
RANK = {name: k for k, row in enumerate(LAYERS) for name in row}


def part_of(module: str) -> str:
    names = module.split(".")
    return names[1] if len(names) > 1 else "__init__"


def imports(path: Path) -> Iterator[tuple[str, int]]:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module and node.module.split(".")[0] == "inshell":
            yield node.module, node.lineno
        elif isinstance(node, ast.Import):
            for alias in node.names:
                if alias.name.split(".")[0] == "inshell":
                    yield alias.name, node.lineno


@pytest.mark.invariant
@pytest.mark.parametrize("path", FILES, ids=lambda p: str(p.relative_to(SOURCE)))
def test_imports_point_down(path: Path) -> None:
    here = path.relative_to(SOURCE).parts[0].removesuffix(".py")
    for module, line in imports(path):
        there = part_of(module)
        assert RANK[there] >= RANK[here], f"{path.name}:{line}: {here} may not know {there}"


@pytest.mark.invariant
def test_physics_knows_no_house_and_draws_nothing() -> None:
    for path in (SOURCE / "physics").glob("*.py"):
        text = path.read_text(encoding="utf-8")
        assert not re.search(r"\b(pydantic|shapely|tomlkit|typer|rich|matplotlib)\b", text), path.name
    for path in (SOURCE / "design").glob("*.py"):
        assert "matplotlib" not in path.read_text(encoding="utf-8"), path.name


@pytest.mark.invariant
def test_no_module_is_called_utils_and_none_stands_in_a_cycle() -> None:
    assert not [p for p in FILES if p.stem in ("utils", "helpers", "misc", "common")]
    graph = {
        ".".join(p.relative_to(SOURCE.parent).with_suffix("").parts).removesuffix(".__init__"): {
            m for m, _ in imports(p)
        }
        for p in FILES
    }
    lazy_ok = {("inshell.house.geometry.surfaces", "inshell.house.geometry.walls")}  # types only, one way at run time

    def reach(start: str, seen: set[str]) -> None:
        for nxt in graph.get(start, ()):
            if nxt not in seen and nxt in graph:
                seen.add(nxt)
                reach(nxt, seen)

    for module, known in graph.items():
        for nxt in known:
            seen: set[str] = set()
            if nxt in graph and (module, nxt) not in lazy_ok and (nxt, module) not in lazy_ok:
                reach(nxt, seen)
                packages = {m for m in seen if m == module and not module.endswith(("model", "geometry", "cli"))}
                assert not packages, f"{module} and {nxt} know each other"


LONG_BODIES: dict[str, str] = {}


def body_lines(node: ast.FunctionDef) -> int:
    body = node.body
    if isinstance(body[0], ast.Expr) and isinstance(body[0].value, ast.Constant):
        body = body[1:]
    return (body[-1].end_lineno or 0) - body[0].lineno + 1 if body else 0


@pytest.mark.invariant
@pytest.mark.parametrize("path", FILES, ids=lambda p: str(p.relative_to(SOURCE)))
def test_size_budget(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert len(text.splitlines()) <= 400, "a code file is at most 400 lines"
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.FunctionDef) and node.name not in LONG_BODIES:
            assert body_lines(node) <= 40, f"{node.name}: a body is at most 40 lines"


PHYSICS = sorted(p.stem for p in (SOURCE / "physics").glob("*.py") if p.stem not in ("__init__", "types"))
PARTS = ("Formula", "Arguments", "Returns", "Valid", "Source")


def public_functions() -> list[tuple[str, str]]:
    found = []
    for name in PHYSICS:
        module = import_module(f"inshell.physics.{name}")
        for key, value in vars(module).items():
            if inspect.isfunction(value) and value.__module__ == module.__name__ and not key.startswith("_"):
                found.append((name, key))
    return found


@pytest.mark.invariant
@pytest.mark.parametrize(("module", "name"), public_functions())
def test_docstring_contract_of_physics(module: str, name: str) -> None:
    function = getattr(import_module(f"inshell.physics.{module}"), name)
    text = inspect.getdoc(function) or ""
    first = text.split("\n\n")[0]
    assert first.endswith("."), "one sentence first"
    for part in PARTS:
        assert re.search(rf"^{part}\b.*:", text, re.MULTILINE), f"{part}: is missing"
    assert ">>>" in text, "one example that runs"
    parameters = inspect.signature(function).parameters
    arguments = text[text.index("Arguments") : text.index("Returns")]
    for parameter in parameters.values():
        assert parameter.kind is inspect.Parameter.KEYWORD_ONLY, f"{parameter.name} must be keyword-only"
        assert re.search(rf"\b{parameter.name}\b", arguments), f"{parameter.name} is not explained"


@pytest.mark.invariant
def test_every_public_thing_has_a_sentence() -> None:
    for path in FILES:
        tree = ast.parse(path.read_text(encoding="utf-8"))
        assert ast.get_docstring(tree), f"{path}: no module docstring"


# ------------------------------------------------------------------------------------------------ findings

CATALOGUE = tomllib.loads((SOURCE / "sources" / "findings.toml").read_text(encoding="utf-8"))


def used_codes() -> dict[str, set[str]]:
    """Every code made in the source, with the values that are given where they can be read off."""
    used: dict[str, set[str]] = {}
    for path in FILES:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str) and node.value in CATALOGUE:
                used.setdefault(node.value, set())
            if (
                isinstance(node, ast.Call)
                and getattr(node.func, "id", "") == "Finding"
                and isinstance(node.args[0], ast.Constant)
            ):
                keys = {
                    k.value
                    for d in ast.walk(node)
                    if isinstance(d, ast.Dict)
                    for k in d.keys
                    if isinstance(k, ast.Constant)
                }
                used.setdefault(str(node.args[0].value), set()).update(str(k) for k in keys)
    return used


@pytest.mark.invariant
def test_findings_and_their_catalogue_agree() -> None:
    used = used_codes()
    assert set(used) == set(CATALOGUE), set(used) ^ set(CATALOGUE)
    for code, row in CATALOGUE.items():
        assert row["severity"] in ("error", "warning", "note", "caution")
        assert row["message"].endswith((".", "?")), code
        assert row["source"], code
        fields = {
            name for part in ("message", "action") for _, name, _, _ in string.Formatter().parse(row[part]) if name
        }
        if used[code]:
            assert fields <= used[code], f"{code} needs {fields - used[code]}"


# ------------------------------------------------------------------------------------- what may not stand here


def tracked() -> list[Path]:
    done = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False)
    return [ROOT / line for line in done.stdout.splitlines() if (ROOT / line).is_file()]


@pytest.mark.invariant
def test_no_download_address_and_no_path_of_a_machine() -> None:
    hosts = re.compile(
        "(" + "|".join(["py" + "pi", "python" + "hosted", "np" + "mjs", "debian" + r"\.org"]) + r")[./]", re.IGNORECASE
    )
    home = re.compile(r"(?<![\w.])/(?:" + "|".join(["ho" + "me", "ro" + "ot", "wo" + "rk", "Us" + "ers"]) + r")/\w")
    for path in tracked():
        if path.suffix in (".png", ".pdf"):
            continue
        text = path.read_text(encoding="utf-8", errors="replace")
        assert not hosts.search(text), f"{path.name} names a download address"
        assert not home.search(text), f"{path.name} names a path of a machine"


@pytest.mark.invariant
def test_constraints_are_names_and_versions_only() -> None:
    for line in (ROOT / "constraints.txt").read_text(encoding="utf-8").splitlines():
        assert re.fullmatch(r"[A-Za-z0-9._-]+==[A-Za-z0-9._+-]+", line), line
