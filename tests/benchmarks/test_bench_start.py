"""What whole commands take from a cold start, and how that grows: one table of all of it.

Run ``pytest -m benchmark -s tests/benchmarks/test_bench_start.py`` to see the figures. Times are
processor time, so that a busy machine counts less; each command is beside what it is compared with
in the same run, as installed: with compiled modules, and what is kept in the cache folder there. A
million targets should take 20 s and 1.5 GB, and nothing grow with a power above 1.1. It takes half
an hour in all; ``-k`` chooses. The tables are markdown, and DEVELOPERS.md shows them.
"""

from __future__ import annotations

import math
import os
import random
import subprocess
import sys
from pathlib import Path
from statistics import median
from typing import NamedTuple

import pytest
from test_bench_journal import filled

RUNS = 5
IMPORTS = "import numpy, pandas, skyfield.api"
COMMANDS = {  # with the most times of the bare imports that each may take
    "plan": 1.5,
    "look M57": 1.6,
    "nights": 2.5,
    "kit try --focal-length 9 --apparent-field 70 --barrel 1.25in": 3.5,
    "journal list": 0.5,
    "--help": 0.5,
}
MOST_MB_ABOVE_NOTHING = 80.0
LISTS = (10_000, 100_000, 1_000_000)
LOOKS = (1_000, 10_000, 100_000)
MOST_MB = 1_500.0
KEYS, EARLY, HALF, MOST_GROWTH = 5_000, 1_000, 2_500, 1.05
# Linux tells the most memory that a program held; getrusage counts the program that started it.
TELL = """
import atexit, resource, sys
def tell():
    used = resource.getrusage(resource.RUSAGE_SELF)
    most = next(l.split()[1] for l in open("/proc/self/status") if l.startswith("VmHWM:"))
    sys.stderr.write(f"\\ntold {used.ru_utime + used.ru_stime} {most}\\n")
atexit.register(tell)
"""
pytestmark = [
    pytest.mark.benchmark,
    pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="needs Linux"),
]


class Cost(NamedTuple):
    """Processor time, and the most memory held."""

    seconds: float
    megabytes: float


def cost_of(code: str, home: Path) -> Cost:
    """Run a program in a home of its own."""
    environment = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    folders = dict.fromkeys(("HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME", "XDG_CACHE_HOME"), home)
    environment |= {name: str(folder) for name, folder in folders.items()}
    environment["PYTHONPYCACHEPREFIX"] = str(home / "compiled")
    run = subprocess.run(
        [sys.executable, "-c", TELL + code],
        capture_output=True, text=True, env=environment, check=False,
    )  # fmt: skip
    assert run.returncode in {0, 1}, run.stderr
    seconds, kilobytes = run.stderr.rsplit("told ", 1)[1].split()
    return Cost(float(seconds), float(kilobytes) / 1000.0)


def command(words: str) -> str:
    """Return a program that runs a command of fieldstop."""
    return f"sys.argv = {['fieldstop', *words.split()]!r}\nfrom planner.__main__ import run\nrun()"


def warm_cost_of(words: str, home: Path) -> Cost:
    """Run a command once to compile what it needs, and once to be measured."""
    cost_of(command(words), home)
    return cost_of(command(words), home)


def test_cold_commands(tmp_path: Path) -> None:
    """Medians of pairs, against importing what any such program has to import."""
    programs = {words: command(words) for words in COMMANDS} | {"imports": IMPORTS, "": ""}
    for code in programs.values():  # compiles, and puts the catalogue into the cache folder
        cost_of(code, tmp_path)
    runs = [{name: cost_of(code, tmp_path) for name, code in programs.items()} for _ in range(RUNS)]
    nothing_mb = median(run[""].megabytes for run in runs)
    print("\n\n| command | processor time | of the bare imports | at most | MB above nothing |")
    print("|---|---|---|---|---|")
    for words, most in COMMANDS.items():
        seconds = median(run[words].seconds for run in runs)
        times = median(run[words].seconds / run["imports"].seconds for run in runs)
        megabytes = max(run[words].megabytes for run in runs) - nothing_mb
        print(f"| {words[:10]} | {seconds:.2f} s | {times:.2f} | {most} | {megabytes:.0f} |")
        if words == "plan":
            assert megabytes <= MOST_MB_ABOVE_NOTHING


