"""What must hold for every target, sky and kit."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose, assert_array_equal

from planner.config.preferences import default_preferences
from planner.formulas.extinction import extinction_loss_mag
from planner.formulas.photometry import luminance_cd_m2
from planner.formulas.sky_brightness import sky_luminance_cd_m2
from planner.formulas.visibility_limit import even_glow
from planner.matcher.lens import Moment, lens_of, plain_lens
from planner.matcher.target_classes import TargetTable, target_table_from_columns, target_table_of
from planner.matcher.train_table import FILTER_CODES
from planner.matcher.views import best_view, ranked_views
from planner.matcher.visibility import margins_dex, whole_margins_dex
from planner.model.kit import Barrel, Eyepiece, Kit, Telescope
from planner.model.plan import Grade
from targets.catalogue.values import KINDS
from targets.model import Kind, Target

# Crumey's threshold for points dips by this much where rods hand over to cones [dex].
ROD_CONE_DIP_DEX = 0.012
# Rounding of sums of logarithms [dex].
ROUNDING_DEX = 1e-9
PUPIL_MM = 6.5
EXIT_PUPILS_MM = np.array([0.5, 1.0, 2.0, 4.0, 7.0])
PREFERENCES = default_preferences()

kinds = st.sampled_from(list(Kind))
zenith_skies = st.floats(16.0, 22.2)
apertures = st.floats(50.0, 600.0)


@st.composite
def invented_targets(draw: st.DrawFn) -> Target:
    """Invent any target but a body, each value perhaps unknown."""
    kind = draw(kinds.filter(lambda kind: kind not in {Kind.PLANET, Kind.MOON}))
    major = draw(st.none() | st.floats(0.005, 400.0))
    share = draw(st.none() | st.floats(0.05, 1.0))
    return Target(
        id="X1",
        name="X 1",
        kind=kind,
        dec_deg=draw(st.floats(-90.0, 90.0)),
        major_arcmin=major,
        minor_arcmin=None if share is None or major is None else share * major,
        magnitude=draw(st.none() | st.floats(-2.0, 18.0)),
        visual_rating=draw(st.none() | st.integers(1, 5)),
    )


def telescope(aperture_mm: float) -> Telescope:
    """Invent a telescope without an obstruction."""
    return Telescope("any", aperture_mm, 6.0 * aperture_mm, Barrel.TWO)


def margins(target: Target, sky_cd_m2: float, aperture_mm: float, filter_code: int = 0) -> Any:
    """Return the margins of a target at the usual exit pupils, shape (K,)."""
    moment = Moment(*(np.array([[value]]) for value in (60.0, sky_cd_m2, 0.29)), 3)
    lens = plain_lens(
        telescope(aperture_mm),
        exit_pupil_mm=EXIT_PUPILS_MM,
        pupil_mm=PUPIL_MM,
        filter_code=filter_code,
    )
    return margins_dex(target_table_of([target], PREFERENCES), moment, lens, PREFERENCES)[0]


def all_at_most(lower: Any, upper: Any, tolerance: float) -> bool:
    """Compare margins; unknown ones must be unknown on both sides."""
    assert_array_equal(np.isnan(lower), np.isnan(upper))
    return bool(np.all(np.isnan(lower) | (lower <= upper + tolerance)))


@given(invented_targets(), zenith_skies, st.floats(0.0, 5.0), apertures)
def test_a_brighter_sky_never_raises_a_margin(
    target: Target, sky_mag: float, brighter_mag: float, aperture_mm: float
) -> None:
    """Of any target in any train, by more than the dip of the published threshold."""
    dark, bright = (
        margins(target, float(luminance_cd_m2(mag)), aperture_mm)
        for mag in (sky_mag, sky_mag - brighter_mag)
    )
    assert all_at_most(bright, dark, ROD_CONE_DIP_DEX)


@given(
    invented_targets(),
    zenith_skies,
    apertures,
    st.floats(1.0, 5.0),
    st.integers(0, len(FILTER_CODES) - 1),
)
def test_more_aperture_at_the_same_exit_pupil_never_lowers_a_margin(
    target: Target, sky_mag: float, aperture_mm: float, ratio: float, filter_code: int
) -> None:
    """The image is as bright, and larger."""
    sky = float(luminance_cd_m2(sky_mag))
    small = margins(target, sky, aperture_mm, filter_code)
    large = margins(target, sky, ratio * aperture_mm, filter_code)
    assert all_at_most(small, large, ROUNDING_DEX)


@given(
    target=invented_targets(),
    moon_altitude_deg=st.floats(1.0, 89.0),
    far_deg=st.floats(5.0, 90.0),
    share=st.floats(0.05, 1.0),
    phase_deg=st.floats(0.0, 150.0),
)
def test_a_closer_moon_never_darkens_the_sky(
    target: Target, moon_altitude_deg: float, far_deg: float, share: float, phase_deg: float
) -> None:
    """Nor raises a margin; beyond 90 deg light scatters back, so the rule ends there."""
    far, close = (
        float(
            sky_luminance_cd_m2(
                zenith_mag_arcsec2=21.3,
                extinction_mag=0.25,
                altitude_deg=60.0,
                sun_altitude_deg=-40.0,
                sun_separation_deg=120.0,
                moon_altitude_deg=moon_altitude_deg,
                moon_separation_deg=separation_deg,
                moon_phase_angle_deg=phase_deg,
            )
        )
        for separation_deg in (far_deg, share * far_deg)
    )
    assert close >= far * (1.0 - 1e-12)
    assert all_at_most(margins(target, close, 200.0), margins(target, far, 200.0), ROD_CONE_DIP_DEX)


def catalogue_subjects(sky: Any) -> TargetTable:
    """Return the whole catalogue, bodies without size and magnitude among it."""
    catalogue = sky.catalogue
    return target_table_from_columns(
        ids=np.array(catalogue.ids, dtype=np.str_),
        kinds=np.array(KINDS, dtype=np.str_)[catalogue.kind_code],
        dec_deg=catalogue.dec_deg,
        major_arcmin=catalogue.major_arcmin,
        minor_arcmin=catalogue.minor_arcmin,
        magnitude=catalogue.magnitude,
        companion_magnitude=catalogue.companion_magnitude,
        bulge_share=catalogue.bulge_share,
        core_radius_arcmin=catalogue.core_radius_arcmin,
        concentration=catalogue.concentration,
        rating=catalogue.visual_rating,
        preferences=PREFERENCES,
    )


@pytest.mark.parametrize(
    ("telescope_name", "sky_mag", "altitude_deg", "seeing", "pupil_mm"),
    [("80", 17.0, 12.0, "V", 5.0), ("200", 20.5, 35.0, "III", 6.2), ("400", 22.0, 85.0, "I", 8.0)],
)
def test_every_target_of_the_catalogue_gets_a_score(
    telescope_name: str,
    sky_mag: float,
    altitude_deg: float,
    seeing: str,
    pupil_mm: float,
    benches: Any,
    sky: Any,
) -> None:
    """A number from 0 to 1 for each train and part, known or not, and one that is above 0."""
    bench = benches[telescope_name].but(
        sky_mag_arcsec2=sky_mag, altitude_deg=altitude_deg, seeing=seeing, pupil_mm=pupil_mm
    )
    target_table = catalogue_subjects(sky)
    assert np.isnan(target_table.major_arcmin).any()
    assert np.isnan(target_table.magnitude).any()
    ratings = bench.rate_subjects(target_table)
    for name, part in {**ratings.parts, "score": ratings.score}.items():
        assert np.isfinite(part).all(), name
        assert part.min() >= 0.0, name
        assert part.max() <= 1.0, name
    assert (ratings.score.max(axis=1) > 0.0).all()


@settings(max_examples=20)
@given(random=st.randoms(use_true_random=False))
def test_the_order_of_the_kit_does_not_matter(random: Any, bench: Any, sky: Any) -> None:
    """The same train wins, with the same score, whatever stands first in the configuration."""
    targets = sky.targets("M31 M57 M42 M13 M51 NGC7662 M45 Saturn Moon M40 NGC6992 M24")
    kit = bench.kit
    shuffled = Kit(
        kit.telescopes,
        *(
            tuple(random.sample(parts, len(parts)))
            for parts in (kit.eyepieces, kit.amplifiers, kit.filters)
        ),
    )
    before, after = bench.rate(targets), bench.but(kit=shuffled).rate(targets)
    for row in range(len(targets)):
        winners = [rated.table.trains[rated.best(row)] for rated in (before, after)]
        assert winners[0] == winners[1]
    assert_allclose(np.sort(after.ratings.score), np.sort(before.ratings.score), rtol=1e-12)


def test_together_or_one_by_one(bench: Any, sky: Any) -> None:
    """N rows give what each row alone gives, each under a sky of its own."""
    targets = sky.targets("M31 M57 M42 M13 M51 B33 M45 Saturn M40 NGC1499 M78 3C273 M73")
    targets.append(Target(id="X1", name="X 1", kind=Kind.GALAXY, dec_deg=0.0))
    count = len(targets)
    altitude = np.linspace(15.0, 85.0, count)[:, None]
    moment = Moment(
        altitude,
        luminance_cd_m2(np.linspace(18.0, 22.0, count)[:, None]),
        extinction_loss_mag(altitude_deg=altitude, extinction_mag=0.25),
        3,
    )
    target_table = target_table_of(targets, PREFERENCES)
    together = bench.rate_subjects(target_table, moment)
    for row in range(count):
        only = np.array([row])
        alone = bench.rate_subjects(target_table.of_rows(only), moment.of_rows(only))
        for name in ("score", "margin_dex", "fill"):
            assert_allclose(
                getattr(together, name)[row], getattr(alone, name)[0], rtol=1e-12, err_msg=name
            )
        assert together.most_power[row] == alone.most_power[0]


def plain_eyepiece(focal_length_mm: float) -> Eyepiece:
    """Invent an eyepiece with 60 degrees."""
    return Eyepiece(
        f"{focal_length_mm:g} mm", (focal_length_mm,), (60.0,), Barrel.ONE_AND_A_QUARTER
    )


def kit_of(bench: Any, *focal_lengths_mm: float) -> Kit:
    """Return the telescope with nothing but these eyepieces."""
    return Kit(bench.kit.telescopes, tuple(map(plain_eyepiece, focal_lengths_mm)))


def test_one_eyepiece_is_the_best_of_its_kit(bench: Any, sky: Any) -> None:
    """With reasons of its own, and nobody to compare it with."""
    rated = bench.but(kit=kit_of(bench, 15.0)).rate(sky.targets("M31 M57 Saturn M40"))
    for row in range(4):
        view = best_view(rated.case(row))
        assert view.train.eyepiece.name == "15 mm"
        assert view.reasons
        assert not any(reason.startswith("15 mm") for reason in view.reasons)
        assert len(ranked_views(rated.case(row))) == 1


def test_no_eyepiece_that_fits_gives_no_views(bench: Any, sky: Any) -> None:
    """Three-inch eyepieces in a two-inch focuser: an empty list, no error."""
    big = replace(plain_eyepiece(30.0), barrel=Barrel.THREE)
    rated = bench.but(kit=Kit(bench.kit.telescopes, (big,))).rate(sky.targets("M31 M57"))
    assert rated.ratings.score.shape == (2, 0)
    assert ranked_views(rated.case()) == ()


def test_twenty_eyepieces_do_at_least_as_well_as_some_of_them(bench: Any, sky: Any) -> None:
    """More choice between fields that all hold the target loses at most a little."""
    lengths = [float(mm) for mm in np.geomspace(4.0, 32.0, 20).round(1)]
    targets = sky.targets("M57 M13 M51 M11 NGC7662 Saturn M40 M82")
    many = bench.but(kit=kit_of(bench, *lengths)).rate(targets)
    few = bench.but(kit=kit_of(bench, *lengths[::4])).rate(targets)
    gain = many.ratings.score.max(axis=1) - few.ratings.score.max(axis=1)
    # An eyepiece with a better margin lowers the others' visibility; the winner feels little of it.
    assert gain.min() > -0.05
    assert gain.max() > 0.02


def test_an_eyepiece_that_wastes_light_wins_only_where_width_is_all(bench: Any, sky: Any) -> None:
    """55 mm give 9.2 mm of exit pupil, wider than the eye's: never for what other fields hold."""
    kit = Kit(bench.kit.telescopes, (*bench.kit.eyepieces, plain_eyepiece(55.0)))
    targets = sky.targets("M57 M13 M51 M11 M42 NGC7662 Saturn Moon M40 C14 M33")
    rated = bench.but(kit=kit).rate(targets)
    for row in range(len(targets)):
        assert rated.table.trains[rated.best(row)].focal_length_mm < 55.0
    wasteful = next(
        view for view in ranked_views(rated.case()) if view.train.focal_length_mm == 55.0
    )
    assert any("wider than the eye's 6.5 mm" in warning for warning in wasteful.warnings)


