"""Tonight's conditions: defaults from site and observer, and sentences for what cannot be."""

from __future__ import annotations

from typing import Any

import pytest

from planner.config.conditions import Conditions, ConditionsError, conditions_tonight
from planner.model.kit import Observer
from planner.model.site import Site

SITE = Site("Garden", 51.2, -2.4, elevation_m=210.0, sky_mag_arcsec2=20.9, seeing="III")
OBSERVER = Observer(dark_pupil_mm=6.2)


def test_site_and_observer_are_the_defaults() -> None:
    """Extinction follows from the elevation: Green 1992 has 0.28 at sea level, 0.24 at 500 m."""
    tonight = conditions_tonight(SITE, OBSERVER)
    assert (tonight.sky_mag_arcsec2, tonight.seeing, tonight.pupil_mm) == (20.9, "III", 6.2)
    assert 0.24 < tonight.extinction_mag < 0.28


def test_a_stated_extinction_goes_before_the_elevation() -> None:
    """The site knows its air."""
    site = Site("Hill", 51.2, -2.4, extinction_mag=0.31)
    assert conditions_tonight(site, OBSERVER).extinction_mag == 0.31


def test_what_is_given_goes_first() -> None:
    """Every value can be changed for a night; seeing is kept in one spelling."""
    tonight = conditions_tonight(
        SITE, OBSERVER, sky_mag_arcsec2=21.3, extinction_mag=0.2, seeing="2"
    )
    assert tonight == Conditions(21.3, 0.2, "II", 6.2, 0.24)
    assert tonight.seeing_step == 2


def test_haze_adds_extinction() -> None:
    """Transparency 5 adds nothing, and each step down adds more."""
    clear = conditions_tonight(SITE, OBSERVER).extinction_mag
    extinctions = [
        conditions_tonight(SITE, OBSERVER, transparency=step).extinction_mag
        for step in (5, 4, 3, 2, 1)
    ]
    added = [extinction - clear for extinction in extinctions]
    assert added == pytest.approx([0.0, 0.05, 0.15, 0.35, 0.80])  # our choice


@pytest.mark.parametrize(
    ("given", "sentence"),
    [
        ({"sky_mag_arcsec2": 5.0}, "Sky brightness of 5 .* between 16 and 22.5 mag/arcsec2"),
        ({"sky_mag_arcsec2": 30.0}, "Sky brightness of 30 .* between 16 and 22.5"),
        ({"sky_mag_arcsec2": float("nan")}, "Sky brightness of nan"),
        ({"extinction_mag": -0.1}, "Extinction of -0.1 .* between 0 and 1.5 mag per air mass"),
        ({"extinction_mag": float("inf")}, "Extinction of inf"),
        ({"seeing": "VII"}, 'Seeing "VII" is not on the Antoniadi scale; use I'),
        ({"transparency": 0}, r"Transparency 0 .* use 1 \(thick haze\) to 5 \(clear\)"),
        ({"transparency": 6}, "Transparency 6 is not on the scale"),
    ],
)
def test_impossible_conditions_are_refused(given: dict[str, Any], sentence: str) -> None:
    """The sentence names what was found and what is allowed."""
    with pytest.raises(ConditionsError, match=sentence):
        conditions_tonight(SITE, OBSERVER, **given)


def test_a_limiting_magnitude_is_no_sky_and_is_told_which_it_means() -> None:
    """Magnitude 6.0 goes with 20.80 by Schaefer 1990, worked from the formula."""
    with pytest.raises(ConditionsError, match=r"the faintest star .* the sky is about 21\.3\.$"):
        conditions_tonight(SITE, OBSERVER, sky_mag_arcsec2=6.0)


@pytest.mark.parametrize("sky_mag_arcsec2", [-1e308, -5.0, 0.5, 7.5, 12.0, 25.0, float("inf")])
def test_what_is_no_limiting_magnitude_gets_no_such_hint(sky_mag_arcsec2: float) -> None:
    """Only a figure that a sky within the bounds could show."""
    with pytest.raises(ConditionsError) as caught:
        conditions_tonight(SITE, OBSERVER, sky_mag_arcsec2=sky_mag_arcsec2)
    assert "faintest star" not in str(caught.value)


def test_every_fault_is_named_at_once() -> None:
    """Three faults, three sentences."""
    with pytest.raises(ConditionsError) as caught:
        conditions_tonight(SITE, OBSERVER, sky_mag_arcsec2=30.0, seeing="VII", transparency=9)
    assert len(caught.value.faults) == 3
    assert str(caught.value).count("\n") == 2
