"""What goes together, what does not and why, and what a train shows."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from planner.config.settings import Settings
from planner.matcher.trains import make_trains, zoom_settings
from planner.model.kit import (
    Amplifier,
    AmplifierKind,
    Barrel,
    Eyepiece,
    Filter,
    FilterKind,
    Kit,
    Telescope,
    Train,
)

SMALL, SHORT, LONG, HUGE = Barrel
ROUNDING = 1e-9

TELESCOPE = Telescope("Dob", 200.0, 1200.0, LONG, (SHORT,))
NARROW = replace(TELESCOPE, focuser=SHORT, adapters=())
EYEPIECE = Eyepiece("12 mm", (12.0,), (60.0,), SHORT)
WIDE = Eyepiece("30 mm", (30.0,), (70.0,), LONG, field_stop_mm=36.4)
ZOOM = Eyepiece("Zoom", (8.0, 20.0), (62.0, 46.0), SHORT)
BARLOW = Amplifier("Barlow", AmplifierKind.BARLOW, 2.0, SHORT)
BIG_BARLOW = replace(BARLOW, name="Big Barlow", barrel=LONG)
REDUCER = Amplifier("Reducer", AmplifierKind.REDUCER, 0.5, SHORT)
OIII = Filter("O III", FilterKind.OIII, SHORT)
BIG_OIII = replace(OIII, name="Big O III", barrel=LONG)


def train(
    telescope: Telescope,
    eyepiece: Eyepiece,
    amplifier: Amplifier | None = None,
    filter_: Filter | None = None,
) -> Train:
    """Return the train of exactly these parts."""
    kit = Kit((telescope,), (eyepiece,), (amplifier,) * bool(amplifier), (filter_,) * bool(filter_))
    return make_trains(telescope, kit)[-1]


FITS = [
    (TELESCOPE, EYEPIECE, None, None),
    (TELESCOPE, WIDE, None, None),
    (TELESCOPE, EYEPIECE, BARLOW, None),
    (TELESCOPE, WIDE, BIG_BARLOW, None),
    (TELESCOPE, EYEPIECE, BIG_BARLOW, None),
    (NARROW, EYEPIECE, BARLOW, OIII),
    (TELESCOPE, EYEPIECE, None, OIII),
    (TELESCOPE, WIDE, None, BIG_OIII),
    (TELESCOPE, EYEPIECE, None, BIG_OIII),
    (TELESCOPE, EYEPIECE, BARLOW, BIG_OIII),
    (replace(TELESCOPE, focuser=HUGE, adapters=(SHORT, LONG)), EYEPIECE, None, BIG_OIII),
]


@pytest.mark.parametrize("parts", FITS)
def test_parts_that_fit(parts) -> None:
    """Same sizes, adapters, and a large filter ahead of a small eyepiece (common practice)."""
    assert train(*parts).faults == ()
    assert train(*parts).usable


MISFITS = [
    ((NARROW, WIDE), "30 mm (2in) does not go into the 1.25in focuser."),
    (
        (replace(TELESCOPE, adapters=()), EYEPIECE),
        "12 mm needs a 1.25in adapter in the 2in focuser.",
    ),
    (
        (replace(TELESCOPE, adapters=()), EYEPIECE, BARLOW),
        "Barlow needs a 1.25in adapter in the 2in focuser.",
    ),
    ((TELESCOPE, WIDE, BARLOW), "30 mm (2in) does not go into Barlow (1.25in)."),
    (
        (replace(TELESCOPE, adapters=()), EYEPIECE, BIG_BARLOW),
        "12 mm needs a 1.25in adapter in Big Barlow.",
    ),
    ((NARROW, EYEPIECE, BIG_BARLOW), "Big Barlow (2in) does not go into the 1.25in focuser."),
    ((TELESCOPE, WIDE, None, OIII), "O III (1.25in) does not thread into 30 mm (2in)."),
    (
        (NARROW, EYEPIECE, None, BIG_OIII),
        "Big O III (2in) has no place ahead of 12 mm (1.25in) in the 1.25in focuser.",
    ),
    (
        (TELESCOPE, replace(EYEPIECE, barrel=SMALL)),
        "12 mm needs a 0.965in adapter in the 2in focuser.",
    ),
]


@pytest.mark.parametrize(("parts", "sentence"), MISFITS, ids=[text for _, text in MISFITS])
def test_parts_that_do_not_fit_say_why(parts, sentence: str) -> None:
    """One sentence, and the train is not usable."""
    assert train(*parts).faults == (sentence,)
    assert not train(*parts).usable


def test_every_misfit_is_told() -> None:
    """A 2 inch eyepiece in a small Barlow without adapter, with a small filter: three reasons."""
    bad = train(replace(TELESCOPE, adapters=()), WIDE, BARLOW, OIII)
    assert len(bad.faults) == 3


def test_numbers_of_a_train() -> None:
    """1200 / 12 = 100x; 60 deg / 100 = 36'; 200 / 100 = 2 mm, worked by hand."""
    bare = train(TELESCOPE, EYEPIECE)
    assert_allclose([bare.magnification, bare.exit_pupil_mm], [100.0, 2.0], rtol=ROUNDING)
    assert_allclose(bare.true_field_arcmin, 36.0, rtol=1e-4)  # the tangent of a small angle
    assert not bare.true_field_is_exact
    doubled = train(TELESCOPE, EYEPIECE, BARLOW)
    assert_allclose(doubled.magnification, 2.0 * bare.magnification, rtol=ROUNDING)
    assert_allclose(doubled.exit_pupil_mm, bare.exit_pupil_mm / 2.0, rtol=ROUNDING)
    assert_allclose(doubled.true_field_arcmin, bare.true_field_arcmin / 2.0, rtol=1e-4)


