"""What the journal teaches, as plain data."""

from __future__ import annotations

from datetime import date

from targets.frozen import frozen

Counts = tuple[tuple[str, int], ...]


@frozen
class EyepieceUse:
    """How an eyepiece is used; looks that were skipped do not count.

    Parameters
    ----------
    pupil_low_mm, pupil_median_mm, pupil_high_mm : float or None
        Exit pupils, with and without amplifier.
    rating : float or None
        Mean of those that were given.
    rated : int
        How many were given.
    kinds : tuple of (str, int)
        Kinds of target and looks at them, most first.
    share : float
        Of the looks with an eyepiece, 0 .. 1.
    planned_share : float or None
        Of the looks that a plan had, 0 .. 1; None without such.
    against_plan, seen_against_plan : int
        Looks in it for which the plan had another eyepiece, and those of them that saw the target.
    rating_against_plan, rating_as_planned : float or None
        Means of these, and of the looks in it that were planned so.
    """

    name: str
    looks: int
    nights: int
    pupil_low_mm: float | None
    pupil_median_mm: float | None
    pupil_high_mm: float | None
    rating: float | None
    rated: int
    kinds: Counts
    share: float
    planned_share: float | None
    against_plan: int
    seen_against_plan: int
    rating_against_plan: float | None
    rating_as_planned: float | None


@frozen
class KindUse:
    """What was looked at of a kind, and the faintest of it that was seen.

    Of pairs the closest that was seen counts instead.
    """

    kind: str
    looks: int
    targets: int
    seen: int
    faintest_mag: float | None
    faintest: str
    closest_arcsec: float | None = None
    closest: str = ""


@frozen
class Overruling:
    """Looks for which the plan had one train and another was used."""

    planned: str
    used: str
    times: int
    kinds: Counts


@frozen
class PlanUse:
    """The plan against what was done.

    Parameters
    ----------
    planned, followed : int
        Looks that a plan had, and those of them with the train that it had.
    overrulings : tuple of Overruling
        Most frequent first.
    rating_followed, rating_overruled : float or None
        Means.
    delay_min : float or None
        Median of how much later than planned a look began [min].
    skipped : tuple of (str, int)
        Why looks were skipped, most frequent first.
    """

    planned: int
    followed: int
    overrulings: tuple[Overruling, ...]
    rating_followed: float | None
    rating_overruled: float | None
    delay_min: float | None
    skipped: Counts


@frozen
class TargetUse:
    """What came of a target, and the eyepieces in which it was seen, most frequent first."""

    id: str
    name: str
    looks: int
    seen: int
    eyepieces: Counts


@frozen
class ListState:
    """How far a list of targets is done; each is a pair of id and name."""

    name: str
    seen: tuple[tuple[str, str], ...]
    sought: tuple[tuple[str, str], ...]
    not_yet: tuple[tuple[str, str], ...]


@frozen
class JournalReport:
    """What the journal teaches.

    Parameters
    ----------
    first, last : date or None
        Evenings; None in an empty journal.
    sites : tuple of (str, int)
        Sites and nights there.
    hours : float
        From the start to the end of each session, or to its last look where no end is noted.
    faintest_star_mag : float or None
        By eye.
    eyepieces : tuple of EyepieceUse
        Most used first.
    without_eyepiece : int
        Looks that name none.
    """

    observers: tuple[str, ...]
    first: date | None
    last: date | None
    sites: Counts
    nights: int
    hours: float
    looks: int
    outcomes: dict[str, int]
    faintest_star_mag: float | None
    faintest_star_on: date | None
    eyepieces: tuple[EyepieceUse, ...]
    without_eyepiece: int
    kinds: tuple[KindUse, ...]
    plan: PlanUse
    targets: tuple[TargetUse, ...]
    list: ListState | None = None
