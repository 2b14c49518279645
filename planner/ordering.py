"""Puts looks in order: which target when, with no overlap and room for slewing and changes."""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

# Minutes, common practice: finding a target, a slew across 90 degrees of sky, a change.
FINDING_DRIVEN_MIN = 1.5
FINDING_BY_HAND_MIN = 3.0
SLEW_MIN_PER_90_DEG = 1.0
EYEPIECE_CHANGE_MIN = 1.0
BARREL_CHANGE_MIN = 0.5
FILTER_CHANGE_MIN = 1.0
AMPLIFIER_CHANGE_MIN = 0.5
REBALANCE_MIN = 1.5
BREAK_MIN = 12.0
BREAK_AFTER_MIN = 90.0

# The rest is our choice. Worth lost for each minute that is not spent at the eyepiece, a showpiece
# at its best being worth 1.
WORTH_PER_MIN = 0.01
# Each further target of one kind is worth this share of the one before.
VARIETY = 0.94
# How many of the most promising targets are tried; the others are worth less than all of these.
TRIED = 80
# Rounds of taking looks out and putting better ones in.
ROUNDS = 2
# A change counts as better when the night gains more than this.
GAIN = 1e-6


@dataclass(frozen=True, slots=True)
class Candidates:
    """N targets that may be looked at, at T steps of ``step_min`` minutes.

    Parameters
    ----------
    quality : ndarray
        Worth of a look that is centred on that step, shape (N, T); 0 outside the window.
    open : ndarray of bool
        Window, shape (N, T).
    dwell_min : ndarray
        Length of a look [min], shape (N,).
    altitude_deg, azimuth_deg : ndarray
        Shape (N, T) [deg].
    kind : ndarray of int
        For variety, shape (N,).
    eyepiece, barrel, amplifier, filter : ndarray of int
        What is in the focuser, as codes, shape (N,).
    mass_g : ndarray
        On the focuser, shape (N,) [g]; NaN when not stated.
    """

    quality: Floats
    open: NDArray[np.bool_]
    dwell_min: Floats
    altitude_deg: Floats
    azimuth_deg: Floats
    kind: NDArray[np.intp]
    eyepiece: NDArray[np.intp]
    barrel: NDArray[np.intp]
    amplifier: NDArray[np.intp]
    filter: NDArray[np.intp]
    mass_g: Floats

    def __len__(self) -> int:
        """Count the targets."""
        return len(self.dwell_min)

    def of_rows(self, rows: NDArray[np.intp]) -> Candidates:
        """Give some of the targets."""
        return Candidates(*(getattr(self, item.name)[rows] for item in fields(self)))


@dataclass(frozen=True, slots=True)
class Session:
    """From the first step to ``length_min`` [min] after it, and what the mount asks for."""

    length_min: float
    step_min: float
    driven: bool
    balance_g: float | None
    most_looks: int | None = None


@dataclass(frozen=True, slots=True)
class Slot:
    """One look: row of the candidates, start and end [min] after the session's start."""

    row: int
    start_min: float
    end_min: float


@dataclass(frozen=True, slots=True)
class Order:
    """The looks in time order, and the breaks as (start, end) [min]."""

    slots: tuple[Slot, ...]
    breaks: tuple[tuple[float, float], ...]


def order_looks(candidates: Candidates, session: Session) -> Order:
    """Choose looks and put them in time order.

    One by one, the look that gains the night most goes in where it gains most, moving the others
    as their windows allow. Then each look is taken out in turn, and it or a better one put in.
    Setting targets come to stand first, rising ones last, and neighbours in the sky and in the
    eyepiece box together.

    Parameters
    ----------
    candidates : Candidates
    session : Session

    Returns
    -------
    Order
        No two looks overlap; every look lies inside its window for its whole length.
    """
    best = np.where(candidates.open, candidates.quality, 0.0).max(axis=1, initial=0.0)
    promising = np.argsort(-best, kind="stable")[:TRIED]
    promising = promising[best[promising] > 0.0]
    night = _Night(candidates.of_rows(promising), session)
    rows = _improved(night, _filled(night, np.empty(0, dtype=np.intp)))
    return night.order(rows, names=promising)