def test_a_stated_stop_gives_the_field() -> None:
    """57.296 * 36.4 / 1200 = 1.738 deg = 104.3' by hand, whatever apparent field is claimed."""
    exact = train(TELESCOPE, replace(WIDE, apparent_fields_deg=(80.0,)))
    assert_allclose(exact.true_field_arcmin, 104.3, atol=0.05)
    assert exact.true_field_is_exact


def test_the_barrel_caps_a_field_that_is_only_claimed() -> None:
    """22 mm of 82 deg asks for 31.5 mm; 1.25 inch holds 27: 57.296 * 27 / 1200 = 1.289 deg."""
    capped = train(TELESCOPE, Eyepiece("22 mm", (22.0,), (82.0,), SHORT))
    assert_allclose(capped.true_field_arcmin, 60.0 * 1.289, atol=0.05)
    free = train(TELESCOPE, Eyepiece("22 mm", (22.0,), (82.0,), LONG))
    assert free.true_field_arcmin > capped.true_field_arcmin


def test_a_reducer_widens_the_field_up_to_its_barrel() -> None:
    """With 0.5x, a stop of 12.6 mm sees 25.1 mm; one of 20 mm asks for 40 and gets the 27."""
    short = train(TELESCOPE, EYEPIECE, REDUCER)
    bare = train(TELESCOPE, EYEPIECE)
    assert_allclose(short.true_field_arcmin, 2.0 * bare.true_field_arcmin, rtol=1e-3)
    long = train(TELESCOPE, replace(EYEPIECE, field_stop_mm=20.0), REDUCER)
    assert_allclose(long.true_field_arcmin, 60.0 * 1.289, atol=0.05)
    assert not long.true_field_is_exact


CORRECTOR = Amplifier("Corrector", AmplifierKind.CORRECTOR, 1.15, LONG)
FAST = replace(TELESCOPE, focal_length_mm=1000.0)


def test_a_coma_corrector_stays_in_a_fast_telescope() -> None:
    """At f/5 it counts in power and field of every eyepiece, with a Barlow too, and never alone."""
    kit = Kit((FAST,), (EYEPIECE, WIDE), (BARLOW, CORRECTOR), ())
    trains = make_trains(FAST, kit)
    assert {part.amplifier for part in trains} == {None, BARLOW}
    for part in trains:
        bare = train(FAST, part.eyepiece, part.amplifier)
        assert_allclose(part.magnification, 1.15 * bare.magnification)
        assert_allclose(part.true_field_arcmin, bare.true_field_arcmin / 1.15, rtol=1e-3)
        assert_allclose(part.exit_pupil_mm, bare.exit_pupil_mm / 1.15)


