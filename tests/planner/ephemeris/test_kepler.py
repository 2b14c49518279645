"""Motion on orbits against the worked examples of Meeus and the orbits of another library."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from planner.ephemeris.kepler import mean_motion_deg, orbit_position_au
from planner.ephemeris.kernel import Ephemeris

# The last digits that the examples print.
FIVE_DECIMALS_DEG = 0.6e-5
SIX_DECIMALS_AU = 0.6e-6
# Two solutions of the same equations in double precision.
ROUNDING_AU = 1e-10

# Meeus 1998, "Astronomical Algorithms", examples 34.a and 34.b (parabolas) and the exercises of
# ch. 35 (near-parabolic orbits): q [au], e, days from the perihelion, true anomaly [deg],
# distance [au]; recalled from memory, and each a solution of the equations to its last digit.
MEEUS = (
    (1.487469, 1.0, 112.5642, 66.78862, 2.133911),
    (0.921326, 1.0, 138.4783, 102.74426, 2.364192),
    (0.1, 0.987, 254.9, 164.50029, 4.063777),
    (0.123456, 0.99997, -30.47, -138.08810, 0.965053),
    (3.363943, 1.05731, 1237.1, 109.40598, 10.668551),
    (0.5871018, 0.9672746, 20.0, 52.85331, 0.729116),
)


def in_the_plane(days: float, q: float, e: float) -> tuple[float, float]:
    """Return true anomaly [deg] and distance [au] of a body that moves in the ecliptic."""
    place = orbit_position_au(
        np.array(days),
        perihelion_au=np.array(q),
        eccentricity=np.array(e),
        argument_deg=np.array(0.0),
        node_deg=np.array(0.0),
        inclination_deg=np.array(0.0),
    )
    tilt = np.radians(23.0 + 26.0 / 60.0 + 21.448 / 3600.0)  # obliquity of J2000: IAU 1976
    across = place[1] * np.cos(tilt) + place[2] * np.sin(tilt)
    return float(np.degrees(np.arctan2(across, place[0]))), float(np.linalg.norm(place))


@pytest.mark.parametrize(("q", "e", "days", "anomaly_deg", "distance_au"), MEEUS)
def test_worked_examples(
    q: float, e: float, days: float, anomaly_deg: float, distance_au: float
) -> None:
    """True anomaly and distance are those of the book."""
    found = in_the_plane(days, q, e)
    assert_allclose(found[0], anomaly_deg, rtol=0, atol=FIVE_DECIMALS_DEG)
    assert_allclose(found[1], distance_au, rtol=0, atol=SIX_DECIMALS_AU)


@pytest.mark.parametrize("e", [0.0, 0.0789, 0.847359, 0.995086, 0.99999, 1.0, 1.0002, 3.3])
def test_places_are_those_of_skyfield(ephemeris: Ephemeris, e: float) -> None:
    """Skyfield's own orbits, from its reader's rows, give the same places for nine years."""
    pandas = pytest.importorskip("pandas")
    from skyfield.constants import GM_SUN_Pitjeva_2005_km3_s2 as GM_SUN  # noqa: PLC0415
    from skyfield.data import mpc  # noqa: PLC0415  # slow to load

    scale = ephemeris.timescale
    perihelion = scale.tt(2024, 3, 31.4141)
    row = pandas.Series(
        {
            "perihelion_year": 2024,
            "perihelion_month": 3,
            "perihelion_day": 31.4141,
            "perihelion_distance_au": 0.6,
            "eccentricity": e,
            "argument_of_perihelion_degrees": 130.5887,
            "longitude_of_ascending_node_degrees": 282.4707,
            "inclination_degrees": 89.43,
            "designation": "x",
        }
    )
    orbit = mpc.comet_orbit(row, scale, GM_SUN)
    days = np.array([-1100.0, -300.0, -3.0, 0.0, 1.0, 50.0, 400.0, 2200.0])
    ours = orbit_position_au(
        days,
        perihelion_au=np.array(0.6),
        eccentricity=np.array(e),
        argument_deg=np.array(130.5887),
        node_deg=np.array(282.4707),
        inclination_deg=np.array(89.43),
    )
    theirs = np.array([orbit.at(scale.tt_jd(perihelion.tt + day)).xyz.au for day in days])
    assert_allclose(ours, theirs, rtol=0, atol=ROUNDING_AU)


def test_arrays_equal_single_orbits() -> None:
    """Orbits of all kinds at once come out as one by one."""
    q = np.array([0.3, 1.0, 2.5])
    e = np.array([0.9, 1.0, 1.4])
    days = np.array([[-200.0], [0.0], [900.0]])
    angles = {name: np.zeros(3) for name in ("argument_deg", "node_deg", "inclination_deg")}
    whole = orbit_position_au(days, perihelion_au=q, eccentricity=e, **angles)
    assert whole.shape == (3, 3, 3)
    for row in range(3):
        for column in range(3):
            distance = in_the_plane(float(days[row, 0]), float(q[column]), float(e[column]))[1]
            assert_allclose(np.linalg.norm(whole[row, column]), distance, rtol=1e-12)


def test_an_ellipse_closes() -> None:
    """After a whole period, or a hundred, a body is where it was, and it is farthest at half."""
    period = 2.0 * np.pi / 0.017_202_098_95 * 2.0**1.5  # Gauss: IAU 1976; q = 1, e = 0.5
    for turns in (1.0, 100.0):
        assert_allclose(in_the_plane(10.0 + turns * period, 1.0, 0.5), in_the_plane(10.0, 1.0, 0.5))
    assert_allclose(in_the_plane(period / 2.0, 1.0, 0.5)[1], 3.0, rtol=1e-9)


def test_mean_motion_of_the_earth() -> None:
    """At 1 au it is 0.9856 degrees a day, the Gaussian constant (IAU 1976)."""
    assert_allclose(mean_motion_deg(np.array(1.0)), 0.985_607_668_6, rtol=1e-9)
