"""Jupiter on a night: its moons and what happens to them, its meridians, the Red Spot."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np

from planner.ephemeris.crossings import find_crossings
from planner.ephemeris.discs import RADII
from planner.ephemeris.kernel import Ephemeris, unix_seconds
from planner.ephemeris.solar_system.aspect import Aspect, aspect_of
from planner.ephemeris.solar_system.rotation import axes_of
from planner.ephemeris.solar_system.satellites import (
    MOONS_OF_JUPITER,
    MoonOffset,
    along_equator,
    moon_offsets,
    moon_vectors,
)
from planner.model.red_spot import RedSpot
from planner.model.site import Site
from targets.arrays import Floats
from targets.frozen import frozen

SPIN = "Jupiter II"
_FLATTENING = RADII["Jupiter"].polar_km / RADII["Jupiter"].equatorial_km
# Between these steps the way of a moon is a straight line within 0.0003 radii.
_STEP = timedelta(minutes=3)
# What begins and what ends: a moon or its shadow, before and behind the disc.
_WORDS = {
    "transit": ("moves onto the disc", "leaves the disc"),
    "shadow transit": ("moves onto the disc", "leaves the disc"),
    "occultation": ("goes behind the disc", "comes out from behind the disc"),
    "eclipse": ("fades into the shadow", "comes out of the shadow"),
}
_SHORT = {
    "transit": ("onto the disc", "off the disc"),
    "shadow transit": ("onto the disc", "leaves"),
    "occultation": ("goes behind", "comes out"),
    "eclipse": ("is eclipsed", "out of eclipse"),
}


@frozen
class MoonEvent:
    """Something that a moon of Jupiter does.

    Parameters
    ----------
    at : datetime
        UTC, for the moon's middle, or for that of its shadow, at the edge.
    phenomenon : str
        ``transit``, ``shadow transit``, ``occultation`` or ``eclipse``.
    begins : bool
        Whether it begins or ends then.
    """

    at: datetime
    moon: str
    phenomenon: str
    begins: bool

    @property
    def words(self) -> str:
        """A clause: ``Io's shadow leaves the disc``."""
        return f"{self._who} {_WORDS[self.phenomenon][0 if self.begins else 1]}"

    @property
    def short(self) -> str:
        """The same for a place where a few words must do: ``Io's shadow leaves``."""
        return f"{self._who} {_SHORT[self.phenomenon][0 if self.begins else 1]}"

    @property
    def _who(self) -> str:
        return f"{self.moon}'s shadow" if self.phenomenon == "shadow transit" else self.moon


@frozen
class JupiterFace:
    """Jupiter at an instant.

    Parameters
    ----------
    system_i_deg, system_ii_deg : float
        Longitude of the middle of the lit disc in either system, as observers count it [deg].
    tilt_deg : float
        Latitude in the middle of the disc, north positive [deg].
    pole_angle_deg : float
        Position angle of the north pole [deg].
    moons : tuple of MoonOffset
        Io, Europa, Ganymede, Callisto; empty outside the years for which there are places.
    shadows : tuple of str
        Moons whose shadow is on the disc.
    """

    system_i_deg: float
    system_ii_deg: float
    tilt_deg: float
    pole_angle_deg: float
    moons: tuple[MoonOffset, ...]
    shadows: tuple[str, ...]


def central_meridian_deg(aspect: Aspect, spin: str = SPIN) -> Floats:
    """Return the longitude in the middle of Jupiter's lit disc [deg], 0 .. 360, ``(T,)``.

    Notes
    -----
    As the almanacs give it, counted so that it grows with time. The middle of the lit disc lies up
    to 0.5 deg from that of the whole disc.

    References
    ----------
    Meeus 1998, "Astronomical Algorithms", 2nd ed., ch. 43.
    """
    longitude, _ = aspect.facing(spin)
    sun_longitude, _ = aspect.lit(spin)
    toward_sun = np.sign((sun_longitude - longitude + 180.0) % 360.0 - 180.0)
    phase = np.degrees(np.sin(np.radians(aspect.phase_angle_deg) / 2.0) ** 2)
    return np.asarray(-(longitude + toward_sun * phase) % 360.0)


def jupiter_face(ephemeris: Ephemeris, site: Site, instant: datetime) -> JupiterFace:
    """Return Jupiter as it stands at an instant (aware)."""
    aspect = aspect_of(ephemeris, site, "Jupiter", [instant])
    vectors = moon_vectors(aspect, MOONS_OF_JUPITER)
    moons = moon_offsets(MOONS_OF_JUPITER, vectors, aspect, SPIN)
    states = {} if vectors is None else _states(aspect, vectors)
    return JupiterFace(
        system_i_deg=float(central_meridian_deg(aspect, "Jupiter I")[0]),
        system_ii_deg=float(central_meridian_deg(aspect)[0]),
        tilt_deg=float(aspect.facing(SPIN)[1][0]),
        pole_angle_deg=float(aspect.pole_angle_deg(SPIN)[0]),
        moons=tuple(replace(moon, state=_state(states, k)) for k, moon in enumerate(moons)),
        shadows=tuple(
            name for k, name in enumerate(MOONS_OF_JUPITER) if _is_in(states, "shadow transit", k)
        ),
    )


