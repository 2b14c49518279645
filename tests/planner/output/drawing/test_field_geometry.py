"""Where things stand in a field, and which way up it is."""

from __future__ import annotations

import math
from datetime import UTC, datetime
from typing import Any

import numpy as np
import pytest
from astropy.coordinates import SkyCoord
from astropy.wcs import WCS
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from planner.model.kit import Mount, Orientation
from planner.output.drawing.field import draw_field, wants_close_up
from planner.output.drawing.limiting_magnitude import zenith_of
from planner.output.drawing.marks import FieldDrawing
from planner.output.drawing.orientation import (
    ViewOrientation,
    tangent_plane_arcmin,
)
from planner.output.text.fields import drift_words
from targets.catalogue.catalogue import Catalogue
from targets.field_stars import load_field_stars, v_magnitude
from targets.model import Kind, Target
from targets.sphere import position_angle_deg, unit_vectors

ONE_PERCENT = 0.01
# The pole of a frame makes small angles less exact; both ways of reckoning agree to this.
ONE_MILLIARCSECOND_DEG = 1.0 / 3.6e6


def _somewhere(ra_deg: float, dec_deg: float, **values: Any) -> Target:
    kind = values.pop("kind", Kind.OPEN_CLUSTER)
    return Target("X", "X", kind, ra_deg=ra_deg, dec_deg=dec_deg, **values)


@given(
    st.floats(0, 360), st.floats(-90, 90), st.floats(0, 360), st.floats(0.0, 2.0)
)  # fmt: skip
def test_tangent_plane_agrees_with_astropy(
    ra: float, dec: float, bearing: float, distance: float
) -> None:
    """A place up to 2 degrees from any centre lies where astropy's TAN projection puts it."""
    center = SkyCoord(ra, dec, unit="deg")
    place = center.directional_offset_by(bearing * center.ra.unit, distance * center.ra.unit)
    wcs = WCS(naxis=2)
    wcs.wcs.ctype = ["RA---TAN", "DEC--TAN"]
    wcs.wcs.crval, wcs.wcs.crpix, wcs.wcs.cdelt = [ra, dec], [0.0, 0.0], [1 / 60, 1 / 60]
    wcs.wcs.lonpole = 180.0  # north up at the poles too, where the library would turn the plane
    expected = wcs.wcs_world2pix([[place.ra.deg, place.dec.deg]], 0)[0] + 1.0
    found = tangent_plane_arcmin(
        np.array(place.ra.deg), np.array(place.dec.deg), center_ra_deg=ra, center_dec_deg=dec
    )
    assert_allclose(found, expected, atol=1e-4)


@given(st.floats(0, 360), st.floats(-89, 89), st.floats(0, 360), st.floats(-89, 89))
def test_position_angles_agree_with_astropy(a: float, d: float, b: float, e: float) -> None:
    """Directions from one place to another, anywhere."""
    first, second = SkyCoord(a, d, unit="deg"), SkyCoord(b, e, unit="deg")
    if not 1e-3 < first.separation(second).deg < 179.99:
        return
    found = float(position_angle_deg(unit_vectors(b, e), unit_vectors(a, d)))
    difference = (found - first.position_angle(second).deg + 180.0) % 360.0 - 180.0
    assert abs(difference) < 1e-6