def slope(costs: dict[int, Cost], nothing: Cost) -> float:
    """Return the power of the size with which the time above that of none grows."""
    *_, middle, last = costs
    above = [max(costs[size].seconds - nothing.seconds, 1e-3) for size in (middle, last)]
    return math.log(above[1] / above[0]) / math.log(last / middle)


def row(what: str, costs: dict[int, Cost], nothing: Cost) -> None:
    """Print a line of the table of growth."""
    told = " | ".join(f"{cost.seconds:.2f} s, {cost.megabytes:.0f} MB" for cost in costs.values())
    print(f"| {what} | {nothing.seconds:.2f} s | {told} | {slope(costs, nothing):.2f} |")


def header(sizes: tuple[int, ...]) -> None:
    """Print the head of the table of growth."""
    names = " | ".join(f"{size:,}" for size in sizes)
    print(f"\n\n| command | with none | {names} | slope |")
    print("|---" * (len(sizes) + 3) + "|")


def test_lists_grow(tmp_path: Path) -> None:
    """A list of own targets: to read it, to plan with it, to find in it."""
    dice = random.Random(1)  # noqa: S311  # places, not secrets
    words = {"plan --list": "plan --list {}", "targets find": "targets find Own 17"}
    few = tmp_path / "few.csv"
    few.write_text("name,ra (deg),dec (deg),magnitude,kind\nOne,10,40,9,galaxy\n")
    cost_of(command(f"targets add {few}"), tmp_path)
    nothing = {"plan --list": warm_cost_of("plan --list few", tmp_path)}
    nothing["targets find"] = warm_cost_of(words["targets find"], tmp_path)
    nothing["targets add"] = nothing["targets find"]
    found: dict[str, dict[int, Cost]] = {name: {} for name in ("targets add", *words)}
    for size in LISTS:
        file = tmp_path / f"own{size}.csv"
        lines = (
            f"Own {n},{dice.uniform(0, 360):.4f},{dice.uniform(-60, 90):.4f},"
            f"{dice.uniform(6, 14):.1f},galaxy\n"
            for n in range(size)
        )
        file.write_text("name,ra (deg),dec (deg),magnitude,kind\n" + "".join(lines))
        found["targets add"][size] = cost_of(command(f"targets add {file}"), tmp_path)
        for name, text in words.items():
            found[name][size] = cost_of(command(text.format(file.stem)), tmp_path)
        cost_of(command(f"targets remove {file.stem}"), tmp_path)
    header(LISTS)
    for name, costs in found.items():
        row(name, costs, nothing[name])
    for name, costs in found.items():
        assert costs[LISTS[-1]].megabytes <= MOST_MB, name


def test_a_journal_grows(tmp_path: Path) -> None:
    """A journal: to list its latest looks, to report, to write it out and to take it in."""
    works = {"journal list": "journal list", "journal report": "journal report"}
    for form in ("json", "csv", "oal"):
        works[f"export {form}"] = f"journal export --format {form} --output {{}}.{form}"
        works[f"import {form}"] = f"journal import {{}}.{form}"
    nothing = warm_cost_of("journal list", tmp_path)
    found: dict[str, dict[int, Cost]] = {name: {} for name in works}
    for size in LOOKS:
        folder = tmp_path / f"of{size}"
        folder.mkdir()
        filled(folder / "journal.sqlite", size)
        for name, text in works.items():
            place = tmp_path / f"{name}{size}".replace(" ", "-")
            place = place if name.startswith("import") else folder
            words = f"{text.format(tmp_path / str(size))} --data {place}"
            found[name][size] = cost_of(command(words), tmp_path)
    header(LOOKS)
    for name, costs in found.items():
        row(name, costs, nothing)


def test_a_night_of_many_keys(tmp_path: Path) -> None:
    """Twelve hours at the screen: the memory that is resident early, and in the end."""
    script = Path(__file__).with_name("many_moves.py")
    run = subprocess.run(
        [sys.executable, str(script), str(tmp_path), str(KEYS)],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    told: dict[int, int] = {}
    for line in run.stdout.splitlines():
        keys, kilobytes = map(int, line.split())
        told[keys] = kilobytes
    last = max(told)
    print("\n\n| keys | resident |\n|---|---|")
    for keys in (*range(0, KEYS, EARLY), last):
        print(f"| {keys:,} | {told[keys] / 1e3:.0f} MB |")
    print(f"\n{(told[last] - told[HALF]) / (last - HALF):.1f} kB a key after the first {HALF:,}")
    assert told[last] <= MOST_GROWTH * told[HALF]
