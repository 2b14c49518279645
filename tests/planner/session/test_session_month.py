"""A month of nights under random cloud: what planning anew saves against the plan on paper.

Both observers meet with the same clouds, delays and breaks, and a look counts when half of its
length was clear. The one with the paper works through it in order, each look at its time or as soon
after it as the delays allow, and waits when it is hidden. What is planned anew goes for worth, not
for the number of looks: both are told.

``pytest tests/planner/session/test_session_month.py -m benchmark -s`` plays the whole month; by
default three of its nights are played.
"""

from __future__ import annotations

import random
import sys
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from time import perf_counter
from typing import Any

import numpy as np
import pytest

from planner.planning.candidates import candidates_of
from planner.planning.circumstances import STEP_MIN
from planner.session.cloud_sectors import find_sector
from planner.session.course import tick
from planner.session.moves.clouds import LOSS_MAG, cleared, cloud_here
from planner.session.moves.looks import done, skip
from planner.session.moves.times import running_late, take_break
from planner.session.open_sky import under_clouds
from planner.session.state import Closure, CloudKind, SessionState, Status

MINUTE = timedelta(minutes=1)
PARTS = ("N", "NE", "E", "SE", "S", "SW", "W", "NW", "west half", "south half", "east half", "all")
BANDS = ("all", "all", "low", "middle", "high")
# Minutes from one cloud to the next, and how long one stays; the rest are shares of the looks.
BETWEEN_CLOUDS_MIN, CLOUD_MIN = 35.0, 40.0
LONGEST_WAY = timedelta(minutes=8)
SHARE_LATE, SHARE_SKIPPED, SHARE_BREAK = 0.25, 0.05, 0.05


@dataclass
class Weather:
    """The clouds of a night as they really come and go, with the names of their parts."""

    clouds: list[tuple[str, str, Closure]] = field(default_factory=list)

    @property
    def closures(self) -> tuple[Closure, ...]:
        """All of them."""
        return tuple(cloud for _, _, cloud in self.clouds)


def dice_of(seed: int) -> random.Random:
    """Return dice that fall alike every time."""
    return random.Random(seed)  # noqa: S311  # no secret


def random_weather(dice: random.Random, start: datetime, end: datetime) -> Weather:
    """Let clouds come at random."""
    weather, now = Weather(), start
    while True:
        now += dice.expovariate(1.0 / BETWEEN_CLOUDS_MIN) * MINUTE
        if now >= end:
            return weather
        direction, band = dice.choice(PARTS), dice.choice(BANDS)
        if any(
            (direction, band) == (d, b) and now < c.until for d, b, c in weather.clouds if c.until
        ):
            continue
        kind = CloudKind.SOLID if dice.random() < 0.65 else CloudKind.THIN
        sector = find_sector(direction, band)
        assert not isinstance(sector, str)
        until = now + max(dice.expovariate(1.0 / CLOUD_MIN), 2.0) * MINUTE
        cloud = Closure(*sector, kind, LOSS_MAG[kind], now, until)
        weather.clouds.append((direction, band, cloud))


