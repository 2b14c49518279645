"""Ways to targets: known hops, rules that hold for each, directions by another transformation."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose

from planner.ephemeris.almanac import find_night
from planner.ephemeris.kernel import Ephemeris
from planner.ephemeris.tracks import track_instants
from planner.model.finding import FoundBy
from planner.model.kit import Finder, FinderKind, Mount, Orientation, Pointing
from planner.model.site import Site
from planner.planning.finding.of_targets import find_targets
from targets.catalogue.catalogue import load_catalogue
from targets.sphere import separation_deg

Search = Callable[..., Any]
ONE_ARCMIN_DEG, ONE_DEG = 1.0 / 60.0, 1.0
FINDER_DEG, LOW_DEG = 7.0, 36.4 / 1200.0 * 180.0 / math.pi
# Sites at three latitudes on both hemispheres, each in the dark.
SITES = {
    "north": (Site("North", 51.2, -2.4, 210.0, "Europe/London", 21.0), "2026-12-09T00:00:00"),
    "equator": (
        Site("Equator", 0.2, -78.5, 2850.0, "America/Guayaquil", 21.0),
        "2026-06-14T05:00:00",
    ),
    "south": (Site("South", -33.9, 150.5, 300.0, "Australia/Sydney", 21.0), "2026-08-14T13:00:00"),
    "far south": (
        Site("Far south", -77.8, 166.7, 10.0, "Antarctica/McMurdo", 21.0),
        "2026-06-14T12:00:00",
    ),
}


def some_targets(count: int) -> list[str]:
    """Fixed targets that people look for, spread over the whole sky."""
    catalogue = load_catalogue()
    wanted = np.flatnonzero(~catalogue.moves & (catalogue.visual_rating >= 3))
    chosen = np.random.default_rng(19).permutation(wanted)[:count]
    return [catalogue.ids[row] for row in chosen]


@pytest.fixture(scope="module")
def by_place(search: Search) -> dict[str, list[Any]]:
    """Ways to many targets, from four sites."""
    names = some_targets(150)
    found = {place: search(names, at, site=site) for place, (site, at) in SITES.items()}
    return {place: [one for one in ways if one.finding] for place, ways in found.items()}


@pytest.fixture(scope="module")
def many(by_place: dict[str, list[Any]]) -> list[Any]:
    """All of them."""
    return [one for ways in by_place.values() for one in ways]


def steps_of(ways: list[Any]) -> list[Any]:
    """All moves."""
    return [step for one in ways for step in one.finding.steps]


@pytest.mark.usefixtures("astropy_offline")
def test_moves_are_as_long_and_go_where_astropy_has_them(many: list[Any]) -> None:
    """Separation within 1' and position angle within 1 deg, for 200 moves and more."""
    from astropy import units as u  # noqa: PLC0415  # half a second
    from astropy.coordinates import SkyCoord  # noqa: PLC0415

    steps = steps_of(many)
    assert len(steps) >= 200
    starts, ends = (
        SkyCoord([p.ra_deg for p in points], [p.dec_deg for p in points], unit="deg")
        for points in ([s.start for s in steps], [s.end for s in steps])
    )
    apart = starts.separation(ends).to_value(u.deg)
    angle = starts.position_angle(ends).to_value(u.deg)
    assert_allclose([s.separation_deg for s in steps], apart, atol=ONE_ARCMIN_DEG)
    off = (np.array([s.position_angle_deg for s in steps]) - angle + 180.0) % 360.0 - 180.0
    assert_allclose(off, 0.0, atol=ONE_DEG)


def test_every_way_hangs_together(many: list[Any]) -> None:
    """Each move begins where the one before ends; the last ends on the target."""
    assert {one.finding.by for one in many} >= {FoundBy.EYE, FoundBy.FINDER, FoundBy.HOPS}
    for one in many:
        finding, target = one.finding, one.target
        if finding.by in {FoundBy.EYE, FoundBy.FINDER}:
            assert (finding.start.name, finding.steps) == (target.name, ())
        elif finding.by is FoundBy.HOPS:
            chain = [finding.start, *(step.end for step in finding.steps)]
            assert [step.start for step in finding.steps] == chain[:-1]
            assert (chain[-1].name, chain[-1].ra_deg) == (target.name, target.ra_deg)
            assert 1.0 <= finding.minutes <= 15.0
        else:
            assert (finding.by, finding.start) == (FoundBy.COORDINATES, None)


