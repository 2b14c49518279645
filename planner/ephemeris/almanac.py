"""Sun and Moon of one night: when they come and go, and when it is dark."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, date, datetime, time, timedelta

import numpy as np

from planner.ephemeris.crossings import find_crossings
from planner.ephemeris.discs import AU_KM, RADII, lit_fraction, phase_angle_deg
from planner.ephemeris.interpolation import Motion, altitude_deg, fit_motions
from planner.ephemeris.kernel import Ephemeris, unix_seconds
from planner.formulas.refraction import (
    HORIZON_REFRACTION_DEG,
    SUNSET_ALTITUDE_DEG,
    sun_hidden_below_deg,
)
from planner.model.night import Night
from planner.model.site import Site
from targets.arrays import Floats

CIVIL_ALTITUDE_DEG = -6.0
NAUTICAL_ALTITUDE_DEG = -12.0
DARK_ALTITUDE_DEG = -18.0

_MOON_RADIUS_AU = RADII["Moon"].equatorial_km / AU_KM
# Between samples so close, a straight line is off by a tenth of an arcsecond: under a second of
# time wherever the Sun moves at all.
_STEP_S = 30.0
# Clocks are put on or back by two hours at most. A longer or shorter "day" means that a zone has
# moved across the date line, and the night is then taken as 24 hours from its first noon.
_SHORTEST_NIGHT = timedelta(hours=22)
_LONGEST_NIGHT = timedelta(hours=26)

_MISSING_DARKNESS = (
    (CIVIL_ALTITUDE_DEG, "Civil twilight all night"),
    (NAUTICAL_ALTITUDE_DEG, "No nautical or astronomical darkness"),
    (DARK_ALTITUDE_DEG, "No astronomical darkness"),
)

# Clocks differ from the Sun by three hours at most where people live by them (western China).
_FARTHEST_NOON = timedelta(hours=4)
# A session does not wait for more than this part of the way from where the Sun is hidden to where
# it is lowest: short nights then lose no hour at once when they get no civil dusk (our choice).
_MOST_OF_THE_WAY = 0.5

Span = tuple[datetime | None, datetime | None]


def hidden_sun_deg(site: Site) -> float:
    """Return the true altitude of the Sun's centre below which none of it shows at a site [deg]."""
    return sun_hidden_below_deg(
        elevation_m=site.elevation_m, lowest_skyline_deg=site.lowest_skyline_deg
    )


def evening_date(instant: datetime, site: Site) -> date:
    """Return the date by which the night around an instant is named.

    Parameters
    ----------
    instant : datetime.datetime
        Aware.

    Returns
    -------
    datetime.date
        Of the evening: at two in the morning "tonight" began yesterday.

    Raises
    ------
    ValueError
        If the instant has no time zone.
    """
    (seconds,) = unix_seconds([instant])
    day = datetime.fromtimestamp(float(seconds), tz=site.zone).date()
    begun = (d for d in (1, 0, -1) if night_bounds(day + timedelta(days=d), site)[0] <= instant)
    return day + timedelta(days=next(begun, -2))


def night_bounds(evening: date, site: Site) -> tuple[datetime, datetime]:
    """Return the two noons [UTC] between which a night lies.

    Parameters
    ----------
    evening : datetime.date
        Of the evening.

    Returns
    -------
    start, end : datetime.datetime
        Aware UTC. The clock's noons as a rule; 24 hours apart, or as many more or fewer as the
        clocks are changed by. Where these are far from the Sun's noon, as by a clock kept to UTC in
        the far east, the mean Sun's noons nearest to them.
    """
    start, end = (
        datetime.combine(day, time(12), tzinfo=site.zone).astimezone(UTC)
        for day in (evening, evening + timedelta(days=1))
    )
    sun_noon = datetime.combine(evening, time(12), tzinfo=UTC) - timedelta(
        hours=site.longitude_deg / 15.0
    )
    turns = round((start - sun_noon) / timedelta(days=1))
    sun_noon += timedelta(days=turns)
    if abs(sun_noon - start) > _FARTHEST_NOON:
        start, end = sun_noon, sun_noon + timedelta(days=1)
    if not _SHORTEST_NIGHT <= end - start <= _LONGEST_NIGHT:
        end = start + timedelta(hours=24)
    return start, end


def find_night(ephemeris: Ephemeris, site: Site, evening: date) -> Night:
    """Find when the Sun and the Moon come and go in one night.

    Parameters
    ----------
    evening : datetime.date
        Of the evening.

    Returns
    -------
    Night
        Times to about a second. The spans below 6, 12 and 18 degrees are those around the Sun's
        lowest point. Where it is that dark at noon already, a span is cut at the night's bounds.

    Raises
    ------
    OutsideEphemerisError
        If there are no positions for that date.

    Notes
    -----
    Sunset and sunrise are for the almanacs' fixed refraction and radius, the Moon's rising and
    setting for its own radius and parallax at that hour. The skyline and the height of the site
    above its surroundings are left out.

    References
    ----------
    Urban and Seidelmann 2013, "Explanatory Supplement to the Astronomical Almanac", 3rd ed.,
    ch. 12. Meeus 1998, "Astronomical Algorithms", ch. 15.
    """
    return find_nights(ephemeris, site, [evening])[0]


def find_nights(ephemeris: Ephemeris, site: Site, evenings: Sequence[date]) -> list[Night]:
    """Find the same for many nights, and ask the ephemeris once.

    Raises OutsideEphemerisError if there are no positions for one of the dates.
    """
    for evening in evenings:
        ephemeris.check_night(evening)
    spans = [night_bounds(evening, site) for evening in evenings]
    motions = fit_motions(ephemeris, site, spans=spans, bodies=("Sun", "Moon"))
    return [night_of(motion, evening) for motion, evening in zip(motions, evenings, strict=True)]