@pytest.mark.parametrize(
    ("telescope", "corrector"),
    [
        (TELESCOPE, CORRECTOR),  # f/6: nothing to correct
        (FAST, replace(CORRECTOR, always=False)),
        (replace(FAST, focuser=SHORT, adapters=()), CORRECTOR),  # it does not go in
    ],
)
def test_a_coma_corrector_is_otherwise_a_part_like_others(
    telescope: Telescope, corrector: Amplifier
) -> None:
    """One may put it in, as an amplifier."""
    trains = make_trains(telescope, Kit((telescope,), (EYEPIECE,), (corrector,), ()))
    assert {part.amplifier for part in trains} == {None, corrector}
    assert_allclose(trains[0].magnification, telescope.focal_length_mm / 12.0)


def test_a_kit_makes_all_combinations_bare_ones_first(example: Settings) -> None:
    """5 eyepieces, with and without Barlow, with no filter or either of two."""
    telescope, kit = example.telescope(), example.kit
    trains = make_trains(telescope, kit)
    assert len(trains) == 5 * 2 * 3
    assert trains[0].amplifier is None
    assert trains[0].filter is None
    bare = make_trains(telescope, kit, with_filters=False)
    assert bare == tuple(train for train in trains if train.filter is None)


def test_the_order_of_the_kit_changes_no_train(example: Settings) -> None:
    """Turned round, the same trains come out in another order."""
    kit, telescope = example.kit, example.telescope()
    turned = Kit(kit.telescopes, kit.eyepieces[::-1], kit.amplifiers[::-1], kit.filters[::-1])
    assert set(make_trains(telescope, kit)) == set(make_trains(telescope, turned))


def test_a_zoom_has_both_ends_and_even_steps() -> None:
    """8 to 20 mm: ln 2.5 / ln 1.35 = 3.05: four steps of 2.5^(1/4); fields on a straight line."""
    focal_lengths_mm, fields_deg = np.transpose(zoom_settings(ZOOM))
    assert_allclose(focal_lengths_mm, 8.0 * 2.5 ** (np.arange(5) / 4.0), rtol=ROUNDING)
    slope = np.diff(fields_deg) / np.diff(focal_lengths_mm)
    assert_allclose(slope, (46.0 - 62.0) / (20.0 - 8.0), rtol=1e-6)
    assert len(make_trains(TELESCOPE, Kit((TELESCOPE,), (ZOOM,), (BARLOW,)))) == 10


@settings(max_examples=60, derandomize=True, deadline=None, database=None)
@given(st.floats(2.0, 20.0), st.floats(1.001, 5.0), st.floats(30.0, 60.0), st.floats(61.0, 80.0))
def test_steps_of_any_zoom_are_small_and_keep_to_its_ends(
    short_mm: float, ratio: float, narrow_deg: float, wide_deg: float
) -> None:
    """No step above 1.35, none needless, both ends exact, no field outside the two."""
    zoom = replace(
        ZOOM,
        focal_lengths_mm=(short_mm, short_mm * ratio),
        apparent_fields_deg=(wide_deg, narrow_deg),
    )
    lengths_mm, fields_deg = np.transpose(zoom_settings(zoom))
    assert_allclose(lengths_mm[[0, -1]], zoom.focal_lengths_mm, rtol=ROUNDING)
    assert_allclose(fields_deg[[0, -1]], zoom.apparent_fields_deg, rtol=1e-6)
    assert np.all(lengths_mm[1:] / lengths_mm[:-1] <= 1.35 * (1.0 + ROUNDING))
    steps = len(lengths_mm) - 1
    assert steps == 1 or ratio > 1.35 ** (steps - 1) * (1.0 - ROUNDING)
