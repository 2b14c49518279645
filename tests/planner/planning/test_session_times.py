"""When a session begins and ends, in places where that is not plain."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise

import pytest

from planner.ephemeris.almanac import find_night
from planner.ephemeris.kernel import Ephemeris
from planner.model.errors import InputError, NothingToPlanError
from planner.model.night import Night
from planner.model.site import Site
from planner.planning.session_times import (
    Event,
    When,
    clock_remark,
    dusk_and_dawn,
    instant_of,
    is_over,
    local_instant,
    session_times,
)

GARDEN = Site("Garden", 51.2, -2.4, timezone="Europe/London")
POLE = Site("Pole", -90.0, 0.0, timezone="Etc/UTC")


@pytest.fixture(scope="module")
def night(ephemeris: Ephemeris) -> Night:
    """Return the night of 25 November 2026 in the garden."""
    return find_night(ephemeris, GARDEN, date(2026, 11, 25))


def test_a_night_runs_from_noon_to_noon(night: Night) -> None:
    """Noon is its start, or for an end its end; midnight is in the middle."""
    assert local_instant(night, time(12)) == night.start
    assert local_instant(night, time(12), at_end=True) == night.end
    assert local_instant(night, time(12, 1)) == night.start + timedelta(minutes=1)
    assert local_instant(night, time(11, 59)) == night.end - timedelta(minutes=1)
    assert local_instant(night, time(0)) == datetime(2026, 11, 26, tzinfo=UTC)


def test_lord_howe_island_changes_its_clocks_by_half_an_hour(ephemeris: Ephemeris) -> None:
    """IANA time zone database: on 5 April 2026 at 02:00 back to 01:30, so 01:45 comes twice."""
    site = Site("Island", -31.5, 159.1, timezone="Australia/Lord_Howe")
    changed = find_night(ephemeris, site, date(2026, 4, 4))
    first = local_instant(changed, time(1, 45))
    assert first == datetime(2026, 4, 4, 14, 45, tzinfo=UTC)  # still 11 hours ahead
    assert "01:45 comes twice" in str(clock_remark(changed, time(1, 45)))
    assert clock_remark(changed, time(1, 15)) is None
    assert clock_remark(changed, time(2, 0)) is None


def test_times_without_an_offset_are_the_sites() -> None:
    """With one they are what they say; Kathmandu is 5 h 45 min ahead (IANA)."""
    site = Site("Roof", 27.7, 85.3, timezone="Asia/Kathmandu")
    naive = datetime(2026, 11, 25, 20, 0)  # noqa: DTZ001  # as a user writes it
    assert instant_of(naive, site) == datetime(2026, 11, 25, 14, 15, tzinfo=UTC)
    aware = naive.replace(tzinfo=UTC)
    assert instant_of(aware, site) == aware


def test_a_night_is_over_when_no_quarter_of_an_hour_is_left(night: Night) -> None:
    """Before dawn, not before sunrise."""
    dawn = dusk_and_dawn(night)[1]
    assert not is_over(night, night.start)
    assert not is_over(night, dawn - timedelta(minutes=21))
    assert is_over(night, dawn - timedelta(minutes=14))


def test_now_moves_the_start_but_never_before_dusk(night: Night) -> None:
    """It is rounded up to five minutes; a start that is asked for stays."""
    now = datetime(2026, 11, 25, 21, 0, 1, tzinfo=UTC)
    assert session_times(night, now=now).start == datetime(2026, 11, 25, 21, 5, tzinfo=UTC)
    assert session_times(night, now=night.start) == session_times(night)
    asked = session_times(night, begin=time(19), now=now)
    assert asked.start == datetime(2026, 11, 25, 19, 0, tzinfo=UTC)


def test_an_end_that_is_asked_for_may_lie_after_dawn(night: Night) -> None:
    """The observer knows best; noon is as late as it gets."""
    assert session_times(night, begin=time(5), until=time(12)).end == night.end
    with pytest.raises(InputError, match="must come before"):
        session_times(night, begin=time(2), until=time(1))


@pytest.mark.parametrize(
    ("evening", "lies"),
    [
        (date(2026, 3, 25), "between the horizon and civil twilight"),
        (date(2026, 6, 21), "far below the horizon"),
    ],
)
def test_at_the_pole_the_sun_can_stay_down_at_any_depth(
    ephemeris: Ephemeris, evening: date, lies: str
) -> None:
    """The south pole after the March equinox and at the June solstice: six is the hour."""
    polar = find_night(ephemeris, POLE, evening)
    times = session_times(polar)
    assert times.start.hour == 18, lies
    assert times.end - times.start == timedelta(hours=4)


def test_where_the_sun_does_not_set_there_is_no_session(ephemeris: Ephemeris) -> None:
    """The south pole in December: the night's own note is the reason."""
    polar = find_night(ephemeris, POLE, date(2026, 12, 21))
    assert dusk_and_dawn(polar) is None
    with pytest.raises(NothingToPlanError, match="The Sun does not set: polar day"):
        session_times(polar, begin=time(18), until=time(22))


