"""The ephemeris: JPL DE421 as it lies in an installed package, and the time scale beside it."""

from __future__ import annotations

import atexit
from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta
from functools import cache
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from skyfield.functions import load_bundled_npy
from skyfield.jpllib import SpiceKernel
from skyfield.nutationlib import iau2000b_radians
from skyfield.timelib import Timescale
from skyfield.toposlib import wgs84

from planner.model.site import Site
from targets.errors import UserError
from targets.frozen import frozen

# DE421 holds the outer planets as barycentres of their systems: within 0.1 arcsec of the planet.
KERNEL_NAMES = {
    "Sun": "sun",
    "Moon": "moon",
    "Mercury": "mercury",
    "Venus": "venus",
    "Mars": "mars",
    "Jupiter": "jupiter barycenter",
    "Saturn": "saturn barycenter",
    "Uranus": "uranus barycenter",
    "Neptune": "neptune barycenter",
}
BODIES = tuple(name for name in KERNEL_NAMES if name != "Sun")

_SUN = (10,)  # its number in the files of ephemerides
_SECONDS_PER_DAY = 86_400
_UNIX_EPOCH_JD = 2_440_587.5
_LEAP_SECONDS_SINCE = datetime(1972, 1, 1, tzinfo=UTC).timestamp()
# A night begins up to 14 h before its date does at Greenwich, and light from Neptune started 4 h
# earlier; it ends up to 48 h after the date began there. Whole days, to be sure.
_DAYS_BEFORE = 1
_DAYS_AFTER = 3


class OutsideEphemerisError(UserError, ValueError):
    """A date for which the ephemeris has no positions."""


class UnknownBodyError(ValueError):
    """A name that is not one of the bodies."""


@frozen(eq=False)
class Ephemeris:
    """Positions of the Sun, the Moon and the planets, and the time scale to ask them with.

    Parameters
    ----------
    kernel : skyfield.jpllib.SpiceKernel
        The opened file.
    timescale : skyfield.timelib.Timescale
        With the leap seconds and Earth rotation built into skyfield; nothing is downloaded.
    first_night, last_night : datetime.date
        Evening dates, both included, for which a whole night is inside the file at any site.
    """

    kernel: Any
    timescale: Any
    first_night: date
    last_night: date

    def check_night(self, evening: date) -> None:
        """Make sure that the night of a date can be computed.

        Raises OutsideEphemerisError if the date is outside the span of the ephemeris.
        """
        if not self.first_night <= evening <= self.last_night:
            raise OutsideEphemerisError(
                f"No positions for {evening}: the ephemeris (DE421) covers the nights"
                f" from {self.first_night} to {self.last_night}."
            )

    def check_instant(self, instant: datetime) -> None:
        """Make sure that an instant is in a night that can be computed, the last one included.

        Raises OutsideEphemerisError if its date at Greenwich is more than a day before the first
        night, or after the last.
        """
        day = instant.astimezone(UTC).date()
        nearest = min(max(day, self.first_night), self.last_night)
        self.check_night(nearest if abs(day - nearest) <= timedelta(days=1) else day)

    def times(self, unix_s: NDArray[np.float64]) -> Any:
        """Turn seconds since 1970-01-01 UTC, without leap seconds, into a skyfield time.

        Days and seconds go in apart: each day then gets its own count of leap seconds. Before
        leap seconds there were, clocks were kept to the turning of the Earth. The short series of
        nutation, IAU 2000B, is within two milliarcseconds of the long one, and takes a tenth of its
        time or less (McCarthy and Luzum 2003, Celestial Mechanics 85, 37).
        """
        days, seconds = np.divmod(unix_s, _SECONDS_PER_DAY)
        scale = self.timescale.ut1 if np.min(unix_s) < _LEAP_SECONDS_SINCE else self.timescale.utc
        times = scale(1970, 1, 1 + days, 0, 0, seconds)
        # The way that skyfield's documentation has for it.
        times._nutation_angles_radians = iau2000b_radians(times)  # noqa: SLF001
        return times

    def observer(self, site: Site, times: Any) -> Any:
        """Return where a site is at skyfield times."""
        ground = wgs84.latlon(site.latitude_deg, site.longitude_deg, elevation_m=site.elevation_m)
        return (self.kernel["earth"] + ground).at(times)

    def body(self, name: str) -> Any:
        """Return the skyfield object of a body by its plain name, such as ``Jupiter``.

        Raises UnknownBodyError if there is no such body.
        """
        if name not in KERNEL_NAMES:
            raise UnknownBodyError(
                f"No body is called {name!r}; allowed are {', '.join(KERNEL_NAMES)}."
            )
        return self.kernel[KERNEL_NAMES[name]]


def apparent_place(astrometric: Any) -> Any:
    """Return a skyfield place with aberration, and with light bent by the Sun alone.

    Jupiter bends it by 0.016 arcsec at its limb, Saturn by less: to ask for them, as skyfield does
    of itself, takes more than half of the time.
    """
    return astrometric.apparent(deflectors=_SUN)


@cache
def load_ephemeris() -> Ephemeris:
    """Open the ephemeris that the ``skyfield_data`` package brings; no network is used.

    Returns
    -------
    Ephemeris
        The same object at each call.

    Notes
    -----
    The package's own way in is passed by: it warns about a table of Earth rotation that is not
    used here. The table inside skyfield is good to a fraction of a second for decades.

    References
    ----------
    Folkner, Williams, Boggs 2009, "The Planetary and Lunar Ephemeris DE 421", IPN Progress Report
    42-178.
    """
    kernel = SpiceKernel(str(_kernel_file()))
    atexit.register(kernel.close)
    spans = [(s.spk_segment.start_jd, s.spk_segment.end_jd) for s in kernel.segments]
    first, last = max(start for start, _ in spans), min(end for _, end in spans)
    return Ephemeris(
        kernel=kernel,
        timescale=_timescale(),
        first_night=_date_of(first) + timedelta(days=_DAYS_BEFORE),
        last_night=_date_of(last) - timedelta(days=_DAYS_AFTER),
    )


def _kernel_file() -> Path:
    """Return where the file is; its package need not be loaded."""
    package = find_spec("skyfield_data")
    if package is None or package.origin is None:
        raise ModuleNotFoundError("The package skyfield-data is not installed.")
    return Path(package.origin).parent / "data" / "de421.bsp"


def _timescale() -> Timescale:
    """Return the time scale of the tables inside skyfield.

    Its own loader reads them in the same way, and takes the libraries of the network with it.
    """
    tables = load_bundled_npy("iers.npz")
    days = tables["tt_jd_minus_arange"]
    delta_t_s = (tables["delta_t_1e7"] / 1e7).round(7)
    recent = days + np.arange(len(days)), delta_t_s
    return Timescale(recent, tables["leap_dates"], tables["leap_offsets"])


def unix_seconds(instants: Sequence[datetime]) -> NDArray[np.float64]:
    """Turn instants into seconds since 1970-01-01 UTC, ``(T,)``.

    Raises ValueError if an instant has no time zone.
    """
    for instant in instants:
        if instant.tzinfo is None:
            raise ValueError(f"The time {instant} has no time zone; give it one, such as UTC.")
    return np.array([instant.timestamp() for instant in instants])


def _date_of(julian_date: float) -> date:
    """Return the calendar date of a Julian date."""
    seconds = (julian_date - _UNIX_EPOCH_JD) * _SECONDS_PER_DAY
    return (datetime(1970, 1, 1, tzinfo=UTC) + timedelta(seconds=seconds)).date()
