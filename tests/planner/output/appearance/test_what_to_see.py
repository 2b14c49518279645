"""What to look for: directions against the drawn field, widths and colours by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np
import pytest

from planner.config.conditions import conditions_tonight
from planner.ephemeris.almanac import find_night
from planner.ephemeris.tracks import track_instants
from planner.matcher.trains import make_trains
from planner.model.kit import Mount, Orientation
from planner.model.site import Site
from planner.output.appearance.what_to_see import (
    clock_hour,
    colour_word,
    eyepiece_frame,
    what_to_see,
)
from planner.output.drawing.field import ViewedSky, field_frame
from planner.output.drawing.orientation import ViewOrientation
from targets.catalogue.catalogue import load_catalogue

EVENING = datetime(2026, 9, 15, 20, 0, tzinfo=UTC)


@pytest.fixture(scope="module")
def trains(example: Any) -> dict[str, Any]:
    """Return the trains of the example's reflector, by their eyepieces."""
    telescope = example.telescope()
    return {
        train.eyepiece.name: train
        for train in make_trains(telescope, example.kit)
        if train.amplifier is None and train.filter is None
    }


@pytest.mark.parametrize("latitude_deg", [51.2, -33.9, 0.5])
@pytest.mark.parametrize("mount", list(Mount))
def test_up_is_up_as_in_the_drawn_field(
    latitude_deg: float, mount: Mount, ephemeris: Any, example: Any, trains: Any
) -> None:
    """From altitude and azimuth comes the frame that skyfield's zenith gives, within a degree."""
    site = Site("Place", latitude_deg, -2.4, timezone="UTC")
    night = find_night(ephemeris, site, EVENING.date())
    grid = track_instants(ephemeris, night, [EVENING, EVENING + timedelta(hours=3)])
    sky = ViewedSky(ephemeris, site, EVENING, conditions_tonight(site, example.observer))
    train = trains["18 mm 65"]
    train = replace(train, telescope=replace(train.telescope, mount=mount))
    for ra_deg, dec_deg in ((300.0, 20.0), (330.0, -15.0), (250.0, 5.0)):
        altitude, azimuth = (float(a[0, 0]) for a in grid.place([ra_deg], [dec_deg]))
        frame = eyepiece_frame(train, altitude_deg=altitude, azimuth_deg=azimuth, site=site)
        drawn = field_frame((ra_deg, dec_deg), train, sky)
        apart = (frame.up_deg - drawn.up_deg + 180.0) % 360.0 - 180.0
        assert abs(apart) < 1.0


@pytest.mark.parametrize(
    ("orientation", "hours"),
    [
        # With north up to the unaided eye, east is left: 9 o'clock.
        (Orientation.UPRIGHT, {0: 12, 90: 9, 180: 6, 270: 3, 30: 11}),
        (Orientation.INVERTED, {0: 6, 90: 3, 180: 12, 270: 9, 30: 5}),
        (Orientation.MIRRORED, {0: 12, 90: 3, 180: 6, 270: 9, 30: 1}),
    ],
)
def test_hours_of_the_clock_follow_the_optics(orientation: Orientation, hours: Any) -> None:
    """Common practice: a reflector turns by half a turn, a star diagonal swaps left and right."""
    frame = ViewOrientation(0.0, orientation)
    assert {angle: clock_hour(frame, float(angle)) for angle in hours} == hours


def test_albireo_is_orange_and_blue(example: Any, trains: Any) -> None:
    """K3 II and B8 V (Bright Star Catalogue, HR 7417, 7418); in observers' words gold and blue."""
    albireo = load_catalogue().find("Albireo")
    by_colour = told(replace(albireo, note=None), trains["18 mm 65"], example)
    assert "orange and blue-white" in by_colour
    facts = told(albireo, trains["18 mm 65"], example)
    assert "gold and blue" in facts
    assert "orange and blue-white" not in facts
    assert any("o'clock" in fact for fact in facts)


@pytest.mark.parametrize(
    ("b_p_minus_r_p", "word"),
    # Intrinsic colours of B5, A5, F8, K3 and M2 dwarfs, from memory of Pecaut and Mamajek's table.
    [(-0.2, "blue-white"), (0.2, "white"), (0.68, "yellow-white"), (1.2, "orange"), (2.2, "red")],
)
def test_colours_have_the_names_of_their_classes(b_p_minus_r_p: float, word: str) -> None:
    """As observers call the stars of these classes."""
    assert colour_word(b_p_minus_r_p) == word


