"""What Jupiter's moons do: order, pairs, what is hidden, and the Red Spot's passages."""

from __future__ import annotations

import itertools
from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest
from numpy.testing import assert_allclose

from planner.ephemeris.kernel import Ephemeris
from planner.ephemeris.solar_system.jupiter import (
    MoonEvent,
    chief_events,
    disc_depth,
    jupiter_face,
    moon_events,
    spot_transits,
)
from planner.model.red_spot import RedSpot
from planner.model.site import Site

START = datetime(2026, 1, 10, tzinfo=UTC)  # opposition
WEEK = timedelta(days=7)
ONE_MINUTE = timedelta(minutes=1)
# System II from one passage to the next: 9 h 55 m 41 s (Meeus 1998, ch. 43), and some seconds for
# the change of distance and phase.
ROUND = timedelta(hours=9, minutes=55, seconds=41)
HALF_A_MINUTE = timedelta(seconds=30)


def test_events_stand_in_order_and_inside(sky: Ephemeris, north: Site) -> None:
    """None before the start or after the end, each after the one before."""
    times = [event.at for event in moon_events(sky, north, START, START + WEEK)]
    assert times == sorted(times)
    assert times[0] >= START
    assert times[-1] <= START + WEEK


def test_io_crosses_four_times_a_week(sky: Ephemeris, north: Site) -> None:
    """Its period is 1.769 days: 7 days hold 3 or 4 transits, each 2 to 2.5 hours long."""
    crossings = [
        event
        for event in moon_events(sky, north, START, START + WEEK)
        if event.moon == "Io" and event.phenomenon == "transit"
    ]
    begins = [event.at for event in crossings if event.begins]
    assert len(begins) in {3, 4}
    for event, after in itertools.pairwise(crossings):
        assert event.begins != after.begins
        if event.begins:
            assert timedelta(hours=2) < after.at - event.at < timedelta(hours=2.5)


def test_shadow_and_moon_go_together_at_opposition(sky: Ephemeris, north: Site) -> None:
    """When the Sun is behind the observer a moon and its shadow touch the disc within minutes."""
    events = moon_events(sky, north, START - timedelta(days=1), START + timedelta(days=1))
    of_io = [e for e in events if e.moon == "Io" and e.begins and "transit" in e.phenomenon]
    assert len(of_io) >= 2
    assert abs(of_io[0].at - of_io[1].at) < timedelta(minutes=5)


def test_before_opposition_the_shadow_goes_first(sky: Ephemeris, north: Site) -> None:
    """Then it falls to the west, on the side to which the moons in front move."""
    events = moon_events(sky, north, START - timedelta(days=60), START - timedelta(days=53))
    of_io = [e for e in events if e.moon == "Io" and e.begins and "transit" in e.phenomenon]
    assert of_io[0].phenomenon == "shadow transit"


def test_what_cannot_be_seen_is_left_out(sky: Ephemeris, north: Site) -> None:
    """Of Io behind Jupiter far from opposition: one disappearance and one reappearance a turn."""
    events = moon_events(sky, north, START - timedelta(days=60), START - timedelta(days=46))
    behind = [e for e in events if e.moon == "Io" and e.phenomenon in {"occultation", "eclipse"}]
    # West of the planet the shadow takes it first, and it comes out from behind the disc.
    assert {(e.phenomenon, e.begins) for e in behind} == {("eclipse", True), ("occultation", False)}


def test_state_and_events_agree(sky: Ephemeris, north: Site) -> None:
    """Just inside an event the moon is in the state that it begins, just outside it is not."""
    words = {"transit": "in front", "occultation": "behind", "eclipse": "in the shadow"}
    events = moon_events(sky, north, START - timedelta(days=60), START - timedelta(days=57))
    assert events
    for event in events:
        side = ONE_MINUTE if event.begins else -ONE_MINUTE
        face = jupiter_face(sky, north, event.at + side)
        if event.phenomenon == "shadow transit":
            assert event.moon in face.shadows
            assert event.moon not in jupiter_face(sky, north, event.at - side).shadows
        else:
            (moon,) = [moon for moon in face.moons if moon.name == event.moon]
            assert moon.state == words[event.phenomenon]


def test_no_time_no_events(sky: Ephemeris, north: Site) -> None:
    """A session that ends when it starts has none."""
    assert moon_events(sky, north, START, START) == ()
    assert spot_transits(sky, north, RedSpot(70.0, date(2026, 1, 1)), START, START) == ()


def test_shadows_come_first_in_a_plan(sky: Ephemeris, north: Site) -> None:
    """What has room for one thing tells of a shadow before it tells of an occultation."""
    events = chief_events(moon_events(sky, north, START, START + WEEK))
    assert events[0].phenomenon == "shadow transit"
    assert events[-1].phenomenon == "occultation"


def test_short_words_name_shadow_and_time() -> None:
    """They are what a plan has room for."""
    leaves = MoonEvent(START, "Io", "shadow transit", begins=False)
    assert leaves.short == "Io's shadow leaves"
    assert leaves.words == "Io's shadow leaves the disc"


def test_the_spot_comes_round(sky: Ephemeris, north: Site) -> None:
    """One passage after another, each when its longitude is in the middle."""
    spot = RedSpot(70.0, date(2026, 1, 10))
    passages = spot_transits(sky, north, spot, START, START + timedelta(days=2))
    assert len(passages) in {4, 5}
    for before, after in itertools.pairwise(passages):
        assert abs(after - before - ROUND) < HALF_A_MINUTE
    longitude = jupiter_face(sky, north, passages[0]).system_ii_deg
    assert_allclose(longitude, 70.0, atol=0.1)


def test_a_degree_is_one_and_two_thirds_minutes(sky: Ephemeris, north: Site) -> None:
    """870.27 deg a day (Meeus 1998, ch. 43): a longitude greater by one comes 1.65 min later."""
    end = START + timedelta(hours=10)
    first = spot_transits(sky, north, RedSpot(70.0, date(2026, 1, 10)), START, end)[0]
    later = spot_transits(sky, north, RedSpot(80.0, date(2026, 1, 10)), START, end)[0]
    assert_allclose((later - first).total_seconds() / 60.0, 16.5, atol=0.1)


@pytest.mark.parametrize(("months", "longitude"), [(0.0, 350.0), (12.0, 8.0), (-12.0, 332.0)])
def test_the_spot_drifts_through_zero(months: float, longitude: float) -> None:
    """1.5 deg a month from 350: 8 after a year, 332 a year before."""
    spot = RedSpot(350.0, date(2026, 1, 1), 1.5)
    then = datetime(2026, 1, 1, tzinfo=UTC) + timedelta(days=months * 365.25 / 12.0)
    assert_allclose(spot.longitude_at(then), longitude, atol=1e-6)


def test_the_disc_is_flattened_by_a_fifteenth() -> None:
    """Polar radius 66 854 km over 71 492 km (Archinal et al. 2018): the pole is on the edge."""
    polar = 66_854.0 / 71_492.0
    places = np.array([[0.0, 1.0, 0.0, 0.0], [0.0, 0.0, polar, -polar], [0.0, 0.0, 0.0, 0.0]])
    assert_allclose(disc_depth(places), [1.0, 0.0, 0.0, 0.0], atol=1e-12)
