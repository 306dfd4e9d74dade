"""All faults that are looked for: syntax trees, rows of data, the compiled step, both steps, keys of what is kept."""

from __future__ import annotations

import hashlib
import re
import subprocess
import sysconfig
from collections import defaultdict
from dataclasses import dataclass, replace

from proofs.operators import faults_of
from proofs.trace import HOME, ROOT

SOURCE = ROOT / "src" / "inshell"
LAYERS = ("physics", "design", "network", "house/geometry", "climate", "study", "records")
TABLES = (
    "design", "floor", "fluids", "fresh_air", "hot_water", "household", "leak_places", "materials", "tightness", "tubes"
)  # fmt: skip
NUMBER = re.compile(r'(?<![\w."-])-?\d+\.?\d*(?:e-?\d+)?(?![\w.])')
FLAGS = ["-O3", "-std=gnu11", "-fno-math-errno", "-fno-trapping-math", "-Wno-psabi"]
C_CHANGES = [
    (" + ", " - ", "sign"), (" - ", " + ", "sign"), (" += ", " -= ", "sign"), (" -= ", " += ", "sign"),
    ("* 0.5", "* 1.0", "factor 2"), ("GRAVITY", "1.8 * GRAVITY", "factor 1.8"), ("LESS(", "LESS_EQUAL(", "comparison"),
    ("LARGER(", "SMALLER(", "comparison"), ("POSITIVE(", "(", "term"), ("a[k]", "b[k]", "exchange"),
    ("forward", "back", "exchange"), ("middle", "start", "exchange"), ("rho1", "rho2", "exchange"),
]  # fmt: skip
BOTH = [
    (
        "network/reference.py", "flows[: self.system.rooms, -1] * outdoor",
        "flows[: self.system.rooms, -1] * 0.5 * outdoor",
        "s->carried[i] = flow[places + i] * CP * outdoor;", "s->carried[i] = flow[places + i] * CP * 0.5 * outdoor;",
    ),
    (
        "network/thermal.py", "2.0 * middle - start_c, middle", "1.9 * middle - 0.9 * start_c, middle",
        "2.0 * x - before, x)", "1.9 * x - 0.9 * before, x)",
    ),
]  # fmt: skip
RUN = "file.model_hash, year, asdict(climate.design), scenario, step_s, tested_m3_s, code_version()"
KEYS = [("jobs/runs.py", RUN, RUN.replace(part, "").replace(", ,", ",").strip(", ")) for part in RUN.split(", ")] + [
    ("climate/cache.py", "recipe.encode(), data", "recipe.encode()"),
    ("climate/cache.py", "VERSION.encode(), recipe.encode()", "VERSION.encode()"),
]


@dataclass(frozen=True)
class Candidate:
    """A fault with where its tests are looked for: lines of files."""

    name: str
    kind: str
    calculation: str
    file: str
    source: str
    reached: tuple[tuple[str, int], ...]
    python: str = ""
    python_source: str = ""

    def as_row(self, library: str = "") -> dict[str, str]:
        """What the process that tries it needs; `library` is a compiled step that was built for it."""
        return {
            "file": self.file, "kind": self.kind, "source": self.source, "library": library, "python": self.python,
            "python_source": self.python_source,
        }  # fmt: skip


def python_faults(seed: int, count: int) -> list[Candidate]:
    """Faults of the syntax tree in rounds over all public calculations, so that each is hit before one is hit twice."""
    by: dict[str, list[Candidate]] = defaultdict(list)
    for layer in LAYERS:
        for path in sorted((SOURCE / layer).glob("*.py")):
            file = str(path.relative_to(SOURCE))
            for f in faults_of(file, path.read_text(encoding="utf-8")):
                by[f"{file}:{f.calculation}"].append(
                    Candidate(f.name, f.kind, f"{file}:{f.calculation}", file, f.source, ((file, f.line),))
                )
    by = {key: _shuffled(seed, _told_apart(faults)) for key, faults in by.items()}
    told: list[Candidate] = []
    order = sorted(by, key=lambda key: _lot(seed, key))
    while len(told) < count and any(by.values()):
        told += [by[key].pop() for key in order if by[key]]
    return told[:count]


def _lot(seed: int, name: str) -> str:
    """Where a name falls in the seeded order; editing one calculation leaves the sample of all others as it was."""
    return hashlib.sha256(f"{seed} {name}".encode()).hexdigest()


def _shuffled(seed: int, faults: list[Candidate]) -> list[Candidate]:
    return sorted(faults, key=lambda f: _lot(seed, f.name))


def _told_apart(faults: list[Candidate]) -> list[Candidate]:
    """Names without lines, so that they outlive an edit elsewhere in the file; the second alike is called so."""
    seen: dict[str, int] = defaultdict(int)
    told = []
    for f in faults:
        seen[f.name] += 1
        told.append(f if seen[f.name] == 1 else replace(f, name=f"{f.name} (no. {seen[f.name]})"))
    return told


