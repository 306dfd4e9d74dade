"""`make soak`: thousands of random houses and broken files. Dated figures go to docs/evidence/soak.md.

A house is run through every static calculation and a design day of rooms, air and moisture together; some
through most commands and every 2500th through all that there is. Balances must close, every number be finite, nothing hang. A broken file must be refused in
one report that names what is broken, or be computed; it stays as it was, byte for byte.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import json
import multiprocessing
import random
import re
import resource
import signal
import sys
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Callable, Iterable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np
import tomlkit
from tests.test_random_houses import JUNK, damaged

from inshell.cli.run import run as command
from inshell.climate.choose import climate_of
from inshell.design.room_days import Season, design_of, settled_state
from inshell.errors import InputRefused
from inshell.house.ids import give_ids
from inshell.house.reading import parse_house
from inshell.jobs.answer import computed
from inshell.jobs.floor import floor_of
from inshell.network.compiled import run
from inshell.network.routes import DoorsAre
from inshell.records.jobfolder import JobFolder
from proofs.alike import floor_differs, steps_differ
from proofs.random_houses import finite, random_house
from proofs.random_records import measured, recorded, sealed

ROOT = Path(__file__).parents[1]
REPORT = ROOT / "docs" / "evidence" / "soak.md"
HOUSE_S, WHOLE_S, FILE_S, FILE_MB = 150, 1200, 5.0, 500.0
# vapour and gas against what comes in from outdoors: doors of a tight house move ten thousand times as much, and air is
# solved to 1e-10 of all that moves
CLOSED = {"heat": 1e-8, "air": 1e-8, "vapour": 1e-5, "gas": 1e-5}
WHOLE_EACH, PART_EACH, FLOOR_EACH, TWICE_EACH = 2500, 500, 100, 40
LONG = ("rooms", "dry", "seal", "report")  # commands
COMMANDS = (
    ["check"], ["describe"], ["simulate", "--day", "heating"], ["simulate", "--day", "cooling"], ["simulate", "--year"],
    ["simulate", "--day", "coldest"], ["simulate", "--day", "07-15"],
    ["rooms", "--samples", "8"], ["air"], ["settings"], ["dry"], ["seal", "--write"], ["floor"], ["floor", "--year"], ["hot-water"],
    ["climate"],
)  # fmt: skip


def one_house(seed: int, *, plain: bool = False) -> str:
    """'' if all is well, 'refused: …' for a house that has no meaningful number, else what went wrong."""
    file = parse_house(give_ids(random_house(seed, plain=plain))[0], "", Path("house.toml"))
    climate = climate_of(file.house, Path())
    base = computed(file, climate, JobFolder((), {}))
    if not finite([base.heating.total_w, file.geometry.volume_m3, [vars(s) for s in base.pressure.states]]):
        return "a number is not finite"
    if climate.year is None:
        return ""
    doors: DoorsAre = "shut" if seed % 2 else "open"
    season: Season = "cooling" if seed % 3 == 0 and climate.design.cooling_c is not None else "heating"
    ready = design_of(file.house, file.geometry, climate, season=season, doors=doors, makers="all")
    begun = settled_state(file.house, ready, season)
    series = run(ready.system, ready.forcing, begun, step_s=600.0)
    stored = float(np.max(np.abs(ready.system.thermal.capacity_j_k))) * 100.0 / 600.0
    told = series.balances  # heat against what one step can store
    open_by = {"heat": told.heat_w / stored, "air": told.air_share, "vapour": told.vapour_share, "gas": told.gas_share}
    if any(open_by[field] > most for field, most in CLOSED.items()):
        return f"a balance is open: {open_by}"
    if not finite(vars(series.state)) or not finite([series.nodes_c, series.forward_kg_s, series.humidity]):
        return "a number of the day is not finite"
    if seed % FLOOR_EACH == 0 and file.house.circuit and (told_of := floor_differs(floor_of(base), ready)):
        return told_of
    return steps_differ(ready, begun) if seed % TWICE_EACH == 3 else ""


def part_house(seed: int) -> str:
    """As `whole_house`, without the commands that take longest."""
    return whole_house(seed, without=LONG)


def whole_house(seed: int, without: tuple[str, ...] = ()) -> str:
    """Every command on the house's file, before and after tests, measured flows and seals lie beside it."""
    content = give_ids(random_house(seed))[0]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "house.toml"
        path.write_text(tomlkit.dumps(content), encoding="utf-8")
        words = [w for w in COMMANDS if w[0] not in without and (w[0] != "simulate" or "year" in content["climate"])]
        told = _all_well([[w[0], str(path), *w[1:]] for w in words])
        if told or seed % 2 == 0:
            return told
        told = _all_well(recorded(path, seed))
        (path.parent / "measured.csv").write_text(measured(content, seed), encoding="utf-8")
        sealed(path.parent, seed)
        after = [["check"], ["seal"], ["air"], ["report", "-o", f"{folder}/report.html"]]
        return told or _all_well([[w[0], str(path), *w[1:]] for w in after if w[0] not in without])


