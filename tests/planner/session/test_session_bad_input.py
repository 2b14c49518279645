"""Impossible wishes and broken clocks: a sentence, a usable state, and nothing lost."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, datetime, timedelta
from typing import Any

import pytest

from planner.session.course import begin_session, resume, tick
from planner.session.moves.clouds import cleared, cloud_here
from planner.session.moves.looks import done, skip
from planner.session.moves.targets import add_target, veto_target
from planner.session.moves.times import go_on, longer_here, running_late, take_break
from planner.session.state import CloudKind, Status

MINUTE = timedelta(minutes=1)


def test_an_end_before_the_start_is_refused(spring: Any) -> None:
    """The sentence names both times; the session goes on."""
    state = spring.at(60)
    after, words = go_on(spring.night, state, state.clock, spring.after(-30))
    assert after == state
    assert "cannot end at" in words[0]
    assert words[0].endswith(" already.")


def test_an_end_beyond_the_night_is_refused(spring: Any) -> None:
    """It says until when the night is known."""
    after, words = go_on(
        spring.night, spring.begun, spring.after(0), spring.night.end + 60 * MINUTE
    )
    assert after == spring.begun
    assert "known until" in words[0]


def test_a_window_of_three_minutes_is_a_session_without_looks(
    new_evening: Callable[..., Any], garden: Any
) -> None:
    """It says why, and every move still works."""
    evening = new_evening(garden, "2026-03-18", 0.05)
    state, words = begin_session(evening.night, evening.plan, evening.after(0))
    assert state.looks == ()
    assert words[0].startswith("Nothing to look at")
    state, words = done(evening.night, state, evening.after(1))
    assert words == ("No look is under way and none waits.",)
    state, _ = go_on(evening.night, state, evening.after(1), evening.after(120))
    assert state.waiting, "more time brings looks"


def test_all_sky_closed_is_a_usable_state(spring: Any, faults: Any) -> None:
    """Nothing waits, all is told as lost to cloud, and it comes back."""
    state, words = cloud_here(spring.night, spring.begun, spring.after(10))
    assert state.waiting == ()
    assert all("cloud" in look.reason for look in state.with_status(Status.LOST))
    assert len(words) < 10, "the losses are told together"
    for move in (done, skip):
        state, words = move(spring.night, state, spring.after(20))
        assert words == ("No look is under way and none waits.",)
    state, _ = cleared(spring.night, state, spring.after(30))
    assert state.waiting
    assert faults(spring.night, state) == []


def test_a_clock_set_back_an_hour_keeps_what_is_done(spring: Any, faults: Any) -> None:
    """Summer time ends, or the laptop was wrong: the later time counts, and it says so."""
    state = spring.begun
    for look in spring.plan.looks[:4]:
        state, _ = done(spring.night, state, look.end)
    wrong = state.clock - 60 * MINUTE
    after, words = done(spring.night, state, wrong)
    assert words[0].startswith("The clock went back from ")
    assert after.clock == state.clock
    old = state.with_status(Status.DONE)
    assert after.with_status(Status.DONE)[:4] == old
    assert faults(spring.night, after) == []


def test_summer_time_ends_in_a_session(new_evening: Callable[..., Any], garden: Any) -> None:
    """Times are UTC inside: an hour that comes twice by the wall clock is no step back."""
    evening = new_evening(garden, "2026-10-24", 8.5)
    first = datetime.fromisoformat("2026-10-25T01:30:00+01:00")
    again = datetime.fromisoformat("2026-10-25T01:30:00+00:00")
    state, _ = tick(evening.night, evening.begun, first)
    state, words = tick(evening.night, state, again)
    assert not any("clock" in word for word in words)
    assert state.clock == again


def test_a_step_back_of_seconds_is_not_worth_a_word(spring: Any) -> None:
    """A clock that is set right by the network."""
    state = spring.at(30)
    assert tick(spring.night, state, state.clock - timedelta(seconds=50)) == (state, ())


def test_a_time_without_a_zone_is_refused(spring: Any) -> None:
    """It would pass for the computer's own."""
    with pytest.raises(ValueError, match="zone"):
        tick(spring.night, spring.begun, datetime(2026, 3, 18, 20, 0))  # noqa: DTZ001


def test_a_second_veto_is_told(spring: Any) -> None:
    """And changes nothing."""
    name = spring.plan.looks[3].target.id
    state, _ = veto_target(spring.night, spring.begun, spring.after(1), name)
    after, words = veto_target(spring.night, state, spring.after(1), name)
    assert after == state
    assert words == (f"{spring.plan.looks[3].target.name} is kept out already.",)


