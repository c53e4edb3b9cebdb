"""A season has the same digits in the program that compiled the kernel and in the next one, from its cache.

Sites are computed by many programs, and their numbers are compared as text: the one that happens to compile must not
differ.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

SEASON = """
import hashlib
from season_made_up import made_up
import numpy as np
from wetfoot.plan.example import example_text
from wetfoot.plan.file import plan_from_text
from wetfoot.season import kernel
from wetfoot.season.bench import bench_arrays

random = np.random.default_rng(7)
days = 120
driven = made_up(days, 4, transpiration_l=random.random((days, 4)), evaporation_l=random.random((days, 4)) * 0.2,
                 rain_mm=np.where(random.random(days) < 0.3, random.random(days) * 40.0, 0.0))
found = kernel.simulate(bench_arrays(plan_from_text(example_text())), driven)
print(hashlib.sha256(b"".join(np.ascontiguousarray(each).tobytes() for each in found)).hexdigest())
print(float(found.bank_mmol.sum()))
"""


def test_the_program_that_compiles_gets_the_digits_of_those_that_find_it_compiled(tmp_path: Path) -> None:
    here = {**os.environ, "NUMBA_CACHE_DIR": str(tmp_path), "PYTHONPATH": str(Path(__file__).parent)}

    def run() -> str:
        done = subprocess.run([sys.executable, "-c", SEASON], env=here, capture_output=True, text=True, timeout=300)
        assert done.returncode == 0, done.stderr
        return done.stdout

    compiled = run()
    assert list(tmp_path.rglob("*.nbc")), "the second program has to find a cache"
    assert run() == compiled
