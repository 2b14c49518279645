"""A clock that leaps ahead and comes back: what it took is given back, what was done stands."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest

from planner.session.course import begin_session, resume, tick
from planner.session.moves.looks import done, skip
from planner.session.state import Status, undo
from planner.session.state_json import from_json, to_json

MINUTE = timedelta(minutes=1)


def _without_memory(state: Any) -> Any:
    return replace(state, past=(), before_leap=None)


@pytest.mark.parametrize("leap", [timedelta(hours=2), timedelta(hours=24), timedelta(days=400)])
def test_what_a_wrong_clock_took_comes_back_with_the_right_one(
    spring: Any, faults: Any, leap: timedelta
) -> None:
    """Looks are lost, then back as if nothing had been; the file keeps it over a new start."""
    state, _ = done(spring.night, spring.at(30), spring.after(30))
    before, _ = tick(spring.night, state, spring.after(31))
    wrong, words = tick(spring.night, before, spring.after(31) + leap)
    assert wrong.with_status(Status.LOST)
    assert any("lost" in sentence for sentence in words)
    for kept in (wrong, from_json(to_json(wrong))):
        assert kept == wrong
        after, words = tick(spring.night, kept, spring.after(32))
        straight, _ = tick(spring.night, before, spring.after(32))
        assert _without_memory(after) == _without_memory(straight)
        assert after.past == straight.past
        assert words[0].startswith("The clock went back from ")
        assert faults(spring.night, after) == []


def test_the_days_are_named_where_they_differ(spring: Any) -> None:
    """18:31 and 18:31 would say nothing."""
    wrong, _ = tick(spring.night, spring.begun, spring.plan.start + timedelta(hours=24))
    _, words = tick(spring.night, wrong, spring.plan.start + MINUTE)
    assert words[0].startswith("The clock went back from Thu 19 ")
    assert " to Wed 18 " in words[0]


def test_a_program_begun_with_a_wrong_clock_has_its_night_with_the_right_one(spring: Any) -> None:
    """A day late at the start: all is lost; then the clock is set, or the program begun again."""
    wrong, _ = begin_session(spring.night, spring.plan, spring.plan.start + timedelta(hours=26))
    assert not wrong.waiting
    for again in (tick, resume):
        after, _ = again(spring.night, wrong, spring.after(5))
        assert len(after.with_status(Status.WAITING, Status.NOW)) == len(spring.plan.looks)


def test_a_clock_that_goes_back_too_far_leaves_the_leap_all_the_same(spring: Any) -> None:
    """Four days ahead, then an hour behind: the night stands where it was before the leap."""
    state = replace(spring.at(60), before_leap=None)
    wrong, _ = tick(spring.night, state, spring.after(60) + timedelta(days=4))
    after, words = tick(spring.night, wrong, spring.after(1))
    assert after.clock == state.clock
    assert after.looks == state.looks
    assert words[0].startswith("The clock went back from ")


def test_a_move_after_a_leap_stands(spring: Any) -> None:
    """Whoever goes on at the later time means it; then only undo goes back."""
    wrong, _ = tick(spring.night, spring.begun, spring.after(100))
    moved, _ = skip(spring.night, wrong, spring.after(101))
    assert moved.before_leap is None
    after, words = tick(spring.night, moved, spring.after(3))
    assert _without_memory(after) == _without_memory(moved)
    assert "Undo takes back" in words[0]
    assert undo(moved)[0].clock == wrong.clock


def test_a_laptop_that_woke_up_again_has_not_leapt_back(spring: Any) -> None:
    """Two hours pass at once, and are gone: what they took stays lost while time goes on."""
    asleep, _ = tick(spring.night, spring.begun, spring.after(120))
    later, _ = tick(spring.night, asleep, spring.after(121))
    assert later.with_status(Status.LOST) == asleep.with_status(Status.LOST)
    small, _ = tick(spring.night, later, spring.after(120))  # a minute is only set right
    assert small.clock == later.clock


def test_time_that_passes_in_small_steps_is_no_leap(spring: Any) -> None:
    """However much of it; a leap begins at half an hour."""
    state = spring.begun
    for minutes in range(0, 200, 20):
        state, _ = tick(spring.night, state, spring.after(minutes))
        assert state.before_leap is None


@pytest.mark.parametrize(("minutes", "is_leap"), [(29, False), (31, True), (80, True)])
def test_half_an_hour_at_once_is_a_leap(spring: Any, minutes: int, is_leap: bool) -> None:
    """As DEVELOPERS.md has it; only where it changed looks, as it does late in the evening."""
    late = next(
        state
        for begin in range(0, 200, 10)
        if (state := spring.at(begin)).looks
        != tick(spring.night, state, state.clock + timedelta(minutes=29))[0].looks
    )
    after, _ = tick(spring.night, late, late.clock + timedelta(minutes=minutes))
    assert after.looks != late.looks
    assert (after.before_leap is not None) == is_leap


def test_a_move_with_the_clock_set_right_brings_back_too(spring: Any) -> None:
    """The first key after the correction acts on the plan that was there before the leap."""
    wrong, _ = tick(spring.night, spring.begun, spring.after(60) + timedelta(hours=24))
    after, _ = skip(spring.night, wrong, spring.after(2))
    assert len(after.with_status(Status.SKIPPED)) == 1
    assert after.waiting
    back, _ = undo(after)
    assert back.with_status(Status.LOST) == ()


def test_a_leap_after_an_undo_survives_the_file(spring: Any) -> None:
    """What can be made again is kept with the session, and not once more with what stood before."""
    state, _ = skip(spring.night, spring.begun, spring.after(0))
    back, _ = undo(state)
    leapt, _ = tick(spring.night, back, spring.after(40))
    assert leapt.before_leap is not None
    assert from_json(to_json(leapt)) == leapt
    again, _ = tick(spring.night, leapt, spring.after(0))
    assert again.ahead == back.ahead
