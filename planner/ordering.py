"""Puts looks in order: which target when, with no overlap and room for slewing and changes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

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

# The rest is our choice. What a target may become later counts this much against doing it now:
# rising targets wait, yet a poor setting one does not oust a showpiece.
WAITING_WEIGHT = 0.55
# Worth lost for each minute spent on getting there, a showpiece at its best being 1.
WORTH_PER_MIN = 0.012
# Each further target of one kind is worth this share of the one before.
VARIETY = 0.93
# A later moment counts as "later" only after this.
LATER_MIN = 25.0


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

    At each free minute the target goes next whose worth now, less what it may be worth later
    and what it costs to get there, is greatest: setting targets come first, rising ones wait.

    Parameters
    ----------
    candidates : Candidates
    session : Session

    Returns
    -------
    Order
        No two looks overlap; every look lies inside its window for its whole length.
    """
    starts = _first_starts(candidates, session)
    later = _best_later(candidates, starts, session)
    slots: list[Slot] = []
    breaks: list[tuple[float, float]] = []
    left = np.ones(len(candidates), dtype=bool)
    now, since_break = 0.0, 0.0
    limit = len(candidates) if session.most_looks is None else session.most_looks
    while left.any() and len(slots) < limit:
        if _break_is_due(now, since_break, session):
            breaks.append((now, now + BREAK_MIN))
            now = since_break = now + BREAK_MIN
        slot = _next_slot(candidates, session, slots, left, now, starts, later)
        if slot is None:
            break
        slots.append(slot)
        left[slot.row] = False
        now = slot.end_min
    return Order(tuple(slots), tuple(pause for pause in breaks if _between(pause, slots)))


def transition_min(
    candidates: Candidates, session: Session, last: Slot | None, step: int
) -> Floats:
    """Give the minutes from the end of a look to the start of each possible next one.

    Parameters
    ----------
    candidates, session
    last : Slot or None
        The look before; None at the start of the session.
    step : int
        Step of the grid at which the telescope moves.

    Returns
    -------
    ndarray
        Finding, slewing, changes of eyepiece, barrel, amplifier and filter, rebalancing
        [min], shape (N,).
    """
    finding = FINDING_DRIVEN_MIN if session.driven else FINDING_BY_HAND_MIN
    minutes = np.full(len(candidates), finding)
    if last is None:
        return minutes
    minutes += SLEW_MIN_PER_90_DEG / 90.0 * _slew_deg(candidates, last.row, step)
    for codes, cost in (
        (candidates.eyepiece, EYEPIECE_CHANGE_MIN),
        (candidates.barrel, BARREL_CHANGE_MIN),
        (candidates.amplifier, AMPLIFIER_CHANGE_MIN),
        (candidates.filter, FILTER_CHANGE_MIN),
    ):
        minutes += np.where(codes != codes[last.row], cost, 0.0)
    if session.balance_g is not None:
        change = np.abs(candidates.mass_g - candidates.mass_g[last.row])
        minutes += np.where(change > session.balance_g, REBALANCE_MIN, 0.0)
    return minutes


def _slew_deg(candidates: Candidates, row: int, step: int) -> Floats:
    """Angle on the sky from one target to every other at a step [deg]."""
    altitude = np.radians(candidates.altitude_deg[:, step])
    turn = np.radians(candidates.azimuth_deg[:, step] - candidates.azimuth_deg[row, step])
    cosine = np.sin(altitude) * np.sin(altitude[row])
    cosine += np.cos(altitude) * np.cos(altitude[row]) * np.cos(turn)
    return np.asarray(np.degrees(np.arccos(np.clip(cosine, -1.0, 1.0))))


def _first_starts(candidates: Candidates, session: Session) -> NDArray[np.intp]:
    """Give for each target and step the first step, that one or later, at which a look fits whole.

    Shape (N, T + 1); T means never.
    """
    count, steps = candidates.open.shape
    needed = np.ceil(candidates.dwell_min / session.step_min).astype(int) + 1
    run = np.zeros((count, steps + 1), dtype=int)
    first = np.full((count, steps + 1), steps, dtype=np.intp)
    ends = np.arange(steps) * session.step_min
    for step in range(steps - 1, -1, -1):
        run[:, step] = np.where(candidates.open[:, step], run[:, step + 1] + 1, 0)
        fits = run[:, step] >= needed
        fits &= ends[step] + candidates.dwell_min <= session.length_min
        first[:, step] = np.where(fits, step, first[:, step + 1])
    return first


def _best_later(candidates: Candidates, starts: NDArray[np.intp], session: Session) -> Floats:
    """Give for each target and step the most that a look begun later can be worth, (N, T + 1)."""
    steps = candidates.open.shape[1]
    begins = starts[:, :steps] == np.arange(steps)
    middle = np.round(candidates.dwell_min / 2.0 / session.step_min).astype(int)
    columns = np.minimum(np.arange(steps) + middle[:, None], steps - 1)
    worth = np.where(begins, np.take_along_axis(candidates.quality, columns, axis=1), 0.0)
    best = np.maximum.accumulate(worth[:, ::-1], axis=1)[:, ::-1]
    ahead = int(np.ceil(LATER_MIN / session.step_min))
    later = np.zeros((len(candidates), steps + 1))
    if ahead < steps:
        later[:, : steps - ahead] = best[:, ahead:]
    return later


def _next_slot(
    candidates: Candidates,
    session: Session,
    slots: Sequence[Slot],
    left: NDArray[np.bool_],
    now: float,
    starts: NDArray[np.intp],
    later: Floats,
) -> Slot | None:
    """Choose the next look, or None when none fits any more."""
    steps = candidates.open.shape[1]
    step = min(int(now / session.step_min), steps - 1)
    minutes = transition_min(candidates, session, slots[-1] if slots else None, step)
    earliest = np.ceil((now + minutes) / session.step_min).astype(int)
    first = starts[np.arange(len(candidates)), np.minimum(earliest, steps)]
    # Starts lie on the grid except where the window is open already: then on the full minute.
    rows = np.arange(len(candidates))
    at_once = (first == earliest) & candidates.open[rows, np.minimum(earliest, steps) - 1]
    start = np.where(at_once, np.ceil(now + minutes), first * session.step_min)
    end = start + candidates.dwell_min
    possible = left & (first < steps) & (end <= session.length_min)
    if not possible.any():
        return None
    middle = np.minimum((start + candidates.dwell_min / 2.0) / session.step_min, steps - 1)
    worth = candidates.quality[rows, np.round(middle).astype(int)]
    done = np.bincount(candidates.kind[[slot.row for slot in slots]], minlength=1)
    repeats = np.zeros(int(candidates.kind.max()) + 1)
    repeats[: len(done)] = done
    score = worth * VARIETY ** repeats[candidates.kind]
    score -= WAITING_WEIGHT * later[rows, np.minimum(first, steps)]
    score -= WORTH_PER_MIN * (start - now)
    row = int(np.argmax(np.where(possible, score, -np.inf)))
    return Slot(row, float(start[row]), float(end[row]))


def _break_is_due(now: float, since: float, session: Session) -> bool:
    """Whether to rest: long enough at the eyepiece, and more than half an hour still to come."""
    return now - since >= BREAK_AFTER_MIN and session.length_min - now > BREAK_MIN + 30.0


def _between(pause: tuple[float, float], slots: Sequence[Slot]) -> bool:
    """Whether a look follows the break."""
    return bool(slots) and slots[-1].start_min >= pause[1]
