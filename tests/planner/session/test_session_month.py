"""A month of nights under random cloud: what planning anew saves against the plan on paper.

The paper plan is flattered: its observer knows at once what is hidden, loses no time on it and is
never interrupted by cloud. What is planned anew goes for worth, not for the number of looks, and
its observer is told of clouds only as they come. The count is printed, not promised.

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

from planner.open_sky import under_clouds
from planner.planning import STEP_MIN
from planner.prospects import candidates_of
from planner.sectors import find_sector
from planner.session import done, running_late, skip, take_break, tick
from planner.session_clouds import LOSS_MAG, cleared, cloud_here
from planner.session_state import Closure, CloudKind, SessionLook, SessionState, Status
from planner.worth import LEAST_WORTH

MINUTE = timedelta(minutes=1)
PARTS = ("N", "NE", "E", "SE", "S", "SW", "W", "NW", "west half", "south half", "east half", "all")
BANDS = ("all", "all", "low", "middle", "high")
# Minutes from one cloud to the next, and how long one stays; the rest are shares of the looks.
BETWEEN_CLOUDS_MIN, CLOUD_MIN = 35.0, 40.0
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
    """Give dice that fall alike every time."""
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
        clear, loss = under_clouds(night, weather.closures, night.field, 0)
        moments = replace(night.field.moments, loss_mag=night.field.moments.loss_mag + loss)
        self.field = replace(night.field, moments=moments)
        self.open = night.field.windows.open & clear
        self.worth: dict[tuple[int, int], np.ndarray] = {}

    def sees(self, name: str, train: Any, start: datetime, end: datetime) -> bool:
        """Tell whether a look was worth it: open sky for its whole length, and bright enough."""
        row, column = self.night.row_of[name], self.night.column_of[train]
        first = int(self.night.minute(start) // STEP_MIN)
        last = int(-(-self.night.minute(end) // STEP_MIN))
        if (row, column) not in self.worth:
            columns = self.night.columns.copy()
            columns[row] = column
            share = self.night.shares[np.arange(len(columns)), columns]
            worths = candidates_of(self.field, self.night.circumstances, columns, share).quality
            self.worth[row, column] = worths[row]
        worth = self.worth[row, column][(first + last) // 2]
        return bool(self.open[row, first : last + 1].all() and worth >= LEAST_WORTH)


@dataclass
class Played:
    """What came of a night."""

    paper: int = 0
    live: int = 0
    moves: int = 0
    times_s: list[float] = field(default_factory=list)


@dataclass(frozen=True)
class Trouble:
    """What comes between an observer and a look: it is skipped, late to begin, or takes longer."""

    kind: str
    minutes: float = 0.0


def random_troubles(dice: random.Random) -> list[Trouble]:
    """Give one for each look that an observer begins, the same for paper and for live."""
    troubles = []
    for _ in range(60):
        chance, longer = dice.random(), dice.uniform(3.0, 15.0)
        if chance < SHARE_SKIPPED:
            troubles.append(Trouble("skip"))
        elif chance < SHARE_SKIPPED + SHARE_BREAK:
            troubles.append(Trouble("break", 10.0))
        elif chance < SHARE_SKIPPED + 2 * SHARE_BREAK:
            troubles.append(Trouble("late", 8.0))
        elif chance < SHARE_SKIPPED + 2 * SHARE_BREAK + SHARE_LATE:
            troubles.append(Trouble("longer", longer))
        else:
            troubles.append(Trouble("none"))
    return troubles


def follow_paper(evening: Any, truth: Truth, troubles: list[Trouble]) -> int:
    """Work through the plan as printed; what is hidden when its time comes costs no time at all."""
    seen, free = 0, evening.plan.start
    for look, row, trouble in zip(evening.plan.looks, evening.begun.looks, troubles, strict=False):
        start = max(look.start, free)
        if trouble.kind == "break":
            start += trouble.minutes * MINUTE
        end = start + (look.end - look.start)
        if trouble.kind == "skip" or end > evening.plan.end:
            continue
        if truth.sees(look.target.id, row.train, start, end):
            seen += 1
            longer = trouble.minutes if trouble.kind in {"longer", "late"} else 0.0
            free = end + (longer + 3.0) * MINUTE
    return seen


class Live:
    """An observer who tells the session what happens."""

    def __init__(self, evening: Any, weather: Weather, dice: random.Random, faults: Any) -> None:
        self.evening, self.dice, self.faults = evening, dice, faults
        self.troubles = iter(random_troubles(dice))
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
        now, end, due = self.evening.plan.start, self.evening.plan.end, None
        while now < end:
            while self.events and self.events[0][0] <= now:
                at, happen = self.events.pop(0)
                begun = perf_counter()
                self.state, _ = happen(at)
                self.played.times_s.append(perf_counter() - begun)
                self._prove()
            before = self.state.now
            self.make(tick, now)
            look = self.state.now
            if look is not None and (before is None or before.target_id != look.target_id):
                due = look.end + self._trouble(look.target_id, now)
            elif look is not None and due is not None and now >= due:
                self.make(done, now)
            now += MINUTE

    def _trouble(self, name: str, now: datetime) -> timedelta:
        """Meet with trouble as a look begins, once each; give by how much it takes longer."""
        trouble = Trouble("none") if name in self.begun else next(self.troubles)
        self.begun.add(name)
        if trouble.kind == "skip":
            self.make(skip, now)
        elif trouble.kind == "break":
            self.make(take_break, now, trouble.minutes)
        elif trouble.kind == "late":
            self.make(running_late, now, trouble.minutes)
        return trouble.minutes * MINUTE if trouble.kind == "longer" else timedelta()


def was_seen(look: SessionLook, truth: Truth, dwell: timedelta) -> bool:
    """Count a look for its own length; what it took longer is the observer's."""
    end = min(look.end, look.start + dwell)
    return truth.sees(look.target_id, look.train, look.start, end)


