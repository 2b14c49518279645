"""Comets and minor planets as targets of a night: place, expected brightness, what to doubt."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime

import numpy as np

from planner.ephemeris.bodies import find_constellation
from planner.ephemeris.kernel import Ephemeris
from planner.ephemeris.minor_bodies import COMA_KM, coma_arcmin, observe_minor
from planner.ephemeris.sky_grid import SkyGrid
from planner.model.site import Site
from targets.elements import Elements, julian_date
from targets.model import Kind, Origin, Target

# From this age on, elements may put a body outside the field [d]: the planets' pull shifts comets
# by arcminutes in some months, minor planets of the main belt in a year or two (common practice).
STALE_DAYS = {Kind.COMET: 100.0, Kind.ASTEROID: 400.0}
# Fainter ones join no plan of their own accord [mag], nor do more than so many of a kind (our
# choice).
FAINTEST_MAG = {Kind.COMET: 13.0, Kind.ASTEROID: 11.5}
MOST_OF_A_KIND = 12
# Nearer to the Sun, or lower at their highest, they take no place from others [deg] (our choice).
CLEAR_OF_SUN_DEG, CLEAR_OF_HORIZON_DEG = 25.0, 12.0


def minor_at(
    target: Target, elements: Elements, ephemeris: Ephemeris, grid: SkyGrid, instant: datetime
) -> Target:
    """Return a comet or minor planet as it is at an instant.

    Parameters
    ----------
    elements : Elements
        Its own.
    ephemeris, grid
        The sky; the grid's night tells the site.
    instant : datetime
        Aware.

    Returns
    -------
    Target
        With its astrometric J2000 place and its expected magnitude; a comet with a coma of the
        width that is assumed for all.
    """
    place = observe_minor(ephemeris, grid.night.site, [(target.kind, elements)], instant)
    ra_deg, dec_deg = float(place.ra_deg[0]), float(place.dec_deg[0])
    magnitude, distance_au = float(place.magnitude[0]), float(place.distance_au[0])
    coma = float(coma_arcmin(distance_au)) if target.kind is Kind.COMET else None
    return replace(
        target,
        constellation=find_constellation(ra_deg, dec_deg),
        ra_deg=ra_deg,
        dec_deg=dec_deg,
        major_arcmin=coma,
        minor_arcmin=coma,
        magnitude=None if np.isnan(magnitude) else magnitude,
        size_origin=Origin.UNKNOWN if coma is None else Origin.SCALED,
        magnitude_origin=Origin.COMPUTED,
        note="; ".join(_doubts(target.kind, elements, instant, magnitude, distance_au)),
    )


def _doubts(
    kind: Kind, elements: Elements, instant: datetime, magnitude: float, distance_au: float
) -> list[str]:
    said = [f"{distance_au:.2f} au away"]
    if np.isnan(magnitude):
        said.append("its elements come without a magnitude")
    elif kind is Kind.COMET:
        said.append(f"expected magnitude {magnitude:.1f}, comets stray by one and more")
    else:
        said.append(f"expected magnitude {magnitude:.1f}")
    if kind is Kind.COMET:
        said.append(f"coma assumed {COMA_KM:,.0f} km wide")
    return [*said, *filter(None, [age_doubt(kind, elements, instant)])]


def age_doubt(kind: Kind, elements: Elements, instant: datetime) -> str | None:
    """Say how old elements are, when they are too old or their age is not known.

    Returns
    -------
    str or None
        None when the place can be relied on.
    """
    if elements.epoch_jd is None:
        return "the epoch of its elements is not given: its place is doubtful"
    days = julian_date(instant) - elements.epoch_jd
    if abs(days) <= STALE_DAYS[kind]:
        return None
    side = "old" if days > 0.0 else "ahead"
    return f"elements are {abs(days):.0f} days {side}: it may be far from the place given"


def bright_enough(
    bodies: Sequence[Target],
    ephemeris: Ephemeris,
    site: Site,
    instant: datetime,
    *,
    fainter_mag: float = 0.0,
    most: int = MOST_OF_A_KIND,
) -> tuple[Target, ...]:
    """Choose the comets and minor planets that join a night's plan of their own accord.

    Parameters
    ----------
    bodies : sequence of Target
        With elements.
    ephemeris, site, instant
        For when and where.
    fainter_mag : float
        How much fainter than usual they may be [mag]; above 0, those of unknown brightness count.
    most : int
        How many of a kind.

    Returns
    -------
    tuple of Target
        Those bright enough, with the magnitude expected at that instant: first those that come up
        clear of the Sun, the brightest of each sort first.
    """
    known = [(body, body.elements) for body in bodies if body.elements is not None]
    if not known:
        return ()
    place = observe_minor(
        ephemeris, site, [(body.kind, elements) for body, elements in known], instant
    )
    limits = np.array([FAINTEST_MAG[body.kind] for body, _ in known]) + fainter_mag
    unknown = np.isnan(place.magnitude)
    highest_deg = 90.0 - np.abs(place.dec_deg - site.latitude_deg)
    hidden = (place.elongation_deg < CLEAR_OF_SUN_DEG) | (highest_deg < CLEAR_OF_HORIZON_DEG)
    order = np.lexsort((place.magnitude, hidden))
    chosen: list[Target] = []
    counts = dict.fromkeys(FAINTEST_MAG, 0)
    counts_too = unknown & (fainter_mag > 0.0)
    for row in order[((place.magnitude <= limits) | counts_too)[order]]:
        body = known[row][0]
        counts[body.kind] += 1
        if counts[body.kind] <= most:
            magnitude = None if unknown[row] else float(place.magnitude[row])
            chosen.append(replace(body, magnitude=magnitude))
    return tuple(chosen)
