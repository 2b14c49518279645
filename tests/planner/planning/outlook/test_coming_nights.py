"""What the coming nights show of a wish list and of one target."""

from __future__ import annotations

from datetime import UTC, datetime, time, timedelta
from typing import Any

import numpy as np
import pytest

from planner.ephemeris.almanac import find_night
from planner.model.errors import InputError
from planner.output.text.nights import reason_words
from planner.planning.outlook.best_night import best_night
from planner.planning.outlook.coming_nights import longest_run_steps, showpieces
from planner.planning.session_times import session_times
from planner.planning.worth import wanted_before
from targets.catalogue.catalogue import Catalogue

# Altitudes here carry refraction, astropy's do not: 1.8' at 30 degrees; and steps are five minutes
# apart, in which the sky turns by 1.25 degrees but a target near its highest moves little.
REFRACTION_DEG = 0.05


def test_showpieces_are_the_most_wanted(catalogue: Any) -> None:
    """The list of one who brings none holds about a hundred, none wanted less than one left out."""
    rows = showpieces(catalogue)
    wanted = wanted_before(catalogue, np.arange(len(catalogue)))
    left_out = np.delete(wanted, rows)
    assert 100 <= len(rows) <= 120
    assert wanted[rows].min() > left_out.max()
    names = {catalogue.ids[row] for row in rows}
    assert {"NGC224", "NGC6205", "M45", "NGC5139", "Saturn", "Moon"} <= names


def test_sessions_are_those_of_the_plan(look_ahead: Any, ephemeris: Any) -> None:
    """The session assumed is the one that ``plan`` takes: from dusk, four hours."""
    for outlook in look_ahead("Garden", "2026-11-25", 2, wishes=["M31"]):
        night = find_night(ephemeris, outlook.night.site, outlook.night.date)
        assert outlook.session == session_times(night)
    (asked,) = look_ahead("Garden", "2026-11-25", begin=time(22), until=time(1), wishes=["M31"])
    assert (asked.session.start, asked.session.end) == (
        datetime(2026, 11, 25, 22, tzinfo=UTC),
        datetime(2026, 11, 26, 1, tzinfo=UTC),
    )


def test_only_tonight_begins_now(look_ahead: Any) -> None:
    """A session does not begin before now on the first night, and at dusk on the second."""
    now = datetime(2026, 11, 25, 21, 30, tzinfo=UTC)
    first, second = look_ahead("Garden", "2026-11-25", 2, now=now, target="M31")
    assert first.session.start == now
    assert first.target.windows[0][0] >= now
    assert second.session.start < now + timedelta(hours=24) - timedelta(hours=4)


def test_moonlight_takes_galaxies_off_the_list(look_ahead: Any) -> None:
    """A full Moon leaves fewer galaxies well placed than a new Moon two weeks earlier."""
    galaxies = ["M31", "M33", "M81", "M82", "M101", "M51", "M74", "M77", "M110", "NGC 891"]
    new = look_ahead("Garden", "2026-12-08", wishes=galaxies)[0]
    full = look_ahead("Garden", "2026-12-23", wishes=galaxies)[0]
    assert full.well_placed < new.well_placed <= new.wish_count == len(galaxies)


@pytest.mark.parametrize(
    ("lit", "dark"),
    [
        # The same dates in two years, with a bright Moon and a new one, have the same stars up.
        ("2026-12-20", "2025-12-20"),
        ("2026-11-21", "2025-11-20"),
        ("2027-01-20", "2026-01-18"),
    ],
)
def test_no_more_is_well_placed_under_the_moon(
    look_ahead: Any, catalogue: Catalogue, lit: str, dark: str
) -> None:
    """Of the showpieces that do not move a bright Moon leaves fewer than a new one."""
    fixed = [row for row in showpieces(catalogue) if not catalogue.moves[row]]
    bright, new = (look_ahead("Garden", day, rows=fixed)[0] for day in (lit, dark))
    assert bright.night.moon_illuminated > 0.85
    assert new.night.moon_illuminated < 0.05
    assert bright.well_placed < new.well_placed


def test_the_full_moon_takes_galaxies_and_leaves_clusters(look_ahead: Any) -> None:
    """M81, M82 and M32 can be made out under it, but nobody plans them then (common practice)."""
    for names, left in ((["M81", "M82", "M32"], 0), (["M45", "M34", "C14"], 3)):
        new = look_ahead("Garden", "2026-12-08", wishes=names)[0]
        full = look_ahead("Garden", "2026-12-23", wishes=names)[0]
        assert (new.well_placed, full.well_placed) == (3, left)


