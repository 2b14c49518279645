"""When a target can be looked at, condition by condition, and what is said when it cannot."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import fields, replace
from datetime import datetime, timedelta

import numpy as np
import pytest
from numpy.testing import assert_allclose

from planner.config.preferences import default_preferences
from planner.ephemeris.kernel import Ephemeris
from planner.ephemeris.solar_system.lunar_light import Sunlight
from planner.ephemeris.tracks import track_instants, track_night
from planner.matcher.target_classes import target_table_of
from planner.model.kit import Barrel, Mount, Telescope
from planner.model.night import Night
from planner.model.site import Site
from planner.planning.survey import follow
from planner.planning.windows import (
    WINDOW_RULES,
    SkyTracks,
    Windows,
    find_windows,
    hindrance,
    window_closing,
)
from targets.catalogue.catalogue import Catalogue

PREFERENCES = default_preferences()
CLASSES = [preference.name for preference in PREFERENCES.classes]
FLAT = Site("Flat", 51.0, 0.0)
ALTAZIMUTH = Telescope("t", 200.0, 1200.0, Barrel.TWO, mount=Mount.ALTAZIMUTH)
EQUATORIAL = replace(ALTAZIMUTH, mount=Mount.EQUATORIAL)
# At sea level: 34' of refraction, 16.3' of radius and half a degree to be sure.
HIDDEN_SUN_DEG = -(34.0 + 16.3 + 30.0) / 60.0
# The grid's step; a window's edge can be known no better.
STEP = timedelta(minutes=5)
# An arccosine near 1 loses half of its digits.
ROUNDING_DEG = 1e-5


def tracks(
    altitude: object = 45.0,
    azimuth: object = 180.0,
    *,
    sun: object = -30.0,
    moon: object = -10.0,
    moon_away: object = 90.0,
    sun_away: object = 90.0,
) -> SkyTracks:
    """Return one target at as many steps as the longest argument has."""
    rows = np.broadcast_arrays(
        *(np.atleast_1d(np.asarray(v, float)) for v in (altitude, azimuth, moon_away, sun_away)),
        *(np.atleast_1d(np.asarray(v, float)) for v in (sun, moon)),
    )
    high, toward, from_moon, from_sun, sun_high, moon_high = rows
    return SkyTracks(
        altitude_deg=high[None],
        true_altitude_deg=high[None],
        azimuth_deg=toward[None],
        moon_separation_deg=from_moon[None],
        sun_separation_deg=from_sun[None],
        sun_altitude_deg=sun_high,
        sun_highest_deg=sun_high,
        moon_altitude_deg=moon_high,
    )


def windows(
    of: SkyTracks,
    name: str = "galaxy",
    *,
    site: Site = FLAT,
    telescope: Telescope = ALTAZIMUTH,
    lit: float = 1.0,
    floor: float | None = None,
) -> Windows:
    """Find the windows of one target of a class."""
    return find_windows(
        of,
        np.array([CLASSES.index(name)]),
        preferences=PREFERENCES,
        site=site,
        telescope=telescope,
        moon_illuminated=lit,
        min_altitude_deg=floor,
    )


@pytest.mark.parametrize("preference", PREFERENCES.classes, ids=lambda p: p.name)
def test_each_class_waits_for_its_own_darkness(preference: object) -> None:
    """The window opens at the Sun's altitude of the class and is shut above it."""
    limit = preference.sun_altitude_max_deg  # type: ignore[attr-defined]
    sun = np.array([limit - 0.01, limit, limit + 0.01])
    # At sunset the limb still shows: what needs no darkness waits until it cannot.
    if limit > HIDDEN_SUN_DEG:
        sun = np.array([HIDDEN_SUN_DEG - 0.1, HIDDEN_SUN_DEG - 0.05, HIDDEN_SUN_DEG + 0.05])
    found = windows(tracks(60.0, sun=sun), preference.name)  # type: ignore[attr-defined]
    assert found.dark[0].tolist() == [True, True, False]


def test_the_floor_is_the_class_s_or_the_observer_s() -> None:
    """20 degrees for a galaxy, 10 for the Moon, or whatever is asked for instead."""
    altitude = np.array([5.0, 10.0, 19.9, 20.0, 35.0])
    assert windows(tracks(altitude)).high[0].tolist() == [False, False, False, True, True]
    assert windows(tracks(altitude), "moon").high[0].tolist() == [False, True, True, True, True]
    asked = windows(tracks(altitude), floor=30.0)
    assert asked.high[0].tolist() == [False, False, False, False, True]


def test_the_skyline_is_a_line_between_its_points_and_across_north() -> None:
    """Between 350 and 10 degrees it falls from 40 to 20: at north it is 30."""
    wooded = replace(FLAT, horizon=((10.0, 20.0), (180.0, 0.0), (350.0, 40.0)))
    azimuth = np.array([355.0, 355.0, 0.0, 0.0, 5.0, 5.0, 180.0])
    altitude = np.array([34.9, 35.1, 29.9, 30.1, 24.9, 25.1, 21.0])
    found = windows(tracks(altitude, azimuth), site=wooded)
    assert found.clear_of_skyline[0].tolist() == [False, True, False, True, False, True, True]