def test_no_move_is_longer_than_its_instrument_guides(many: list[Any]) -> None:
    """The finder's field or twice the low eyepiece's, unless two stars point the way."""
    for step in steps_of(many):
        if step.text.startswith("From"):
            longest = FINDER_DEG if step.instrument == "6x30 finder" else 2.0 * LOW_DEG
            assert step.separation_deg <= longest * 1.001, step.text
        else:
            assert step.text.startswith(("Between", "On the line"))


def test_no_move_ends_on_a_star_that_the_instrument_does_not_show(many: list[Any]) -> None:
    """The eye sees to 6.1 under 21 mag/arcsec2 (Schaefer 1990); one aims 0.5 above that.

    A finder of 30 mm shows at least two magnitudes more: 5 log10(30 / 6) is 3.5, and glass and
    power cost some of it (common practice); a move ends a magnitude before.
    """
    for one in many:
        finding = one.finding
        if finding.by is FoundBy.HOPS:
            assert finding.start.magnitude <= 6.1 - 0.5
            assert all(step.end.magnitude <= 7.0 for step in finding.steps[:-1])


def test_a_move_ends_on_the_brightest_star_of_its_neighbourhood(many: list[Any]) -> None:
    """Within a third of the move, and half a degree, no star is as bright or half as bright.

    By the star file of the drawings, whose V is good to a tenth or two.
    """
    from targets.field_stars import load_field_stars  # noqa: PLC0415  # 50 ms

    field = load_field_stars()
    for step in [s for one in many for s in one.finding.steps[:-1]][:60]:
        end, reach = step.end, max(step.separation_deg / 3.0, 0.5) - 0.02
        near = field.within(end.ra_deg, end.dec_deg, reach)
        apart = separation_deg(near.ra_deg, near.dec_deg, end.ra_deg, end.dec_deg)
        rivals = near.magnitude[apart > 3.0 / 60.0]
        assert not (rivals < end.magnitude + 0.5).any(), step.text


def horizontal(step: Any, at: datetime, site: Site) -> tuple[float, float, float, float]:
    """Altitude and azimuth of both ends of a move [rad], by sidereal time alone.

    Greenwich mean sidereal time of Meeus 1998, eq. 12.4, and precession by a turn about the pole
    of the ecliptic are left out: J2000 places and the sidereal time of J2000's equinox differ by a
    third of a degree in 2026, which no direction of 45 degrees feels.
    """
    days = (at - datetime(2000, 1, 1, 12, tzinfo=UTC)) / timedelta(days=1)
    sidereal = math.radians(280.46061837 + 360.98564736629 * days + site.longitude_deg)
    latitude = math.radians(site.latitude_deg)
    found = []
    for point in (step.start, step.end):
        hour, dec = sidereal - math.radians(point.ra_deg), math.radians(point.dec_deg)
        sin_alt = math.sin(dec) * math.sin(latitude)
        sin_alt += math.cos(dec) * math.cos(latitude) * math.cos(hour)
        east = -math.cos(dec) * math.sin(hour)
        north = math.sin(dec) * math.cos(latitude)
        north -= math.cos(dec) * math.sin(latitude) * math.cos(hour)
        found += [math.asin(sin_alt), math.atan2(east, north)]
    return found[0], found[1], found[2], found[3]


SECTORS = (
    "up", "up and right", "right", "down and right", "down", "down and left", "left", "up and left",
)  # fmt: skip