@pytest.mark.parametrize(
    ("site", "hour", "place"),
    [
        ("north", 20, (56.75, 24.12)),
        ("north", 20, (0.0, 89.5)),
        ("south", 13, (80.0, -69.0)),
        ("south", 13, (0.0, -89.6)),
        ("pole", 20, (83.8, 30.4)),
    ],
)
def test_stars_stand_where_a_library_puts_them(
    site: str, hour: int, place: tuple[float, float], train: Any, around: Any
) -> None:
    """In both hemispheres and beside the poles, to one percent; the pole that is up above.

    None is missing and none is too faint.
    """
    circumstance = around(site, datetime(2026, 12, 8, hour, 0, tzinfo=UTC))
    drawing = draw_field(_somewhere(*place), train(), circumstance)
    stars = load_field_stars()
    center = SkyCoord(*place, unit="deg")
    near = stars.within(*place, 0.5)
    assert drawing.faintest_mag is not None
    assert len(drawing.stars) == np.sum(near.magnitude <= drawing.faintest_mag) > 0
    east, north = center.spherical_offsets_to(SkyCoord(near.ra_deg, near.dec_deg, unit="deg"))
    turn = 1.0 if circumstance.site.latitude_deg > 0.0 else -1.0
    expected = turn * np.stack([-east.arcmin, north.arcmin], axis=1)
    for star in drawing.stars:
        apart = np.hypot(*(expected - (star.x, star.y)).T)
        assert apart.min() < ONE_PERCENT * drawing.field_arcmin


# From memory, as the SIMBAD database has them: Alcyone 03 47 29.08 +24 06 18.5, Maia 03 45 49.61
# +24 22 03.9. From these Maia is 27.6' from Alcyone toward north-west; in the usual picture it
# stands above right.
def test_a_known_pair_of_stars_stands_as_in_the_sky(train: Any, around: Any) -> None:
    """The two brightest north-western Pleiades, seen upright with north up."""
    alcyone = SkyCoord("03 47 29.08 +24 06 18.5", unit=("hourangle", "deg"))
    drawing = draw_field(_somewhere(alcyone.ra.deg, alcyone.dec.deg), train(), around())
    bright = sorted(drawing.stars, key=lambda star: -star.weight)[:6]
    assert any(abs(s.x - 22.6) < 0.6 and abs(s.y - 15.8) < 0.6 for s in bright)


SIGNS = {Orientation.UPRIGHT: (-1, 1), Orientation.INVERTED: (1, -1), Orientation.MIRRORED: (1, 1)}


@pytest.mark.parametrize(("orientation", "signs"), SIGNS.items())
def test_orientation_of_an_uneven_field(orientation: Orientation, signs: tuple[int, int]) -> None:
    """A star to the north-east: above left for the eye; half a turn away; mirrored."""
    x, y = ViewOrientation(0.0, orientation).place(np.array(2.0), np.array(1.0))
    assert_allclose((x, y), (2.0 * signs[0], 1.0 * signs[1]), atol=1e-12)


@given(st.floats(0, 360), st.floats(0, 360))
def test_inverting_is_half_a_turn_and_mirroring_changes_the_sense(up: float, angle: float) -> None:
    """From north to east is against the clock upright and inverted, with the clock mirrored."""
    upright = ViewOrientation(up, Orientation.UPRIGHT).direction_deg(angle)
    inverted = ViewOrientation(up, Orientation.INVERTED).direction_deg(angle)
    assert abs((inverted - upright) % 360.0 - 180.0) < 1e-6
    for orientation, sense in zip(Orientation, (90.0, 90.0, 270.0), strict=True):
        frame = ViewOrientation(up, orientation)
        turn = (frame.direction_deg(90.0) - frame.direction_deg(0.0)) % 360.0
        assert turn == pytest.approx(sense, abs=1e-6)


@pytest.mark.parametrize("site", ["north", "south"])
def test_on_the_meridian_the_pole_is_up_in_the_north_and_down_in_the_south(
    site: str, train: Any, around: Any
) -> None:
    """Zenith up: at 51 N it is north of a target on the equator, at 34 S south of it."""
    circumstance = around(site, datetime(2026, 12, 8, 20, 0, tzinfo=UTC))
    sidereal_deg = 15.0 * circumstance.ephemeris.times(np.array([1796760000.0])).gast[0]
    meridian_deg = (sidereal_deg + circumstance.site.longitude_deg) % 360.0
    target = _somewhere(meridian_deg, 0.0)
    drawing = draw_field(target, train(mount=Mount.ALTAZIMUTH), circumstance)
    expected = 90.0 if site == "north" else 270.0
    assert drawing.north_deg == pytest.approx(expected, abs=0.5)  # precession since J2000
    assert (drawing.drift_deg - drawing.east_deg) % 360.0 == pytest.approx(180.0)


