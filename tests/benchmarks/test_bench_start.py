"""What whole commands take from a cold start, how that grows, and what the screens take.

Run ``pytest -m benchmark -s tests/benchmarks/test_bench_start.py`` to see the figures; it puts the
tables into ``figures.md`` beside this file, which DEVELOPERS.md shows. It takes some ten minutes in
all; ``-k`` chooses.

Each command is beside what it is compared with in the same run, as installed: with compiled code,
and what is kept in the cache folder there. Times are taken from outside: what a program does before
its first line and after its last one a user waits for too. A busy machine counts less in processor
time. A million targets should take 20 s and 1.5 GB, and nothing grow with a power above 1.1.
"""

from __future__ import annotations

import math
import os
import random
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from statistics import median
from typing import NamedTuple

import numpy as np
import pytest
from at_a_terminal import Terminal
from figures import table, tell
from test_bench_journal import filled

RUNS = 5
IMPORTS = "import numpy, pandas, skyfield.api"
SCREEN_IMPORTS = "import numpy, skyfield.api, textual.app, textual.widgets"
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
PRESSED = 300
# A round of what is pressed in a night: the cursor, questions opened and left, moves and undo.
ROUND = (
    "\x1b[B", "s", "u", "c", "\x1b", "i", "u", "t", "\x1b", "d", "\x1b", "c", "4", "u", "y", "u",
    "\x1b[A", "m", "\x1b", "v", "u", "e", "\x1b", "n", "\x1b", "h", "w", "\r", "u", "?", "\x1b",
)  # fmt: skip
# Linux tells the most memory that a program held; getrusage counts the program that started it.
TELL = """
import atexit, sys
def tell():
    most = next(l.split()[1] for l in open("/proc/self/status") if l.startswith("VmHWM:"))
    sys.stderr.write(f"\\ntold {most}\\n")
atexit.register(tell)
"""
pytestmark = [
    pytest.mark.benchmark,
    pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="needs Linux"),
]


class Cost(NamedTuple):
    """Processor time, the most memory held, and the time by the clock on the wall."""

    seconds: float
    megabytes: float
    wall_s: float


def cost_of(code: str, home: Path) -> Cost:
    """Run a program in a home of its own."""
    environment = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    folders = dict.fromkeys(("HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME", "XDG_CACHE_HOME"), home)
    environment |= {name: str(folder) for name, folder in folders.items()}
    environment["PYTHONPYCACHEPREFIX"] = str(home / "compiled")
    with tempfile.TemporaryFile("w+") as said:
        begun = time.perf_counter()
        program = subprocess.Popen(
            [sys.executable, "-c", TELL + code],
            stdout=subprocess.DEVNULL, stderr=said, env=environment,
        )  # fmt: skip
        _, status, used = os.wait4(program.pid, 0)
        wall_s = time.perf_counter() - begun
        program.returncode = os.waitstatus_to_exitcode(status)
        said.seek(0)
        words = said.read()
    assert program.returncode in {0, 1}, words
    kilobytes = words.rsplit("told ", 1)[1]
    return Cost(used.ru_utime + used.ru_stime, float(kilobytes) / 1000.0, wall_s)


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
    rows = []
    for words, most in COMMANDS.items():
        wall, processor = (
            [(run[words][k], run[words][k] / run["imports"][k]) for run in runs] for k in (2, 0)
        )
        cells = [words.partition(" --")[0] or words]
        for pairs in (wall, processor):
            cells += [f"{median(pair[0] for pair in pairs):.2f} s"]
            cells += [f"{median(pair[1] for pair in pairs):.2f}"]
        megabytes = max(run[words].megabytes for run in runs) - nothing_mb
        rows.append([*cells, f"{most}", f"{megabytes:.0f} MB"])
        if words == "plan":
            assert megabytes <= MOST_MB_ABOVE_NOTHING
    imports = [median(run["imports"][k] for run in runs) for k in (2, 0)]
    rows.append(["bare imports", f"{imports[0]:.2f} s", "1", f"{imports[1]:.2f} s", "1", "", ""])
    columns = ("command", "wall clock", "of the bare imports", "processor", "of the bare imports",
               "at most", "memory above nothing")  # fmt: skip
    tell("Cold commands", table(columns, rows))


def slope(costs: dict[int, Cost], nothing: Cost) -> float:
    """Return the power of the size with which the time above that of none grows."""
    *_, middle, last = costs
    above = [max(costs[size].seconds - nothing.seconds, 1e-3) for size in (middle, last)]
    return math.log(above[1] / above[0]) / math.log(last / middle)


def growth(heading: str, costs: dict[str, dict[int, Cost]], nothing: dict[str, Cost]) -> None:
    """Tell the table of growth of some commands."""
    sizes = next(iter(costs.values()))
    columns = ("command", "with none", *(f"{size:,}" for size in sizes), "slope")
    rows = [
        [
            name, f"{nothing[name].seconds:.2f} s",
            *(f"{cost.seconds:.2f} s, {cost.megabytes:.0f} MB" for cost in some.values()),
            f"{slope(some, nothing[name]):.2f}",
        ]
        for name, some in costs.items()
    ]  # fmt: skip
    tell(heading, table(columns, rows))


def plain_lines(count: int) -> Iterator[str]:
    """Return a table of numbers, as a program writes it."""
    dice = random.Random(1)  # noqa: S311  # places, not secrets
    yield "name,ra (deg),dec (deg),magnitude,kind\n"
    for n in range(count):
        place = f"{dice.uniform(0, 360):.4f},{dice.uniform(-60, 90):.4f}"
        yield f"Own {n},{place},{dice.uniform(6, 14):.1f},galaxy\n"