def _all_well(runs: list[list[str]]) -> str:
    """'' if each run ends as it should, with numbers that are finite."""
    for words in runs:
        out, code = _ran([*words, "--json"])
        if code not in (0, 1, 2):
            return f"{words[0]} ended with {code}"
        told = json.loads(out)
        if not finite(told):
            return f"{words[0]} has a number that is not finite"
        if any(problem["where"].startswith("--") for problem in told.get("refused", ())):
            return f"{words[0]} refuses its own words"
    return ""


def _ran(words: list[str]) -> tuple[str, int]:
    out = io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(io.StringIO()):
        code = command(words)
    return out.getvalue(), code


def broken(dice: random.Random) -> tuple[bytes, str]:
    """A file of an example with something wrong, and the key that a report must name, if one is known."""
    path = dice.choice(sorted((ROOT / "examples").glob("*/*.toml")))
    text = path.read_text(encoding="utf-8")
    match dice.randrange(7):
        case 0:  # a key with a letter too many
            keys = re.findall(r"^([a-z_0-9]{4,}) =", text, flags=re.MULTILINE)
            key = dice.choice([k for k in keys if k != "name"])
            return re.sub(rf"^{key} =", f"{key}q =", text, count=1, flags=re.MULTILINE).encode(), f"{key}q"
        case 1:  # bytes that are no text
            at = dice.randrange(len(text))
            return text[:at].encode() + bytes(dice.randrange(128, 256) for _ in range(3)) + text[at:].encode(), ""
        case 2:
            return dice.choice([text.encode("utf-16"), text.encode("latin-1", "replace"), b"\xef\xbb\xbf" + text.encode(),
                                text.replace("\n", "\r\n").encode(), text.replace("\n", "\r").encode()]), ""  # fmt: skip
        case 3:
            return text[: dice.randrange(len(text))].encode(), ""
        case 4:  # size
            return (text + "\n# " + "x" * dice.choice([10, 100_000, 5_000_000]) + "\n").encode(), ""
        case 5:  # a number that is none
            spots = list(re.finditer(r"= (-?[\d.]+)$", text, flags=re.MULTILINE))
            spot = dice.choice(spots)
            return (text[: spot.start(1)] + dice.choice(JUNK) + text[spot.end(1) :]).encode(), ""
        case _:
            for _ in range(dice.randint(1, 4)):
                text = damaged(text, dice)
            return text.encode(), ""


def one_file(seed: int) -> str:
    """'' if the file is refused in one report or computed; else what went wrong."""
    data, key = broken(random.Random(seed))
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "house.toml"
        path.write_bytes(data)
        begun, before = time.perf_counter(), resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        out, code = _ran(["check", str(path), "--json"])
        spent = time.perf_counter() - begun
        told = json.loads(out)
        if code not in (0, 1, 2) or ("refused" in told) != (code == 2):
            return f"ended with {code}"
        if path.read_bytes() != data or [p.name for p in Path(folder).iterdir()] != ["house.toml"]:
            return "the file or its folder was changed"
        if key and (code != 2 or key not in out):
            return f"the broken key {key} is not named"
        if spent > FILE_S:
            return f"took {spent:.1f} s"
        if before < (most := resource.getrusage(resource.RUSAGE_SELF).ru_maxrss) and most / 1024.0 > FILE_MB:
            return "took too much memory"
    return ""