WORDS = {
    ("north", Mount.ALTAZIMUTH, Orientation.INVERTED): "inverted, zenith below",
    ("south", Mount.ALTAZIMUTH, Orientation.UPRIGHT): "upright, zenith above",
    ("north", Mount.EQUATORIAL, Orientation.INVERTED): "inverted, south above",
    ("north", Mount.EQUATORIAL, Orientation.UPRIGHT): "upright, north above",
    ("south", Mount.EQUATORIAL, Orientation.UPRIGHT): "upright, south above",
    ("south", Mount.EQUATORIAL, Orientation.MIRRORED): (
        "mirrored, as through a star diagonal, south above"
    ),
    ("pole", Mount.EQUATORIAL, Orientation.INVERTED): "inverted, south above",
}


@pytest.mark.parametrize(("case", "words"), WORDS.items())
def test_the_words_tell_what_the_drawing_does(
    case: Any, words: str, train: Any, around: Any
) -> None:
    """What is said to be above is above: north or south of the drawing, or the zenith's side."""
    site, mount, orientation = case
    target = _somewhere(80.0, 5.0)
    drawing = draw_field(target, train(orientation, mount), around(site))
    assert drawing.words == words
    if mount is Mount.EQUATORIAL:
        assert drawing.north_deg == pytest.approx(90.0 if "north above" in words else 270.0)


def test_a_target_in_the_zenith_has_a_drawing(train: Any, around: Any) -> None:
    """No direction is up there; the drawing is turned somehow, and whole."""
    circumstance = around()
    zenith = zenith_of(circumstance)
    drawing = draw_field(_somewhere(*zenith), train(mount=Mount.ALTAZIMUTH), circumstance)
    assert 0.0 <= drawing.north_deg < 360.0


# Nearby stars move: 61 Cygni by 5.3 arcsec a year (Hipparcos, HIP 104214: 4168 and 3269 mas/yr), so
# that it stands 84 arcsec from its place of J2000 in the file of 2016.
@pytest.mark.parametrize("name", ["61 Cyg", "Albireo", "Polaris", "eta Cas", "Castor"])
def test_no_star_of_a_pair_is_drawn_twice(
    name: str, catalogue: Catalogue, train: Any, around: Any
) -> None:
    """Beside the pair no other star as bright as either is within 3 arcmin."""
    drawing = draw_field(catalogue.find(name), train(), around())
    *others, first, second = drawing.stars
    assert (first.x, first.y) == (0.0, 0.0)
    near = [star for star in others if math.hypot(star.x, star.y) < 3.0]
    assert all(star.weight < second.weight for star in near)


@pytest.mark.parametrize("is_driven", [False, True])
def test_drift_is_told_as_on_a_clock(is_driven: bool) -> None:
    """To the left is 9 o'clock, down 6; where motors follow the sky, with these off alone."""
    off = "with the drive off, " if is_driven else ""
    for direction_deg, hour in ((180.0, 9), (270.0, 6), (90.0, 12), (0.0, 3), (330.0, 4)):
        drawing = FieldDrawing(60.0, 60.0, drift_deg=direction_deg, is_driven=is_driven)
        assert drift_words(drawing) == f"{off}stars drift toward {hour} o'clock"


def test_a_pair_has_its_separation_and_angle(catalogue: Catalogue, train: Any, around: Any) -> None:
    """Albireo: 34.6 arcsec at 54 degrees (Gaia DR3, 2016.0): the companion is up left of north."""
    drawing = draw_field(catalogue.find("Albireo"), train(), around(), close_up=True)
    second = min((s for s in drawing.stars), key=lambda s: abs(math.hypot(s.x, s.y) * 60 - 34.6))
    assert math.hypot(second.x, second.y) * 60.0 == pytest.approx(34.6, abs=0.2)
    angle = math.degrees(math.atan2(-second.x, second.y))
    assert angle == pytest.approx(54.0, abs=1.0)
    assert [label.text for label in drawing.labels] == ["A", "B"]


