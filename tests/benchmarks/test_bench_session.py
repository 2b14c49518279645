"""How long an observer in the dark waits for a new plan.

Run ``pytest -m benchmark -s tests/benchmarks/test_bench_session.py`` to see the figures.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from time import perf_counter
from typing import Any

import numpy as np
import pytest

from planner.config.conditions import conditions_tonight
from planner.config.preferences import default_preferences
from planner.config.settings import example_settings
from planner.ephemeris.almanac import find_night
from planner.ephemeris.kernel import load_ephemeris
from planner.matcher.train_table import tabulate_trains
from planner.matcher.trains import make_trains
from planner.planning.circumstances import Circumstances, Wishes
from planner.planning.plan import plan_night
from planner.session.cloud_sectors import DIRECTIONS
from planner.session.course import begin_session, tick
from planner.session.moves.clouds import cleared, cloud_here
from planner.session.moves.looks import done, skip
from planner.session.moves.times import running_late, take_break
from planner.session.night import SurveyedNight, survey_night
from planner.session.offers import best_in_focuser, offers_by_group
from planner.session.state import CloudKind, SessionState
from planner.session.state_json import from_json, to_json
from targets.catalogue.catalogue import load_catalogue


def prepared(hours: float) -> tuple[SurveyedNight, SessionState]:
    """Plan a December night."""
    settings = example_settings(today=date(2026, 3, 1))
    site, telescope = settings.sites[0], settings.kit.telescopes[0]
    catalogue, ephemeris = load_catalogue(), load_ephemeris()
    night = find_night(ephemeris, site, date(2026, 12, 10))
    assert night.civil_dusk is not None
    what: dict[str, Any] = {
        "start": night.civil_dusk,
        "end": night.civil_dusk + timedelta(hours=hours),
        "circumstances": Circumstances(
            settings.observer,
            telescope,
            tabulate_trains(make_trains(telescope, settings.kit)),
            conditions_tonight(site, settings.observer),
            default_preferences(),
        ),
        "wishes": Wishes(),
    }
    plan = plan_night(catalogue, ephemeris, night, **what)
    field = survey_night(catalogue, ephemeris, night, **what)
    return field, begin_session(field, plan, plan.start)[0]


def moves_of(night: SurveyedNight) -> list[tuple[str, Callable[..., Any]]]:
    """Return moves that each ask for a new plan."""
    solid = [
        (f"cloud {part}", lambda s, now, part=part: cloud_here(night, s, now, direction=part))
        for part in DIRECTIONS
    ]
    return [
        *solid,
        ("cleared", lambda s, now: cleared(night, s, now)),
        ("thin", lambda s, now: cloud_here(night, s, now, kind=CloudKind.THIN)),
        ("late", lambda s, now: running_late(night, s, now, 12.0)),
        ("break", lambda s, now: take_break(night, s, now, 15.0)),
        ("skip", lambda s, now: skip(night, s, now)),
        ("done early", lambda s, now: done(night, s, now)),
    ]


@pytest.mark.benchmark
@pytest.mark.parametrize("hours", [4.0, 8.0, 13.0])
def test_a_new_plan_comes_at_once(hours: float) -> None:
    """Twenty kinds of news at eight moments of the night."""
    night, state = prepared(hours)
    times_ms, worst = [], (0.0, "")
    for minutes in np.linspace(5.0, hours * 40.0, 8):
        now = state.start + timedelta(minutes=float(minutes))
        here, _ = tick(night, state, now)
        for name, move in moves_of(night):
            begun = perf_counter()
            move(here, now)
            times_ms.append((perf_counter() - begun) * 1e3)
            worst = max(worst, (times_ms[-1], name))
    p50, p95 = np.percentile(times_ms, [50, 95])
    print(
        f"\n{hours:g} h, {len(times_ms)} moves: p50 {p50:.1f} ms, p95 {p95:.1f} ms, "
        f"worst {worst[0]:.1f} ms ({worst[1]})"
    )


@pytest.mark.benchmark
def test_swaps_and_files_come_at_once() -> None:
    """What is best now, and a state to JSON and back."""
    night, state = prepared(8.0)
    here, _ = tick(night, state, state.start + timedelta(hours=2))
    for look_for in (best_in_focuser, offers_by_group):
        begun = perf_counter()
        look_for(night, here, here.clock)
        print(f"\n{look_for.__name__}: {(perf_counter() - begun) * 1e3:.1f} ms", end="")
    for _ in range(50):
        here, _ = take_break(night, here, here.clock + timedelta(minutes=2), 1.0)
    begun = perf_counter()
    text = to_json(here)
    written_ms = (perf_counter() - begun) * 1e3
    begun = perf_counter()
    assert from_json(text) == here
    read_ms = (perf_counter() - begun) * 1e3
    print(
        f"\na state with its whole past: {len(text) / 1e3:.0f} kB, written in {written_ms:.1f} ms, "
        f"read in {read_ms:.1f} ms"
    )
