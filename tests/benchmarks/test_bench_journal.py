"""How the journal bears a hundred thousand looks.

Run ``pytest -m benchmark -s tests/benchmarks/test_bench_journal.py`` to see the figures.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from time import perf_counter

import pytest

from planner.cli.journal.entries import USUAL_COUNT
from planner.config.settings import example_settings
from planner.journal.records import (
    JournalEntry,
    JournalSession,
    LoggedTarget,
    LoggedTrain,
    Outcome,
    new_id,
)
from planner.journal.store.journal import Journal, open_journal
from planner.matcher.trains import make_trains
from planner.request.journal_leaning import leanings_for

MANY, FEW = 100_000, 1_000
REPEATS = 7
START = datetime(2000, 1, 1, 20, tzinfo=UTC)


def filled(path: Path, count: int) -> Path:
    """Make a journal of so many entries, a hundred in a session."""
    sessions = [
        JournalSession(
            new_id(), (START + timedelta(days=n)).date(), "Garden", "UTC", START + timedelta(days=n)
        )
        for n in range(count // 100)
    ]
    trains = [
        LoggedTrain("200 mm f/6 reflector", 200.0, 1200.0, name, magnification=100.0)
        for name in ("8 mm 60", "12 mm 60", "30 mm 70")
    ]
    outcomes = tuple(Outcome)
    entries = (
        JournalEntry(
            id=new_id(),
            session_id=sessions[n // 100].id,
            at=sessions[n // 100].start + timedelta(minutes=n % 100),
            target=LoggedTarget(f"NGC{n % 7840}", f"NGC {n % 7840}", "galaxy", major_arcmin=2.0),
            train=trains[n % 3],
            outcome=outcomes[n % 4],
            rating=3 + n % 3,
            note="an elongated glow, brighter toward the middle, seen best with averted vision",
        )
        for n in range(count)
    )
    with open_journal(path) as journal:
        journal.add_all(sessions, entries)
    return path


def best_s(path: Path, work: Callable[[Journal], object]) -> float:
    """Time some work, opening and closing included; the best of several."""
    times = []
    for _ in range(REPEATS):
        begin = perf_counter()
        with open_journal(path) as journal:
            work(journal)
        times.append(perf_counter() - begin)
    return min(times)


@pytest.mark.benchmark
def test_a_hundred_thousand_looks(tmp_path: Path) -> None:
    """To list, to add and to learn take what was promised, and hardly more than with a thousand."""
    few, many = filled(tmp_path / "few.sqlite", FEW), filled(tmp_path / "many.sqlite", MANY)
    settings = example_settings(today=START.date())
    trains = make_trains(settings.telescope(), settings.kit)

    def add(journal: Journal) -> None:
        (last,) = journal.entries(limit=1)
        journal.add(replace(last, id=new_id()))

    def listed(journal: Journal) -> None:
        assert len(journal.entries(limit=USUAL_COUNT)) == USUAL_COUNT
        assert journal.count() >= FEW

    def learn(journal: Journal) -> None:
        assert len(leanings_for(journal, trains)) == 2

    works = {"list": listed, "add": add, "seen": Journal.seen_ids, "learn": learn}
    seconds = {name: (best_s(few, work), best_s(many, work)) for name, work in works.items()}
    for name, (short, long) in seconds.items():
        print(f"\n{name}: {1e3 * long:.1f} ms of {MANY}, {long / short:.1f} times that of {FEW}")