@pytest.mark.parametrize(
    ("field_arcmin", "scale_arcmin"), [(24.0, 5.0), (60.0, 10.0), (130.0, 30.0), (300.0, 60.0)]
)
def test_the_scale_is_round_and_at_most_a_quarter(
    field_arcmin: float, scale_arcmin: float, train: Any, around: Any
) -> None:
    """The longest round length that a quarter of the field holds."""
    drawing = draw_field(_somewhere(80.0, 5.0), train(field_arcmin=field_arcmin), around())
    assert drawing.scale_arcmin == scale_arcmin


def test_outlines_have_the_target_s_size_and_angle(train: Any, around: Any) -> None:
    """180 by 60 arcmin at 35 degrees, upright: the long axis leans left of north by 35."""
    target = _somewhere(
        10.68, 41.27, major_arcmin=180.0, minor_arcmin=60.0, position_angle_deg=35.0
    )
    (outline,) = draw_field(target, train(), around()).outlines
    assert (outline.semi_major, outline.semi_minor) == (90.0, 30.0)
    assert outline.angle_deg == pytest.approx(125.0)


@pytest.mark.parametrize(("minor_arcmin", "mean_arcmin"), [(40.0, 60.0), (None, 90.0)])
def test_an_outline_of_unknown_angle_is_a_circle_of_the_same_area(
    minor_arcmin: float | None, mean_arcmin: float, train: Any, around: Any
) -> None:
    """90 by 40 arcmin has the area of 60 by 60; what has no short axis is round."""
    target = _somewhere(270.92, -24.38, major_arcmin=90.0, minor_arcmin=minor_arcmin)
    (outline,) = draw_field(target, train(), around()).outlines
    assert outline.semi_major == outline.semi_minor == pytest.approx(mean_arcmin / 2.0)


def test_close_ups_are_for_the_small(catalogue: Catalogue, train: Any, around: Any) -> None:
    """The Ring in a degree of sky gets one, in which it is a third of the width; M45 gets none."""
    ring = catalogue.find("M57")
    assert wants_close_up(ring, train())
    assert not wants_close_up(catalogue.find("M45"), train())
    drawing = draw_field(ring, train(), around(), close_up=True)
    assert drawing.is_close_up
    assert drawing.outlines[0].semi_major * 2.0 / drawing.span_arcmin == pytest.approx(0.35)


# Riello et al. 2021 give G - V for BP - RP = 0 and 1 by their polynomial: -0.0270 and -0.2140.
def test_v_of_gaia_stars() -> None:
    """By hand: -0.02704 + 0.01424 - 0.2156 + 0.01426 = -0.21414 at colour 1."""
    v = v_magnitude(np.array([10.0, 10.0]), np.array([10.0, 10.5]), np.array([10.0, 9.5]))
    assert_allclose(v, [10.02704, 10.21414], atol=1e-4)
    assert_allclose(v_magnitude(np.array([5.0]), np.array([0.0]), np.array([0.0])), [5.0])


def test_stars_within_a_circle_across_zero_hours_and_at_the_pole() -> None:
    """The circle is round where right ascension starts anew, and at the pole."""
    stars = load_field_stars()
    for ra, dec in ((0.0, 0.0), (359.99, 45.0), (123.0, 90.0), (10.0, -89.9)):
        near = stars.within(ra, dec, 1.0)
        every = SkyCoord(stars.ra_deg, stars.dec_deg, unit="deg")
        apart = every.separation(SkyCoord(ra, dec, unit="deg")).deg
        assert len(near.ra_deg) == np.sum(apart <= 1.0) > 5