@pytest.mark.parametrize("place", SITES)
def test_directions_are_those_of_the_horizon(by_place: dict[str, list[Any]], place: str) -> None:
    """Up is toward the zenith, right toward greater azimuth, near the zenith and the pole too."""
    site, at = SITES[place]
    steps = steps_of(by_place[place])
    instant = datetime.fromisoformat(at).replace(tzinfo=UTC)
    heights = []
    assert len(steps) > 20
    for step in steps:
        alt, az, to_alt, to_az = horizontal(step, instant, site)
        right = math.cos(to_alt) * math.sin(to_az - az)
        up = math.sin(to_alt) * math.cos(alt)
        up -= math.cos(to_alt) * math.sin(alt) * math.cos(to_az - az)
        angle = math.degrees(math.atan2(right, up))
        off = (angle - 45.0 * SECTORS.index(step.direction) + 180.0) % 360.0 - 180.0
        # Near the zenith a third of a degree turns everything.
        assert abs(off) <= 22.5 + 0.6 / math.cos(min(alt, 1.5)), (step.text, angle)
        heights.append(math.degrees(alt))
    assert max(heights) > 70.0


def test_an_equatorial_mount_goes_by_the_pole(search: Search, under: Any) -> None:
    """North-east is a position angle of 45 degrees, and so on round."""
    names = ("north", "north-east", "east", "south-east", "south", "south-west", "west")
    words = (*names, "north-west")
    around = under(21.0, mount=Mount.EQUATORIAL)
    steps = steps_of(
        [
            o
            for o in search(some_targets(150), "2026-12-09T00:00:00", circumstances=around)
            if o.finding
        ]
    )
    assert {step.direction for step in steps} == set(words)
    for step in steps:
        off = (step.position_angle_deg - 45.0 * words.index(step.direction) + 180) % 360 - 180
        assert abs(off) <= 22.5


# Common practice of those who hop: from which stars. Higher than the 25th degree, under 21.0.
KNOWN = [
    ("M57", "2026-08-10T22:00:00", {"beta Lyr", "gamma Lyr"}, 1),
    ("M13", "2026-06-15T23:30:00", {"eta Her", "zeta Her"}, 1),
    ("M81", "2026-03-10T21:00:00", {"alpha UMa", "gamma UMa", "24 UMa", "23 UMa"}, 2),
    ("M31", "2026-11-10T20:00:00", {"beta And", "mu And", "nu And"}, 2),
    ("M104", "2026-04-15T23:30:00", {"delta Crv", "eta Crv", "gamma Crv", "chi Vir"}, 3),
    ("NGC7009", "2026-09-10T22:30:00", {"nu Aqr", "epsilon Aqr", "theta Cap"}, 2),
]


@pytest.mark.parametrize(("name", "at", "stars", "most"), KNOWN, ids=[k[0] for k in KNOWN])
def test_known_hops_are_found_as_such_or_shorter(
    search: Search, name: str, at: str, stars: set[str], most: int
) -> None:
    """From a star of the usual way in as few moves, or plain by itself."""
    finding = search([name], at)[0].finding
    if finding.by is FoundBy.HOPS:
        told = finding.start.name + " ".join(step.text for step in finding.steps)
        assert any(star in told for star in stars), told
        assert len(finding.steps) <= most
    else:
        assert finding.by in {FoundBy.EYE, FoundBy.FINDER}


def test_two_stars_point_where_hops_are_long(search: Search, under: Any) -> None:
    """Somewhere a line serves; its words say where on it, and the place is where they say."""
    found = [
        one
        for one in search(some_targets(150), "2026-12-09T00:00:00", circumstances=under(19.5))
        if one.finding and one.finding.steps and one.finding.steps[0].text[0] in "BO"
    ]
    assert found
    for one in found:
        assert len(one.finding.steps) == 1
        assert any(f"{word} " in one.finding.steps[0].text for word in ("way:", "again:"))


def test_what_is_plain_needs_no_way(search: Search) -> None:
    """Rasalgethi, the Pleiades and Saturn, on nights when they are up."""
    for one in search(["alpha Her", "M45", "Saturn"], "2026-11-10T19:00:00"):
        assert one.finding.by is FoundBy.EYE
        assert one.finding.start.name == one.target.name
        assert one.finding.steps == ()


def test_brighter_skies_make_ways_no_shorter(search: Search, under: Any) -> None:
    """The time to find grows with the light of the sky, for the whole and for most targets."""
    names = some_targets(100)
    minutes = []
    for sky in (21.5, 20.0, 18.5):
        found = search(names, "2026-12-09T00:00:00", circumstances=under(sky))
        ways = [one.finding for one in found]
        minutes.append(
            [10.0 if w and w.by is FoundBy.COORDINATES else w and w.minutes for w in ways]
        )
    dark, middle, bright = (sum(m for m in column if m) for column in minutes)
    assert dark < middle < bright