class Truth:
    """What could really be seen."""

    def __init__(self, evening: Any, weather: Weather) -> None:
        night = self.night = evening.night
        clear, loss = under_clouds(night, weather.closures, night.roster, 0)
        moments = replace(night.roster.moments, loss_mag=night.roster.moments.loss_mag + loss)
        self.roster = replace(night.roster, moments=moments)
        self.open = night.roster.windows.open & clear
        self.worth: dict[tuple[int, int], np.ndarray] = {}

    def worth_of(self, name: str, train: Any, start: datetime, length: timedelta) -> float:
        """Return what a look was worth; 0 when under half of it was clear, or under 0.08."""
        row, column = self.night.row_of[name], self.night.column_of[train]
        first = int(self.night.minute(start) // STEP_MIN)
        half = int(self.night.minute(start + length / 2) // STEP_MIN)
        if (row, column) not in self.worth:
            columns = self.night.columns.copy()
            columns[row] = column
            share = self.night.shares[np.arange(len(columns)), columns]
            worths = candidates_of(self.roster, self.night.circumstances, columns, share).quality
            self.worth[row, column] = worths[row]
        worth = float(self.worth[row, column][half])
        return worth if self.open[row, first : half + 1].all() and worth >= 0.08 else 0.0


@dataclass
class Played:
    """What came of a night: the worth of each look that was worth anything, on paper and live."""

    paper: list[float] = field(default_factory=list)
    live: list[float] = field(default_factory=list)
    moves: int = 0
    times_s: list[float] = field(default_factory=list)


@dataclass(frozen=True)
class Trouble:
    """What comes between an observer and a look: it is skipped, late to begin, or takes longer."""

    kind: str
    minutes: float = 0.0


def trouble_at(seed: int, target_id: str) -> Trouble:
    """Return what comes between an observer and a target, the same on paper and live."""
    dice = random.Random(f"{seed} {target_id}")  # noqa: S311  # no secret
    chance, longer = dice.random(), dice.uniform(3.0, 15.0)
    if chance < SHARE_SKIPPED:
        return Trouble("skip")
    if chance < SHARE_SKIPPED + SHARE_BREAK:
        return Trouble("break", 10.0)
    if chance < SHARE_SKIPPED + 2 * SHARE_BREAK:
        return Trouble("late", 8.0)
    if chance < SHARE_SKIPPED + 2 * SHARE_BREAK + SHARE_LATE:
        return Trouble("longer", longer)
    return Trouble("none")


def follow_paper(evening: Any, truth: Truth, seed: int) -> list[float]:
    """Work through the plan as printed, its breaks too; what is hidden is waited out and lost."""
    seen, free, before = [], evening.plan.start, evening.plan.start
    pauses = list(evening.plan.breaks)
    for look, row in zip(evening.plan.looks, evening.begun.looks, strict=True):
        trouble, way = trouble_at(seed, look.target.id), look.start - before
        while pauses and pauses[0][0] < look.start:
            begin, finish = pauses.pop(0)
            free, way = max(free, begin) + (finish - begin), way - (finish - begin)
        # Finding, slewing and changing take as long as planned; more than that was waiting.
        start = max(look.start, free + min(way, LONGEST_WAY))
        before = look.end
        if trouble.kind in {"break", "late"}:
            start += trouble.minutes * MINUTE
        length = look.end - look.start
        if trouble.kind == "skip" or start + length > evening.plan.end:
            continue
        worth = truth.worth_of(look.target.id, row.train, start, length)
        if worth:
            seen.append(worth)
            longer = trouble.minutes if trouble.kind == "longer" else 0.0
            free = start + length + longer * MINUTE
    return seen


class Live:
    """An observer who tells the session what happens."""

    def __init__(self, evening: Any, weather: Weather, seed: int, faults: Any) -> None:
        self.evening, self.seed, self.faults = evening, seed, faults
        self.dice = dice_of(seed)
        self.begun: set[str] = set()
        self.state: SessionState = evening.begun
        self.played = Played()
        self.events: list[tuple[datetime, Callable[[datetime], Any]]] = []
        for direction, band, cloud in weather.clouds:
            self._expect(direction, band, cloud)
        self.events.sort(key=lambda event: event[0])

    def _expect(self, direction: str, band: str, cloud: Closure) -> None:
        where = {"direction": direction, "band": band}
        # When all the sky is said to be clear, other clouds are forgotten too.
        night, told = self.evening.night, self.dice.random() < 0.5 or direction == band
        until = cloud.until if told else None
        self.events.append(
            (
                cloud.since,
                lambda now: cloud_here(
                    night, self.state, now, kind=cloud.kind, until=until, **where
                ),
            )
        )
        if not told and cloud.until is not None:
            self.events.append((cloud.until, lambda now: cleared(night, self.state, now, **where)))

    def make(self, move: Callable[..., Any], now: datetime, *args: Any) -> None:
        """Make a move, time it, and prove that the state holds."""
        begun = perf_counter()
        self.state, _ = move(self.evening.night, self.state, now, *args)
        self.played.times_s.append(perf_counter() - begun)
        self._prove()

    def _prove(self) -> None:
        self.played.moves += 1
        assert self.faults(self.evening.night, self.state) == []

    def play(self) -> None:
        """Go through the night minute by minute."""
        now, end = self.evening.plan.start, self.evening.plan.end
        at_work, due = None, None
        while now < end:
            while self.events and self.events[0][0] <= now:
                at, happen = self.events.pop(0)
                begun = perf_counter()
                self.state, _ = happen(at)
                self.played.times_s.append(perf_counter() - begun)
                self._prove()
            self.make(tick, now)
            look = self.state.now
            if look is not None and look.target_id != at_work:
                at_work, due = look.target_id, look.end + self._trouble(look.target_id, now)
            elif look is not None and due is not None and now >= due:
                self.make(done, now)
                at_work = None
            now += MINUTE

    def _trouble(self, name: str, now: datetime) -> timedelta:
        """Meet with trouble as a look begins, once each; give by how much it takes longer."""
        trouble = Trouble("none") if name in self.begun else trouble_at(self.seed, name)
        self.begun.add(name)
        if trouble.kind == "skip":
            self.make(skip, now)
        elif trouble.kind == "break":
            self.make(take_break, now, trouble.minutes)
        elif trouble.kind == "late":
            self.make(running_late, now, trouble.minutes)
        return trouble.minutes * MINUTE if trouble.kind == "longer" else timedelta()


def play_night(evening: Any, seed: int, faults: Any) -> Played:
    """Play one night twice under the same clouds: on paper and live."""
    dice = dice_of(seed)
    weather = random_weather(dice, evening.plan.start, evening.plan.end)
    truth = Truth(evening, weather)
    live = Live(evening, weather, seed + 1, faults)
    live.play()
    live.played.paper = follow_paper(evening, truth, seed + 1)
    worths = [
        truth.worth_of(look.target_id, look.train, look.start, evening.night.dwell(look.target_id))
        for look in live.state.with_status(Status.DONE)
    ]
    live.played.live = [worth for worth in worths if worth]
    return live.played


def report(nights: list[Played]) -> str:
    """Say what came of some nights."""
    paper, live = [w for n in nights for w in n.paper], [w for n in nights for w in n.live]
    times_ms = 1e3 * np.array([time for n in nights for time in n.times_s])
    slow = times_ms[times_ms > 5.0]
    p50, p95 = np.percentile(times_ms, [50, 95])
    slow50, slow95 = np.percentile(slow, [50, 95])
    return (
        f"{len(nights)} nights, {sum(n.moves for n in nights)} moves: {len(paper)} worthwhile "
        f"looks on paper, {len(live)} planned anew ({len(live) - len(paper):+d}); worth "
        f"{sum(paper):.1f} and {sum(live):.1f} ({sum(live) / sum(paper) - 1:+.0%}); moves "
        f"p50 {p50:.1f} ms, p95 {p95:.1f} ms; those that plan anew p50 {slow50:.1f} ms, p95 "
        f"{slow95:.1f} ms\n"
    )


@pytest.mark.parametrize(
    "day", [5, *(pytest.param(day, marks=pytest.mark.slow) for day in (12, 15))]
)
def test_a_cloudy_night_planned_anew_breaks_nothing(
    day: int, new_evening: Callable[..., Any], garden: Any, faults: Any
) -> None:
    """One night, and more when asked for: every state holds, whatever comes."""
    night = play_night(new_evening(garden, f"2026-10-{day:02d}", 3.0), day, faults)
    sys.stdout.write(report([night]))
    assert night.moves > 150
    assert night.live


@pytest.mark.benchmark
def test_a_month_planned_anew(
    request: pytest.FixtureRequest, new_evening: Callable[..., Any], garden: Any, faults: Any
) -> None:
    """Thirty nights of four hours."""
    if "benchmark" not in str(request.config.option.markexpr):
        pytest.skip("minutes long; chosen by -m benchmark")
    first = date(2026, 10, 1)
    nights = []
    for n in range(30):
        evening = new_evening(garden, str(first + timedelta(days=n)), 4.0)
        nights.append(play_night(evening, 1000 + n, faults))
    sys.stdout.write(report(nights))
    assert sum(n.moves for n in nights) > 5000
    assert sum(sum(n.live) for n in nights) > sum(sum(n.paper) for n in nights)