def test_a_target_of_which_nothing_is_known(bench: Any) -> None:
    """Still gets a train, by its kind alone, and says what is not known."""
    nothing = Target(id="X1", name="X 1", kind=Kind.EMISSION_NEBULA, dec_deg=0.0)
    view = best_view(bench.rate([nothing]).case())
    assert view.grade is Grade.UNKNOWN
    assert view.margin_dex is None
    assert view.framing is None
    assert view.fits is None
    assert view.score > 0.0
    assert 2.0 <= view.train.exit_pupil_mm <= 4.0


def test_a_size_of_zero_counts_as_unknown(bench: Any) -> None:
    """Some tables write 0 for what they do not know."""
    point = Target(
        id="X1", name="X 1", kind=Kind.GALAXY, dec_deg=0.0, major_arcmin=0.0, magnitude=11.0
    )
    ratings = bench.rate([point]).ratings
    assert np.isfinite(ratings.score).all()
    assert np.isnan(ratings.margin_dex).all()


def test_of_two_equal_eyepieces_the_same_one_wins(bench: Any, sky: Any) -> None:
    """Whichever stands first in the configuration."""
    twins = tuple(replace(plain_eyepiece(12.0), name=name) for name in ("blue", "red"))
    winners = set()
    for eyepieces in (twins, twins[::-1]):
        kit = Kit(bench.kit.telescopes, eyepieces)
        view = best_view(bench.but(kit=kit).rate(sky.targets("M13")).case())
        winners.add(view.train.eyepiece.name)
        assert view.reasons[-1].endswith(": as good")
    assert winners == {"blue"}


