"""Simulated observers: journals of looks near the threshold, with outcomes as an eye would have."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from planner.config.preferences import preferences_with
from planner.config.settings import Settings
from planner.ephemeris.kernel import Ephemeris
from planner.journal.records import (
    JournalEntry,
    JournalSession,
    Outcome,
    logged_target,
    logged_train,
    new_id,
    new_session,
)
from planner.journal.store.journal import open_journal
from planner.matcher.trains import make_trains
from planner.request.own_eye.looks import EyeLooks, eye_looks
from targets.catalogue.catalogue import load_catalogue
from targets.model import Kind

FIRST_NIGHT = datetime(2026, 1, 22, 21, 0, tzinfo=UTC)  # four days before the first quarter
KINDS = (Kind.GALAXY, Kind.GLOBULAR_CLUSTER, Kind.PLANETARY_NEBULA, Kind.STAR)

# Fainter ones are out of reach of the example's telescope.
FAINTEST_MAG = 12.0

Simulate = Callable[..., Path]
LooksOf = Callable[[Path], EyeLooks]


@pytest.fixture
def looks_of(example: Settings, ephemeris: Ephemeris) -> LooksOf:
    """Return a function that tells what the journal in a file has of the example's observer."""

    def looks_of(path: Path) -> EyeLooks:
        with open_journal(path) as journal:
            return eye_looks(
                journal,
                example,
                preferences_with({}),
                ephemeris=ephemeris,
                catalogue=load_catalogue(),
            )

    return looks_of


@pytest.fixture
def simulate(example: Settings, looks_of: LooksOf) -> Simulate:
    """Return a function that writes the journal of an observer whose eye is so deep."""

    def simulate(
        path: Path, *, eye_mag: float, count: int, scatter_mag: float = 0.3, seed: int = 1
    ) -> Path:
        rng = np.random.default_rng(seed)
        entries, sessions = _tries(example, rng, 6 * count)
        tries = path.with_name("tries.sqlite")
        with open_journal(tries) as journal:
            journal.add_all(sessions, entries)
        looks = looks_of(tries)
        margins = dict(zip(looks.ids, looks.judged.margin_mag, strict=True))
        told = _spread([entry for entry in entries if entry.id in margins], margins)[:count]
        assert len(told) == count, "too few of the simulated looks are near the threshold"
        kept = []
        for entry in told:
            seen = margins[entry.id] + eye_mag + rng.normal(0.0, scatter_mag) > 0.0
            outcome = Outcome.SEEN if seen else Outcome.NOT_SEEN
            kept.append(replace(entry, outcome=outcome))
        with open_journal(path) as journal:
            journal.add_all(sessions, kept)
        return path

    return simulate


def _spread(entries: list[JournalEntry], margins: dict[str, float]) -> list[JournalEntry]:
    """Return looks in an order in which each half magnitude has its turn: people choose so."""
    turns: dict[int, int] = {}
    keys = []
    for entry in entries:
        half_mag = round(2.0 * margins[entry.id])
        turns[half_mag] = turns.get(half_mag, 0) + 1
        keys.append((turns[half_mag], half_mag, entry))
    near = [key for key in keys if -3 <= key[1] <= 3]
    return [entry for _, _, entry in sorted(near, key=lambda key: key[:2])]


def _tries(
    settings: Settings, rng: np.random.Generator, count: int
) -> tuple[list[JournalEntry], list[JournalSession]]:
    """Return looks at targets of the catalogue on winter nights, ten a night."""
    catalogue, telescope = load_catalogue(), settings.telescope()
    plain = [t for t in make_trains(telescope, settings.kit) if t.usable and not t.filter]
    bright = catalogue.magnitude < FAINTEST_MAG
    up = (catalogue.ra_deg > 30.0) & (catalogue.ra_deg < 190.0) & (catalogue.dec_deg > 0.0)
    rows = rng.permutation(np.flatnonzero(catalogue.of_kind(*KINDS) & up & bright))
    entries, sessions = [], []
    for number in range(count):
        if number % 10 == 0:
            start = FIRST_NIGHT + timedelta(days=number // 10 % 8)
            site = settings.site()
            sessions.append(new_session(site, start.date(), start, observer=settings.observer.name))
        target = catalogue.target(int(rows[number % len(rows)]))
        entries.append(
            JournalEntry(
                new_id(),
                sessions[-1].id,
                sessions[-1].start + timedelta(minutes=15 * (number % 10)),
                logged_target(target),
                logged_train(plain[int(rng.integers(len(plain)))]),
                Outcome.SEEN,
            )
        )
    return entries, sessions