def test_the_moon_is_no_target_of_its_own_list(look_ahead: Any, catalogue: Catalogue) -> None:
    """A night is not richer for the Moon that lights it; who lists it has it counted."""
    whole = len(showpieces(catalogue))
    assert look_ahead("Garden", "2026-12-20")[0].wish_count == whole - 1
    assert look_ahead("Garden", "2026-12-20", wishes=["Moon"])[0].well_placed == 1


def test_a_list_is_judged_target_by_target(look_ahead: Any) -> None:
    """The count is the sum of lists of one; order and repetition change nothing."""
    names = ["M31", "M13", "M42", "M104", "Saturn", "NGC 104"]
    whole = look_ahead("Garden", "2026-12-08", wishes=names)[0]
    parts = [look_ahead("Garden", "2026-12-08", wishes=[name])[0] for name in names]
    again = look_ahead("Garden", "2026-12-08", wishes=[*reversed(names), "M31"])[0]
    assert whole.well_placed == sum(part.well_placed for part in parts) == again.well_placed
    assert {target.id for target in whole.best} <= {"NGC224", "NGC6205", "Saturn"}
    assert whole.best == again.best


def test_the_best_named_are_the_most_worth(look_ahead: Any) -> None:
    """At most three are named, showpieces before the rest."""
    (outlook,) = look_ahead("Garden", "2026-12-08", wishes=["M31", "M29", "M15", "M39", "M27"])
    assert len(outlook.best) == 3
    assert outlook.best[0].id == "NGC224"


@pytest.mark.usefixtures("astropy_offline")
def test_best_night_for_m13_in_june_is_high_and_moonless(look_ahead: Any) -> None:
    """M13 is best when it culminates in the darkest hour, without Moon; astropy agrees on both."""
    from astropy import units as u  # noqa: PLC0415  # slow to load
    from astropy.coordinates import AltAz, EarthLocation, SkyCoord, get_body  # noqa: PLC0415
    from astropy.time import Time  # noqa: PLC0415

    outlooks = look_ahead("Garden", "2026-06-01", 30, wishes=["M13"], target="M13")
    best = best_night(outlooks)
    moment, site = best.outlook.target.best, best.outlook.night.site
    place = EarthLocation.from_geodetic(site.longitude_deg * u.deg, site.latitude_deg * u.deg)
    frame = AltAz(obstime=Time(moment.at), location=place)
    # J2000 position of M13: SIMBAD, 16 41 41.24 +36 27 35.5 (from memory).
    m13 = SkyCoord("16h41m41.24s +36d27m35.5s").transform_to(frame)
    moon = get_body("moon", Time(moment.at), place).transform_to(frame)
    assert moment.altitude_deg == pytest.approx(m13.alt.deg, abs=REFRACTION_DEG)
    assert m13.alt.deg > 70.0  # it culminates at 90 - 51.2 + 36.5 = 75.3 degrees
    assert moon.alt.deg < 0.0
    assert best.outlook.night.moon_illuminated < 0.5
    assert "no Moon then" in reason_words(best)
    assert reason_words(best).startswith("highest (7")


def test_best_night_for_omega_centauri_from_sydney(look_ahead: Any) -> None:
    """In the south the great globular stands high in a moonless autumn night."""
    outlooks = look_ahead("Sydney", "2026-05-01", 30, wishes=["NGC 5139"], target="NGC 5139")
    best = best_night(outlooks)
    moment = best.outlook.target.best
    assert moment.altitude_deg > 70.0  # it culminates at 90 - (47.5 - 33.9) = 76.4 degrees
    assert moment.moon_altitude_deg < 0.0
    assert moment.grade == "easy"


def test_a_bright_planet_is_best_where_the_air_is_thinnest(look_ahead: Any) -> None:
    """Saturn, easy all night, is at its best on the meridian."""
    (outlook,) = look_ahead("Garden", "2026-12-08", wishes=["Saturn"], target="Saturn")
    moment = outlook.target.best
    # PyEphem 4.2: transit at 19:32:30 UTC, 39.60 degrees high without refraction.
    assert moment.altitude_deg == pytest.approx(39.60, abs=REFRACTION_DEG)
    transit = datetime(2026, 12, 8, 19, 32, 30, tzinfo=UTC)
    assert abs(moment.at - transit) < timedelta(minutes=5)


def test_the_moon_in_orion_closes_the_window_of_m42(look_ahead: Any) -> None:
    """Beside a full Moon the nebula has no window, because of the Moon; a week on it has."""
    outlooks = look_ahead("Garden", "2026-11-25", 9, wishes=["M42"], target="M42")
    assert outlooks[0].target.best is None
    assert "Moon's glare" in outlooks[0].target.hindrance
    last = outlooks[-1].target
    assert last.hindrance is None
    assert last.window_minutes > 300.0


