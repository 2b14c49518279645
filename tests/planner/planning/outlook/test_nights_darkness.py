"""How dark the coming nights are, against astropy and PyEphem, which find it in other ways."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np
import pytest

from planner.model.night import Night

# Both sides sample: two minutes here and straight lines over five there, at up to four edges.
SAMPLING_HOURS = 0.08
# PyEphem and DE421 place the Sun within an arcsecond or so; both solve for the crossing itself.
ONE_MINUTE_HOURS = 1.0 / 60.0
SAMPLE = timedelta(minutes=2)
STRIDE = 5  # samples; altitudes are straight within 0.01 deg over ten minutes
MOON_RADIUS_KM = 1737.4  # IAU 2015 nominal
HORIZON_REFRACTION_DEG = 34.0 / 60.0  # the almanacs' convention

# New, half and full Moon; two hemispheres, the Arctic in polar night and in late summer.
CASES = [
    ("Garden", "2026-11-25"),
    ("Garden", "2026-12-09"),
    ("Garden", "2026-06-10"),
    ("Tromso", "2026-12-20"),
    ("Tromso", "2026-09-03"),
    ("Quito", "2026-03-26"),
    ("Sydney", "2026-10-03"),  # clocks go forward
]


@pytest.mark.parametrize(("site", "first"), CASES)
@pytest.mark.usefixtures("astropy_offline")
def test_moonless_hours_agree_with_astropy(look_ahead: Any, site: str, first: str) -> None:
    """Hours with the Sun below 18 degrees, with and without the Moon, are astropy's."""
    (outlook,) = look_ahead(site, first, wishes=["M31"])
    dark, moonless = _hours_by_astropy(outlook.night)
    assert outlook.dark_hours == pytest.approx(dark, abs=SAMPLING_HOURS)
    assert outlook.dark_moonless_hours == pytest.approx(moonless, abs=SAMPLING_HOURS)


def _hours_by_astropy(night: Night) -> tuple[float, float]:
    from astropy import units as u  # noqa: PLC0415  # slow to load
    from astropy.coordinates import AltAz, EarthLocation, get_body  # noqa: PLC0415
    from astropy.time import Time  # noqa: PLC0415

    site = night.site
    place = EarthLocation.from_geodetic(
        site.longitude_deg * u.deg, site.latitude_deg * u.deg, site.elevation_m * u.m
    )
    asked = np.arange(0.0, (night.end - night.start) / SAMPLE, STRIDE)
    times = Time([night.start + k * SAMPLE for k in asked])
    frame = AltAz(obstime=times, location=place)
    sun = get_body("sun", times, place).transform_to(frame)
    moon = get_body("moon", times, place).transform_to(frame)
    radius_deg = np.degrees(np.arcsin(MOON_RADIUS_KM / moon.distance.to_value(u.km)))
    samples = np.arange(asked[-1]) + 0.5
    dark = np.interp(samples, asked, sun.alt.deg) < -18.0
    down = np.interp(samples, asked, moon.alt.deg + radius_deg) + HORIZON_REFRACTION_DEG < 0.0
    hours = SAMPLE / timedelta(hours=1)
    return float(np.sum(dark) * hours), float(np.sum(dark & down) * hours)


@pytest.mark.parametrize(
    ("site", "first"), [("Garden", "2026-11-25"), ("Quito", "2026-03-26"), ("Sydney", "2026-07-21")]
)
def test_dark_hours_agree_with_pyephem(look_ahead: Any, site: str, first: str) -> None:
    """The hours between the Sun's centre passing 18 degrees down and coming back are PyEphem's."""
    import ephem  # noqa: PLC0415  # for this test only

    (outlook,) = look_ahead(site, first, wishes=["M31"])
    observer = ephem.Observer()
    observer.lat, observer.lon = (
        str(outlook.night.site.latitude_deg),
        str(outlook.night.site.longitude_deg),
    )
    observer.pressure, observer.horizon = 0.0, "-18"
    observer.date = outlook.night.start.replace(tzinfo=None)
    dusk = observer.next_setting(ephem.Sun(), use_center=True)
    dawn = observer.next_rising(ephem.Sun(), use_center=True)
    assert outlook.dark_hours == pytest.approx((dawn - dusk) * 24.0, abs=ONE_MINUTE_HOURS)


def test_there_is_no_less_darkness_than_moonless_darkness(look_ahead: Any) -> None:
    """Through a whole lunation, moonless hours never exceed dark ones, and reach both ends."""
    outlooks = look_ahead("Quito", "2026-03-01", 30, wishes=["M31"])
    shares = [outlook.dark_moonless_hours / outlook.dark_hours for outlook in outlooks]
    assert max(shares) == pytest.approx(1.0, abs=0.01)
    assert 0.0 <= min(shares) < 0.05


def test_darkness_runs_smoothly_across_a_clock_change(look_ahead: Any) -> None:
    """Putting the clocks back changes neither the dates nor the hours of darkness."""
    outlooks = look_ahead("Garden", "2026-10-20", 10, wishes=["M31"])
    assert [outlook.night.date.day for outlook in outlooks] == list(range(20, 30))
    # At 51 degrees north darkness grows by three to four minutes a night in October.
    steps_min = np.diff([outlook.dark_hours for outlook in outlooks]) * 60.0
    assert np.all((steps_min > 2.0) & (steps_min < 5.0))
    assert outlooks[0].night.end - outlooks[0].night.start == timedelta(hours=24)
    assert outlooks[4].night.end == datetime(2026, 10, 25, 12, 0, tzinfo=UTC)


def test_midsummer_in_the_north_has_no_dark_hours(look_ahead: Any) -> None:
    """Where the Sun stays above 18 degrees down, both figures are zero and not missing."""
    (outlook,) = look_ahead("Garden", "2026-06-21")
    assert outlook.dark_hours == outlook.dark_moonless_hours == 0.0
    assert outlook.session is not None
