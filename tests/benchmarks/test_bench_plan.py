"""``fieldstop plan`` from a cold start, against importing what any such program has to import.

Run ``pytest -m benchmark -s tests/benchmarks/test_bench_plan.py`` to see the figures.
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
# The most memory that a program itself held [kB], from Linux; what wait4 and getrusage tell counts
# the program that started it too.
TELL = """
import sys
for line in open("/proc/self/status", encoding="ascii"):
    if line.startswith("VmHWM:"):
        sys.stderr.write(f"\\nmost {line.split()[1]}\\n")
"""
PLAN = f"""
from planner.cli.main import main
assert main(["plan", "--date", "2026-11-25"]) == 0
{TELL}"""
IMPORT = f"import numpy, pandas, skyfield.api\n{TELL}"


@pytest.mark.benchmark
@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="needs Linux")
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


def _measured(code: str, home: Path) -> tuple[float, float]:
    """Run a program; give seconds and the most memory it held [MB]."""
    environment = os.environ | {"HOME": str(home), "XDG_CONFIG_HOME": str(home)}
    begun = perf_counter()
    run = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, env=environment, check=True
    )
    taken = perf_counter() - begun
    return taken, float(run.stderr.rsplit("most ", 1)[1]) / 1000.0