def _state(states: dict[str, Floats], moon: int) -> str:
    for phenomenon, word in (
        ("transit", "in front"),
        ("occultation", "behind"),
        ("eclipse", "in the shadow"),
    ):
        if _is_in(states, phenomenon, moon):
            return word
    return ""


def _is_in(states: dict[str, Floats], phenomenon: str, moon: int) -> bool:
    """Whether a moon is in a phenomenon at the first instant."""
    return phenomenon in states and bool(states[phenomenon][moon, 0] > 0.0)


def moon_events(
    ephemeris: Ephemeris, site: Site, start: datetime, end: datetime
) -> tuple[MoonEvent, ...]:
    """Find what Jupiter's moons do between two instants, in order of time.

    Parameters
    ----------
    start, end : datetime
        Aware.

    Returns
    -------
    tuple of MoonEvent
        Of what can be seen; none outside the years for which there are places. A moon that goes
        behind the disc while it is eclipsed is left out. Whether Jupiter is up is for the caller
        to say.

    Notes
    -----
    For the middle of each moon, on a disc and a shadow without soft edges. A moon takes 3 to 10
    minutes to cross the edge. Two theories differ by 0.03 radii for Callisto: 5 minutes, and more
    where it grazes the edge.
    """
    if not start < end:
        return ()
    steps = int((end - start) / _STEP) + 2
    instants = [start.astimezone(UTC) + k * _STEP for k in range(steps)]
    aspect = aspect_of(ephemeris, site, "Jupiter", instants)
    vectors = moon_vectors(aspect, MOONS_OF_JUPITER)
    if vectors is None:
        return ()
    states = _states(aspect, vectors)
    unix_s = unix_seconds(instants)
    found = [
        MoonEvent(datetime.fromtimestamp(second, UTC), MOONS_OF_JUPITER[moon], phenomenon, begins)
        for phenomenon, depth in states.items()
        for moon in range(len(MOONS_OF_JUPITER))
        for second, begins in _edges(unix_s, depth[moon])
        if not _is_hidden(states, phenomenon, moon, unix_s, second)
    ]
    return tuple(sorted((e for e in found if e.at <= end), key=lambda event: event.at))


def _edges(unix_s: Floats, depth: Floats) -> list[tuple[float, bool]]:
    begins, ends = find_crossings(unix_s, depth)
    return [(float(s), True) for s in begins] + [(float(s), False) for s in ends]


def _is_hidden(
    states: dict[str, Floats], phenomenon: str, moon: int, unix_s: Floats, second: float
) -> bool:
    """Whether a moon is out of sight for another reason when something happens to it."""
    other = {"occultation": "eclipse", "eclipse": "occultation"}.get(phenomenon)
    return other is not None and float(np.interp(second, unix_s, states[other][moon])) > 0.0


def _states(aspect: Aspect, vectors: Floats) -> dict[str, Floats]:
    """Return how deep each moon is in each phenomenon, ``(4, T)``: positive inside, in radii."""
    pole = axes_of(SPIN, aspect.days_tdb)[:, 2]
    seen = along_equator(vectors, aspect.sight_au, pole)
    sunlit = along_equator(vectors, -aspect.sun_au, pole)
    depth, shadow_depth = disc_depth(seen), disc_depth(sunlit)
    far = 10.0  # of what is on the other side: far outside
    return {
        "transit": np.where(seen[2] < 0.0, depth, -far),
        "shadow transit": np.where(sunlit[2] < 0.0, shadow_depth, -far),
        "occultation": np.where(seen[2] > 0.0, depth, -far),
        "eclipse": np.where(sunlit[2] > 0.0, shadow_depth, -far),
    }


def disc_depth(place: Floats) -> Floats:
    """Return how far inside Jupiter's flattened disc places are.

    Parameters
    ----------
    place : ndarray
        To the west, to the north and away, in equatorial radii, ``(3, ...)``.

    Returns
    -------
    ndarray
        1 in the middle, 0 at the edge, negative outside [radii], ``(...)``.
    """
    west, north, _ = place
    return np.asarray(1.0 - np.hypot(west, north / _FLATTENING))


def spot_transits(
    ephemeris: Ephemeris, site: Site, spot: RedSpot, start: datetime, end: datetime
) -> tuple[datetime, ...]:
    """Find when the Red Spot stands in the middle of the disc between two instants (UTC)."""
    if not start < end:
        return ()
    step = timedelta(minutes=20)
    steps = int((end - start) / step) + 2
    instants = [start.astimezone(UTC) + k * step for k in range(steps)]
    aspect = aspect_of(ephemeris, site, "Jupiter", instants)
    longitude = np.array([spot.longitude_at(instant) for instant in instants])
    ahead = np.unwrap(central_meridian_deg(aspect) - longitude, period=360.0)
    unix_s = unix_seconds(instants)
    turns = np.arange(np.ceil(ahead[0] / 360.0), np.floor(ahead[-1] / 360.0) + 1.0)
    seconds = np.interp(turns * 360.0, ahead, unix_s)
    found = (datetime.fromtimestamp(float(second), UTC) for second in seconds)
    return tuple(instant for instant in found if instant <= end)


def chief_events(events: Sequence[MoonEvent]) -> list[MoonEvent]:
    """Put first what a plan has room for: shadows, then transits, then the rest."""
    order = ("shadow transit", "transit", "eclipse", "occultation")
    return sorted(events, key=lambda event: order.index(event.phenomenon))