def tried(job: tuple[str, int]) -> tuple[str, int, str, float]:
    """One trial with its time; an exception is a failure unless it refuses input."""
    kind, seed = job
    kinds = {"house": one_house, "part": part_house, "whole": whole_house, "file": one_file}
    work: Callable[[int], str] = kinds[kind]
    signal.signal(signal.SIGALRM, _too_long)
    signal.alarm(WHOLE_S if kind in ("part", "whole") else HOUSE_S)
    begun = time.perf_counter()
    try:
        told = work(seed)
    except InputRefused as refused:
        told = f"refused: {refused.problems[0].where}: {refused.problems[0].found}"
    except Exception:
        told = "failed: " + " | ".join(traceback.format_exc().strip().splitlines()[-3:]).replace(f"{ROOT}/", "")
    finally:
        signal.alarm(0)
    return kind, seed, told, time.perf_counter() - begun


def _too_long(*_: object) -> None:
    raise TimeoutError


def main() -> int:
    """Houses and files by seed, from a first one on; writes the page from a thousand houses on."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--houses", type=int, default=10_000)
    asked.add_argument("--files", type=int, default=1_000)
    asked.add_argument("--first", type=int, default=0)
    asked.add_argument("--whole-each", type=int, default=WHOLE_EACH, help="every command on one house in so many")
    asked.add_argument("--part-each", type=int, default=PART_EACH, help="most commands on one house in so many")
    asked.add_argument("--workers", type=int, default=2, help="0: in this process")
    given = asked.parse_args()
    seeds = range(given.first, given.first + given.houses)
    jobs = [("house", s) for s in seeds] + [("whole", s) for s in seeds if s % given.whole_each == 7]
    jobs += [("part", s) for s in seeds if s % given.part_each == 3]
    jobs += [("file", s) for s in range(given.first, given.first + given.files)]
    counts: Counter[str] = Counter()
    slowest: dict[str, tuple[float, int]] = {}
    bad: list[str] = []
    begun = time.perf_counter()
    with contextlib.ExitStack() as stack:
        results: Iterable[tuple[str, int, str, float]] = map(tried, jobs)
        if given.workers:
            pool = stack.enter_context(multiprocessing.Pool(given.workers, maxtasksperchild=200))
            results = pool.imap_unordered(tried, jobs, chunksize=4)
        for k, (kind, seed, told, spent) in enumerate(results, start=1):
            counts[kind] += 1
            slowest[kind] = max(slowest.get(kind, (0.0, 0)), (spent, seed))
            if told.startswith("refused"):
                counts[f"{kind} refused"] += 1
            elif told:
                bad.append(f"{kind} {seed}: {told}")
                print(bad[-1], flush=True)
            if k % 500 == 0:
                print(f"{k} of {len(jobs)}, {time.perf_counter() - begun:.0f} s", file=sys.stderr, flush=True)
    if given.houses >= 1_000:
        _page(counts, slowest, bad, time.perf_counter() - begun)
    print(dict(counts), f"{len(bad)} bad", {k: f"{s:.1f} s" for k, (s, _) in slowest.items()})
    return 1 if bad else 0


def _page(counts: Counter[str], slowest: dict[str, tuple[float, int]], bad: list[str], seconds: float) -> None:
    rows: list[Any] = [
        f"| {kind} | {counts[kind]} | {counts[f'{kind} refused']} | {sum(b.startswith(kind) for b in bad)} | "
        f"{slowest[kind][0]:.1f} |"
        for kind in ("house", "part", "whole", "file")
        if counts[kind]
    ]
    page = [
        "# Random houses and broken files", "",
        f"`make soak`, {datetime.now(UTC):%d %B %Y}, {seconds / 60.0:.0f} minutes.", "",
        "| what | tried | refused | wrong | slowest, s |", "|---|---|---|---|---|", *rows, "",
        "`house`: static calculations and a design day, balances closed (heat 1e-8, air 1e-8 of throughput, vapour and "
        "gas 1e-5 of what comes in from outdoors, of which doors may move ten thousand times as much); `whole`: every command; `file`: refused in one report or computed, "
        "under 5 s and 500 MB, unchanged byte for byte. What of the program they reach: [cover](cover.md).", "",
        *[f"- {b}" for b in bad],
    ]  # fmt: skip
    REPORT.write_text("\n".join(page).rstrip() + "\n", encoding="utf-8")


if __name__ == "__main__":
    raise SystemExit(main())