@pytest.mark.parametrize(
    ("pointing", "by"), [(Pointing.CIRCLES, FoundBy.CIRCLES), (Pointing.GOTO, FoundBy.GOTO)]
)
def test_circles_and_motors_go_by_coordinates(
    search: Search, under: Any, pointing: Pointing, by: FoundBy
) -> None:
    """No start and no moves, the place at the moment, and less time than by hand."""
    at = "2026-11-10T19:00:00"
    hand = search(["M1", "NGC7662"], "2026-11-10T23:00:00")
    way = search(["NGC7662"], at, circumstances=under(21.0, pointing=pointing))[0].finding
    assert (way.by, way.start, way.steps) == (by, None, ())
    assert way.altitude_deg == pytest.approx(80.0, abs=12.0)
    assert way.minutes < min(one.finding.minutes for one in hand)


def test_a_finder_without_power_leads_by_naked_eye_stars(search: Search, under: Any) -> None:
    """No move in it ends on a fainter star; the low eyepiece closes the way."""
    dot = Finder("dot", FinderKind.UNIT_POWER, None, 1.0, 4.0, Orientation.UPRIGHT)
    around = replace(under(21.0), finders=(dot,))
    found = search(some_targets(80), "2026-12-09T00:00:00", circumstances=around)
    steps = steps_of([one for one in found if one.finding])
    assert steps
    for step in steps:
        if step.instrument == "dot":
            assert step.separation_deg <= 4.0 or step.text[0] in "BO"
            assert step.end.magnitude is None or step.end.magnitude < 6.1 or " to " in step.text
    assert {step.instrument for step in steps} == {"dot", "30 mm 70"}


def test_nothing_leads_to_what_has_set(search: Search) -> None:
    """Below the horizon there is no way."""
    assert search(["M6"], "2026-12-09T00:00:00")[0].finding is None


def test_stars_stand_where_they_are_tonight(search: Search) -> None:
    """61 Cyg moved by 2.3' from 2000 to 2026 (Hipparcos): its way begins or ends there."""
    (found,) = search(["61 Cyg"], "2026-09-10T22:00:00")
    point = found.finding.steps[-1].end if found.finding.steps else found.finding.start
    apart = separation_deg(point.ra_deg, point.dec_deg, 316.7248, 38.7494)
    assert float(apart) * 60.0 == pytest.approx(2.35, abs=0.05)


def test_the_next_target_is_found_from_the_last_one(ephemeris: Ephemeris, under: Any) -> None:
    """M82 stands 0.6 deg from M81: who has just looked at the one needs no star."""
    site, evening = SITES["north"][0], date(2026, 12, 8)
    night = find_night(ephemeris, site, evening)
    first = datetime(2026, 12, 9, 0, 0, tzinfo=UTC)
    grid = track_instants(ephemeris, night, [first, first + timedelta(minutes=15)])
    targets = [load_catalogue().find(name) for name in ("M81", "M82")]
    _, way = find_targets(targets, grid, under(20.0))
    assert way is not None
    assert way.start is not None
    assert way.start.name == "M81 Bode's Galaxy"
    assert [step.end.name for step in way.steps] == ["M82 Cigar Galaxy"]
    assert way.minutes < 2.0
    assert way.steps[0].instrument == "30 mm 70", "both stand in one field of the low eyepiece"


def test_under_lamps_ways_begin_at_bright_stars(search: Search, under: Any) -> None:
    """Under 17 mag/arcsec2 the eye sees to 3.1 (Schaefer 1990) or 4.9 (Crumey 2014) at best."""
    found = search(some_targets(80), "2026-12-09T00:00:00", circumstances=under(17.0))
    starts = [o.finding.start for o in found if o.finding and o.finding.by is FoundBy.HOPS]
    assert starts
    assert max(start.magnitude for start in starts) <= (3.1 + 4.9) / 2.0 - 0.5 + 0.05
