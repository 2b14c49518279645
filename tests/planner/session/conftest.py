"""Nights under way for the tests of sessions, and what must hold of every state."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from functools import cache, cached_property
from itertools import pairwise

import numpy as np
import pytest

from planner.config.conditions import conditions_tonight
from planner.config.preferences import default_preferences
from planner.config.settings import example_settings
from planner.ephemeris.almanac import find_night
from planner.ephemeris.kernel import load_ephemeris
from planner.matcher.train_table import tabulate_trains
from planner.matcher.trains import make_trains
from planner.model.kit import Mount
from planner.model.plan import Plan
from planner.model.site import Site
from planner.planning.circumstances import STEP_MIN, Circumstances, Wishes
from planner.planning.plan import plan_night
from planner.session.course import begin_session, tick
from planner.session.night import SurveyedNight, survey_night
from planner.session.state import (
    CloudKind,
    PauseKind,
    SessionState,
    Status,
)
from planner.session.state_json import from_json, to_json
from targets.catalogue.catalogue import load_catalogue

# The sky turns by this much from one step to the next, so that a target may cut the corner of a
# cloud sector between two of them [deg].
ONE_STEP_DEG = STEP_MIN * 0.2507

EXAMPLE = example_settings(today=date(2026, 3, 1))
SOUTH = Site("Southern hills", -33.9, 150.5, 300.0, "Australia/Sydney", 21.5)
# Site, evening, hours, whether the telescope is driven on an equatorial mount.
NIGHTS = {
    "spring": (EXAMPLE.sites[0], "2026-03-18", 4.0, False),
    "winter": (EXAMPLE.sites[0], "2026-12-10", 6.0, False),
    "southern": (SOUTH, "2026-07-14", 3.0, True),
    "moonlit": (EXAMPLE.sites[0], "2026-10-24", 3.0, False),
}


@dataclass(frozen=True)
class Evening:
    """A night with its plan, at its start."""

    night: SurveyedNight
    plan: Plan

    @cached_property
    def begun(self) -> SessionState:
        """The session at its first minute."""
        return begin_session(self.night, self.plan, self.plan.start)[0]

    def after(self, minutes: float) -> datetime:
        """Return the time so many minutes after the start."""
        return self.plan.start + timedelta(minutes=minutes)

    def at(self, minutes: float) -> SessionState:
        """Return the session so many minutes after its start, with nothing done yet."""
        return tick(self.night, self.begun, self.after(minutes))[0]


def circumstances(site: Site, *, driven: bool) -> Circumstances:
    """Return the example's observer and kit at a site."""
    telescope = EXAMPLE.kit.telescopes[0]
    if driven:
        telescope = replace(telescope, mount=Mount.EQUATORIAL, driven=True, balance_g=None)
    return Circumstances(
        observer=EXAMPLE.observer,
        telescope=telescope,
        table=tabulate_trains(make_trains(telescope, EXAMPLE.kit)),
        conditions=conditions_tonight(site, EXAMPLE.observer),
        preferences=default_preferences(),
    )


def make_evening(
    site: Site, evening: str, hours: float, *, driven: bool = False, wishes: Wishes | None = None
) -> Evening:
    """Plan a session from civil dusk on."""
    catalogue, ephemeris = load_catalogue(), load_ephemeris()
    night = find_night(ephemeris, site, date.fromisoformat(evening))
    assert night.civil_dusk is not None
    start = night.civil_dusk.replace(second=0, microsecond=0)
    what = {
        "start": start,
        "end": start + timedelta(hours=hours),
        "circumstances": circumstances(site, driven=driven),
        "wishes": wishes or Wishes(),
    }
    plan = plan_night(catalogue, ephemeris, night, **what)
    also = tuple(look.target.id for look in plan.looks)
    return Evening(survey_night(catalogue, ephemeris, night, **what, also=also), plan)


@cache
def known_evening(name: str) -> Evening:
    """Return one of the known nights."""
    site, evening, hours, driven = NIGHTS[name]
    return make_evening(site, evening, hours, driven=driven)


