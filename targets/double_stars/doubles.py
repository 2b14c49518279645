"""Stars and pairs: where they and their companions stand in a year, and pairs in words."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import datetime
from functools import cache

from targets.double_stars.orbits import relative_place
from targets.model import Origin, Target
from targets.proper_motion import moved
from targets.sphere import place_deg, unit_vectors
from targets.tables import pair_rows

DAYS_PER_JULIAN_YEAR = 365.25
J2000_TIMESTAMP_S = 946728000.0  # 2000-01-01 12:00 UTC


def julian_year(instant: datetime) -> float:
    """Return an aware instant as a year with its fraction, of 365.25 days each."""
    days = (instant.timestamp() - J2000_TIMESTAMP_S) / 86400.0
    return 2000.0 + days / DAYS_PER_JULIAN_YEAR


def colours_of(target_id: str) -> tuple[float | None, float | None]:
    """Return the colours of a pair's stars, Gaia's BP - RP [mag]; None where they are not known."""
    return _colours().get(target_id, (None, None))


@cache
def _colours() -> dict[str, tuple[float | None, float | None]]:
    def colour(text: str) -> float | None:
        return float(text) if text else None

    return {row["id"]: (colour(row["bp_rp_a"]), colour(row["bp_rp_b"])) for row in pair_rows()}


def star_at(target: Target, year: float) -> Target:
    """Return a star or pair where it stands in a year, its companion too; others as they are.

    Parameters
    ----------
    target : Target
        Any target with a place, or without.
    year : float
        Year with its fraction.
    """
    motion = target.proper_motion
    if motion is not None:
        there = moved(
            unit_vectors(target.ra_deg or 0.0, target.dec_deg or 0.0),
            ra_mas_yr=motion.ra_mas_yr,
            dec_mas_yr=motion.dec_mas_yr,
            years=year - motion.epoch_yr,
        )
        ra_deg, dec_deg = place_deg(there)
        target = replace(
            target,
            ra_deg=float(ra_deg),
            dec_deg=float(dec_deg),
            proper_motion=replace(motion, epoch_yr=year),
        )
    return pair_at(target, year)


def pair_at(target: Target, year: float) -> Target:
    """Return a pair as it stands in a year; whatever has no orbit stays as it is.

    Parameters
    ----------
    year : float
        Year with its fraction.

    Returns
    -------
    Target
        With separation, angle and ``epoch_yr`` of that year.

    Notes
    -----
    The orbit is scaled and turned so that it passes through the target's own separation and angle
    at its own epoch: a measurement of 2016 is worth more than an orbit that misses it. Between
    two years the outcome is the same whichever way it is reached.
    """
    orbit, epoch_yr = target.orbit, target.epoch_yr
    major_arcmin, angle_deg = target.major_arcmin, target.position_angle_deg
    if orbit is None or epoch_yr is None or major_arcmin is None or angle_deg is None:
        return target
    there_arcsec, there_deg = relative_place(orbit, epoch_yr)
    now_arcsec, now_deg = relative_place(orbit, year)
    turned_deg = float(angle_deg + now_deg - there_deg) % 360.0
    return replace(
        target,
        major_arcmin=float(major_arcmin * now_arcsec / there_arcsec),
        # The remainder of an angle just below zero rounds to a full turn.
        position_angle_deg=turned_deg if turned_deg < 360.0 else 0.0,
        size_origin=Origin.COMPUTED,
        epoch_yr=year,
    )


def pair_words(target: Target) -> str:
    """Put a pair into words: ``34.6" apart toward 54 deg (2016.0), magnitudes 3.1 and 5.1``.

    Empty for what is no pair.
    """
    separation_arcsec = target.separation_arcsec
    if separation_arcsec is None:
        return ""
    place = f"{separation_words(separation_arcsec)} apart"
    if target.position_angle_deg is not None:
        place += f" toward {target.position_angle_deg:.0f} deg"
    if epoch := epoch_words(target):
        place += f" ({epoch})"
    magnitudes = magnitudes_words(target)
    return f"{place}, magnitudes {magnitudes}" if magnitudes else place


def separation_words(separation_arcsec: float) -> str:
    """Write a separation in seconds of arc: two digits after the point below 3, one below 100."""
    digits = 2 if separation_arcsec < 2.995 else 1 if separation_arcsec < 99.95 else 0
    return f'{separation_arcsec:.{digits}f}"'


def epoch_words(target: Target) -> str:
    """Say when a pair's place holds: ``2016.0``, ``by orbit, 2026.9``; empty when unknown."""
    if target.epoch_yr is None:
        return ""
    lead = "by orbit, " if target.size_origin is Origin.COMPUTED else ""
    return f"{lead}{target.epoch_yr:.1f}"


def magnitudes_words(target: Target) -> str:
    """Return both magnitudes, ``3.1 and 5.1``; empty when they are not known."""
    primary, companion = primary_magnitude(target), target.companion_magnitude
    return "" if primary is None or companion is None else f"{primary:.1f} and {companion:.1f}"


def primary_magnitude(target: Target) -> float | None:
    """Return the magnitude of a pair's brighter star: what is left of the light of both."""
    if target.magnitude is None or target.companion_magnitude is None:
        return None
    rest = 10.0 ** (-0.4 * target.magnitude) - 10.0 ** (-0.4 * target.companion_magnitude)
    return -2.5 * math.log10(rest)
