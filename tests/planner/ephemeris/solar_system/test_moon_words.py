"""A feature's shape at the limb, and the words about terminator and libration."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import pytest
from numpy.testing import assert_allclose

from planner.ephemeris.solar_system.jupiter import JupiterFace
from planner.ephemeris.solar_system.moon import MoonFace, feature_at
from planner.ephemeris.solar_system.report import BodyReport
from planner.ephemeris.solar_system.satellites import MoonOffset
from planner.model.kit import Orientation
from planner.model.site import Site
from planner.output.text.solar_system import body_facts, moons_line
from targets.lunar import Form, LunarPlace
from targets.model import Kind, Target

MEAN_DISTANCE_AU = 384_400.0 / 149_597_870.7  # km in an au: IAU 2012, resolution B2
FACE = MoonFace(
    colongitude_deg=20.0,
    libration_longitude_deg=0.0,
    libration_latitude_deg=0.0,
    sun_longitude_deg=70.0,
    sun_latitude_deg=0.0,
    pole_angle_deg=15.0,
    bright_limb_deg=285.0,
)
MOON = Target(
    "Moon", "Moon", Kind.MOON, ra_deg=10.0, dec_deg=5.0, major_arcmin=31.0, magnitude=-11.0
)


def feature(latitude_deg: float, longitude_deg: float, diameter_km: float = 96.0) -> Target:
    """Return a feature anywhere on the Moon."""
    place = LunarPlace(Form.CRATER, latitude_deg, longitude_deg, diameter_km)
    return Target("Crater", "Crater", Kind.LUNAR_FEATURE, lunar=place)


def seen(latitude_deg: float, longitude_deg: float) -> Target:
    """Return it as it is seen."""
    return feature_at(feature(latitude_deg, longitude_deg), MOON, FACE, MEAN_DISTANCE_AU)


def test_a_crater_of_96_km_is_51_arcsec() -> None:
    """96 km over 384 400 km are 51.5 arcsec, worked by hand; round in the middle of the disc."""
    middle = seen(0.0, 0.0)
    assert middle.major_arcmin is not None
    assert_allclose(60.0 * middle.major_arcmin, 51.5, atol=0.05)
    assert middle.minor_arcmin == middle.major_arcmin


def test_a_feature_stands_where_the_moon_does() -> None:
    """It is given the Moon's place, which is at most a quarter of a degree off."""
    crater = seen(20.0, 20.0)
    assert (crater.ra_deg, crater.dec_deg) == (10.0, 5.0)


@pytest.mark.parametrize(
    ("latitude", "longitude", "angle"),
    [(0.0, 60.0, 15.0), (0.0, -60.0, 15.0), (60.0, 0.0, 105.0), (-60.0, 0.0, 105.0)],
)
def test_the_long_axis_lies_along_the_limb(latitude: float, longitude: float, angle: float) -> None:
    """At the eastern and western limb along the Moon's axis, at its poles across it."""
    crater = seen(latitude, longitude)
    assert crater.major_arcmin is not None
    assert crater.minor_arcmin is not None
    assert crater.position_angle_deg is not None
    assert_allclose(crater.position_angle_deg, angle, atol=1e-6)
    assert_allclose(crater.minor_arcmin / crater.major_arcmin, 0.5, atol=1e-6)


def test_the_axis_leans_the_right_way() -> None:
    """North-east on the Moon is north-west in the sky: the axis there runs from NE to SW."""
    crater = seen(45.0, 45.0)
    assert crater.position_angle_deg is not None
    assert 15.0 < crater.position_angle_deg < 105.0


def test_a_feature_shines_with_its_share_of_the_light() -> None:
    """The magnitude grows as the area falls: 2.5 log10 of the ratio of the areas."""
    middle, limb = seen(0.0, 0.0), seen(0.0, 60.0)
    assert middle.magnitude is not None
    assert limb.magnitude is not None
    assert_allclose(limb.magnitude - middle.magnitude, 0.7526, atol=0.001)  # half the area


@pytest.mark.parametrize(
    ("colongitude", "words"),
    [
        (0.0, "the Sun rises along 0 deg E"),
        (20.0, "the Sun rises along 20 deg W"),
        (330.0, "the Sun rises along 30 deg E"),
        (120.0, "the Sun sets along 60 deg E"),
        (180.0, "the Sun sets along 0 deg E"),
        (200.0, "the Sun sets along 20 deg W"),
    ],
)
def test_the_terminator_by_the_colongitude(north: Site, colongitude: float, words: str) -> None:
    """Morning at minus the colongitude, evening at 180 less it (Meeus 1998, ch. 53)."""
    facts = _facts(replace(FACE, colongitude_deg=colongitude), north)
    assert facts["Light"].startswith(words)


@pytest.mark.parametrize(
    ("east", "north_deg", "words"),
    [(5.0, 3.0, "north-east"), (-5.0, 3.0, "north-west"), (-5.0, -3.0, "south-west")],
)
def test_the_corner_that_libration_shows(
    north: Site, east: float, north_deg: float, words: str
) -> None:
    """The limb toward which the middle of the disc is moved shows more."""
    face = replace(FACE, libration_longitude_deg=east, libration_latitude_deg=north_deg)
    assert f"more of the Moon's {words} shows" in _facts(face, north)["Turned"]


def _facts(face: MoonFace, site: Site) -> dict[str, str]:
    return dict(body_facts(BodyReport(datetime(2026, 1, 1, tzinfo=UTC), 0.0, moon=face), site))


def test_moons_that_stand_together_all_stay_on_the_line() -> None:
    """Four at one place, beyond all others, push each other outward, and none is lost."""
    moons = tuple(
        MoonOffset(name, 14.9, 0.0, 0.0, 0.0) for name in ("Io", "Europa", "Ganymede", "Callisto")
    )
    face = JupiterFace(0.0, 0.0, 0.0, 0.0, moons, ())
    drawn = moons_line(face, 0.0, Orientation.UPRIGHT)[0]
    assert drawn.startswith("         east ")
    assert drawn.endswith("IEGC west")


def test_hidden_moons_are_said_and_not_drawn() -> None:
    """A moon behind the disc has no letter; one in front is named, and its shadow."""
    moons = (
        MoonOffset("Io", 0.2, 0.0, 0.0, 0.0, "in front"),
        MoonOffset("Europa", -0.2, 0.0, 0.0, 0.0, "behind"),
        MoonOffset("Ganymede", -5.0, 0.0, 0.0, 0.0, "in the shadow"),
        MoonOffset("Callisto", -9.0, 0.0, 0.0, 0.0),
    )
    face = JupiterFace(0.0, 0.0, 0.0, 0.0, moons, ("Io",))
    lines = moons_line(face, 0.0, Orientation.UPRIGHT)
    assert "".join(lines[0].split()) == "eastC(O)west"
    told = " ".join(" ".join(lines[1:]).split())
    for words in ("Io in front of the disc", "Europa behind the disc", "Ganymede in the shadow"):
        assert words in told
    assert "Callisto 9.0 E" in told
    assert "Io's shadow on the disc" in told