def test_a_filter_makes_no_moonlit_night_the_best(look_ahead: Any) -> None:
    """Moonlight calls for a filter on M42, which lifts its margin: yet darkness is better."""
    outlooks = look_ahead("Garden", "2027-01-05", 25, wishes=["M42"], target="M42")
    best = best_night(outlooks).outlook.target.best
    moonlit_dex = [
        outlook.target.best.quality_dex
        for outlook in outlooks
        if outlook.night.moon_illuminated > 0.9
        and outlook.target.best
        and outlook.target.best.moon_altitude_deg > 0.0
    ]
    assert best.moon_altitude_deg < 0.0
    assert max(moonlit_dex) < best.quality_dex


def test_a_target_is_followed_to_dawn_unless_an_end_is_given(look_ahead: Any) -> None:
    """M42 in November is past four hours from dusk; an end that is asked for shuts it out."""
    (free,) = look_ahead("Garden", "2026-12-08", wishes=["M42"], target="M42")
    (bound,) = look_ahead("Garden", "2026-12-08", wishes=["M42"], target="M42", until=time(20))
    assert free.target.best.at > free.session.end
    assert bound.target.best is None
    assert "that night" in bound.target.hindrance


def test_a_target_that_never_rises_is_a_value_with_a_reason(look_ahead: Any) -> None:
    """47 Tucanae from England: every night is there, none has a window, each says why."""
    outlooks = look_ahead("Garden", "2026-12-01", 3, wishes=["NGC 104"], target="NGC 104")
    assert [outlook.well_placed for outlook in outlooks] == [0, 0, 0]
    assert all("below the horizon" in outlook.target.hindrance for outlook in outlooks)
    assert all(outlook.target.window_minutes == 0.0 for outlook in outlooks)
    assert best_night(outlooks) is None


def test_a_window_shorter_than_a_look_is_none(look_ahead: Any) -> None:
    """M104 clears its floor for some minutes before a November dawn: too short for a look."""
    outlooks = look_ahead("Garden", "2026-11-25", 8, wishes=["M104"], target="M104")
    short = [outlook.target for outlook in outlooks if 0.0 < outlook.target.window_minutes < 10.0]
    assert all(target.best is None for target in short)
    assert {target.hindrance for target in short} <= {"its window is too short for a look"}
    assert any(outlook.target.hindrance == "its window is too short for a look"
               for outlook in outlooks)  # fmt: skip


@pytest.mark.parametrize(
    ("site", "first"),
    [("Tromso", "2026-06-20"), ("Svalbard", "2026-06-20"), ("Pole", "2026-12-20")],
)
def test_polar_day_has_no_session_and_says_so(look_ahead: Any, site: str, first: str) -> None:
    """Where the Sun does not set nothing is placed, and a sentence tells why."""
    for outlook in look_ahead(site, first, 2, target="M13"):
        assert outlook.session is None
        assert "The Sun does not set" in outlook.no_session
        assert (outlook.well_placed, outlook.best) == (0, ())
        assert outlook.target.best is None
        assert "dark enough" in outlook.target.hindrance


def test_polar_night_has_a_session_and_long_darkness(look_ahead: Any) -> None:
    """At the Pole in June it is dark around the clock; the Moon alone shortens what is useful."""
    outlooks = look_ahead("Pole", "2026-06-05", 20, wishes=["NGC 5139", "NGC 104"])
    assert all(outlook.dark_hours == pytest.approx(24.0) for outlook in outlooks)
    assert all(outlook.session is not None for outlook in outlooks)
    assert {round(outlook.dark_moonless_hours) for outlook in outlooks} >= {0, 24}


def test_a_session_impossible_on_all_nights_is_wrong_input(look_ahead: Any) -> None:
    """An end before the beginning is the user's mistake, told once."""
    with pytest.raises(InputError, match="--from must come before --until"):
        look_ahead("Garden", "2026-11-25", 3, begin=time(23), until=time(22))


def test_a_session_impossible_on_some_nights_is_their_reason(look_ahead: Any) -> None:
    """Where dawn overtakes the beginning in spring, the later nights say so and the rest stand."""
    outlooks = look_ahead("Garden", "2026-04-01", 40, begin=time(5), wishes=["M13"])
    have = [outlook.session is not None for outlook in outlooks]
    assert have[0]
    assert not have[-1]
    assert have == sorted(have, reverse=True)
    assert "--from 05:00" in outlooks[-1].no_session or "too short" in outlooks[-1].no_session


def test_longest_run_matches_counting() -> None:
    """The run found at once is the one found by walking along each row."""
    flags = np.random.default_rng(7).random((200, 25)) < 0.6
    flags[0], flags[1] = True, False
    for row, found in zip(flags, longest_run_steps(flags), strict=True):
        runs = "".join("x" if flag else " " for flag in row).split()
        assert found == max([len(run) for run in runs] or [1]) - 1
