"""What comes of judging a candidate, a set, or the eyepieces of a kit, over a year."""

from __future__ import annotations

from datetime import date, datetime

from planner.advice.year import Year
from planner.model.kit import Amplifier, Eyepiece, Filter, Train
from planner.model.site import Site
from planner.planning.circumstances import Circumstances
from targets.frozen import frozen
from targets.model import Target

Part = Eyepiece | Amplifier | Filter
# Where one more adds less than this share to what a set is worth, none is worth buying (our choice:
# a look in a hundred).
ENOUGH_SHARE = 0.01


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


@frozen
class SetEyepiece:
    """One eyepiece of a set, and what it does.

    Parameters
    ----------
    role : str
        ``"short"``, ``"medium"`` or ``"long"``.
    looks : int
        For how many looks of the nights it is the best of the set.
    exit_pupil_mm, true_field_deg, magnification : float
        Without the Barlow.
    is_there : bool
        Whether it was there before.
    number : int
        In which order to buy; 0 for what is there.
    adds : float
        To what those before it are worth, as a share of a year of perfect looks.
    """

    eyepiece: Eyepiece
    role: str
    looks: int
    exit_pupil_mm: float
    true_field_deg: float
    magnification: float
    is_there: bool = False
    number: int = 0
    adds: float = 0.0


@frozen
class Start:
    """A set.

    Parameters
    ----------
    choices : tuple of SetEyepiece
        From short to long.
    asked : int or None
        How many were asked for; None for as many as it takes.
    powers : tuple of float
        Up to what the air bears, Barlow included.
    widest_deg, lowest_power : float
        The widest field that is of use here, and the power at which it is had.
    is_whole : bool
        Whether the set reaches from there to what the air bears.
    worth, most : float
        Of the set, and of all that can be had together, the share of a year of perfect looks.
    usual : tuple of SetEyepiece
        The usual advice for this telescope.
    highest_power : float
        What the aperture and the air bear overhead.
    usual_worth, three_worth : float
        Of the usual advice, and of the best set of three.
    small_worth : float or None
        Of the best set of the same number in barrels up to 1.25 inch; None where no larger one
        is asked about.
    next : Eyepiece or None
        What to add then; None where nothing keeps its distance or adds anything.
    next_worth : float
        Of the set with it.
    """

    choices: tuple[SetEyepiece, ...]
    asked: int | None
    powers: tuple[float, ...]
    widest_deg: float
    lowest_power: float
    is_whole: bool
    worth: float
    most: float
    usual: tuple[SetEyepiece, ...]
    highest_power: float
    usual_worth: float
    three_worth: float
    small_worth: float | None
    next: Eyepiece | None
    next_worth: float

    @property
    def is_enough(self) -> bool:
        """Whether no more is worth it."""
        return self.next is None or self.next_worth - self.worth < ENOUGH_SHARE * self.worth


@frozen
class YearHeading:
    """For whom, from where, and over which year: what every answer begins with."""

    site: Site
    circumstances: Circumstances
    year: Year
    first: date


def number_of_targets(year: Year) -> int:
    """Count the targets that the year shows."""
    return len({target.id for target in year.targets})