def test_more_glass_costs_light(bench: Any, sky: Any) -> None:
    """20 mm with a 2x Barlow is a little dimmer than 10 mm alone, and loses to it."""
    kit = replace(bench.kit, eyepieces=(plain_eyepiece(20.0), plain_eyepiece(10.0)), filters=())
    rated = bench.but(kit=kit).rate(sky.targets("M13"))
    at_120x = {
        bool(rated.table.amplified[k]): k
        for k in np.flatnonzero(np.abs(rated.table.magnification - 120.0) < 0.01)
    }
    margin, score = rated.ratings.margin_dex[0], rated.ratings.score[0]
    assert 0.0 < margin[at_120x[False]] - margin[at_120x[True]] < 0.02
    assert score[at_120x[False]] > score[at_120x[True]]


def test_one_train_for_each_target_is_its_column_of_all(bench: Any, sky: Any) -> None:
    """The plan follows one train a target through the night: margins as in the table of all."""
    targets = sky.targets("M42 M31 M13 M45 NGC7662 M81 M92 M40 Saturn NGC6992 M78 M33")
    target_table, moment = target_table_of(targets, PREFERENCES), bench.moment(len(targets))
    lens = lens_of(bench.table, bench.kit.telescopes[0], PUPIL_MM)
    every = margins_dex(target_table, moment, lens, PREFERENCES)
    columns = np.arange(len(targets)) * 3 % len(bench.table)
    own = margins_dex(target_table, moment, lens.for_each(columns), PREFERENCES)
    assert own.shape == (len(targets), 1)
    assert_allclose(own[:, 0], every[np.arange(len(targets)), columns], rtol=1e-12)


def test_a_glow_in_a_train_has_the_margin_of_the_formula(bench: Any, sky: Any) -> None:
    """What the matcher works out for many parts at once is `even_glow` of the whole."""
    targets = sky.targets("NGC7293 M33 M78 NGC6888")
    rated = bench.rate(targets)
    table, moment = target_table_of(targets, bench.preferences), bench.moment(len(targets))
    lens = lens_of(rated.table, bench.kit.telescopes[0], bench.pupil_mm)
    plain = np.flatnonzero(rated.table.filter_code == 0)
    expected = even_glow(
        surface_brightness_mag_arcsec2=table.surface_brightness_mag_arcsec2[:, None]
        + moment.loss_mag
        - moment.eye_mag,
        area_arcmin2=table.area_arcmin2[:, None],
        sky_cd_m2=moment.sky_cd_m2,
        magnification=lens.magnification[:, plain],
        light_gain=lens.light_gain[:, plain],
    ).margin_dex()
    found = whole_margins_dex(table, moment, lens)[:, plain]
    assert_allclose(found, expected, atol=1e-9)