@pytest.fixture(scope="session")
def evening_of() -> Callable[[str], Evening]:
    """Return a known night by its name."""
    return known_evening


@pytest.fixture(scope="session")
def new_evening() -> Callable[..., Evening]:
    """Plan another night."""
    return make_evening


@pytest.fixture(scope="session")
def garden() -> Site:
    """Return the example's site."""
    return EXAMPLE.sites[0]


@pytest.fixture(scope="session")
def spring(evening_of: Callable[[str], Evening]) -> Evening:
    """Four hours of a moonless spring night."""
    return evening_of("spring")


def faults_of(night: SurveyedNight, state: SessionState) -> list[str]:
    """Find what must not be, by other means than the program's own."""
    faults = []
    timed = [look for look in state.looks if look.counts]
    spans = [(look.start, look.end, look.name) for look in timed]
    spans += [(p.start, p.end, "break") for p in state.pauses if p.kind is PauseKind.BREAK]
    for before, after in pairwise(sorted(spans)):
        if after[0] < before[1]:
            faults.append(f"{after[2]} begins before {before[2]} ends")
    if len({look.target_id for look in state.looks}) < len(state.looks):
        faults.append("a target comes twice")
    for look in state.waiting:
        if not max(state.start, state.clock) <= look.start < look.end <= state.end:
            faults.append(f"{look.name} waits outside of the session")
        if look.target_id in state.vetoed:
            faults.append(f"{look.name} is vetoed")
    for look in state.with_status(Status.NOW, Status.WAITING):
        faults += _window_faults(night, state, look)
    if from_json(to_json(state)) != state:
        faults.append("it does not survive serialising")
    return faults


def _window_faults(night: SurveyedNight, state: SessionState, look: object) -> list[str]:
    """Look at a look minute by minute, between the steps too."""
    start, end, name = look.start, look.end, look.name  # type: ignore[attr-defined]
    row = night.row_of[look.target_id]  # type: ignore[attr-defined]
    minutes = np.arange(night.minute(start), night.minute(end) + 1e-6)
    steps = minutes / STEP_MIN
    grid = np.arange(len(night.roster.grid.unix_s))
    is_open = night.roster.windows.open[row]
    touched = is_open[int(np.floor(steps[0])) : int(np.ceil(steps[-1])) + 1]
    faults = [] if touched.all() else [f"{name} is outside of its window"]
    azimuth = np.interp(
        steps, grid, np.degrees(np.unwrap(np.radians(night.roster.tracks.azimuth_deg[row])))
    )
    altitude = np.interp(steps, grid, night.roster.tracks.altitude_deg[row])
    for closure in state.closures:
        if closure.kind is not CloudKind.SOLID:
            continue
        since = night.minute(closure.since)
        until = night.minute(closure.until) if closure.until else np.inf
        middle = closure.azimuth_from_deg
        width = (closure.azimuth_to_deg - closure.azimuth_from_deg) % 360.0
        if width:
            middle += width / 2.0
            aside = np.abs((azimuth - middle + 180.0) % 360.0 - 180.0)
            # Near the zenith azimuth runs fast: the margin is one on the sky.
            margin = ONE_STEP_DEG / np.cos(np.radians(np.minimum(altitude, 89.0)))
            toward = aside < width / 2.0 - margin
        else:
            toward = np.ones(len(azimuth), dtype=bool)
        low, high = closure.altitude_low_deg, closure.altitude_high_deg
        up = (altitude > low + ONE_STEP_DEG) & ((altitude < high - ONE_STEP_DEG) | (high >= 90.0))
        if (toward & up & (minutes >= since) & (minutes < until)).any():
            faults.append(f"{name} is behind cloud")
    return faults


@pytest.fixture(scope="session")
def faults() -> Callable[[SurveyedNight, SessionState], list[str]]:
    """Return what finds the faults of a state."""
    return faults_of
