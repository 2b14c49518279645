"""How bright the sky of each site is, by the meter readings and faintest stars of its sessions."""

from __future__ import annotations

from collections.abc import Sequence
from math import isnan
from statistics import median

from planner.formulas.visibility_limit import sky_mag_from_naked_eye_limit
from planner.journal.records import JournalSession
from targets.frozen import frozen

# A night so far from the middle of its site and season [mag/arcsec2] had cloud, the Moon or a slip
# of the pen: our choice.
DOUBTFUL_MAG = 0.7
# Warm half of the year on the northern side of the Earth, months.
SUMMER = range(4, 10)
# Two nights have no middle from which one of them could differ.
LEAST_TO_DOUBT = 3


@frozen
class SiteSky:
    """The sky of a site in one half of the year.

    Parameters
    ----------
    months : str
        ``"Apr-Sep"`` or ``"Oct-Mar"``.
    meter_mag_arcsec2, star_mag_arcsec2 : float or None
        Middle of the readings at the zenith, and of the skies behind the faintest stars seen by
        eye [mag/arcsec2].
    meter_nights, star_nights : int
        From how many.
    doubtful : tuple of str
        Evenings whose value is far from the middle, ISO 8601.
    """

    site: str
    months: str
    meter_mag_arcsec2: float | None
    meter_nights: int
    star_mag_arcsec2: float | None
    star_nights: int
    doubtful: tuple[str, ...]


def site_skies(sessions: Sequence[JournalSession], *, eye_mag: float = 0.0) -> tuple[SiteSky, ...]:
    """Return the skies of the sites that sessions tell of.

    Parameters
    ----------
    eye_mag : float
        How much deeper than the ordinary observer this one sees [mag].
    """
    groups: dict[tuple[str, str], list[JournalSession]] = {}
    for session in sessions:
        months = half_year(session.evening.month)
        groups.setdefault((session.site, months), []).append(session)
    skies = (_sky(site, months, group, eye_mag) for (site, months), group in sorted(groups.items()))
    return tuple(sky for sky in skies if sky.meter_nights or sky.star_nights)


def half_year(month: int) -> str:
    """Name the half of the year that a month is in: ``"Apr-Sep"`` or ``"Oct-Mar"``."""
    return "Apr-Sep" if month in SUMMER else "Oct-Mar"


def _sky(site: str, months: str, group: Sequence[JournalSession], eye_mag: float) -> SiteSky:
    meter = {s.evening: s.sky_mag_arcsec2 for s in group if s.sky_mag_arcsec2 is not None}
    behind = {
        s.evening: sky_mag_from_naked_eye_limit(s.faintest_star_mag - eye_mag)
        for s in group
        if s.faintest_star_mag is not None
    }
    stars = {evening: sky for evening, sky in behind.items() if not isnan(sky)}
    doubtful = {
        evening
        for values in (meter, stars)
        if len(values) >= LEAST_TO_DOUBT
        for evening, sky in values.items()
        if abs(sky - median(values.values())) > DOUBTFUL_MAG
    }
    return SiteSky(
        site,
        months,
        median(meter.values()) if meter else None,
        len(meter),
        median(stars.values()) if stars else None,
        len(stars),
        tuple(evening.isoformat() for evening in sorted(doubtful)),
    )
