"""``fieldstop nights`` for a month from a cold start, beside one night.

Run ``pytest -m benchmark -s tests/benchmarks/test_bench_nights.py`` to see the figures.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from statistics import median
from time import perf_counter

import pytest

RUNS = 3


@pytest.mark.benchmark
def test_a_month_from_a_cold_start(tmp_path: Path) -> None:
    """The times are printed; what is left without the start is the price of a night."""
    taken: dict[int, list[float]] = {1: [], 30: []}
    environment = os.environ | {"HOME": str(tmp_path), "XDG_CONFIG_HOME": str(tmp_path)}
    for _ in range(RUNS):  # in turn, so that a busy moment hits both
        for count, seconds in taken.items():
            command = [sys.executable, "-m", "planner", "nights", "M42", "--date", "2026-12-01"]
            begun = perf_counter()
            run = subprocess.run(
                [*command, "--count", str(count)], env=environment, capture_output=True, check=True
            )
            seconds.append(perf_counter() - begun)
            assert run.stdout
    one_s, month_s = median(taken[1]), median(taken[30])
    print(
        f"\n30 nights {month_s:.2f} s, 1 night {one_s:.2f} s: "
        f"{(month_s - one_s) / 29.0 * 1e3:.0f} ms a night"
    )