@pytest.mark.parametrize("move", [add_target, veto_target, skip, done])
def test_an_unknown_target_is_told(spring: Any, move: Callable[..., Any]) -> None:
    """Whatever it is called."""
    after, words = move(spring.night, spring.begun, spring.after(0), "NGC99999")
    assert after == spring.begun
    assert words[0].startswith("NGC99999 is not ")


def test_a_done_look_stays_done(spring: Any) -> None:
    """It can be neither vetoed, nor asked for, nor done again."""
    state, _ = done(spring.night, spring.begun, spring.plan.looks[0].end - MINUTE)
    name = spring.plan.looks[0].target.id
    for move in (add_target, veto_target, done):
        after, words = move(spring.night, state, state.clock, name)
        assert after == state
        assert "is done already" in words[0]


@pytest.mark.parametrize("minutes", [0.0, -5.0, 241.0, float("nan"), float("inf")])
@pytest.mark.parametrize("move", [longer_here, running_late, take_break])
def test_impossible_minutes_are_refused(
    spring: Any, move: Callable[..., Any], minutes: float
) -> None:
    """With what is allowed."""
    state = spring.at(15)
    after, words = move(spring.night, state, state.clock, minutes)
    assert after == state
    assert words[-1].endswith("allowed is 1 to 240.")


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ({"direction": "up"}, 'no part of the sky called "up"'),
        ({"band": "x" * 500}, "known are low, middle, high, all"),
        ({"kind": CloudKind.THIN, "loss_mag": -1.0}, "allowed is 0 to 6"),
        ({"kind": CloudKind.THIN, "loss_mag": float("nan")}, "allowed is 0 to 6"),
    ],
)
def test_impossible_clouds_are_refused(spring: Any, options: dict[str, Any], words: str) -> None:
    """The sky stays open."""
    after, told = cloud_here(spring.night, spring.begun, spring.after(0), **options)
    assert after == spring.begun
    assert words in told[0]


def test_a_cloud_that_has_gone_already_is_refused(spring: Any) -> None:
    """Its end lies in the past."""
    now = spring.after(30)
    after, told = cloud_here(spring.night, spring.at(30), now, until=now - MINUTE)
    assert after.closures == ()
    assert "The cloud cannot go at" in told[-1]


def test_a_session_of_another_kit_keeps_what_is_done(spring: Any, faults: Any) -> None:
    """Moves wait until it is taken up again; then the rest is planned for this kit."""
    state, _ = done(spring.night, spring.begun, spring.plan.looks[0].end)
    foreign = replace(state, kit="0123456789abcdef")
    after, words = skip(spring.night, foreign, state.clock)
    assert after == foreign
    assert "another kit" in words[0]
    after, words = resume(spring.night, foreign, state.clock)
    assert "what is done is kept" in words[0]
    assert after.with_status(Status.DONE) == state.with_status(Status.DONE)
    assert after.waiting
    assert faults(spring.night, after) == []


@pytest.mark.parametrize(
    "change", [{"site": "Elsewhere"}, {"evening": date(2026, 3, 17)}], ids=["site", "night"]
)
def test_a_session_of_another_night_stays_as_it_is(spring: Any, change: dict[str, Any]) -> None:
    """A sentence says what it is; it is not planned under another sky."""
    foreign = replace(spring.begun, **change)
    for take_up in (resume, tick, skip):
        after, words = take_up(spring.night, foreign, spring.after(30))
        assert after == foreign
        assert words[0].startswith("This session is of the night of ")


def test_a_look_at_a_target_that_is_gone_from_the_catalogue_is_lost(spring: Any) -> None:
    """A session file may be older than the catalogue."""
    old = replace(spring.begun.looks[2], target_id="XYZ1", name="Once known")
    state = spring.begun.with_looks(old)
    after, words = tick(spring.night, state, spring.after(1))
    assert after.look_at("XYZ1").status is Status.LOST
    assert any("not among the targets of this night" in word for word in words)


def test_days_later_all_is_over(spring: Any) -> None:
    """The laptop was opened again: nothing waits, each look has its reason."""
    after, _ = tick(spring.night, spring.begun, spring.after(3000))
    assert after.waiting == ()
    assert all(look.reason for look in after.with_status(Status.LOST))