@pytest.mark.parametrize(("lit", "clear_from"), [(1.0, 50.0), (0.5, 25.0), (0.0, 5.0)])
def test_the_moon_s_glare_shrinks_with_its_phase(lit: float, clear_from: float) -> None:
    """50 degrees from a full Moon for a galaxy, half of that at half phase, a tenth at least."""
    away = np.array([clear_from - 0.1, clear_from])
    found = windows(tracks(60.0, moon=30.0, moon_away=away), lit=lit)
    assert found.clear_of_moon[0].tolist() == [False, True]


def test_a_moon_below_the_horizon_does_not_glare() -> None:
    """Distance does not matter then."""
    found = windows(tracks(60.0, moon=np.array([-0.1, 0.1]), moon_away=1.0))
    assert found.clear_of_moon[0].tolist() == [True, False]


def test_the_moon_does_not_glare_at_itself() -> None:
    """It has no distance from itself, and that is far enough."""
    assert windows(tracks(40.0, moon=40.0, moon_away=0.0), "moon").open.all()


def test_only_an_altazimuth_mount_shuns_the_zenith() -> None:
    """At 80 degrees it stops; an equatorial one does not."""
    high = tracks(np.array([80.0, 80.1, 90.0]))
    assert windows(high).within_mount[0].tolist() == [True, False, False]
    assert windows(high, telescope=EQUATORIAL).within_mount.all()


def test_nothing_near_the_sun_while_it_is_up() -> None:
    """20 degrees while any of the Sun is above the horizon, at night nothing of the kind."""
    away = np.array([19.9, 20.0, 1.0])
    up = windows(tracks(40.0, sun=10.0, sun_away=away))
    assert up.clear_of_sun[0].tolist() == [False, True, False]
    half_up = windows(tracks(40.0, sun=-0.5, sun_away=away))
    assert half_up.clear_of_sun[0].tolist() == [False, True, False]
    hidden = windows(tracks(40.0, sun=-5.9, sun_away=np.array([9.9, 10.0])))
    assert hidden.clear_of_sun[0].tolist() == [False, True]
    assert windows(tracks(40.0, sun=-6.1, sun_away=away)).clear_of_sun.all()


def test_a_quarter_of_an_hour_before_the_sun_shows_counts_as_day() -> None:
    """What the Sun will be within that time closes the window, however low it is now."""
    soon = replace(tracks(40.0, sun=-3.0, sun_away=15.0), sun_highest_deg=np.array([-0.5]))
    assert not windows(soon, "inner_planet").clear_of_sun.any()
    assert not windows(soon, "inner_planet").dark.any()


def test_each_condition_has_its_row_in_the_table() -> None:
    """With a clause for what closes a window, and no two with the same one."""
    assert [row.name for row in WINDOW_RULES] == list(Windows.__dataclass_fields__)
    assert len({row.closes for row in WINDOW_RULES}) == len(WINDOW_RULES)


def test_a_feature_of_the_moon_that_loses_its_light_says_so() -> None:
    """Not that it nears the Moon."""
    lit = np.array([[Sunlight.WELL, Sunlight.WELL, Sunlight.TOO_LOW]], dtype=np.int8)
    of = replace(tracks(np.full(3, 45.0)), lit=lit)
    closing = window_closing(windows(of, "lunar_feature"), 0, 0, floor_deg=10.0)
    assert closing is not None
    assert closing.cause == "loses its light"


def test_mercury_and_venus_wait_for_the_sun_to_set() -> None:
    """Even far from it; then they may be low."""
    sun = np.array([5.0, -0.5, -0.9, -2.0, -5.0])
    found = windows(tracks(8.0, sun=sun, sun_away=45.0), "inner_planet")
    assert found.open[0].tolist() == [False, False, False, True, True]


def test_open_is_all_conditions_together() -> None:
    """One False anywhere shuts the window."""
    good = windows(tracks(45.0))
    assert good.open.all()
    for name in Windows.__dataclass_fields__:
        shut = replace(good, **{name: np.zeros_like(good.dark)})
        assert not shut.open.any(), name


@pytest.mark.parametrize(
    ("of", "changes", "clause"),
    [
        (tracks(45.0, sun=-10.0), {}, "the sky does not get dark enough for it tonight"),
        (tracks([-5.0, 60.0], sun=[-30.0, 5.0]), {}, "below the horizon tonight while it is dark"),
        (tracks([19.9, 60.0], sun=[-30.0, 5.0]), {}, "no higher than 19 deg tonight while it is"),
        (tracks(30.0), {"site": replace(FLAT, horizon=((0.0, 40.0),))}, "behind the site's sky"),
        (tracks(85.0), {}, "too near the zenith for the mount"),
        (tracks([50.0, 60.0], moon=20.0, moon_away=[21.4, 30.2]), {}, "the Moon's glare, 30 deg"),
    ],
)
def test_the_hindrance_is_the_true_one(
    of: SkyTracks, changes: dict[str, Site], clause: str
) -> None:
    """Each condition that shuts a window is named, with its own number."""
    found = windows(of, **changes)  # type: ignore[arg-type]
    assert not found.open.any()
    assert clause in hindrance(found, of, 0)