def observers_lines(count: int) -> Iterator[str]:
    """Return a table as observers write it, with signs, sizes, notes, and some that is missing."""
    dice = random.Random(2)  # noqa: S311  # places, not secrets
    yield "Notes,Object,Type,RA,Dec,Mag,Size\n"
    for n in range(count):
        name = (
            f"NGC {dice.randint(1, 7840)}"
            if n % 200 == 0
            else ("Field {}", "Field {} west")[n % 2].format(n)
        )
        ra, dec = dice.randrange(864_000), dice.randrange(540_000) - 216_000
        place = f"{ra // 36_000:02}h {ra // 600 % 60:02}m {ra % 600 / 10:04.1f}s"
        sign, dec = ("-", -dec) if dec < 0 else ("+", dec)
        height = f"{sign}{dec // 3600:02}\u00b0 {dec // 60 % 60:02}' {dec % 60:02}"
        size = dice.choice(("", "5", "12x8", "3.5' x 1'", f"{dice.uniform(1, 40):.1f}"))
        magnitude = dice.choice(("", "-", f"{dice.uniform(6, 14):.1f}"))
        note = dice.choice(("", f'"in {1990 + n % 40}, faint"', "élongated; averted vision"))
        kind = ("GX", "open cluster", "PN", "double star")[n % 4]
        yield f"{note},{name},{kind},{place},{height},{magnitude},{size}\n"


def test_lists_grow(tmp_path: Path) -> None:
    """A list of own targets: to read it, to plan with it, to find in it."""
    words = {"plan --list": "plan --list {}", "targets find": "targets find Own 17"}
    adds = {"targets add, numbers": plain_lines, "targets add, as written": observers_lines}
    few = tmp_path / "few.csv"
    few.write_text("".join(plain_lines(1)), "utf-8")
    cost_of(command(f"targets add {few}"), tmp_path)
    nothing = {"plan --list": warm_cost_of("plan --list few", tmp_path)}
    nothing["targets find"] = warm_cost_of(words["targets find"], tmp_path)
    nothing |= dict.fromkeys(adds, nothing["targets find"])
    found: dict[str, dict[int, Cost]] = {name: {} for name in (*adds, *words)}
    for size in LISTS:
        for name, lines in adds.items():
            file = tmp_path / f"own{size}.csv"
            file.write_text("".join(lines(size)), "utf-8")
            found[name][size] = cost_of(command(f"targets add {file} --keep-good"), tmp_path)
            if lines is plain_lines:
                for other, text in words.items():
                    found[other][size] = cost_of(command(text.format(file.stem)), tmp_path)
            cost_of(command(f"targets remove {file.stem}"), tmp_path)
    growth("Lists", found, nothing)
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
    growth("Journals", found, dict.fromkeys(found, nothing))


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
    rows = [[f"{keys:,}", f"{told[keys] / 1e3:.0f} MB"] for keys in (*range(0, KEYS, EARLY), last)]
    rate = (told[last] - told[HALF]) / (last - HALF)
    more = f"{rate:.1f} kB a key after the first {HALF:,}."
    tell("A night of twelve hours", [*table(("keys", "resident"), rows), "", more])
    assert told[last] <= MOST_GROWTH * told[HALF]


def test_the_first_list(tmp_path: Path) -> None:
    """From a cold start to the first list, of a new night and of one that was left, in a pty."""
    bare = min((cost_of(SCREEN_IMPORTS, tmp_path) for _ in range(3)), key=lambda cost: cost.wall_s)
    found: dict[str, list[tuple[float, float]]] = {"new": [], "left": []}
    for number in range(3):
        for times in found.values():  # the second one finds what the first has left
            terminal = Terminal(None, tmp_path / str(number))
            try:
                times.append(terminal.first(b"next "))
                terminal.wait_for(b"Enter target")
            finally:
                terminal.close()
    rows = []
    for kind, times in found.items():
        wall, processor = (min(pair[k] for pair in times) for k in (0, 1))
        ratio = f"{wall / bare.wall_s:.2f}"
        rows.append([f"of a night that is {kind}", f"{wall:.2f} s", ratio, f"{processor:.2f} s"])
    rows.append(["bare imports", f"{bare.wall_s:.2f} s", "1", f"{bare.seconds:.2f} s"])
    columns = ("first list", "wall clock", "of the bare imports", "processor")
    tell("The first list at the telescope", table(columns, rows))


def test_keys_at_a_terminal(tmp_path: Path) -> None:
    """Wall clock from each of 300 keys to the last byte that it paints within a quarter second."""
    rows = []
    for columns, lines in ((80, 24), (140, 45)):
        terminal = Terminal(300, tmp_path / str(columns), (columns, lines))
        times = []
        try:
            terminal.wait_for(b"next")
            time.sleep(1.0)
            terminal.read()
            for number in range(PRESSED):
                painted, seconds = terminal.press(ROUND[number % len(ROUND)])
                if painted:
                    times.append(seconds * 1e3)
        finally:
            terminal.close()
        middle, high = np.median(times), np.percentile(times, 95)
        rows.append([f"{columns}x{lines}", f"{len(times)}", f"{middle:.0f} ms", f"{high:.0f} ms"])
    heading = "From a key to the painted screen, 300 candidates"
    tell(heading, table(("terminal", "paints", "median", "p95"), rows))
