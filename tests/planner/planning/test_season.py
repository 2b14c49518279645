"""The year of a fixed target: how high, how often, and when it is at its best."""

from __future__ import annotations

import erfa
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from planner.ephemeris.kernel import load_ephemeris
from planner.planning.season import (
    best_shares,
    culmination_deg,
    dark_hours,
    height_share,
    opportunity,
    sun_place,
)
from targets.arrays import Floats
from targets.catalogue.catalogue import load_catalogue

ONE_DEG = 1.0
JD_OF_FIRST_EVENING = 2461407.375  # 1 January 2027, 21 h, at Greenwich
LATITUDES = st.floats(-65.0, 65.0)
DECLINATIONS = st.floats(-89.0, 89.0)


def test_the_sun_stands_where_the_ephemeris_has_it() -> None:
    """Within a degree of DE421 through the year 2027, apparent place of date."""
    ephemeris = load_ephemeris()
    days = np.arange(1, 366, 13)
    ra_deg, dec_deg = sun_place(days.astype(float))
    for day, ra, dec in zip(days, ra_deg, dec_deg, strict=True):
        noon = np.datetime64("2027-01-01T12:00") + np.timedelta64(int(day) - 1, "D")
        times = ephemeris.times(np.array([noon.astype("datetime64[s]").astype(float)]))
        place = ephemeris.kernel["earth"].at(times).observe(ephemeris.kernel["sun"]).apparent()
        hours, degrees, _ = place.radec(epoch="date")
        off = (ra - 15.0 * hours.hours[0] + 180.0) % 360.0 - 180.0
        assert abs(off) < ONE_DEG
        assert abs(dec - degrees.degrees[0]) < ONE_DEG


def culmination_days(ra_deg: Floats) -> Floats:
    """Return the days of 2027 on which places culminate at 21 h local mean time, (N,).

    Handbooks give the best month of a target so. Mean sidereal time of the IAU 2006 by ERFA.
    """
    evenings = JD_OF_FIRST_EVENING + np.arange(365.0)
    sidereal_deg = np.degrees(erfa.gmst06(evenings, 0.0, evenings, 0.0))
    apart = (sidereal_deg - ra_deg[:, None] + 180.0) % 360.0 - 180.0
    return 1.0 + np.argmin(np.abs(apart), axis=1)


@pytest.mark.parametrize("latitude_deg", [50.0, 33.0, -34.0])
def test_a_target_is_at_its_best_when_it_culminates_at_nine(latitude_deg: float) -> None:
    """Every Messier object that gets 15 deg up, wherever it is dark by then (nautical dusk).

    Half a year later it is not at its best, but for what never sets.
    """
    catalogue = load_catalogue()
    rows = np.array(catalogue.messier())
    ra_deg, dec_deg = catalogue.ra_deg[rows], catalogue.dec_deg[rows]
    rises = culmination_deg(dec_deg, latitude_deg) >= 15.0
    days = culmination_days(ra_deg)
    first_deg, _ = dark_hours(latitude_deg, days)
    is_dark = (ra_deg - first_deg + 180.0) % 360.0 >= 180.0
    chosen = np.flatnonzero(rises & is_dark)
    assert len(chosen) > 60
    best = best_shares(ra_deg, dec_deg, latitude_deg=latitude_deg, day_of_year=days)
    assert (best[chosen, chosen] > 0.999).all()
    sets = np.abs(dec_deg) < 90.0 - abs(latitude_deg) - 10.0
    later = best_shares(ra_deg, dec_deg, latitude_deg=latitude_deg, day_of_year=days + 182.0)
    assert (later[chosen, chosen] < 0.9)[sets[chosen]].all()


def test_height_is_a_share_of_what_can_be_reached() -> None:
    """M81 at 33 of 71 degrees, M8 at 16 of 16 degrees (50 N), worked by hand with sines."""
    assert_allclose(culmination_deg(np.array([69.07, -24.38]), 50.0), [70.93, 15.62])
    found = height_share(np.array([33.0, 15.62, 80.0, -5.0]), np.array([70.93, 15.62, 70.0, 60.0]))
    assert_allclose(found, [0.5446 / 0.9451, 1.0, 1.0, 0.0], atol=1e-3)
    assert height_share(np.array([30.0]), np.array([np.nan])).tolist() == [1.0]


@given(latitude=LATITUDES, dec=DECLINATIONS, ra=st.floats(0.0, 359.0))
def test_every_share_and_gain_is_within_its_bounds(latitude: float, dec: float, ra: float) -> None:
    """0 .. 1, and a gain from 0.8 to 1.35, also where the Sun does not set or rise."""
    days = np.arange(1.0, 366.0, 20.0)
    ra_deg, dec_deg = np.array([ra]), np.array([dec])
    best = best_shares(ra_deg, dec_deg, latitude_deg=latitude, day_of_year=days)
    assert ((best >= 0.0) & (best <= 1.0)).all()
    gain = opportunity(
        ra_deg, dec_deg, latitude_deg=latitude, day_of_year=100.0, best_share=best[:, 0]
    )
    assert 0.8 - 1e-9 <= gain[0] <= 1.35 + 1e-9


def test_what_is_rare_gains_and_what_is_always_there_does_not() -> None:
    """At 50 N in July: the Lagoon, low and brief, against a galaxy near the pole."""
    ra_deg, dec_deg = np.array([270.9, 148.9, np.nan]), np.array([-24.4, 69.7, np.nan])
    tonight = best_shares(ra_deg, dec_deg, latitude_deg=50.0, day_of_year=np.array([200.0]))[:, 0]
    lagoon, cigar, moon = opportunity(
        ra_deg, dec_deg, latitude_deg=50.0, day_of_year=200.0, best_share=tonight
    )
    assert lagoon > moon > cigar
    assert moon == 1.0


def test_there_are_no_hours_where_it_does_not_get_dark() -> None:
    """Nautical darkness at 65 N: none at midsummer, the usual hours in winter."""
    _, length_deg = dark_hours(65.0, np.array([172.0, 355.0]))
    assert_allclose(length_deg, [0.0, 75.0])