def test_the_sun_is_named_where_twilight_is_allowed() -> None:
    """A user may allow a class by day; nearness to the Sun is then what forbids it."""
    of = tracks(45.0, sun=10.0, sun_away=12.0)
    found = replace(windows(of), dark=np.ones((1, 1), dtype=bool))
    assert hindrance(found, of, 0) == "too near the Sun"


def test_the_last_condition_to_shut_the_window_is_named() -> None:
    """Low at first, in the Moon's glare when high: it is the Moon that keeps it away."""
    of = tracks([10.0, 40.0], moon=20.0, moon_away=[80.0, 20.0])
    assert hindrance(windows(of), of, 0) == "in the Moon's glare, 20 deg away at most"


def test_the_span_is_named() -> None:
    """In a session the sentence speaks of the session."""
    of = tracks(12.0)
    said = hindrance(windows(of), of, 0, span="in this session")
    assert said == "no higher than 12 deg in this session while it is dark enough"


@pytest.mark.parametrize(
    ("site", "day", "target"),
    [
        ("open field", "2026-12-08", "M42"),
        ("open field", "2026-09-12", "M13"),
        ("arctic coast", "2026-12-10", "M31"),
        ("equator", "2026-04-15", "M104"),
        ("southern hills", "2026-05-15", "M83"),
        ("southern hills", "2026-10-03", "Saturn"),
    ],
)
def test_the_window_s_edges_agree_with_pyephem(
    site: str,
    day: str,
    target: str,
    ephemeris: Ephemeris,
    catalogue: Catalogue,
    night_of: Callable[[str, str], Night],
    elsewhere: Callable[..., object],
) -> None:
    """Floor and darkness pass within one step of where PyEphem 4 (libastro) has them.

    The conditions are asked of PyEphem each minute, and the first and last good minute compared.
    """
    night = night_of(site, day)
    thing = catalogue.find(target)
    grid = track_night(ephemeris, night)
    of = follow([thing], ephemeris, grid)
    code = target_table_of([thing], PREFERENCES).class_code
    found = find_windows(
        of,
        code,
        preferences=PREFERENCES,
        site=night.site,
        telescope=EQUATORIAL,
        moon_illuminated=0.0,
    )
    wanted = PREFERENCES.classes[code[0]]
    other = elsewhere(night.site)
    minutes = [night.start + timedelta(minutes=k) for k in range(24 * 60)]
    good = [
        minute
        for minute in minutes
        if other.sun_altitude_deg(minute) <= wanted.sun_altitude_max_deg  # type: ignore[attr-defined]
        and other.place_deg(thing, minute)[0] >= wanted.altitude_min_deg  # type: ignore[attr-defined]
    ]
    ours = [
        datetime.fromtimestamp(grid.unix_s[k], tz=night.start.tzinfo)
        for k in np.flatnonzero((found.dark & found.high)[0])
    ]
    assert abs(ours[0] - good[0]) <= STEP
    assert abs(ours[-1] - good[-1]) <= STEP
    assert len(ours) * STEP == pytest.approx(timedelta(minutes=len(good)), abs=4 * STEP)


def test_bodies_and_fixed_targets_keep_their_rows(
    ephemeris: Ephemeris, catalogue: Catalogue, night_of: Callable[[str, str], Night]
) -> None:
    """A list that mixes them is followed as each alone would be."""
    night = night_of("open field", "2026-12-08")
    things = [catalogue.find(name) for name in ("Moon", "M42", "Saturn", "M31", "Venus")]
    grid = track_instants(
        ephemeris, night, [night.start + timedelta(hours=k) for k in range(5, 15)]
    )
    together = follow(things, ephemeris, grid)
    for row, thing in enumerate(things):
        alone = follow([thing], ephemeris, grid)
        for name in ("altitude_deg", "azimuth_deg", "moon_separation_deg", "sun_separation_deg"):
            assert_allclose(
                getattr(together, name)[row], getattr(alone, name)[0], rtol=0.0, atol=ROUNDING_DEG
            )
    assert_allclose(together.moon_separation_deg[0], 0.0, atol=ROUNDING_DEG)


@pytest.mark.parametrize(
    ("condition", "clause"),
    [
        ("dark", "dawn"),
        ("clear_of_sun", "nears the Sun"),
        ("clear_of_skyline", "sets behind the skyline"),
        ("high", "sinks below 20 deg"),
        ("within_mount", "nears the zenith"),
        ("clear_of_moon", "nears the Moon"),
    ],
)
def test_what_closes_a_window_is_named(condition: str, clause: str) -> None:
    """Each condition that fails at the third step alone has its own clause."""
    fine, closed = np.ones((1, 4), dtype=bool), np.array([[True, True, False, True]])
    names = [field.name for field in fields(Windows)]
    windows = Windows(**{name: closed if name == condition else fine for name in names})
    closing = window_closing(windows, 0, 0, floor_deg=20.0)
    assert closing is not None
    assert (closing.last_step, closing.cause) == (1, clause)
