"""The ephemeris opens from its package, without a network, and knows its span."""

from __future__ import annotations

import subprocess
import sys
from datetime import UTC, date, datetime

import numpy as np
import pytest
from numpy.testing import assert_allclose
from skyfield.api import load

from planner.ephemeris.kernel import (
    BODIES,
    Ephemeris,
    OutsideEphemerisError,
    UnknownBodyError,
    load_ephemeris,
    unix_seconds,
)

ONE_MILLISECOND = 1.0e-3  # Julian dates in doubles hold a time to 40 microseconds
HALF_A_SECOND = 0.5  # how well the turning of the Earth was known then
SECONDS_PER_DAY = 86_400.0

WITHOUT_SOCKETS = """
import socket

class Refused(socket.socket):
    def __new__(cls, *arguments, **options):
        raise AssertionError("a socket was opened")

socket.socket = socket.create_connection = socket.getaddrinfo = Refused

from datetime import UTC, date, datetime
from planner.ephemeris.almanac import find_night
from planner.ephemeris.bodies import find_constellation, observe_body
from planner.ephemeris.kernel import load_ephemeris
from planner.model.site import Site
from planner.ephemeris.tracks import track_bodies, track_night

ephemeris = load_ephemeris()
site = Site("Garden", 51.2, -2.4, timezone="Europe/London")
night = find_night(ephemeris, site, date(2026, 11, 25))
grid = track_night(ephemeris, night)
grid.place(83.8, -5.4)
track_bodies(ephemeris, grid)
observe_body(ephemeris, site, "Saturn", [datetime(2026, 11, 25, 20, tzinfo=UTC)])
print(find_constellation(83.8, -5.4), len(grid.unix_s))
"""


def test_a_whole_night_needs_no_network_and_gives_no_warning() -> None:
    """With sockets taken away and warnings made errors, a fresh interpreter still plans a night."""
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", WITHOUT_SOCKETS],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout == "Ori 289\n"


def test_the_ephemeris_is_opened_once() -> None:
    """Loading it again gives the same object, not a second file."""
    assert load_ephemeris() is load_ephemeris()


def test_every_night_of_the_span_has_positions_at_its_outermost_hours(ephemeris: Ephemeris) -> None:
    """Neptune, whose light is 4 hours old, is found at the first noon and the last."""
    # Kiritimati's noon comes 14 h before Greenwich's, that of Etc/GMT+12 half a day after it.
    for instant in (
        datetime.combine(ephemeris.first_night, datetime.min.time(), tzinfo=UTC).timestamp()
        - 2 * 3600.0,
        datetime.combine(ephemeris.last_night, datetime.min.time(), tzinfo=UTC).timestamp()
        + 48 * 3600.0,
    ):
        times = ephemeris.times(np.array([instant]))
        place = ephemeris.kernel["earth"].at(times).observe(ephemeris.body("Neptune"))
        assert 28.0 < place.distance().au[0] < 32.0


def test_the_span_is_that_of_the_published_file(ephemeris: Ephemeris) -> None:
    """DE421 runs from 1899-07-29 to 2053-10-09 (Folkner et al. 2009, IPN PR 42-178)."""
    assert date(1899, 7, 29) < ephemeris.first_night <= date(1899, 7, 31)
    assert date(2053, 10, 5) <= ephemeris.last_night < date(2053, 10, 9)


@pytest.mark.parametrize("evening", [date(1899, 7, 28), date(2053, 10, 9), date(2200, 1, 1)])
def test_a_date_outside_is_answered_with_what_is_allowed(
    ephemeris: Ephemeris, evening: date
) -> None:
    """The message names the date asked for and the nights that can be had."""
    with pytest.raises(OutsideEphemerisError, match=f"{evening}.* from 1899-07-30 to 2053-10-06"):
        ephemeris.check_night(evening)


# TT - UTC is 32.184 s and the leap seconds: IERS Bulletin C 16 (1998), C 36 (2008), C 52 (2016).
@pytest.mark.parametrize(
    ("instant", "tt_minus_utc_s"),
    [
        (datetime(1998, 12, 31, 23, 59, 59, tzinfo=UTC), 63.184),
        (datetime(1999, 1, 1, tzinfo=UTC), 64.184),
        (datetime(2009, 1, 1, tzinfo=UTC), 66.184),
        (datetime(2016, 12, 31, 12, tzinfo=UTC), 68.184),
        (datetime(2026, 11, 25, 12, tzinfo=UTC), 69.184),
    ],
)
def test_each_day_has_its_own_leap_seconds(
    ephemeris: Ephemeris, instant: datetime, tt_minus_utc_s: float
) -> None:
    """Seconds since 1970 leave leap seconds out; terrestrial time has them back in."""
    (seconds,) = unix_seconds([instant])
    (tt,) = ephemeris.times(np.array([seconds])).tt
    julian_date_utc = 2_440_587.5 + seconds / SECONDS_PER_DAY
    assert_allclose((tt - julian_date_utc) * SECONDS_PER_DAY, tt_minus_utc_s, atol=ONE_MILLISECOND)


def test_clocks_kept_to_the_earth_before_leap_seconds(ephemeris: Ephemeris) -> None:
    """In 1930 terrestrial time was 24.08 s ahead of clocks (Meeus 1998, table 10.A)."""
    (seconds,) = unix_seconds([datetime(1930, 1, 1, tzinfo=UTC)])
    (tt,) = ephemeris.times(np.array([seconds])).tt
    julian_date_ut = 2_440_587.5 + seconds / SECONDS_PER_DAY
    assert_allclose((tt - julian_date_ut) * SECONDS_PER_DAY, 24.08, atol=HALF_A_SECOND)


def test_every_body_is_in_the_file(ephemeris: Ephemeris) -> None:
    """The Sun, the Moon and seven planets can be asked for by their plain names."""
    assert len(BODIES) == 8
    for name in ("Sun", *BODIES):
        assert ephemeris.body(name).target is not None


def test_an_unknown_body_is_answered_with_the_known_ones(ephemeris: Ephemeris) -> None:
    """The message names what was asked and what is allowed."""
    with pytest.raises(UnknownBodyError, match=r"'Pluto'; allowed are Sun, Moon, Mercury"):
        ephemeris.body("Pluto")


def test_a_time_without_zone_is_refused() -> None:
    """A bare clock time is never taken for UTC or for this machine's zone."""
    with pytest.raises(ValueError, match="2026-11-25 20:00:00 has no time zone"):
        unix_seconds([datetime(2026, 11, 25, 20)])  # noqa: DTZ001


def test_the_time_scale_is_that_of_its_own_loader(ephemeris: Ephemeris) -> None:
    """The same leap seconds, and the same turning of the Earth from 1900 to 2053 (skyfield)."""
    usual = load.timescale(builtin=True)
    days = np.linspace(2_415_020.0, 2_471_000.0, 500)
    own = ephemeris.timescale
    np.testing.assert_array_equal(own.tt_jd(days).delta_t, usual.tt_jd(days).delta_t)
    for name in ("leap_dates", "leap_offsets"):
        np.testing.assert_array_equal(getattr(own, name), getattr(usual, name))
