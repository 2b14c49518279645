"""What comes of judging a candidate, or the eyepieces of a kit, over a year."""

from __future__ import annotations

from datetime import datetime

from planner.model.kit import Amplifier, Eyepiece, Filter, Train
from targets.frozen import frozen
from targets.model import Target

Part = Eyepiece | Amplifier | Filter


@frozen
class Gain:
    """What the candidate does for one target.

    Parameters
    ----------
    target, instant
        What, and when it gains most on any of the nights.
    present, train : Train or None, Train
        The best train of the kit then, None where there is none, and the best with the candidate.
    present_score, score : float
        Of both, 0 .. 1.
    looks : int
        On how many of the nights the candidate is chosen.
    worth : float
        What it gains in all, as a share of what the kit is worth in a year.
    """

    target: Target
    instant: datetime
    present: Train | None
    train: Train
    present_score: float
    score: float
    looks: int
    worth: float


@frozen
class Trial:
    """A candidate judged over a year.

    Parameters
    ----------
    looks, looks_won : int
        Of the year's nights, and how many of them it wins.
    gain_share : float
        What it adds to what the kit is worth; infinite when the kit shows nothing.
    gain_where_won : float
        Mean ratio of the scores of the looks won, less 1.
    gains : tuple of Gain
        The targets that gain, most first.
    redundant : tuple of str
        Eyepieces that are needed now and with the candidate no longer; empty when it wins nothing.
    misfits : tuple of str
        Why it goes together with nothing; empty when it can be used.
    remarks : tuple of str
        What speaks against an eyepiece whatever it wins: wasted light, too much power, short eye
        relief, a change of mass that the mount does not bear.
    verdict : str
        A sentence.
    """

    part: Part
    looks: int
    looks_won: int
    gain_share: float
    gain_where_won: float
    gains: tuple[Gain, ...]
    redundant: tuple[str, ...]
    misfits: tuple[str, ...]
    remarks: tuple[str, ...]
    verdict: str


@frozen
class EyepieceRole:
    """What one eyepiece of a kit is for.

    Parameters
    ----------
    looks : int
        For how many it is the best choice.
    loss_share : float
        What the kit would lose in a year without it, 0 .. 1.
    targets : tuple of Target
        Those for which it is the best choice, those that need it most first.
    """

    eyepiece: Eyepiece
    looks: int
    loss_share: float
    targets: tuple[Target, ...]


@frozen
class Duel:
    """Two candidates; of the shares, what the kit is worth is the whole.

    Parameters
    ----------
    looks_won : (int, int)
        For which the kit with this one does better than with the other.
    targets : (tuple of Target, tuple of Target)
        The targets of these, those that gain most first.
    gain_share : (float, float)
        What each adds alone.
    both_share : float
        What both add together.
    """

    parts: tuple[Part, Part]
    looks_won: tuple[int, int]
    targets: tuple[tuple[Target, ...], tuple[Target, ...]]
    gain_share: tuple[float, float]
    both_share: float


@frozen
class JudgedCandidates:
    """All candidates of one question.

    Parameters
    ----------
    trials : tuple of Trial
        Those that add most first.
    costs : dict of str to float
        By name, by the observer's own figures, for those that have one.
    against : Duel or None
        Two candidates against each other; None for one, or more.
    """

    trials: tuple[Trial, ...]
    costs: dict[str, float]
    against: Duel | None
