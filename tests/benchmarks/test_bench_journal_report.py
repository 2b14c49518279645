"""How long the report takes for a hundred thousand looks.

Run ``pytest -m benchmark -s tests/benchmarks/test_bench_journal_report.py`` to see the figures.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path
from time import perf_counter

import pytest

from planner.journal.records import JournalEntry, JournalSession, LoggedTarget, LoggedTrain, Outcome
from planner.journal.report import COLUMNS, journal_report
from planner.journal.store.journal import Journal, open_journal
from planner.output.text.journal_report import report_text

FEW, MANY = 10_000, 100_000
REPEATS = 3
START = datetime(1990, 1, 1, 20, tzinfo=UTC)


def filled(path: Path, count: int) -> Path:
    """Make a journal of so many looks, ten in a night, of 500 targets in 12 eyepieces."""
    starts = [START + timedelta(days=n) for n in range(count // 10)]
    sessions = [
        JournalSession(f"{n:032x}", start.date(), "Garden", "UTC", start)
        for n, start in enumerate(starts)
    ]
    trains = [
        LoggedTrain("200 mm", 200.0, 1200.0, f"{n} mm", float(n), exit_pupil_mm=n / 6.0)
        for n in range(5, 17)
    ]
    kinds, outcomes = ("galaxy", "open cluster", "double star", "planet"), tuple(Outcome)
    targets = [
        LoggedTarget(f"NGC{n}", f"NGC {n}", kinds[n % 4], magnitude=n % 130 / 10.0)
        for n in range(1, 501)
    ]
    entries = (
        JournalEntry(
            f"{n + count:032x}", sessions[n // 10].id, starts[n // 10] + timedelta(minutes=n % 10),
            targets[n * 7 % 500], trains[n % 12], outcomes[n % 4], f"{n % 5 + 5} mm",
            starts[n // 10], "cloud", 1 + n % 5, note="a faint glow",
        )
        for n in range(count)
    )  # fmt: skip
    with open_journal(path) as journal:
        journal.add_all(sessions, entries)
    return path


def report(journal: Journal) -> str:
    """Do what the command does, but for loading the catalogue."""
    listed = [(f"NGC{n}", f"NGC {n}") for n in range(1, 111)]
    return report_text(
        journal_report(journal.columns(*COLUMNS), journal.sessions(), listed=listed, list_name="x")
    )


def best_s(path: Path) -> float:
    """Time a report, opening and closing included; the best of several."""
    times = []
    for _ in range(REPEATS):
        begin = perf_counter()
        with open_journal(path) as journal:
            assert "planned look" in report(journal)
        times.append(perf_counter() - begin)
    return min(times)


@pytest.mark.benchmark
def test_the_report_of_a_hundred_thousand_looks(tmp_path: Path) -> None:
    """It takes what was promised, and grows in proportion."""
    few_s, many_s = (best_s(filled(tmp_path / f"{count}.sqlite", count)) for count in (FEW, MANY))
    print(f"\nreport: {many_s:.2f} s of {MANY} looks, {many_s / few_s:.1f} times that of {FEW}")
