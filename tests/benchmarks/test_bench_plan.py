"""``fieldstop plan`` from a cold start, against importing what any such program has to import.

Run ``pytest tests/benchmarks/test_bench_plan.py -s`` to see the figures.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from statistics import median
from time import perf_counter

import pytest

RUNS = 5
MOST_MB = 300.0  # what a small board computer in the field can spare
PLAN = [sys.executable, "-m", "planner", "plan", "--date", "2026-11-25"]
IMPORT = [sys.executable, "-c", "import numpy, pandas, skyfield.api"]
# Linux counts in kilobytes, macOS in bytes.
MB_PER_UNIT = 1e-6 if sys.platform == "darwin" else 1e-3


@pytest.mark.benchmark
@pytest.mark.skipif(not hasattr(os, "wait4"), reason="needs wait4")
def test_a_plan_from_a_cold_start(tmp_path: Path) -> None:
    """The time is printed, the memory has a bound."""
    runs: dict[str, list[tuple[float, float]]] = {"plan": [], "import": []}
    for _ in range(RUNS):  # in turn, so that a busy moment hits both
        runs["plan"].append(_measured(PLAN, tmp_path))
        runs["import"].append(_measured(IMPORT, tmp_path))
    plan_s, import_s = (median(seconds for seconds, _ in runs[name]) for name in runs)
    most_mb = max(megabytes for _, megabytes in runs["plan"])
    print(
        f"\nfieldstop plan {plan_s:.2f} s, import numpy, pandas, skyfield.api {import_s:.2f} s:"
        f" {plan_s / import_s:.1f} times; at most {most_mb:.0f} MB"
    )
    assert most_mb < MOST_MB


def _measured(command: list[str], home: Path) -> tuple[float, float]:
    """Run a command; give seconds and the most memory it held [MB]."""
    environment = os.environ | {"HOME": str(home), "XDG_CONFIG_HOME": str(home)}
    begun = perf_counter()
    with subprocess.Popen(
        command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, env=environment
    ) as process:
        _, status, usage = os.wait4(process.pid, 0)
        taken = perf_counter() - begun
        process.returncode = os.waitstatus_to_exitcode(status)
    assert process.returncode == 0
    return taken, usage.ru_maxrss * MB_PER_UNIT
