"""What may be looked at in a session, and the order that comes of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import field, fields, replace

import numpy as np

from targets.arrays import Codes, Flags, Floats
from targets.frozen import frozen


@frozen
class Candidates:
    """N targets that may be looked at, at T steps of ``step_min`` minutes.

    The steps begin with the session and do not go beyond its end.

    Parameters
    ----------
    quality : ndarray
        Worth of a look that is centred on that step, shape (N, T).
    open : ndarray of bool
        Window, shape (N, T).
    dwell_min : ndarray
        Length of a look [min], shape (N,).
    altitude_deg, azimuth_deg : ndarray
        Shape (N, T) [deg].
    kind : ndarray of int
        For variety, shape (N,).
    dazzling, faint : ndarray of bool
        Spoils the eye for the dark; asks for a dark-adapted eye. Shape (N,).
    eyepiece, barrel, amplifier, filter : ndarray of int
        What is in the focuser, as codes, shape (N,).
    mass_g : ndarray
        On the focuser, shape (N,) [g]; NaN when not stated.
    high_power : ndarray of bool
        Needs a telescope that has cooled, shape (N,).
    finding_min : ndarray
        To find each, shape (N,) [min]; NaN for as long as is usual in the session.
    telescope : ndarray of int
        In which each is looked at, shape (N,): 0 for that of the session, 1 and up for those that
        stand beside it; all in the first where it is left out.
    """

    quality: Floats
    open: Flags
    dwell_min: Floats
    altitude_deg: Floats
    azimuth_deg: Floats
    kind: Codes
    dazzling: Flags
    faint: Flags
    eyepiece: Codes
    barrel: Codes
    amplifier: Codes
    filter: Codes
    mass_g: Floats
    high_power: Flags
    finding_min: Floats
    telescope: Codes = field(default_factory=lambda: np.zeros(0, dtype=np.intp))

    def __post_init__(self) -> None:
        """Put all in the first telescope where nothing is said of any."""
        if len(self.telescope) != len(self.dwell_min):
            object.__setattr__(self, "telescope", np.zeros(len(self.dwell_min), dtype=np.intp))

    def __len__(self) -> int:
        """Count the targets."""
        return len(self.dwell_min)

    def of_rows(self, rows: Codes) -> Candidates:
        """Return some of the targets."""
        return Candidates(*(getattr(self, item.name)[rows] for item in fields(self)))

    def of_steps(self, steps: slice) -> Candidates:
        """Return some of the steps."""
        return replace(
            self,
            quality=self.quality[:, steps],
            open=self.open[:, steps],
            altitude_deg=self.altitude_deg[:, steps],
            azimuth_deg=self.azimuth_deg[:, steps],
        )

    @classmethod
    def joined(cls, parts: Sequence[Candidates]) -> Candidates:
        """Put some after others; there is one at least."""
        names = [item.name for item in fields(cls)]
        return cls(*(np.concatenate([getattr(part, name) for part in parts]) for name in names))

    def with_rows(self, rows: Codes, others: Candidates) -> Candidates:
        """Put others, as many as there are rows, in the place of some of the targets."""
        parts = []
        for item in fields(self):
            part = getattr(self, item.name).copy()
            part[rows] = getattr(others, item.name)
            parts.append(part)
        return Candidates(*parts)


@frozen
class Session:
    """From the first step to ``length_min`` [min] after it, and what the mount asks for.

    ``balance_g`` is the change of mass that the mount bears [g]; None when it is not stated.
    ``most_looks`` are those still to come; None for as many as fit. No look at high power begins
    before ``cooled_min`` [min]. A mount that ``flips`` takes time to change from one side of the
    meridian to the other, and cannot follow a target across it. It takes ``finding_min`` [min] to
    find a target; looks last ``look_share`` times as long as is usual. A further look at one kind
    loses ``variety`` times what it usually does. ``beside`` are the sessions of other telescopes to
    which the same observer turns: their mounts and their times to find count for what is looked at
    in them.
    """

    length_min: float
    step_min: float
    driven: bool
    balance_g: float | None
    most_looks: int | None = None
    cooled_min: float = 0.0
    flips: bool = False
    finding_min: float | None = None
    look_share: float = 1.0
    variety: float = 1.0
    beside: tuple[Session, ...] = ()

    @property
    def telescopes(self) -> tuple[Session, ...]:
        """The same for each telescope, by the codes of the candidates."""
        return (self, *self.beside)


@frozen
class Beginning:
    """Where a session stands from which on looks are put in order.

    Parameters
    ----------
    minute : float
        Nothing begins earlier [min after the session's start].
    rested_min : float
        When the observer last rested [min after the session's start].
    done : tuple of int
        Rows of the candidates that were looked at already, in that order. They never come again
        and count for variety; at the last one the telescope points, with its eyepiece in the
        focuser.
    """

    minute: float = 0.0
    rested_min: float = 0.0
    done: tuple[int, ...] = ()


@frozen
class Slot:
    """One look: row of the candidates, start and end [min] after the session's start.

    ``way_min`` is what it takes to get there [min].
    """

    row: int
    start_min: float
    end_min: float
    way_min: float = 0.0


@frozen
class Order:
    """The looks in time order, the breaks as (start, end) [min], and what it is all worth."""

    slots: tuple[Slot, ...]
    breaks: tuple[tuple[float, float], ...]
    worth: float

    @property
    def rows(self) -> Codes:
        """Of the targets of the looks."""
        return np.array([slot.row for slot in self.slots], dtype=np.intp)
