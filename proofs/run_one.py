"""One fault against the tests that reach it, in a forked process that has imported everything but this project."""

from __future__ import annotations

import importlib.abc
import importlib.machinery
import importlib.util
import json
import os
import shutil
import signal
import sys
import time
from pathlib import Path
from types import ModuleType

import pytest

from proofs.trace import HOME, ROOT

OUT_S = 240.0
NO_PROOF = {"TypeError", "NameError", "AttributeError", "ImportError", "SyntaxError", "UnboundLocalError"}


class Changed(importlib.abc.MetaPathFinder):
    """Imports one module from another source, or one extension from another file."""

    def __init__(self, module: str, source: str, library: str) -> None:
        self.module, self.source, self.library = module, source, library

    def find_spec(
        self, fullname: str, path: object = None, target: ModuleType | None = None
    ) -> importlib.machinery.ModuleSpec | None:
        """The changed source or file for the one module; nothing for others."""
        if fullname != self.module:
            return None
        if self.library:
            loader = importlib.machinery.ExtensionFileLoader(fullname, self.library)
            return importlib.util.spec_from_file_location(fullname, self.library, loader=loader)
        file = str(ROOT / "src" / Path(*fullname.split(".")).with_suffix(".py"))
        source = self.source

        class Loader(importlib.machinery.SourceFileLoader):
            def get_code(self, fullname: str) -> object:  # type: ignore[override]
                return compile(source, self.path, "exec")

        return importlib.util.spec_from_file_location(fullname, file, loader=Loader(fullname, file))


class _Seen:
    """What the first failing test was, and why it failed."""

    def __init__(self) -> None:
        self.test, self.why, self.ran = "", "", 0

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.when == "call":
            self.ran += 1
        if report.failed and not self.test:
            crash = getattr(getattr(report.longrepr, "reprcrash", None), "message", "") or ""
            why = crash.split(":")[0].split("\n")[0].strip()
            self.test, self.why = report.nodeid, why if report.when == "call" else f"{report.when} {why}"


def preload() -> None:
    """Import what takes long and is not this project's, once for all children."""
    for name in ("numpy", "scipy.optimize", "scipy.linalg", "scipy.integrate", "scipy.sparse.linalg", "scipy.stats",
                 "shapely", "pydantic", "tomlkit", "pint", "pandas", "typer", "rich.table",
                 "psychrolib", "ezdxf", "jinja2", "pvlib"):  # fmt: skip
        try:
            __import__(name)
        except ImportError:
            continue


def run_one(fault: dict[str, str], tests: list[str], most_s: float = OUT_S) -> dict[str, object]:
    """caught (with the test), survived, crashed (a fault that no calculation outlives) or hung."""
    read, write = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(read)
        os.setpgid(0, 0)
        try:
            told = _in_child(fault, tests)
        except BaseException as problem:
            told = {"verdict": "crashed", "why": repr(problem)[:120]}
        os.write(write, json.dumps(told).encode())
        os._exit(0)
    os.close(write)
    end = time.monotonic() + most_s
    done = False
    while time.monotonic() < end and not done:
        done = os.waitpid(child, os.WNOHANG)[0] != 0
        time.sleep(0.02)
    if not done:
        os.killpg(child, signal.SIGKILL)
        os.waitpid(child, 0)
    with os.fdopen(read, "rb") as pipe:
        text = pipe.read()
    return json.loads(text) if text else {"verdict": "hung" if not done else "crashed", "why": ""}


def _in_child(fault: dict[str, str], tests: list[str]) -> dict[str, object]:
    cache = Path(os.environ.get("TMPDIR", "/tmp")) / f"faults-{os.getpid()}"
    cache.mkdir()
    if not fault["file"].startswith("climate/"):
        for year in (HOME / "prepared-years").glob("*.npz"):
            os.symlink(year, cache / year.name)
    os.environ |= {"INSHELL_TEST_CACHE": str(cache), "INSHELL_CACHE": str(cache)}
    os.chdir(ROOT)
    quiet = os.open(os.devnull, os.O_WRONLY)
    os.dup2(quiet, 1)
    os.dup2(quiet, 2)
    module = "inshell." + fault["file"].removesuffix(".py").removesuffix("/__init__").replace("/", ".")
    if fault["kind"] == "kernel":
        sys.meta_path.insert(0, Changed("inshell.network._kernel", "", fault["library"]))
    elif fault["kind"] == "data":
        _change_table(fault["file"], fault["source"])
    else:
        sys.meta_path.insert(0, Changed(module, fault["source"], ""))
    if fault["python"]:
        sys.meta_path.insert(0, Changed(fault["python"], fault["python_source"], ""))
    seen = _Seen()
    options = ["-x", "-q", "-p", "no:cacheprovider", "-p", "no:xdist", "-p", "no:pytest_cov", f"--basetemp={cache}/t"]
    try:
        code = pytest.main([*options, *tests], plugins=[seen])
    finally:
        shutil.rmtree(cache, ignore_errors=True)
    if seen.test and seen.why.split()[-1:] and seen.why.split()[-1] in NO_PROOF:
        return {"verdict": "crashed", "why": seen.why, "test": seen.test}
    if seen.test:
        return {"verdict": "caught", "test": seen.test, "why": seen.why}
    return {"verdict": "survived" if int(code) == 0 else "crashed", "why": f"exit {int(code)}, {seen.ran} ran"}


def _change_table(changed: str, source: str) -> None:
    from inshell import sources

    kept = sources.text

    def text(name: str) -> str:
        return source if name == changed else kept(name)

    sources.text = text
    sources.table.cache_clear()