def play_night(evening: Any, seed: int, faults: Any) -> Played:
    """Play one night twice under the same clouds: on paper and live."""
    dice = dice_of(seed)
    weather = random_weather(dice, evening.plan.start, evening.plan.end)
    truth = Truth(evening, weather)
    live = Live(evening, weather, dice_of(seed + 1), faults)
    live.play()
    live.played.paper = follow_paper(evening, truth, random_troubles(dice_of(seed + 1)))
    classes = evening.night.circumstances.preferences.classes
    codes = evening.night.field.subjects.class_code
    for look in live.state.with_status(Status.DONE):
        row = evening.night.row_of[look.target_id]
        dwell = classes[codes[row]].dwell_minutes * MINUTE
        live.played.live += was_seen(look, truth, dwell)
    return live.played


def report(nights: list[Played]) -> str:
    """Say what came of some nights."""
    paper, live = sum(n.paper for n in nights), sum(n.live for n in nights)
    times_ms = 1e3 * np.array([time for n in nights for time in n.times_s])
    slow = times_ms[times_ms > 5.0]
    p50, p95 = np.percentile(times_ms, [50, 95])
    slow50, slow95 = np.percentile(slow, [50, 95])
    return (
        f"{len(nights)} nights, {sum(n.moves for n in nights)} moves: {paper} worthwhile looks on "
        f"paper, {live} planned anew, {live - paper:+d} ({live / max(paper, 1) - 1:+.0%}); moves "
        f"p50 {p50:.1f} ms, p95 {p95:.1f} ms; those that plan anew p50 {slow50:.1f} ms, p95 "
        f"{slow95:.1f} ms\n"
    )


def test_a_cloudy_night_planned_anew_breaks_nothing(
    new_evening: Callable[..., Any], garden: Any, faults: Any
) -> None:
    """Three nights of a month: every state holds, and more is seen than by the paper plan."""
    nights = [
        play_night(new_evening(garden, f"2026-10-{day:02d}", 3.0), day, faults)
        for day in (5, 12, 15)
    ]
    sys.stdout.write(report(nights))
    assert sum(n.moves for n in nights) > 500
    assert sum(n.live for n in nights) > sum(n.paper for n in nights)


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
