"""Steps run under the sanitizers by tests/test_sanitized.py: a house through a week, and arrays that must be refused."""

from __future__ import annotations

import sys
from importlib.machinery import ExtensionFileLoader
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

import numpy as np


def main(extension: str) -> None:
    spec = spec_from_file_location("_kernel", extension, loader=ExtensionFileLoader("_kernel", extension))
    assert spec
    kernel = module_from_spec(spec)
    assert spec.loader
    spec.loader.exec_module(kernel)

    from inshell.errors import InputRefused, NotConverged
    from inshell.network import compiled
    from inshell.network.system import first_state
    from tests.test_coupled import one_room, prepared, steady_forcing

    compiled._kernel = kernel
    root = Path(__file__).resolve().parent.parent
    for name in ("demo-cottage", "pier-house"):
        ready = prepared(root / "examples" / name / f"{name}.toml")
        compiled.run_variants(
            [ready.system] * 3, ready.forcing.rows(0, 24), [first_state(ready.system, air_c=21.0)] * 3, step_s=600.0
        )
        compiled.run(ready.system, ready.forcing.rows(0, 72), first_state(ready.system, air_c=21.0), step_s=600.0)
    system = one_room(leak=0.01, fan=0.01)
    forcing, state = steady_forcing(system, 2), first_state(system, air_c=20.0)
    rng = np.random.default_rng(0)
    refused = 0
    for _ in range(300):
        broken = compiled.Kernel(system, 600.0)
        group = (broken.integers, broken.reals, broken.walls)[int(rng.choice(3, p=(0.7, 0.2, 0.1)))]
        k = str(rng.choice(list(group)))
        if rng.random() < 0.5 and group[k].size:
            group[k] = group[k].copy()
            group[k][int(rng.integers(0, group[k].size))] = rng.choice([-1, 7, 2**40])
        else:
            group[k] = group[k][:-1] if group[k].size else np.zeros(3, dtype=group[k].dtype)
        try:
            broken.run(forcing, state.copy(), 3600.0)
        except (ValueError, InputRefused):
            refused += 1
        except NotConverged:
            refused += 1
    print(f"clean, {refused} refused")


if __name__ == "__main__":
    main(sys.argv[1])
