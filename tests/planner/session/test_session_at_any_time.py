"""A night has no wall: it goes on, begins anew, and takes what the observer does as it is."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest

from planner.session.clock import run_end
from planner.session.course import tick
from planner.session.moves.clouds import cleared, cloud_here
from planner.session.moves.looks import done, skip
from planner.session.moves.targets import add_target, start_now
from planner.session.moves.times import endings, go_on, longer_here, running_late, take_break
from planner.session.replanning import being_found
from planner.session.state import LossCause, PauseKind, Status, redo, undo
from planner.session.state_json import from_json, to_json

MINUTE = timedelta(minutes=1)


def finding(evening: Any) -> Any:
    """Return the session while the second look is being found."""
    state = evening.begun
    state, _ = done(evening.night, state, state.looks[0].end)
    at = state.clock + MINUTE
    state = tick(evening.night, state, at)[0]
    assert state.now is None
    assert being_found(evening.night, state) == state.waiting[0]
    return state


def test_a_session_that_is_over_goes_on(spring: Any, faults: Any) -> None:
    """What was lost because it ended comes again, after a rest, and nothing else is lost."""
    state = spring.at(1)
    late = state.end + 30 * MINUTE
    over, words = tick(spring.night, state, late)
    assert not over.waiting
    assert any(word.startswith("The session ended at ") for word in words)
    after, words = go_on(spring.night, over, late, late + 120 * MINUTE)
    assert len(after.waiting) >= 4
    assert after.end == late + 120 * MINUTE
    assert not after.with_status(Status.LOST)
    assert faults(spring.night, after) == []
    assert words[0].startswith("The session goes on until ")
    assert from_json(to_json(after)) == after


def test_a_session_of_which_nothing_was_done_begins_now(spring: Any) -> None:
    """Opened again hours later: the rest of the night is planned as if it began now."""
    late = spring.plan.end + 60 * MINUTE
    over, _ = tick(spring.night, spring.begun, late)
    after, _ = go_on(spring.night, over, late, late + 60 * MINUTE)
    assert after.start == late
    assert after.waiting
    assert min(look.start for look in after.looks) >= late


def test_every_ending_that_is_offered_can_be_taken(spring: Any) -> None:
    """Half an hour, an hour, until dawn; each after the present time and inside the night."""
    state = spring.at(30)
    offered = endings(spring.night, state, state.clock)
    told = " ".join(ending.words for ending in offered)
    for words in ("half an hour more", "an hour more", "dawn"):
        assert words in told
    for ending in offered:
        after, _ = go_on(spring.night, state, state.clock, ending.at)
        assert after.end == ending.at
    dawn = spring.night.night.civil_dawn
    assert max(ending.at for ending in offered) > dawn - 5 * MINUTE
    late = replace(state, end=spring.night.night.dark_end - 70 * MINUTE)
    times = [ending.at for ending in endings(spring.night, late, late.clock)]
    assert times == sorted(times)


@pytest.mark.parametrize("after_end", [-5, 5, 60])
def test_a_look_can_begin_at_any_time(spring: Any, faults: Any, after_end: int) -> None:
    """Before the session ends and after it: the look is under way, and the session holds it."""
    night, late = spring.night, spring.plan.end + after_end * MINUTE
    state, _ = tick(night, spring.at(1), late)
    step = int(night.minute(late) // 5)
    is_open = night.roster.windows.open[:, step : step + 6].all(axis=1)
    name = next(name for name, row in night.row_of.items() if is_open[row])
    if state.look_at(name) and state.look_at(name).status in {Status.DONE, Status.NOW}:
        state = replace(state, looks=())
    after, words = start_now(night, state, late, name)
    assert after.now.target_id == name
    assert after.now.start == late
    assert after.end >= after.now.end
    assert any(word.startswith("At ") for word in words)
    assert faults(night, after) == []


def test_the_rest_comes_behind_what_is_begun_now(spring: Any, faults: Any) -> None:
    """What was barely begun waits again; what was had for half of its time counts as done."""
    state = spring.begun
    for look in spring.plan.looks[:4]:
        state, _ = done(spring.night, tick(spring.night, state, look.start)[0], look.end)
    first = state.waiting[0]
    early = tick(spring.night, state, first.start + MINUTE)[0]
    others = [look for look in early.waiting if run_end(spring.night, early, look.target_id)]
    third = others[0]
    after, _ = start_now(spring.night, early, early.clock, third.target_id)
    assert after.now.target_id == third.target_id
    assert after.look_at(first.target_id).status is Status.WAITING
    assert after.waiting[0].start >= after.now.end
    assert faults(spring.night, after) == []
    late = tick(spring.night, state, first.end - MINUTE)[0]
    after, _ = start_now(spring.night, late, late.clock, third.target_id)
    assert after.look_at(first.target_id).status is Status.DONE
    assert undo(after)[0].now.target_id == first.target_id


def test_what_one_goes_to_keeps_its_place_before_what_was_left(spring: Any, faults: Any) -> None:
    """Whatever it is worth, and whatever has just been left for it."""
    night, before = spring.night, spring.at(40)
    state, _ = start_now(night, before, before.clock, before.waiting[0].target_id)
    step = int(night.minute(state.clock) // 5)
    is_open = night.candidates.open[:, step : step + 8].all(axis=1)
    names = [n for n, row in night.row_of.items() if is_open[row] and not state.look_at(n)]
    assert len(names) >= 20
    for name in names[::12]:
        after, words = start_now(night, state, spring.after(40.5), name, is_found=False)
        look = after.look_at(name)
        assert words[0].startswith(f"On the way to {look.name} now")
        assert look is after.waiting[0]
        assert faults(night, after) == []


def test_nobody_is_at_what_is_hidden(spring: Any) -> None:
    """Behind the cloud that is noted, below the horizon, done, or under way already: refused."""
    state = spring.at(20)
    shut, _ = cloud_here(spring.night, state, state.clock)
    target_id = state.looks[-1].target_id
    refused, words = start_now(spring.night, shut, shut.clock, target_id)
    assert refused == shut
    assert "cloud" in words[0]
    low = spring.night.roster.tracks.altitude_deg[:, 4] < -1.0
    below = next(name for name, row in spring.night.row_of.items() if low[row])
    assert "below the horizon" in start_now(spring.night, state, state.clock, below)[1][0]


def test_whoever_begins_a_look_neither_rests_nor_is_late(spring: Any) -> None:
    """The break and the delay that were said before are over with it."""
    state = spring.at(30)
    state, _ = take_break(spring.night, state, state.clock, 12)
    state, _ = running_late(spring.night, state, state.clock, 20)
    target_id = state.waiting[0].target_id
    after, _ = start_now(spring.night, state, state.clock, target_id)
    assert all(pause.start >= after.now.end for pause in after.pauses if pause.end > after.clock)
    assert all(pause.kind is PauseKind.BREAK for pause in after.pauses)
    assert after.waiting[0].start < state.clock + 60 * MINUTE


def test_a_cloud_that_is_gone_is_no_reason_any_more(spring: Any) -> None:
    """Of a look that finds no place for another one, as here since it is kept out."""
    state = spring.at(30)
    shut, _ = cloud_here(spring.night, state, state.clock)
    assert any(look.cause is LossCause.CLOUD for look in shut.with_status(Status.LOST))
    clouded = [x.target_id for x in shut.looks if x.cause is LossCause.CLOUD]
    opened, _ = cleared(spring.night, replace(shut, vetoed=tuple(clouded)), shut.clock)
    assert any(look.target_id in clouded for look in opened.with_status(Status.LOST))
    assert not any("cloud" in look.reason for look in opened.with_status(Status.LOST))


def test_what_is_being_found_is_not_pushed_back_by_news(spring: Any) -> None:
    """Cloud elsewhere, one that goes, one that ends by itself, a target that is asked for."""
    state = finding(spring)
    look, night = state.waiting[0], spring.night
    row = night.row_of[look.target_id]
    azimuth = night.roster.tracks.azimuth_deg[row, int(night.minute(look.start) // 5)]
    away = "west half" if azimuth < 180.0 else "east half"
    until = state.clock + MINUTE
    hazy, _ = cloud_here(night, state, state.clock, direction=away, until=until)
    assert hazy.waiting[0] == look
    over, _ = tick(night, hazy, until)
    assert not over.closures
    assert over.waiting[0] == look
    opened, _ = cleared(night, hazy, hazy.clock)
    assert opened.waiting[0] == look
    asked, _ = add_target(night, state, state.clock, state.waiting[-1].target_id)
    assert asked.waiting[0] == look


def test_a_delay_takes_as_long_as_it_was_said_to(spring: Any) -> None:
    """Five minutes late is five minutes, also on the way to a target."""
    state = finding(spring)
    look = state.waiting[0]
    after, words = running_late(spring.night, state, state.clock, 5)
    assert after.waiting[0].target_id == look.target_id
    assert after.waiting[0].start == look.start + 5 * MINUTE
    assert look.name in words[0]


def test_the_look_being_found_gives_way_to_what_hides_it(spring: Any) -> None:
    """Cloud before it, or a skip: then another one is looked for."""
    state = finding(spring)
    look = state.waiting[0]
    shut, _ = cloud_here(spring.night, state, state.clock)
    assert shut.waiting == ()
    skipped, _ = skip(spring.night, state, state.clock)
    assert skipped.waiting[0].target_id != look.target_id


def test_a_look_that_is_over_for_long_is_taken_as_done(spring: Any) -> None:
    """After a quarter of an hour, at the time when it was due; the rest is planned from now on."""
    state = tick(spring.night, spring.begun, spring.begun.looks[0].start)[0]
    look = state.now
    assert look.due == look.end
    over, _ = tick(spring.night, state, look.due + 14 * MINUTE)
    assert over.now.due == look.due
    after, words = tick(spring.night, over, look.due + 15 * MINUTE)
    taken = after.look_at(look.target_id)
    assert (taken.status, taken.end) == (Status.DONE, look.due)
    assert any("counted as done" in word for word in words)
    assert after.waiting[0].start >= after.clock


def test_longer_moves_the_end_of_the_session(spring: Any) -> None:
    """Nobody is sent away from a target because a plan ends."""
    state = spring.begun
    for look in spring.plan.looks[:-1]:
        state, _ = done(spring.night, tick(spring.night, state, look.start)[0], look.end)
    last = spring.plan.looks[-1]
    state, _ = tick(spring.night, state, last.start)
    state = replace(state, end=state.now.end)
    after, _ = longer_here(spring.night, state, state.clock, 5)
    assert after.now.end == state.now.end + 5 * MINUTE
    assert after.end == after.now.end


def test_undo_and_redo_name_the_move(spring: Any) -> None:
    """Each says what it was, and the one takes the other back."""
    state = spring.begun
    name = state.waiting[0].name
    after, _ = skip(spring.night, state, state.clock)
    back, words = undo(after)
    assert words == (f"Undone: {name} skipped.",)
    again, words = redo(back)
    assert again == after
    assert words == (f"Done again: {name} skipped.",)
    moved, _ = skip(spring.night, back, back.clock)
    assert redo(moved) == (moved, ("There is nothing to do again.",))


def test_what_cannot_be_seen_takes_nothing_from_what_can(spring: Any) -> None:
    """A target that is up and too faint is refused in a sentence, and the plan stays as it is."""
    state, clear = spring.at(210), spring.night.roster
    thick = replace(clear.moments, loss_mag=clear.moments.loss_mag + 12.0)
    night = replace(spring.night, roster=replace(clear, moments=thick))
    step = int(night.minute(state.clock) // 5)
    is_up = clear.windows.open[:, step:].any(axis=1)
    known = {look.target_id for look in state.looks}
    hopeless = next(name for name, row in night.row_of.items() if is_up[row] and name not in known)
    after, words = add_target(night, state, state.clock, hopeless)
    assert after == state
    assert words[0].endswith("cannot be made out tonight: it is not added.")


def test_a_planned_target_that_is_asked_for_is_said_to_be_planned(spring: Any) -> None:
    """And keeps its place."""
    state = spring.at(1)
    look = state.waiting[-1]
    after, words = add_target(spring.night, state, state.clock, look.target_id)
    assert f"{look.name} is planned at " in words[0]
    assert look.target_id in after.added


def test_what_is_asked_for_may_end_the_session_a_little_later(spring: Any) -> None:
    """When only that gives it a place: it says so first."""
    night = spring.night
    state, _ = tick(night, spring.at(1), spring.plan.end)
    step = int(night.minute(state.clock) // 5)
    is_open = night.candidates.open[:, step : step + 12].all(axis=1)
    name = next(name for name, row in night.row_of.items() if is_open[row])
    state = replace(state, looks=tuple(x for x in state.looks if x.target_id != name))
    after, words = add_target(night, state, state.clock, name)
    assert after.look_at(name).status is Status.WAITING
    assert state.end < after.end <= state.end + 60 * MINUTE
    target = night.roster.targets[night.row_of[name]].name
    assert words[0].startswith(f"{target} new at ")
    assert words[1].startswith("The session goes on until ")


def test_what_is_asked_for_takes_the_place_of_nothing(spring: Any, faults: Any) -> None:
    """A full session goes on a little longer for it, and all that waited still waits."""
    night, state = spring.night, spring.begun
    planned = {look.target_id for look in state.looks}
    step = int(night.minute(state.clock) // 5)
    is_open = night.candidates.open[:, step:].sum(axis=1) >= 48
    names = [name for name, row in night.row_of.items() if is_open[row] and name not in planned]
    kept = 0
    for name in names[:4]:
        after, _ = add_target(night, state, state.clock, name)
        assert after.look_at(name).status is Status.WAITING
        assert state.end <= after.end <= state.end + 60 * MINUTE
        assert faults(night, after) == []
        kept += after.with_status(Status.LOST) == ()
    # Most find room for all; an order that leaves one out may be worth more.
    assert kept >= 3


def test_what_comes_later_in_the_night_is_said_to(spring: Any) -> None:
    """A target that is too low for the whole session: from when on it can be looked at."""
    night, state = spring.night, spring.begun
    last = int(night.minute(state.end) // 5)
    is_open = night.candidates.open
    later = ~is_open[:, : last + 13].any(axis=1) & (is_open[:, last + 13 :].sum(axis=1) >= 12)
    name = next(name for name, row in night.row_of.items() if later[row])
    first = int(is_open[night.row_of[name]].argmax())
    _, words = add_target(night, state, state.clock, name)
    at = night.instant(first * 5.0).astimezone(night.night.site.zone)
    assert f"can be looked at from {at:%H:%M} on; t goes on until then" in words[0]


def test_a_break_stops_the_way_to_a_target(spring: Any, faults: Any) -> None:
    """Nobody looks for a target while resting: it begins after the break."""
    state = finding(spring)
    after, _ = take_break(spring.night, state, state.clock, 37)
    assert faults(spring.night, after) == []
    assert after.waiting[0].start >= state.clock + 37 * MINUTE