def play(candidates: Candidates, session: Session, rows: NDArray[np.intp]) -> Order:
    """Play a sequence of looks through, each as early as can be; those that do not fit drop out.

    Parameters
    ----------
    candidates, session
    rows : ndarray of int
        The candidates in order.

    Returns
    -------
    Order
        The looks with their times.
    """
    night = _Night(candidates.of_rows(rows), session)
    fits = np.arange(len(rows))
    if not night.worth(fits) > -np.inf:
        fits = fits[:0]
        for own in range(len(rows)):
            longer = np.append(fits, own)
            fits = longer if night.worth(longer) > -np.inf else fits
    return night.order(fits, names=rows)


@dataclass(frozen=True, slots=True)
class _Runs:
    """B sequences of L looks played through.

    ``worth`` has shape (B,), minus infinity where a look does not fit; ``start``, ``end`` [min]
    have shape (B, L), and so has ``pause_end``, NaN where no break comes before a look.
    """

    worth: Floats
    start: Floats
    end: Floats
    pause_end: Floats


class _Night:
    """The candidates, ready to play many sequences through at once."""

    def __init__(self, candidates: Candidates, session: Session) -> None:
        self.candidates = candidates
        self.session = session
        self.steps = candidates.open.shape[1]
        self.first_start = _first_starts(candidates, session)
        self.travel_min = travel_min(candidates, session)
        self.finding_min = FINDING_DRIVEN_MIN if session.driven else FINDING_BY_HAND_MIN

    def order(self, rows: NDArray[np.intp], *, names: NDArray[np.intp]) -> Order:
        """Give a sequence as looks with their times, each by its name."""
        run = self.run(rows[None, :])
        slots = [
            Slot(int(name), float(start), float(end))
            for name, start, end in zip(names[rows], run.start[0], run.end[0], strict=True)
        ]
        pauses = [(float(end) - BREAK_MIN, float(end)) for end in run.pause_end[0] if end > 0.0]
        return Order(tuple(slots), tuple(pauses))

    def worth(self, rows: NDArray[np.intp]) -> float:
        """Give the worth of one sequence; minus infinity when a look does not fit."""
        return float(self.run(rows[None, :]).worth[0])

    def run(self, rows: NDArray[np.intp]) -> _Runs:
        """Play sequences (B, L) through, each look as early as can be."""
        many, length = rows.shape
        now, rested, worth = np.zeros(many), np.zeros(many), np.zeros(many)
        seen = np.zeros((many, int(self.candidates.kind.max(initial=0)) + 1))
        start, end = np.empty((many, length)), np.empty((many, length))
        pause_end = np.full((many, length), np.nan)
        own = np.arange(many)
        for place in range(length):
            row = rows[:, place]
            due = self._break_is_due(now, rested)
            now = np.where(due, now + BREAK_MIN, now)
            rested = np.where(due, now, rested)
            pause_end[due, place] = now[due]
            travel = self.travel_min[rows[:, place - 1], row] if place else self.finding_min
            begin, finish, fits = self._place(row, now + travel)
            kind = self.candidates.kind[row]
            look = self._worth(row, begin, finish) * VARIETY ** seen[own, kind]
            seen[own, kind] += 1.0
            worth += np.where(fits, look - WORTH_PER_MIN * (begin - now), -np.inf)
            start[:, place], end[:, place], now = begin, finish, finish
        return _Runs(worth, start, end, pause_end)

    def _place(
        self, row: NDArray[np.intp], ready_min: Floats
    ) -> tuple[Floats, Floats, NDArray[np.bool_]]:
        """Give start and end of looks that could begin at some minute, and whether they fit.

        Starts lie on the grid, unless the window is open already: then on the full minute.
        """
        earliest = np.minimum(np.ceil(ready_min / self.session.step_min), self.steps).astype(int)
        first = self.first_start[row, earliest]
        at_once = (first == earliest) & self.candidates.open[row, earliest - 1]
        begin = np.where(at_once, np.ceil(ready_min), first * self.session.step_min)
        finish = begin + self.candidates.dwell_min[row]
        return begin, finish, (first < self.steps) & (finish <= self.session.length_min)

    def _worth(self, row: NDArray[np.intp], begin: Floats, finish: Floats) -> Floats:
        middle = np.round((begin + finish) / 2.0 / self.session.step_min).astype(int)
        return np.asarray(self.candidates.quality[row, np.minimum(middle, self.steps - 1)])

    def _break_is_due(self, now: Floats, rested: Floats) -> NDArray[np.bool_]:
        """Tell whether to rest: long enough at the eyepiece, and half an hour or more to come."""
        left = self.session.length_min - now
        return np.asarray((now - rested >= BREAK_AFTER_MIN) & (left > BREAK_MIN + 30.0))