def told(target: Any, train: Any, example: Any, **more: Any) -> tuple[str, ...]:
    """Return the facts of a target that stands in the south."""
    return what_to_see(
        target, train, altitude_deg=50.0, azimuth_deg=180.0, site=example.site(), **more
    )


def test_widths_are_told_in_moons(example: Any, trains: Any) -> None:
    """A disc of 1.4' at 100x is 140' wide, 4.5 Moons of 31'; what overflows the field says so."""
    ring = replace(load_catalogue().find("M57"), major_arcmin=1.4, minor_arcmin=1.4)
    assert told(ring, trains["12 mm 60"], example)[-1] == (
        "looks as wide as 4.5 Moons to the naked eye"
    )
    wide = replace(ring, major_arcmin=300.0, minor_arcmin=300.0)
    assert told(wide, trains["12 mm 60"], example)[-1] == "more than the field holds"
    seen = told(wide, trains["12 mm 60"], example, seen_arcmin=3.1)[-1]
    assert seen == "looks as wide as 10.0 Moons to the naked eye"


def test_stars_of_a_cluster_are_counted(example: Any, trains: Any) -> None:
    """M44 has several dozen stars to the tenth magnitude, the brightest 6.3 (epsilon Cnc, HD)."""
    beehive, train = load_catalogue().find("M44"), trains["30 mm 70"]
    facts = told(beehive, train, example, counts_stars=True)
    (count,) = (fact for fact in facts if "stars to magnitude" in fact)
    assert 40 <= int(count.split()[0]) <= 120
    assert float(count.split()[-1]) == pytest.approx(6.3, abs=0.15)
    assert not any(
        "stars" in fact for fact in told(load_catalogue().find("M44"), trains["30 mm 70"], example)
    )


def test_no_fact_is_told_of_what_has_no_data(example: Any, trains: Any) -> None:
    """Three at most for anything, none for a bare name."""
    catalogue = load_catalogue()
    rng = np.random.default_rng(5)
    for row in rng.integers(0, len(catalogue), 60):
        facts = told(catalogue.target(int(row)), trains["12 mm 60"], example)
        assert len(facts) <= 3
        assert all("nan" not in fact and "None" not in fact for fact in facts)


# Brightest star (from memory), and the limit in a telescope of 200 mm, 80 mm and of 40 mm.
@pytest.mark.parametrize(
    ("name", "limit_mag", "words"),
    [
        ("M13", 14.0, "splits into stars"),  # 11.9
        ("M15", 14.0, "splits into stars"),  # 12.6
        ("M15", 12.4, "its brightest stars are at the limit"),
        ("M15", 11.5, "stays a glow, its stars too faint"),
        ("M3", 11.5, "stays a glow, its stars too faint"),  # 12.7
        ("M22", 12.4, "splits into stars"),  # 10.7
        ("M79", 11.0, "stays a glow, its stars too faint"),  # 13.0
    ],
)
def test_a_globular_splits_where_its_brightest_stars_are_reached(
    trains: Any, name: str, limit_mag: float, words: str
) -> None:
    """And stays a glow where they are not; of M71, a poor one with stars of 12.1, nothing sure."""
    site = Site("Place", 51.2, -2.4, timezone="UTC")

    def facts(cluster: str, limit: float | None) -> str:
        target = load_catalogue().find(cluster)
        place = {"altitude_deg": 50.0, "azimuth_deg": 180.0, "site": site}
        return ", ".join(what_to_see(target, trains["12 mm 60"], star_limit_mag=limit, **place))

    assert facts(name, limit_mag).startswith(words)
    assert not any(word in facts("M71", 13.0) for word in ("splits", "glow", "limit"))
    assert not any(word in facts(name, None) for word in ("splits", "glow", "limit"))


def test_what_a_filter_shows_of_a_nebula_is_told(example: Any) -> None:
    """Its lines come from gas, the light of stars is spread over all colours (common practice)."""
    trains = make_trains(example.telescope(), example.kit)
    by_filter = {train.filter and train.filter.name: train for train in trains}
    swan, m13 = load_catalogue().find("M17"), load_catalogue().find("M13")
    for target, name, is_told in (
        (swan, "O III", True),
        (swan, None, False),
        (m13, "O III", False),
    ):
        facts = what_to_see(
            target, by_filter[name], altitude_deg=40.0, azimuth_deg=180.0, site=example.sites[0],
            seen_arcmin=None,
        )  # fmt: skip
        assert ("O III shows its gas; its stars show without it" in facts) == is_told