def data_faults(seed: int, count: int) -> list[Candidate]:
    """Numbers of the tables: doubled, or the next number in the row or column."""
    told = []
    for name in TABLES:
        text = (SOURCE / "sources" / f"{name}.toml").read_text(encoding="utf-8")
        reached = tuple(_readers(name))
        places = [m for m in NUMBER.finditer(text) if _is_value(text, m.start())]
        for k, match in enumerate(places):
            value, near = match.group(), places[k + 1 if k + 1 < len(places) else k - 1].group()
            changes = [("doubled", repr(2.0 * float(value)))] if float(value) else []
            changes += [("neighbour", near)] if float(near) != float(value) else []
            line = text.count("\n", 0, match.start()) + 1
            for how, new in changes:
                source = text[: match.start()] + new + text[match.end() :]
                told.append(
                    Candidate(f"{name}.toml:{line} {how}: {value} -> {new}", "data", f"{name}.toml:{line}",
                              f"{name}.toml", source, reached)
                )  # fmt: skip
    return _shuffled(seed, told)[:count]


def _is_value(text: str, at: int) -> bool:
    start = text.rfind("\n", 0, at) + 1
    line = text[start : text.find("\n", at)]
    before = line[: at - start]
    return (
        "=" in before + line
        and not line.lstrip().startswith(("#", "source", "["))
        and before.count('"') % 2 == 0
        and ("=" in before or line.lstrip()[0] in "[-0123456789")
    )


def _readers(table: str) -> list[tuple[str, int]]:
    """Lines of functions that read a table; all lines of a module that reads it as it is imported."""
    import ast

    told = []
    for path in sorted(SOURCE.rglob("*.py")):
        text = path.read_text(encoding="utf-8")
        if f'table("{table}")' not in text:
            continue
        file = str(path.relative_to(SOURCE))
        functions = [n for n in ast.walk(ast.parse(text)) if isinstance(n, ast.FunctionDef)]
        reading = [n for n in functions if f'table("{table}")' in (ast.get_source_segment(text, n) or "")]
        for node in reading or functions:
            told += [(file, line) for line in range(node.body[0].lineno, (node.end_lineno or 0) + 1)]
    return told


def kernel_faults(seed: int, count: int) -> list[Candidate]:
    """Changes of the compiled step's source, each compiled."""
    found = []
    for file in ("_step.h", "_kernel.c"):
        lines = (SOURCE / "network" / file).read_text(encoding="utf-8").split("\n")
        for k, line in enumerate(lines):
            if line.lstrip().startswith(("/", "#", "*", "for", "int64_t")) or "int64_t" in line:
                continue
            for old, new, kind in C_CHANGES:
                if old in line and not (old == "a[k]" and "s->a[k]" not in line):
                    changed = "\n".join([*lines[:k], line.replace(old, new, 1), *lines[k + 1 :]])
                    name = f"{file} {kind} {old}->{new}: {line.strip()[:70]}"
                    found.append(Candidate(name, "kernel", f"network/{file}", file, changed, COMPILED))
    return _shuffled(seed, _told_apart(found))[:count]


COMPILED = tuple(("network/compiled.py", line) for line in range(1, 300))


def built(candidate: Candidate) -> str:
    """The compiled step with a fault; empty where it does not compile."""
    file, changed = candidate.file.rpartition("/")[2], candidate.source
    folder = HOME / "kernels" / hashlib.sha256(changed.encode()).hexdigest()[:16]
    folder.mkdir(parents=True, exist_ok=True)
    for other in ("_step.h", "_kernel.c"):
        text = changed if other == file else (SOURCE / "network" / other).read_text(encoding="utf-8")
        (folder / other).write_text(text, encoding="utf-8")
    library = folder / "_kernel.abi3.so"
    include = f"-I{sysconfig.get_paths()['include']}"
    command = ["gcc", "-shared", "-fPIC", *FLAGS, include, str(folder / "_kernel.c"), "-o", str(library), "-lm"]
    if not library.exists():
        subprocess.run(command, capture_output=True, check=False)
    return str(library) if library.exists() else ""


def both_faults() -> list[Candidate]:
    """The readable and the compiled step, wrong in the same way."""
    told = []
    c_file = "_step.h"
    for python, old, new, c_old, c_new in BOTH:
        text = (SOURCE / python).read_text(encoding="utf-8")
        c_text = (SOURCE / "network" / c_file).read_text(encoding="utf-8")
        assert old in text, old
        assert c_old in c_text, c_old
        module = "inshell." + python.removesuffix(".py").replace("/", ".")
        told.append(Candidate(f"{python} and {c_file}: {new}", "kernel", f"network/{c_file}", f"network/{c_file}",
                              c_text.replace(c_old, c_new), COMPILED, module, text.replace(old, new)))  # fmt: skip
    return told


def key_faults() -> list[Candidate]:
    """Keys of what is kept that forget a thing which changes it."""
    told = []
    for file, old, new in KEYS:
        text = (SOURCE / file).read_text(encoding="utf-8")
        assert old in text, (file, old)
        line = text[: text.index(old)].count("\n") + 1
        told.append(Candidate(f"{file} key: {old} -> {new or 'nothing'}", "key", f"{file}:key", file,
                              text.replace(old, new, 1), ((file, line),)))  # fmt: skip
    return told