def night_of(motion: Motion, evening: date, *, step_s: float = _STEP_S) -> Night:
    """Return the night that lies in a fitted motion of Sun and Moon.

    Parameters
    ----------
    motion : Motion
        Of the whole night at least.
    evening : datetime.date
        Of the evening.
    step_s : float
        Between samples; with 300 s times are good to about five seconds.
    """
    site = motion.site
    start, end = night_bounds(evening, site)
    seconds = np.append(np.arange(start.timestamp(), end.timestamp(), step_s), end.timestamp())
    axes = motion.axes(seconds)
    sun_deg = altitude_deg(axes, motion.place_au("Sun", seconds))
    limb_deg = _moon_limb_deg(axes, motion.place_au("Moon", seconds))
    moonrises, moonsets = find_crossings(seconds, limb_deg)
    sunset, sunrise = _sun_below(SUNSET_ALTITUDE_DEG, sun_deg, seconds)
    civil, nautical, dark = (
        _within_bounds(_sun_below(level, sun_deg, seconds), (start, end), sun_deg.min() < level)
        for level in (CIVIL_ALTITUDE_DEG, NAUTICAL_ALTITUDE_DEG, DARK_ALTITUDE_DEG)
    )
    level = _session_level_deg(site, float(sun_deg.min()))
    dusk, dawn = (
        (None, None)
        if level is None
        else _within_bounds(_sun_below(level, sun_deg, seconds), (start, end), np.True_)
    )
    midnight = datetime.combine(evening + timedelta(days=1), time(0), tzinfo=site.zone)
    return Night(
        date=evening,
        site=site,
        start=start,
        end=end,
        sunset=sunset,
        sunrise=sunrise,
        civil_dusk=civil[0],
        civil_dawn=civil[1],
        nautical_dusk=nautical[0],
        nautical_dawn=nautical[1],
        dark_start=dark[0],
        dark_end=dark[1],
        moonrise=_instant(moonrises[:1]),
        moonset=_instant(moonsets[:1]),
        moon_illuminated=_moon_illuminated(motion, min(max(midnight, start), end)),
        note=_note(sun_deg, seconds, site),
        moon_starts_up=bool(limb_deg[0] > 0.0),
        dusk=dusk,
        dawn=dawn,
    )


def _session_level_deg(site: Site, lowest_deg: float) -> float | None:
    """Return the altitude of the Sun at which a session begins and ends; None for no session.

    It is civil dusk where the night goes well below it, else part of the way to the Sun's lowest:
    as nights get brighter, sessions shrink to nothing without a jump.
    """
    hidden_deg = hidden_sun_deg(site)
    if lowest_deg >= hidden_deg:
        return None
    part_of_the_way = hidden_deg + _MOST_OF_THE_WAY * (lowest_deg - hidden_deg)
    return min(hidden_deg, max(CIVIL_ALTITUDE_DEG, part_of_the_way))


def _sun_below(level_deg: float, sun_deg: Floats, seconds: Floats) -> Span:
    """Find when the Sun sinks below a level, and comes back, around its lowest point."""
    lowest = seconds[np.argmin(sun_deg)]
    rises, sets = find_crossings(seconds, sun_deg - level_deg)
    dusks, dawns = sets[sets <= lowest], rises[rises >= lowest]
    return _instant(dusks[-1:]), _instant(dawns[:1])


def _within_bounds(span: Span, bounds: tuple[datetime, datetime], reached: np.bool_) -> Span:
    """Cut a span that is open at an end at the night's bounds, if that darkness is reached."""
    return (span[0] or bounds[0], span[1] or bounds[1]) if reached else (None, None)


def _moon_limb_deg(axes: Floats, moon_au: Floats) -> Floats:
    """Return the altitude of the Moon's upper limb, with the almanacs' refraction [deg]."""
    radius_deg = np.degrees(np.arcsin(_MOON_RADIUS_AU / np.linalg.norm(moon_au, axis=1)))
    return np.asarray(altitude_deg(axes, moon_au) + radius_deg + HORIZON_REFRACTION_DEG)


def _moon_illuminated(motion: Motion, instant: datetime) -> float:
    second = np.array([instant.timestamp()])
    phase_deg = phase_angle_deg(motion.place_au("Moon", second), motion.place_au("Sun", second))
    return float(lit_fraction(phase_deg)[0])


def _instant(seconds: Floats) -> datetime | None:
    """Return the one instant of an array as a time to the second, or None for an empty array."""
    if not seconds.size:
        return None
    return datetime.fromtimestamp(round(float(seconds[0])), tz=UTC)


def _note(sun_deg: Floats, seconds: Floats, site: Site) -> str | None:
    """Say in plain sentences what is unusual about the night, if anything is."""
    lowest_deg, up = sun_deg.min(), sun_deg > SUNSET_ALTITUDE_DEG
    turn = datetime.fromtimestamp(float(seconds[np.argmin(sun_deg)]), tz=site.zone)
    if up.all():
        return f"The Sun does not set: polar day. It is lowest at {turn:%H:%M}."
    sentences = []
    if not up.any():
        sentences.append("The Sun does not rise: polar night.")
    elif not up[0]:
        sentences.append("The Sun is down at noon, when this night begins.")
    elif not up[-1]:
        sentences.append("The Sun is still down at noon, when this night ends.")
    for level_deg, words in _MISSING_DARKNESS:
        if lowest_deg > level_deg:
            sentences.append(
                f"{words}: the Sun goes only {-lowest_deg:.1f} degrees below the horizon;"
                f" darkest at {turn:%H:%M}."
            )
            break
    return " ".join(sentences) or None
