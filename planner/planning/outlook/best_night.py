"""The coming nights as values, and the choice of the best among them."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from planner.model.night import Night
from planner.model.plan import Grade
from planner.planning.session_times import SessionTimes
from targets.frozen import frozen
from targets.model import Target

# Nights no farther apart than this are equally good at their best: an eighth of a magnitude,
# which nobody notices.
ALIKE_DEX = 0.05
# Nights that place this share of the most that any places are as rich, for the same reason.
NEARLY_AS_MANY = 0.9


@frozen
class TargetMoment:
    """A target at its best moment of a night.

    Parameters
    ----------
    at : datetime
        When (UTC).
    altitude_deg : float
        Apparent [deg].
    moon_altitude_deg, moon_separation_deg : float
        Height of the Moon, and its distance from the target [deg].
    grade : Grade
        Would it be seen, in the train that suits it best.
    quality_dex : float
        Margin over the eye's threshold in the train that shows it most clearly, as far as more of
        it helps, less what low air costs [dex].
    good_minutes : float
        How long it stays about that good [min].
    disc_arcsec : float or None
        Across the disc of a planet beyond the Earth's orbit; None for others. Mercury and Venus are
        left out: their discs grow as their phase wanes.
    """

    at: datetime
    altitude_deg: float
    moon_altitude_deg: float
    moon_separation_deg: float
    grade: Grade
    quality_dex: float
    good_minutes: float
    disc_arcsec: float | None = None

    @property
    def is_planet(self) -> bool:
        """Whether the Moon does not matter and the size of the disc does."""
        return self.disc_arcsec is not None


@frozen
class TargetOutlook:
    """How one target does on one night.

    Parameters
    ----------
    windows : tuple of (datetime, datetime)
        When it can be looked at (UTC); empty when it has none.
    best : TargetMoment or None
        Its best moment; None without a window.
    hindrance : str or None
        Why it has no window, a clause without a full stop.
    """

    windows: tuple[tuple[datetime, datetime], ...]
    best: TargetMoment | None
    hindrance: str | None

    @property
    def window_minutes(self) -> float:
        """Length of its windows together [min]."""
        return sum(((end - start).total_seconds() / 60.0 for start, end in self.windows), 0.0)


@frozen
class NightOutlook:
    """One of the coming nights.

    Parameters
    ----------
    night : Night
        Sun and Moon.
    dark_hours, dark_moonless_hours : float
        With the Sun 18 degrees or more below the horizon; of these, with the Moon down [h].
    session : SessionTimes or None
        The session that is assumed for the wish list.
    no_session : str or None
        A sentence that says why there is none.
    well_placed, wish_count : int
        Targets of the wish list with a window long enough for a look in the session, under a sky
        that shows them; and how many the list holds.
    best : tuple of Target
        The few of these that are worth most, best first.
    target : TargetOutlook or None
        Of the target that was asked for.
    clear_share : float or None
        The chance to see in the session by the forecast, 0 .. 1; None where it says nothing.
    """

    night: Night
    dark_hours: float
    dark_moonless_hours: float
    session: SessionTimes | None
    no_session: str | None
    well_placed: int
    wish_count: int
    best: tuple[Target, ...]
    target: TargetOutlook | None = None
    clear_share: float | None = None

    @property
    def chance(self) -> float:
        """The chance to see, 0 .. 1; 1 where no forecast says otherwise."""
        return 1.0 if self.clear_share is None else self.clear_share


@frozen
class BestNight:
    """The best of the coming nights for a target.

    Parameters
    ----------
    outlook : NightOutlook
        What the night shows.
    target : TargetOutlook
        What it shows of the target.
    best : TargetMoment
        When the target comes out best on it.
    highest_deg : float
        The altitude that the target reaches at its best moment on any of the nights [deg].
    """

    outlook: NightOutlook
    target: TargetOutlook
    best: TargetMoment
    highest_deg: float


def best_night(outlooks: Sequence[NightOutlook]) -> BestNight | None:
    """Choose the night that shows best the target that was asked for.

    Parameters
    ----------
    outlooks : sequence of NightOutlook
        Of one site and one target.

    Returns
    -------
    BestNight or None
        Of the nights on which the target comes out as well as it gets, the one on which it stays
        so for longest, those with the Moon down at that moment before others; of equals the first.
        For a planet with a disc the clearest and largest night itself, whatever the Moon does.
        None when no night has a window for it.
    """
    shown = [
        (outlook, outlook.target, outlook.target.best)
        for outlook in outlooks
        if outlook.target is not None and outlook.target.best is not None
    ]
    if not shown:
        return None
    alike_dex = 0.0 if shown[0][2].is_planet else ALIKE_DEX
    limit_dex = max(best.quality_dex for _, _, best in shown) - alike_dex
    alike = [night for night in shown if night[2].quality_dex >= limit_dex]
    outlook, target, best = max(
        alike,
        key=lambda night: (
            night[2].moon_altitude_deg < 0.0,
            night[2].good_minutes * night[0].chance,
        ),
    )
    highest_deg = max(best.altitude_deg for _, _, best in shown)
    return BestNight(outlook, target, best, highest_deg)


def night_for_the_list(outlooks: Sequence[NightOutlook]) -> NightOutlook | None:
    """Choose the night that suits the wish list as a whole.

    Parameters
    ----------
    outlooks : sequence of NightOutlook
        Of one site and one list.

    Returns
    -------
    NightOutlook or None
        Of those that place about as many targets as any, the one with most darkness without Moon,
        then with most targets; of equals the first. Both count by the chance to see. None when
        none is placed on any night.
    """
    most = max((outlook.well_placed * outlook.chance for outlook in outlooks), default=0.0)
    rich = [o for o in outlooks if o.well_placed * o.chance >= NEARLY_AS_MANY * most]
    if not most:
        return None
    return max(rich, key=lambda o: (o.dark_moonless_hours * o.chance, o.well_placed))
