"""The compiled step under the address and undefined-behaviour sanitizers."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import sysconfig
from pathlib import Path

import pytest

from tests.evidence import ROOT

COMPILER = shutil.which("gcc")
SOURCE = ROOT / "src" / "inshell" / "network" / "_kernel.c"


@pytest.mark.invariant
@pytest.mark.skipif(COMPILER is None, reason="no compiler on this machine")
def test_the_kernel_is_clean_under_the_sanitizers(tmp_path: Path) -> None:
    """Two houses through three days, then 300 systems with one array or index spoilt: no report, no crash."""
    built = tmp_path / "_kernel.so"
    flags = [
        "-O1",
        "-g",
        "-std=gnu11",
        "-Wno-psabi",
        "-fsanitize=address,undefined",
        "-fno-sanitize-recover=undefined",
        "-fno-omit-frame-pointer",
    ]
    subprocess.run(
        [
            COMPILER,
            *flags,
            "-shared",
            "-fPIC",
            f"-I{sysconfig.get_paths()['include']}",
            str(SOURCE),
            "-o",
            str(built),
            "-lm",
        ],
        check=True,
        capture_output=True,
    )  # type: ignore[list-item]
    found = subprocess.run([COMPILER, "-print-file-name=libasan.so"], capture_output=True, text=True, check=True)  # type: ignore[list-item]
    environment = os.environ | {
        "LD_PRELOAD": found.stdout.strip(),
        "ASAN_OPTIONS": "detect_leaks=0:halt_on_error=1",
        "UBSAN_OPTIONS": "halt_on_error=1:print_stacktrace=1",
        "PYTHONPATH": str(ROOT),
    }
    done = subprocess.run(
        [sys.executable, "-m", "tests.sanitized", str(built)],
        cwd=ROOT,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr[-3000:]
    assert done.stdout.startswith("clean")
    assert "runtime error" not in done.stderr
