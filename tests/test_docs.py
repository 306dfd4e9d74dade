"""Documents execute: console blocks, generated pages, commands and links."""

from __future__ import annotations

import importlib.util
import os
import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest

from inshell.cli.run import run
from inshell.records.readings import KEYS
from tests.evidence import ROOT

PAGES = [ROOT / "README.md", ROOT / "ARCHITECTURE.md", ROOT / "CONTRIBUTING.md", *sorted((ROOT / "docs").rglob("*.md"))]


def blocks(page: Path) -> list[list[tuple[str, list[str]]]]:
    """For each console block: commands and the output that the page promises."""
    found = []
    for block in re.findall(r"```console\n(.*?)```", page.read_text(encoding="utf-8"), re.DOTALL):
        steps: list[tuple[str, list[str]]] = []
        for line in block.splitlines():
            if line.startswith("$ "):
                steps.append((line[2:], []))
            else:
                steps[-1][1].append(line)
        found.append(steps)
    return found


def agrees(promised: list[str], printed: list[str]) -> bool:
    """Whether the output is as promised; a line of three dots stands for any lines."""
    if not promised:
        return not printed
    if promised[0] == "…":
        return any(agrees(promised[1:], printed[k:]) for k in range(len(printed) + 1))
    return bool(printed) and promised[0].rstrip() == printed[0].rstrip() and agrees(promised[1:], printed[1:])


@pytest.mark.invariant
@pytest.mark.parametrize("page", [p for p in PAGES if blocks(p)], ids=lambda p: p.name)
def test_console_blocks_print_what_they_promise(page: Path, tmp_path: Path) -> None:
    (tmp_path / "examples").symlink_to(ROOT / "examples")
    for steps in blocks(page):
        for command, promised in steps:
            words = shlex.split(command)
            assert words[0] == "inshell"
            done = subprocess.run(
                [sys.executable, "-m", "inshell", *words[1:]],
                cwd=tmp_path,
                capture_output=True,
                text=True,
                check=False,
                env=os.environ,
            )
            assert done.returncode in (0, 1), done.stderr
            printed = done.stdout.splitlines()
            assert agrees(promised, printed), f"{command}\n" + done.stdout


@pytest.mark.invariant
@pytest.mark.parametrize("name", ["house-file.md", "coefficients.md", "findings.md"])
def test_generated_pages_are_fresh(name: str) -> None:
    spec = importlib.util.spec_from_file_location("generate", ROOT / "docs" / "generate.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    assert (ROOT / "docs" / name).read_text(encoding="utf-8") == module.PAGES[name](), "run: make docs"


@pytest.mark.invariant
@pytest.mark.parametrize("page", PAGES, ids=lambda p: str(p.relative_to(ROOT)))
def test_links_lead_somewhere(page: Path) -> None:
    for target in re.findall(r"\]\(([^)#]+)(?:#[^)]*)?\)", page.read_text(encoding="utf-8")):
        assert (page.parent / target).exists(), target


@pytest.mark.invariant
def test_the_readme_names_the_commands_that_ci_runs() -> None:
    readme, make = (ROOT / "README.md").read_text(encoding="utf-8"), (ROOT / "Makefile").read_text(encoding="utf-8")
    for target in ("setup", "demo", "test", "check", "bench", "docs", "faults", "soak", "ledger"):
        assert f"make {target}" in readme
        assert re.search(rf"^{target}:", make, re.MULTILINE)
    assert "make test" in (ROOT / ".ci" / "run").read_text(encoding="utf-8")


@pytest.mark.invariant
def test_every_method_has_a_chapter() -> None:
    listed = (ROOT / "docs" / "methods" / "README.md").read_text(encoding="utf-8")
    for page in (ROOT / "docs" / "methods").glob("*.md"):
        if page.name != "README.md":
            assert f"({page.name})" in listed
            text = page.read_text(encoding="utf-8")
            assert "Checked in" in text or page.name == "verdicts.md"
            for test in re.findall(r"`(tests/test_\w+\.py)`", text):
                assert (ROOT / test).exists()


@pytest.mark.invariant
def test_the_tutorial_blocks_make_one_house(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Every TOML block of the tutorial, pasted into the house that its lines make, is read without a complaint."""
    text = (ROOT / "docs" / "tutorial.md").read_text(encoding="utf-8")
    (lines,) = re.findall(r"```\n(living: .*?)```", text, re.DOTALL)
    path = tmp_path / "house.toml"
    options = [part for line in lines.strip().splitlines() for part in ("--room", line)]
    assert run(["new", str(path), *options, "--room", "bath: 11 x 6, north of bed", "--json"]) == 0
    blocks_of_toml = [
        b
        for b in re.findall(r"```toml\n(.*?)```", text, re.DOTALL)
        if not any(word in b for word in ("[climate.file]", "wall-panel", "[[roof]]", "[[storey]]", '"loft-edge"'))
    ]
    assert len(blocks_of_toml) >= 5
    with path.open("a", encoding="utf-8") as file:
        file.write("\n" + "\n".join(blocks_of_toml))
    capsys.readouterr()
    assert run(["check", str(path), "--json"]) in (0, 1), capsys.readouterr().out


@pytest.mark.invariant
def test_the_tutorial_lists_every_condition_of_a_test() -> None:
    text = (ROOT / "docs" / "tutorial.md").read_text(encoding="utf-8")
    for key in KEYS:
        assert f"| `{key.replace('_', ' ')}` |" in text, key
