"""The ordering against an exact solver, and how long it takes.

Run ``pytest tests/benchmarks/test_bench_ordering.py -m 'benchmark or slow' -s`` for all nights.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from itertools import permutations
from statistics import median
from time import process_time

import numpy as np
import pytest
from exact_order import Answer, solve
from numpy.testing import assert_allclose
from real_sessions import NIGHTS, SITES, RealSession, real_session

from planner.ephemeris.almanac import find_night
from planner.ephemeris.kernel import load_ephemeris
from planner.ephemeris.tracks import track_night
from planner.planning.scheduling.candidates import Beginning, Candidates, Order, Session
from planner.planning.scheduling.pace import Pace
from planner.planning.scheduling.scheduler import order_looks, play
from targets.catalogue.catalogue import load_catalogue

# What the ordering promises, where the best order is known.
MEAN_LOSS = 0.01
WORST_LOSS = 0.03
# The solver counts in millionths, a few dozen times.
ROUNDING = 1e-4
SIZES = (20, 40, 60, 300)


def best_rows(found: RealSession, count: int) -> Candidates:
    """Return the targets that are worth most, of those that have a window."""
    candidates = found.candidates
    best = np.where(candidates.open, candidates.quality, 0.0).max(axis=1, initial=0.0)
    rows = np.argsort(-best, kind="stable")[:count]
    return candidates.of_rows(rows[best[rows] > 0.0])


def against_the_solver(
    nights: Sequence[tuple[str, str, str]], sizes: Sequence[int], *, hours: float, seconds: float
) -> list[tuple[Order, Answer]]:
    """Order each night with one of the sizes in turn, ask the solver, and print both."""
    results = []
    print(f"\n{hours:g} hours from dusk{'':24} targets   ours    best   bound    gap    ms  solver")
    for number, night in enumerate(nights):
        found = real_session(*night, hours=hours)
        candidates = best_rows(found, sizes[number % len(sizes)])
        begun = process_time()
        order = order_looks(candidates, found.session)
        ordered = process_time()
        pace = Pace(candidates, found.session)
        answer = solve(pace, [slot.row for slot in order.slots], seconds=seconds)
        print(
            f"{found.name:40} {len(candidates):5} {order.worth:7.3f} {answer.worth:7.3f}"
            f" {answer.bound:7.3f} {loss(order, answer):6.2%} {1e3 * (ordered - begun):5.0f}"
            f" {process_time() - ordered:5.1f} s{'' if answer.proven else '  not proven'}"
        )
        results.append((order, answer))
    return results


def loss(order: Order, answer: Answer) -> float:
    """Return what is missing to the best order, or to the bound where that is all one knows."""
    best = answer.worth if answer.proven else answer.bound
    return 1.0 - order.worth / best if best > 0.0 else 0.0


def check(results: Sequence[tuple[Order, Answer]]) -> None:
    """Print the mean and the worst gap; hold the promise where the best order is proven."""
    proven = [loss(order, answer) for order, answer in results if answer.proven]
    others = [loss(order, answer) for order, answer in results if not answer.proven]
    for losses, what in ((proven, "best order"), (others, "bound only")):
        if losses:
            print(
                f"{what}, {len(losses)} nights: gap {np.mean(losses):.2%} in the mean,"
                f" {max(losses):.2%} at worst"
            )
    for order, answer in results:
        assert order.worth <= answer.bound + ROUNDING
    assert proven
    assert np.mean(proven) <= MEAN_LOSS
    assert max(proven) <= WORST_LOSS


@pytest.mark.benchmark
def test_two_nights_against_the_exact_solver() -> None:
    """The promise, on a small part of the nights."""
    check(against_the_solver(NIGHTS[::20], (20, 40), hours=2.0, seconds=5.0))


@pytest.mark.slow
def test_all_nights_against_the_exact_solver() -> None:
    """Two hours from dusk, 20 targets to all: the promise, and a proof for half of them or more."""
    results = against_the_solver(NIGHTS, SIZES, hours=2.0, seconds=5.0)
    check(results)
    assert sum(answer.proven for _, answer in results) >= len(NIGHTS) / 2


@pytest.mark.slow
def test_long_sessions_against_the_bound() -> None:
    """Four hours with breaks: the gap to the bound is printed; no order passes it."""
    for order, answer in against_the_solver(NIGHTS[::7], (40, 80), hours=4.0, seconds=5.0):
        assert 0.0 < order.worth <= answer.bound + ROUNDING


@pytest.mark.parametrize("seed", range(6))
def test_the_solver_finds_what_trying_everything_finds(seed: int) -> None:
    """Five targets in every order: the same worth, with breaks, flips and cooling."""
    candidates, session = five(seed)
    everything = [
        play(candidates, session, np.array(rows, dtype=np.intp)).worth
        for count in range(6)
        for rows in permutations(range(5), count)
    ]
    answer = solve(Pace(candidates, session), [], seconds=10.0)
    assert answer.proven
    assert_allclose(answer.worth, max(everything), atol=ROUNDING)


def five(seed: int) -> tuple[Candidates, Session]:
    """Return five targets with long looks, for a session in which one needs a break."""
    random = np.random.default_rng(seed)
    steps, count = 49, 5
    from_step = random.integers(0, 20, count)[:, None]
    time = np.arange(steps)
    azimuth = (random.uniform(0.0, 360.0, (count, 1)) + 1.25 * time) % 360.0
    codes = random.integers(0, 2, (5, count))
    candidates = Candidates(
        quality=random.uniform(0.2, 1.0, (count, steps)),
        open=(time >= from_step) & (time < from_step + random.integers(8, 40, count)[:, None]),
        dwell_min=random.choice([20.0, 30.0, 40.0], count),
        altitude_deg=np.repeat(random.uniform(20.0, 80.0, (count, 1)), steps, axis=1),
        azimuth_deg=azimuth,
        kind=codes[0],
        dazzling=codes[1] == 1,
        faint=codes[1] == 0,
        eyepiece=codes[2],
        barrel=codes[3],
        amplifier=codes[4],
        filter=codes[2],
        mass_g=random.uniform(100.0, 700.0, count),
        high_power=codes[3] == 1,
        finding_min=np.full(count, np.nan),
    )
    flips = bool(seed % 2)
    return candidates, Session(240.0, 5.0, flips, 250.0, cooled_min=20.0, flips=flips)


@pytest.mark.benchmark
def test_time_of_an_order() -> None:
    """A few nights, all targets of each."""
    print_times(NIGHTS[::12], hours=4.0)


@pytest.mark.slow
@pytest.mark.parametrize("hours", [4.0, 8.0])
def test_time_of_an_order_on_any_night(hours: float) -> None:
    """All nights, all targets of each; few stay longer than eight hours."""
    print_times(NIGHTS, hours=hours)


def print_times(nights: Sequence[tuple[str, str, str]], *, hours: float) -> None:
    """Time the first order, and those that follow when a cloud comes after each look."""
    first, again, targets = [], [], []
    for night in nights:
        found = real_session(*night, hours=hours)
        targets.append(int(found.candidates.open.any(axis=1).sum()))
        order_looks(found.candidates, found.session)
        first.append(taken_ms(found.candidates, found.session, Beginning()))
        slots = order_looks(found.candidates, found.session).slots
        for number, slot in enumerate(slots[:-1], start=1):
            away = np.abs(found.candidates.azimuth_deg - 45.0 * (number % 8)) > 45.0
            clouded = replace(found.candidates, open=found.candidates.open & away)
            done = tuple(before.row for before in slots[:number])
            again.append(taken_ms(clouded, found.session, Beginning(slot.end_min, 0.0, done)))
    altitudes = altitude_pass_ms()
    print(f"\n{hours:g} hours, {len(nights)} nights, {min(targets)} to {max(targets)} targets up:")
    for times, what in ((first, "first order"), (again, "order again")):
        half, most = np.percentile(times, [50.0, 95.0])
        print(
            f"{what}: {half:.0f} ms, 95 % within {most:.0f} ms;"
            f" {half / altitudes:.2f} and {most / altitudes:.2f} of the catalogue's altitude pass"
            f" of {altitudes:.0f} ms"
        )


def taken_ms(candidates: Candidates, session: Session, beginning: Beginning) -> float:
    """Return the processor time of one order [ms]."""
    begun = process_time()
    order_looks(candidates, session, beginning)
    return 1e3 * (process_time() - begun)


def altitude_pass_ms() -> float:
    """Return the processor time of the whole catalogue's altitudes through a night [ms]."""
    ephemeris, catalogue = load_ephemeris(), load_catalogue()
    grid = track_night(ephemeris, find_night(ephemeris, SITES["51 N"], date(2026, 11, 25)))
    times = []
    for _ in range(5):
        begun = process_time()
        grid.altitudes(catalogue.ra_deg, catalogue.dec_deg)
        times.append(1e3 * (process_time() - begun))
    return median(times)
