"""How a target shows in a train, and what a plan is made of."""

from __future__ import annotations

from datetime import datetime
from enum import StrEnum

from planner.model.finding import Finding
from planner.model.kit import Telescope, Train
from planner.model.night import Night
from planner.model.own_eye import OwnEye
from targets.frozen import frozen
from targets.model import Target


class Grade(StrEnum):
    """How easily it is seen: words for the distance from the eye's threshold."""

    EASY = "easy"
    FAIR = "fair"
    HARD = "hard"
    VERY_HARD = "very hard"
    UNLIKELY = "unlikely"
    UNKNOWN = "unknown brightness"


@frozen
class View:
    """How one target shows in one train, at one time: rated, and explained.

    Parameters
    ----------
    train : Train
        Through which one looks.
    framing : float or None
        Major axis, as it is seen, divided by true field; None when the size is unknown.
    fits : bool or None
        Whether the whole target fits with room around it; None when the size is unknown.
    score : float
        0 (useless) .. 1 (ideal).
    parts : dict of str to float
        The factors of the score, each 0 .. 1: ``fit``, ``framing``, ``exit pupil``, ``power``,
        ``visibility``, ``comfort``, ``sight``; where experience counts also ``leaning``,
        0.9 .. 1.1.
    grade : Grade
        How easily it is seen.
    margin_dex : float or None
        Logarithm of the target's contrast over the threshold; None when the brightness is unknown.
    reasons, warnings : tuple of str
        In plain words.
    brief : str
        The same in one line.
    seen_major_arcmin, seen_minor_arcmin : float or None
        Axes of what the eye makes out of a glow that fades outward [arcmin]; None for all else.
    star_limit_mag : float or None
        The faintest star of the catalogue that shows there [mag]; None where that was not asked.
    """

    train: Train
    framing: float | None
    fits: bool | None
    score: float
    parts: dict[str, float]
    grade: Grade
    margin_dex: float | None = None
    reasons: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    brief: str = ""
    seen_major_arcmin: float | None = None
    seen_minor_arcmin: float | None = None
    star_limit_mag: float | None = None


class ViewRole(StrEnum):
    """What a view of a look is for."""

    FIND = "find"
    MAIN = "main"
    BESIDE = "beside"
    UNFILTERED = "unfiltered"
    CLOSER = "closer"


@frozen
class LookView:
    """One of the views of a look: what for, in which train, for how long [min].

    ``detail`` names what it is to show, where that is not the target as a whole.
    """

    role: ViewRole
    view: View
    minutes: int
    detail: str = ""


@frozen
class Slack:
    """How long a look could wait.

    Parameters
    ----------
    slack_min : float
        The most by which it could begin later and still end inside its window and the session
        [min].
    closes : datetime or None
        When its window closes (UTC); None when it is open to the end of the session.
    cause : str
        A clause that says what closes it: ``sinks below 20 deg``; empty when nothing does.
    loss : float
        Share of its worth that half an hour of waiting costs, 0 .. 1.
    opens_again : datetime or None
        When a whole look fits again in the same session (UTC); None when it does not.
    """

    slack_min: float
    closes: datetime | None
    cause: str
    loss: float
    opens_again: datetime | None = None


@frozen
class Note:
    """Something on the target of a look, and when it happens (UTC); None for all the while."""

    words: str
    at: datetime | None = None


@frozen
class Together:
    """What a look through one of two telescopes has to do with the other one.

    Parameters
    ----------
    compares : str
        What the same target teaches through both; empty where it is seen in one alone.
    found_in : str
        The telescope in which it was found before; empty where it has to be found.
    elsewhere : tuple of (str, str, datetime)
        Things that would suit better, the telescope that has them then, and until when (UTC).
    brought : tuple of (str, str)
        Things that have to be taken over, and the telescope that had them last.
    """

    compares: str = ""
    found_in: str = ""
    elsewhere: tuple[tuple[str, str, datetime], ...] = ()
    brought: tuple[tuple[str, str], ...] = ()


@frozen
class Look:
    """An entry of the plan: from when to when (UTC) one target is looked at, and how it shows.

    ``slack`` says how long it could wait; None where that was not asked. ``in_field`` names what
    else the eyepiece shows there; ``notes`` what is on a body just then; ``finding`` how one comes
    to it, None where that was not asked. ``views`` are all views in turn, ``view`` among them.
    ``timing`` says why just then, where the target never gets high; ``memory`` when the observer
    saw it last, where that is not long ago, or that it is new. ``together`` is there where two
    telescopes are used.
    """

    target: Target
    view: View
    start: datetime
    end: datetime
    altitude_deg: float
    azimuth_deg: float
    slack: Slack | None = None
    in_field: tuple[str, ...] = ()
    notes: tuple[Note, ...] = ()
    finding: Finding | None = None
    views: tuple[LookView, ...] = ()
    timing: str = ""
    memory: str = ""
    together: Together | None = None


@frozen
class Spare:
    """A target that found no place, for when cloud comes: where it is at its best moment (UTC)."""

    target: Target
    train: Train
    at: datetime
    altitude_deg: float
    azimuth_deg: float


@frozen
class LeftOut:
    """A target for which there is no look, with the cause.

    ``in_season`` tells whether it culminates in the usual hours of a night at this time of the
    year; ``rises`` whether it ever does at the site.
    """

    target: Target
    reason: str
    in_season: bool = True
    rises: bool = True


@frozen
class Plan:
    """A session: one look after the other, and the targets that found no place.

    Parameters
    ----------
    start, end : datetime
        Of the session (UTC).
    looks : tuple of Look
        In time order, none of one observer overlapping.
    breaks : tuple of (datetime, datetime)
        To warm up (UTC).
    left_out : tuple of LeftOut
        Targets that one would expect.
    notes : tuple of str
        Sentences about the whole.
    spares : tuple of Spare
        The best of the rest in each part of the sky, from north through east.
    eye : OwnEye or None
        For which it was made; None for that of the stated experience.
    clouded : tuple of (datetime, datetime)
        Hours that a forecast closes (UTC).
    telescopes : tuple of Telescope
        Both, where two are used at once; empty for the one of the circumstances.
    observers : int
        How many look at them, each by his or her own.
    break_of : tuple of int
        Whose the breaks are, by telescope; -1 for the one observer's.
    """

    night: Night
    start: datetime
    end: datetime
    looks: tuple[Look, ...]
    breaks: tuple[tuple[datetime, datetime], ...] = ()
    left_out: tuple[LeftOut, ...] = ()
    notes: tuple[str, ...] = ()
    spares: tuple[Spare, ...] = ()
    eye: OwnEye | None = None
    clouded: tuple[tuple[datetime, datetime], ...] = ()
    telescopes: tuple[Telescope, ...] = ()
    observers: int = 1
    break_of: tuple[int, ...] = ()

    @property
    def news(self) -> tuple[str, ...]:
        """The notes that are not on the night alone."""
        return tuple(note for note in self.notes if note != self.night.note)