def _filled(night: _Night, rows: NDArray[np.intp]) -> NDArray[np.intp]:
    """Put looks in, the one that gains most first, as long as that gains."""
    limit = night.session.most_looks
    worth = night.worth(rows)
    while limit is None or len(rows) < limit:
        longer, gained = _best_insertion(night, rows)
        if gained <= worth + GAIN:
            break
        rows, worth = longer, gained
    return rows


def _best_insertion(night: _Night, rows: NDArray[np.intp]) -> tuple[NDArray[np.intp], float]:
    """Try every target at every place; give the best sequence that is longer by one."""
    new = np.setdiff1d(np.arange(len(night.candidates)), rows)
    if not new.size:
        return rows, -np.inf
    places = len(rows) + 1
    trials = np.empty((places, len(new), places), dtype=np.intp)
    for place in range(places):
        trials[place, :, :place] = rows[:place]
        trials[place, :, place] = new
        trials[place, :, place + 1 :] = rows[place:]
    flat = trials.reshape(-1, places)
    worth = night.run(flat).worth
    best = int(np.argmax(worth))
    return flat[best], float(worth[best])


def _improved(night: _Night, rows: NDArray[np.intp]) -> NDArray[np.intp]:
    """Take out each look in turn and put it, or a better one, where the night gains most."""
    for _ in range(ROUNDS):
        before = rows
        for row in before:
            worth = night.worth(rows)
            trial, gained = _best_insertion(night, rows[rows != row])
            if gained > worth + GAIN:
                rows = _filled(night, trial)
        if np.array_equal(rows, before):
            break
    return rows


def travel_min(candidates: Candidates, session: Session) -> Floats:
    """Give the minutes from the end of each look to the start of each other.

    Parameters
    ----------
    candidates, session

    Returns
    -------
    ndarray
        Finding, slewing, changes of eyepiece, barrel, amplifier and filter, rebalancing
        [min], shape (N, N): from row to column.
    """
    minutes = np.full(
        (len(candidates), len(candidates)),
        FINDING_DRIVEN_MIN if session.driven else FINDING_BY_HAND_MIN,
    )
    minutes += SLEW_MIN_PER_90_DEG / 90.0 * _slew_deg(candidates)
    for codes, cost in (
        (candidates.eyepiece, EYEPIECE_CHANGE_MIN),
        (candidates.barrel, BARREL_CHANGE_MIN),
        (candidates.amplifier, AMPLIFIER_CHANGE_MIN),
        (candidates.filter, FILTER_CHANGE_MIN),
    ):
        minutes += np.where(codes[:, None] != codes, cost, 0.0)
    if session.balance_g is not None:
        change = np.abs(candidates.mass_g[:, None] - candidates.mass_g)
        minutes += np.where(change > session.balance_g, REBALANCE_MIN, 0.0)
    return minutes


def _slew_deg(candidates: Candidates) -> Floats:
    """Angle on the sky between targets in the middle of the session [deg], shape (N, N)."""
    step = candidates.altitude_deg.shape[1] // 2
    altitude = np.radians(candidates.altitude_deg[:, step])
    azimuth = np.radians(candidates.azimuth_deg[:, step])
    places = np.stack(
        [np.cos(altitude) * np.cos(azimuth), np.cos(altitude) * np.sin(azimuth), np.sin(altitude)],
        axis=1,
    )
    return np.asarray(np.degrees(np.arccos(np.clip(places @ places.T, -1.0, 1.0))))


def _first_starts(candidates: Candidates, session: Session) -> NDArray[np.intp]:
    """Give for each target and step the first step, that one or later, at which a look fits whole.

    Shape (N, T + 1); T means never.
    """
    count, steps = candidates.open.shape
    needed = np.ceil(candidates.dwell_min / session.step_min).astype(int) + 1
    run = np.zeros(count, dtype=int)
    first = np.full((count, steps + 1), steps, dtype=np.intp)
    for step in range(steps - 1, -1, -1):
        run = np.where(candidates.open[:, step], run + 1, 0)
        first[:, step] = np.where(run >= needed, step, first[:, step + 1])
    return first