def hours(ephemeris: Ephemeris, latitude_deg: float, evening: date) -> float:
    """Return how long a session could last at a latitude [h]."""
    site = Site("Lake", latitude_deg, 23.8, timezone="Europe/Helsinki")
    span = dusk_and_dawn(find_night(ephemeris, site, evening))
    return 0.0 if span is None else (span[1] - span[0]) / timedelta(hours=1)


def test_bright_nights_shrink_without_a_jump(ephemeris: Ephemeris) -> None:
    """In May and June sessions never get longer from one night to the next, nor lose an hour.

    At 61.5 N civil dusk is lost early in June, where sessions once jumped to sunset.
    """
    days = [date(2026, 5, 1) + timedelta(days=n) for n in range(50)]
    lasts = [hours(ephemeris, 61.5, day) for day in days]
    steps = [later - earlier for earlier, later in pairwise(lasts)]
    assert max(steps) <= 0.01
    assert min(steps) > -0.25


def test_sessions_shrink_with_latitude_without_a_jump(ephemeris: Ephemeris) -> None:
    """On one night of June, from 50 N to where the Sun does not set."""
    lasts = [hours(ephemeris, lat / 4.0, date(2026, 6, 10)) for lat in range(200, 268)]
    steps = [later - earlier for earlier, later in pairwise(lasts)]
    assert max(steps) <= 0.01
    assert min(steps) > -0.9
    assert lasts[-1] == 0.0


def test_a_short_night_that_nobody_asked_for_is_no_fault(ephemeris: Ephemeris) -> None:
    """Haparanda in June: a sentence about the night, not about times that nobody gave."""
    site = Site("Haparanda", 65.83, 24.14, timezone="Europe/Stockholm")
    short = find_night(ephemeris, site, date(2026, 6, 15))
    with pytest.raises(NothingToPlanError, match=r"Civil twilight all night|Sun does not"):
        session_times(short)


@pytest.mark.parametrize(
    ("begin", "until", "edges", "remarks"),
    [
        (time(11, 30), None, ("dusk", None), 1),
        (time(5), time(12, 40), (None, "end"), 1),
        (Event.DARK, time(13), ("dark_start", "end"), 1),
        (None, Event.DAWN, ("dusk", "dawn"), 0),
        (Event.SUNSET, Event.SUNRISE, ("sunset", "sunrise"), 0),
        (Event.MOONRISE, Event.DAWN, ("moonrise", "dawn"), 0),
    ],
)
def test_a_session_is_asked_for_in_words(
    night: Night,
    begin: When | None,
    until: When | None,
    edges: tuple[str | None, str | None],
    remarks: int,
) -> None:
    """By what the night does; a time just outside the night is its edge, with a remark."""
    times = session_times(night, begin=begin, until=until)
    assert len(times.remarks) == remarks
    for edge, instant in zip(edges, (times.start, times.end), strict=True):
        if edge is not None:
            assert abs(instant - getattr(night, edge)) < timedelta(minutes=1)


def test_what_does_not_happen_that_night_is_said(night: Night) -> None:
    """With what was asked for."""
    with pytest.raises(InputError, match="--until moonset: the Moon does not set in that night"):
        session_times(replace(night, moonset=None), until=Event.MOONSET)
    with pytest.raises(InputError, match="does not rise in that night after 20:00"):
        session_times(night, begin=time(20), until=Event.MOONRISE)


@pytest.mark.parametrize(("begin", "until"), [(time(8), None), (None, time(16, 30))])
def test_a_time_that_leaves_nothing_is_an_empty_plan(
    night: Night, begin: time | None, until: time | None
) -> None:
    """And not a fault."""
    with pytest.raises(NothingToPlanError, match="leaves no quarter of an hour"):
        session_times(night, begin=begin, until=until)
