"""Plans of real nights, checked against PyEphem and against what an observer expects."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from planner.ephemeris.kernel import Ephemeris
from planner.matcher.target_classes import target_table_of
from planner.matcher.train_table import tabulate_trains
from planner.model.night import Night
from planner.model.plan import Look, Plan
from planner.model.site import Site
from planner.planning.circumstances import Circumstances, Wishes
from planner.planning.plan import plan_night
from planner.planning.worth import showpiece_worth
from targets.catalogue.catalogue import Catalogue
from targets.model import Kind

Planner = Callable[..., Plan]

# PyEphem's refraction and ours, and its Moon and ours, differ by less; windows are known only at
# their steps of five minutes, in which nothing is off a line between them by more.
TENTH_DEG = 0.1
# Hard to steer above this (common practice: 75 to 80 degrees).
ALTAZIMUTH_END_DEG = 80.0
# Less of a Moon than this glares no more than twilight (our choice).
THIN_MOON = 0.1
BODIES = ("Moon", "Mercury", "Venus", "Mars", "Jupiter", "Saturn", "Uranus", "Neptune")
# The promise for the longest session; it takes a fifth of that on an idle machine.
LONGEST_LOOK = timedelta(minutes=21)

# Site, evening, kit, hours after the end of civil twilight (or of the night's first noon where
# there is none), length [h].
SESSIONS = {
    "51N December": ("garden", "2026-12-08", "reflector", 0.0, 5.0),
    "51N December late": ("garden", "2026-12-08", "reflector", 5.0, 4.0),
    "51N June": ("garden", "2026-06-15", "reflector", 0.0, 4.5),
    "51N September": ("garden", "2026-09-12", "reflector", 0.0, 5.0),
    "51N full Moon": ("garden", "2026-11-24", "reflector", 0.0, 4.0),
    "51N half Moon": ("garden", "2026-12-17", "reflector", 0.0, 5.0),
    "51N March, refractor": ("garden", "2026-03-18", "refractor", 0.0, 4.0),
    "51N clocks back": ("garden", "2026-10-24", "reflector", 5.0, 5.0),
    "51N driven equatorial": ("garden", "2026-09-12", "driven equatorial", 0.0, 4.0),
    "51N one eyepiece": ("garden", "2026-12-08", "one eyepiece", 0.0, 4.0),
    "51N twenty eyepieces": ("garden", "2026-12-08", "twenty eyepieces", 0.0, 4.0),
    "69N December": ("arctic coast", "2026-12-10", "reflector", 0.0, 5.0),
    "90S June": ("south pole", "2026-06-15", "reflector", 9.0, 4.0),
    "equator April": ("equator", "2026-04-15", "reflector", 0.0, 5.0),
    "34S March": ("southern hills", "2026-03-20", "reflector", 0.0, 4.0),
    "34S May, refractor": ("southern hills", "2026-05-15", "refractor", 0.0, 4.0),
    "34S clocks forward": ("southern hills", "2026-10-03", "reflector", 4.0, 5.0),
    "41N clocks back": ("eastern shore", "2026-10-31", "reflector", 4.0, 6.0),
}


@pytest.fixture(scope="module")
def plan(
    catalogue: Catalogue,
    ephemeris: Ephemeris,
    night_of: Callable[[str, str], Night],
    circumstances_of: Callable[..., Circumstances],
) -> Planner:
    """Plan a session; the same one only once."""
    known: dict[tuple[object, ...], Plan] = {}

    def build(
        site: str,
        day: str,
        kit: str = "reflector",
        after_h: float = 0.0,
        hours: float = 4.0,
        **wishes: object,
    ) -> Plan:
        key = (site, day, kit, after_h, hours, repr(wishes))
        if key not in known:
            night = night_of(site, day)
            start = (night.civil_dusk or night.start) + timedelta(hours=after_h)
            known[key] = plan_night(
                catalogue,
                ephemeris,
                night,
                start=start,
                end=min(start + timedelta(hours=hours), night.end),
                circumstances=circumstances_of(site, kit),
                wishes=Wishes(**wishes),  # type: ignore[arg-type]
            )
        return known[key]

    return build


def ids(plan: Plan) -> set[str]:
    """Return the identifiers of what is looked at."""
    return {look.target.id for look in plan.looks}


def moments(look: Look) -> tuple[datetime, ...]:
    """Return start, middle and end of a look."""
    return look.start, look.start + (look.end - look.start) / 2, look.end


@pytest.mark.parametrize("name", SESSIONS)
def test_looks_follow_one_another_inside_the_session(plan: Planner, name: str) -> None:
    """In time order, with a minute or more between, whole, no target twice, breaks apart."""
    found = plan(*SESSIONS[name])
    assert len(found.looks) >= 8
    assert len(ids(found)) == len(found.looks)
    for before, after in zip(found.looks, found.looks[1:], strict=False):
        assert after.start >= before.end + timedelta(minutes=1)
    assert found.looks[0].start > found.start
    assert found.looks[-1].end <= found.end
    for look in found.looks:
        assert timedelta(0) < look.end - look.start < LONGEST_LOOK
        assert not any(begin < look.end and look.start < end for begin, end in found.breaks)


@pytest.mark.parametrize("name", SESSIONS)
def test_every_look_is_where_pyephem_allows_it(
    plan: Planner,
    name: str,
    circumstances_of: Callable[..., Circumstances],
    elsewhere: Callable[[Site], object],
) -> None:
    """At start, middle and end: high enough, over the skyline, dark, off the Moon, off the zenith.

    PyEphem 4 gives altitudes, azimuths, Sun and Moon.
    """
    found = plan(*SESSIONS[name])
    circumstances = circumstances_of(SESSIONS[name][0], SESSIONS[name][2])
    other, classes = elsewhere(found.night.site), circumstances.preferences.classes
    for look in found.looks:
        (code,) = target_table_of([look.target], circumstances.preferences).class_code
        for instant in moments(look):
            altitude, azimuth = other.place_deg(look.target, instant)  # type: ignore[attr-defined]
            skyline = float(found.night.site.horizon_altitude_deg(np.array(azimuth)))
            # What culminates low is looked at within 3 deg of its culmination, never below 10.
            culmination = 90.0 - abs(found.night.site.latitude_deg - look.target.dec_deg)
            low = max(culmination - 3.0, 10.0)
            assert altitude >= min(classes[code].altitude_min_deg, low) - TENTH_DEG
            assert altitude >= skyline - TENTH_DEG
            sun = other.sun_altitude_deg(instant)  # type: ignore[attr-defined]
            assert sun <= classes[code].sun_altitude_max_deg + TENTH_DEG
            if SESSIONS[name][2] != "driven equatorial":
                assert altitude <= ALTAZIMUTH_END_DEG + TENTH_DEG
            up, away = other.moon(look.target, instant)  # type: ignore[attr-defined]
            share = max(found.night.moon_illuminated, THIN_MOON)
            assert up < TENTH_DEG or away >= classes[code].moon_clearance_deg * share - TENTH_DEG


@pytest.mark.parametrize("name", SESSIONS)
def test_the_place_told_is_that_of_the_middle(
    plan: Planner, name: str, elsewhere: Callable[[Site], object]
) -> None:
    """Altitude with refraction and azimuth, against PyEphem 4."""
    found = plan(*SESSIONS[name])
    for look in found.looks:
        altitude, azimuth = elsewhere(found.night.site).place_deg(look.target, moments(look)[1])  # type: ignore[attr-defined]
        assert look.altitude_deg == pytest.approx(altitude, abs=TENTH_DEG)
        turn = (look.azimuth_deg - azimuth + 180.0) % 360.0 - 180.0
        assert turn * math.cos(math.radians(altitude)) == pytest.approx(0.0, abs=TENTH_DEG)


@pytest.mark.parametrize("name", SESSIONS)
def test_a_plan_has_variety(plan: Planner, name: str) -> None:
    """Four kinds or more, and none that makes up three quarters."""
    kinds = [look.target.kind for look in plan(*SESSIONS[name]).looks]
    assert len(set(kinds)) >= 4
    assert max(kinds.count(kind) for kind in kinds) <= 0.75 * len(kinds)


@pytest.mark.parametrize("name", SESSIONS)
def test_every_number_is_a_number_and_every_time_utc(plan: Planner, name: str) -> None:
    """Nothing on the screen may be NaN, nor a time without its zone."""
    found = plan(*SESSIONS[name])
    for instant in (found.start, found.end, *(t for pause in found.breaks for t in pause)):
        assert instant.tzinfo is UTC
    for look in found.looks:
        assert look.start.tzinfo is UTC
        assert look.end.tzinfo is UTC
        target, view = look.target, look.view
        numbers = [look.altitude_deg, look.azimuth_deg, view.score, view.framing, view.margin_dex]
        numbers += [target.ra_deg, target.dec_deg, target.major_arcmin, target.minor_arcmin]
        numbers += [target.magnitude, *view.parts.values()]
        assert all(math.isfinite(number) for number in numbers if number is not None)
        assert target.ra_deg is not None
        assert not any("nan" in words.split() for words in (*view.reasons, *view.warnings))


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("51N December", [{"NGC224"}, {"M45"}, {"Saturn"}, {"NGC6720", "NGC6853"}]),
        ("51N December late", [{"NGC1976"}, {"M45"}, {"Jupiter"}]),
        ("51N June", [{"NGC6205"}, {"NGC6720"}, {"NGC6853"}]),
        ("51N September", [{"NGC6205"}, {"NGC6720"}, {"NGC6853"}, {"NGC224"}, {"C14"}]),
        ("51N half Moon", [{"Moon"}, {"Saturn"}]),
        ("51N March, refractor", [{"NGC2168"}, {"Jupiter"}, {"NGC2632"}]),
        ("equator April", [{"NGC3372"}, {"NGC4594"}]),
        ("34S March", [{"NGC2070"}, {"NGC3372"}, {"NGC1976"}]),
        ("34S May, refractor", [{"NGC3372"}, {"NGC5139"}, {"NGC4755", "NGC3532"}]),
        # Eleven looks where nothing sets: one of the two great globular clusters at least.
        ("90S June", [{"NGC104", "NGC5139"}, {"NGC3372"}]),
    ],
)
def test_the_showpieces_of_the_season_are_there(
    plan: Planner, name: str, expected: list[set[str]]
) -> None:
    """What observers name first for the month and latitude (common practice)."""
    found = ids(plan(*SESSIONS[name]))
    for some in expected:
        assert found & some, some


def test_the_order_is_west_to_east(plan: Planner) -> None:
    """On average the first third stands farther west than the last (common practice: it sets)."""
    for name in ("51N December", "51N September", "equator April"):
        looks = plan(*SESSIONS[name]).looks
        west = [-math.sin(math.radians(look.azimuth_deg)) for look in looks]
        third = len(looks) // 3
        assert sum(west[:third]) > sum(west[-third:]), name


def test_planets_come_in_twilight(plan: Planner) -> None:
    """In the December dusk what is bright comes first, and nothing faint."""
    looks = plan(*SESSIONS["51N December"]).looks
    bright = {Kind.PLANET, Kind.OPEN_CLUSTER, Kind.DOUBLE_STAR}
    assert {look.target.kind for look in looks[:2]} <= bright


def test_the_full_moon_keeps_faint_things_away(plan: Planner) -> None:
    """No galaxy or nebula but small bright planetaries, and the Moon where it costs least."""
    looks = plan(*SESSIONS["51N full Moon"]).looks
    kinds = {look.target.kind for look in looks}
    assert not kinds & {Kind.EMISSION_NEBULA, Kind.REFLECTION_NEBULA, Kind.DARK_NEBULA}
    after = [look.start for look in looks if look.target.id == "Moon"]
    for moon_start in after:
        later = [look for look in looks if look.start > moon_start]
        assert not any(look.target.kind is Kind.GALAXY for look in later[:2])


def test_high_power_from_the_start_asks_for_a_cooled_telescope(plan: Planner) -> None:
    """A note says what it takes, where a look in the first half hour has a small exit pupil."""
    wanted = "High power from the start: put the telescope out an hour before, to cool."
    told = []
    for session in SESSIONS.values():
        found = plan(*session)
        early = [one for one in found.looks if one.start < found.start + timedelta(minutes=30)]
        told.append(any(one.view.train.exit_pupil_mm < 1.5 for one in early))
        assert (wanted in found.notes) == told[-1]
    assert any(told)
    assert not all(told)


@pytest.mark.parametrize(
    ("site", "day"),
    [("arctic coast", "2026-06-15"), ("far north", "2026-06-15"), ("south pole", "2026-12-15")],
)
def test_polar_day_has_an_empty_plan_and_a_reason(plan: Planner, site: str, day: str) -> None:
    """No looks; the note says that it does not get dark, and so does every target."""
    found = plan(site, day, "reflector", 9.0, 4.0)
    assert found.looks == ()
    assert found.notes == ("Nothing to look at: the sky does not get dark enough in this session.",)
    assert found.left_out
    assert {left.reason for left in found.left_out} == {
        "the sky does not get dark enough for it in this session"
    }


def test_no_eyepiece_that_fits_is_said(plan: Planner) -> None:
    """No crash and no looks: the note says it, and targets that are up say it too."""
    found = plan("garden", "2026-12-08", "no eyepiece fits")
    assert found.looks == ()
    assert found.breaks == ()
    assert found.notes == ("No eyepiece of the kit fits 200 mm f/6 reflector.",)
    reasons = {left.target.id: left.reason for left in found.left_out}
    assert reasons["NGC224"] == "no eyepiece of the kit fits the telescope"
    assert reasons["NGC5139"].startswith("below the horizon")


def test_a_quarter_of_an_hour_is_one_look(plan: Planner) -> None:
    """Three minutes to find and eight to ten to look."""
    found = plan("garden", "2026-12-08", "reflector", 4.0, 0.25)
    assert len(found.looks) == 1


def test_a_quarter_of_an_hour_of_twilight_is_empty_with_a_reason(
    plan: Planner, catalogue: Catalogue
) -> None:
    """Asked for galaxies only, just after sunset."""
    rows = np.flatnonzero(catalogue.of_kind(Kind.GALAXY))
    found = plan("garden", "2026-12-08", "reflector", 0.0, 0.25, rows=rows)
    assert found.looks == ()
    assert "does not get dark enough" in found.notes[0]


def test_nothing_to_choose_from_is_an_empty_plan(plan: Planner) -> None:
    """A list that holds nothing."""
    found = plan("garden", "2026-12-08", rows=np.array([], dtype=np.intp), by_name=True)
    assert found.looks == ()
    assert found.left_out == ()
    assert found.notes


def test_the_longest_night_is_filled(
    catalogue: Catalogue,
    ephemeris: Ephemeris,
    night_of: Callable[[str, str], Night],
    circumstances_of: Callable[..., Circumstances],
) -> None:
    """From five in the afternoon to seven in the morning, with looks and breaks throughout."""
    night = night_of("garden", "2026-12-08")
    start = night.start + timedelta(hours=5)
    found = plan_night(
        catalogue,
        ephemeris,
        night,
        start=start,
        end=start + timedelta(hours=14),
        circumstances=circumstances_of("garden", "twenty eyepieces"),
        wishes=Wishes(),
    )
    assert len(found.looks) >= 30
    assert len(found.breaks) >= 6


def test_a_plan_is_the_same_each_time(
    plan: Planner,
    catalogue: Catalogue,
    ephemeris: Ephemeris,
    circumstances_of: Callable[..., Circumstances],
) -> None:
    """Same night, same kit, same plan, to the last word."""
    first = plan(*SESSIONS["51N September"])
    again = plan_night(
        catalogue,
        ephemeris,
        first.night,
        start=first.start,
        end=first.end,
        circumstances=circumstances_of("garden"),
        wishes=Wishes(),
    )
    assert again == first


@pytest.mark.parametrize("count", [1, 3, 8])
def test_no_more_looks_than_asked_for(plan: Planner, catalogue: Catalogue, count: int) -> None:
    """And with few, the best: nearly all are showpieces."""
    found = plan("garden", "2026-09-12", count=count)
    assert len(found.looks) == count
    showpieces = {catalogue.ids[row] for row in np.flatnonzero(showpiece_worth(catalogue))}
    assert len(ids(found) & {*showpieces, *BODIES}) >= 0.7 * count


def test_a_floor_of_one_s_own(plan: Planner) -> None:
    """Nothing below fifty degrees when that is asked for."""
    found = plan("garden", "2026-09-12", min_altitude_deg=50.0)
    assert found.looks
    assert all(look.altitude_deg >= 50.0 for look in found.looks)


def test_only_what_is_chosen_from(plan: Planner, catalogue: Catalogue) -> None:
    """A plan of globulars holds globulars."""
    rows = np.flatnonzero(catalogue.of_kind(Kind.GLOBULAR_CLUSTER))
    found = plan("garden", "2026-06-15", "reflector", 1.0, 3.0, rows=rows)
    assert {look.target.kind for look in found.looks} == {Kind.GLOBULAR_CLUSTER}


def test_a_session_must_end_after_its_start(
    catalogue: Catalogue,
    ephemeris: Ephemeris,
    night_of: Callable[[str, str], Night],
    circumstances_of: Callable[..., Circumstances],
) -> None:
    """Refused with a sentence; so are times outside the night and times without a zone."""
    night = night_of("garden", "2026-12-08")
    nine = night.start + timedelta(hours=9)

    def attempt(start: datetime, end: datetime) -> Plan:
        return plan_night(
            catalogue,
            ephemeris,
            night,
            start=start,
            end=end,
            circumstances=circumstances_of("garden"),
            wishes=Wishes(),
        )

    for end in (nine, nine - timedelta(hours=1)):
        with pytest.raises(ValueError, match="must end after its start, 2026-12-08 21:00 UTC"):
            attempt(nine, end)
    with pytest.raises(ValueError, match="outside the night of 2026-12-08"):
        attempt(nine, night.end + timedelta(hours=1))
    with pytest.raises(ValueError, match="no time zone"):
        attempt(nine.replace(tzinfo=None), nine + timedelta(hours=1))


def test_times_in_another_offset_leave_as_utc(
    plan: Planner,
    catalogue: Catalogue,
    ephemeris: Ephemeris,
    circumstances_of: Callable[..., Circumstances],
) -> None:
    """The plan is that of the same moments in UTC."""
    first = plan(*SESSIONS["51N September"])
    again = plan_night(
        catalogue,
        ephemeris,
        first.night,
        start=first.start.astimezone(first.night.site.zone),
        end=first.end.astimezone(first.night.site.zone),
        circumstances=circumstances_of("garden"),
        wishes=Wishes(),
    )
    assert again == first
    assert all(look.start.tzinfo is UTC for look in again.looks)


def test_a_kit_in_another_order_gives_the_same_plan(
    plan: Planner,
    catalogue: Catalogue,
    ephemeris: Ephemeris,
    circumstances_of: Callable[..., Circumstances],
) -> None:
    """The trains turned round: no tie is left to the order of the configuration."""
    first = plan(*SESSIONS["34S March"])
    circumstances = circumstances_of("southern hills")
    turned = tabulate_trains(circumstances.table.trains[::-1])
    again = plan_night(
        catalogue,
        ephemeris,
        first.night,
        start=first.start,
        end=first.end,
        circumstances=replace(circumstances, table=turned),
        wishes=Wishes(),
    )
    assert again.looks == first.looks
