"""The light on the Moon's features: what follows from geometry, and what is offered when."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from planner.ephemeris.kernel import Ephemeris, unix_seconds
from planner.ephemeris.solar_system.lunar_calendar import coming_light, lit_steps
from planner.ephemeris.solar_system.lunar_light import (
    Sunlight,
    colongitude_deg,
    foreshortened,
    light_quality,
    sun_altitude_deg,
)
from planner.ephemeris.solar_system.moon import best_lit, feature_light, moon_face
from planner.model.site import Site
from targets.catalogue.catalogue import load_catalogue
from targets.lunar import Form
from targets.model import Target

FEW_MINUTES = timedelta(minutes=25)  # a step of the search, and a little
# Phases of the Moon, UT, from memory of the almanacs: full on 2026-12-24 01:28, first quarter on
# 2026-11-17 11:48.
FULL = datetime(2026, 12, 24, 1, 28, tzinfo=UTC)
FIRST_QUARTER = datetime(2026, 11, 17, 11, 48, tzinfo=UTC)
longitudes = st.floats(-180.0, 180.0)
latitudes = st.floats(-90.0, 90.0)


def feature(name: str) -> Target:
    """Return a feature of the catalogue."""
    return load_catalogue().find(name)


def features() -> list[Target]:
    """Return all of them."""
    catalogue = load_catalogue()
    return [catalogue.target(row) for row in catalogue.lunar]


@given(latitudes, longitudes)
def test_the_sun_is_overhead_where_it_stands(latitude: float, longitude: float) -> None:
    """90 deg high there, and as far below on the other side."""
    there = {"sun_latitude_deg": latitude, "sun_longitude_deg": longitude}
    assert_allclose(sun_altitude_deg(latitude, longitude, **there), 90.0, atol=1e-5)
    assert_allclose(sun_altitude_deg(-latitude, longitude + 180.0, **there), -90.0, atol=1e-5)


def test_arrays_and_numbers_agree() -> None:
    """An array of places gives what each of them gives."""
    places = np.array([-40.0, 0.0, 35.0])
    together = sun_altitude_deg(
        places, places, sun_latitude_deg=np.array(1.0), sun_longitude_deg=np.array(60.0)
    )
    alone = [
        sun_altitude_deg(p, p, sun_latitude_deg=1.0, sun_longitude_deg=60.0)
        for p in places.tolist()
    ]
    assert_allclose(together, alone)


@given(longitudes)
def test_the_morning_terminator_is_at_the_colongitude(sun_longitude: float) -> None:
    """On the equator the Sun is on the horizon at the western longitude of that number."""
    terminator = -colongitude_deg(sun_longitude)
    height = sun_altitude_deg(
        0.0, terminator, sun_latitude_deg=0.0, sun_longitude_deg=sun_longitude
    )
    assert_allclose(height, 0.0, atol=1e-5)


def test_colongitude_at_the_phases(sky: Ephemeris) -> None:
    """About 90 deg at full Moon and 0 at first quarter; libration makes it some degrees more."""
    assert_allclose(moon_face(sky, None, FULL).colongitude_deg, 90.0, atol=8.0)
    quarter = moon_face(sky, None, FIRST_QUARTER).colongitude_deg
    assert_allclose((quarter + 180.0) % 360.0 - 180.0, 0.0, atol=8.0)


# The altitudes of the Sun [deg] at which each is best seen (common practice: domes and ridges in
# the very lowest light, craters, rilles and scarps by their shadows, rays and patches without any);
# that the seas want the whole of them lit is our choice.
BEST_LIGHT_DEG = {
    **dict.fromkeys(Form, (3.0, 15.0)),
    **dict.fromkeys((Form.RIDGE, Form.DOME, Form.LOW_RELIEF), (1.0, 4.0)),
    Form.BRIGHT_PATCH: (40.0, 90.0),
    Form.SEA: (10.0, 90.0),
}


@pytest.mark.parametrize("form", Form)
def test_light_is_best_in_the_middle_and_nothing_in_the_night(form: Form) -> None:
    """Between 0 and 1, 1 in the stretch that is called best, 0 below the horizon."""
    heights = np.linspace(-20.0, 90.0, 400)
    quality = light_quality(form, heights)
    lowest, highest = BEST_LIGHT_DEG[form]
    best = (heights >= lowest) & (heights <= highest)
    assert ((quality >= 0.0) & (quality <= 1.0)).all()
    assert (quality[best] == 1.0).all()
    assert (quality[heights < 0.0] == 0.0).all()


def test_the_limb_narrows_and_never_turns_inside_out() -> None:
    """Full width in the middle, half at 60 deg, nothing at the limb and beyond."""
    widths = foreshortened(2.0, from_middle_deg=np.array([0.0, 60.0, 90.0, 120.0]))
    assert_allclose(widths, [2.0, 1.0, 0.0, 0.0], atol=1e-12)


def test_mountains_of_the_first_quarter(sky: Ephemeris, north: Site) -> None:
    """The Apennines stand in the morning light just after first quarter, as every handbook says."""
    face = moon_face(sky, north, FIRST_QUARTER + timedelta(hours=8))
    assert "MontesApenninus" in [light.target.id for light in best_lit(face, features())]


def test_full_moon_is_for_rays_and_seas(sky: Ephemeris, north: Site) -> None:
    """Then Tycho, Copernicus and Kepler count by their rays, and no crater by shadows inland."""
    face = moon_face(sky, north, FULL)
    best = {light.target.id: light for light in best_lit(face, features())}
    assert {"Tycho", "Copernicus", "Kepler", "MareImbrium"} <= best.keys()
    plain = [best[i] for i in best if not best[i].target.lunar.has_rays]  # type: ignore[union-attr]
    craters = [x for x in plain if x.target.lunar.form is Form.CRATER]  # type: ignore[union-attr]
    assert all(light.from_middle_deg > 60.0 for light in craters)


def test_the_hidden_half_is_never_offered(sky: Ephemeris, north: Site) -> None:
    """Mare Orientale, behind the western limb in the mean, is only there with the west turned."""
    orientale = feature("Mare Orientale")
    shown, turned = [], []
    for day in range(0, 365, 2):
        face = moon_face(sky, north, datetime(2026, 1, 1, tzinfo=UTC) + timedelta(days=day))
        if feature_light(face, orientale).quality > 0.0:
            shown.append(face.libration_longitude_deg)
        turned.append(face.libration_longitude_deg)
    assert shown
    assert max(shown) < 0.0
    assert max(turned) > 5.0


def test_the_light_comes_back_in_a_month(sky: Ephemeris, north: Site) -> None:
    """Once in the morning and once in the evening, and within a month the first of them again."""
    spans = coming_light(sky, north, feature("Copernicus"), datetime(2026, 11, 10, tzinfo=UTC))
    sides = [span.is_morning for span in spans]
    assert sides[:2] == [True, False]
    for span in spans[:2]:
        # 12 degrees of the Sun's height take about a day at this latitude (Meeus: 12.2 deg a day).
        assert timedelta(hours=20) < span.end - span.start < timedelta(hours=28)


def test_what_is_told_of_the_light_holds_at_its_ends(sky: Ephemeris, north: Site) -> None:
    """At the ends of a span the Sun is as high as the crater wants it, and the Moon is up."""
    plato = feature("Plato")
    for span in coming_light(sky, north, plato, datetime(2026, 11, 10, tzinfo=UTC)):
        ends = [feature_light(moon_face(sky, north, t), plato) for t in (span.start, span.end)]
        heights = sorted(end.sun_altitude_deg for end in ends)
        assert_allclose(heights, [3.0, 15.0], atol=0.25)  # a step of 20 minutes is 0.17 deg
        for start, end in span.nights:
            assert span.start <= start < end <= span.end


def test_steps_of_a_night_agree_with_single_instants(sky: Ephemeris, south: Site) -> None:
    """What is interpolated between the ends of a night is what is computed in its middle."""
    start = datetime(2026, 11, 20, 16, tzinfo=UTC)
    instants = [start + timedelta(hours=k) for k in range(13)]
    codes = lit_steps(sky, south, features(), unix_seconds(instants))
    face = moon_face(sky, south, instants[6])
    for row, target in enumerate(features()):
        is_well = feature_light(face, target).quality > 0.0
        assert (codes[row, 6] == Sunlight.WELL) == is_well, target.name


def test_a_galaxy_is_no_feature(sky: Ephemeris, north: Site) -> None:
    """Asking for the light on something else is a mistake that is named."""
    with pytest.raises(ValueError, match="M31 Andromeda Galaxy is not a feature of the Moon"):
        feature_light(moon_face(sky, north, FULL), feature("M31"))


def test_near_the_end_of_the_ephemeris(sky: Ephemeris, north: Site) -> None:
    """The search for coming light stops where positions end."""
    last = datetime.combine(sky.last_night, datetime.min.time(), tzinfo=UTC)
    spans = coming_light(sky, north, feature("Plato"), last)
    assert all(span.end - last < FEW_MINUTES + timedelta(days=1) for span in spans)
