"""Each move of a session: what it changes, and what it says."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from typing import Any

import numpy as np
import pytest

from planner.planning.candidates import candidates_of
from planner.session import replanning
from planner.session.course import tick
from planner.session.look_list import look_lines
from planner.session.moves.clouds import cleared, cloud_here
from planner.session.moves.looks import done, skip, use_train
from planner.session.moves.targets import add_target, veto_target
from planner.session.moves.times import longer_here, running_late, take_break
from planner.session.offers import offers_by_group
from planner.session.open_sky import open_sky
from planner.session.replanning import joined, put_in_order
from planner.session.state import (
    CloudKind,
    LossCause,
    Pause,
    PauseKind,
    Status,
    TrainKey,
    redo,
    undo,
)
from planner.session.words import why_lost

MINUTE = timedelta(minutes=1)


def under_way(evening: Any, index: int = 0) -> Any:
    """Return the session early in a look, those before it done on time."""
    state = evening.begun
    for look in evening.plan.looks[:index]:
        state, _ = done(evening.night, state, look.end)
    look = state.now or state.waiting[0]
    return tick(evening.night, state, look.start + 0.4 * (look.end - look.start))[0]


def test_a_session_begins_with_the_plan(spring: Any) -> None:
    """All looks and breaks of the plan wait, at its times and in its trains."""
    state = spring.begun
    assert [look.target_id for look in state.looks] == [x.target.id for x in spring.plan.looks]
    assert [(look.start, look.end) for look in state.looks] == [
        (look.start, look.end) for look in spring.plan.looks
    ]
    assert all(look.train in spring.night.column_of for look in state.looks)
    assert [(p.start, p.end) for p in state.pauses] == list(spring.plan.breaks)


def test_a_night_without_news_is_the_plan(spring: Any) -> None:
    """Looks that are done on time leave every other where the plan had it."""
    state = spring.begun
    for look in spring.plan.looks:
        state, words = tick(spring.night, state, look.start)
        assert state.now is not None
        assert state.now.target_id == look.target.id
        assert len(words) == 1
        assert words[0].startswith(f"Now {look.target.name} in the ")
        state, words = done(spring.night, state, look.end)
        assert words == ()
    assert all(look.status is Status.DONE for look in state.looks)
    assert [(x.start, x.end) for x in state.looks] == [(x.start, x.end) for x in spring.plan.looks]


def test_the_focuser_holds_what_the_look_needs(spring: Any) -> None:
    """It is empty before the first look, and then follows the looks."""
    assert spring.begun.focuser is None
    state = under_way(spring, 3)
    assert state.focuser == state.now.train


def test_a_look_that_overruns_pushes_the_others(spring: Any) -> None:
    """No key was pressed: the look goes on, what follows is put off."""
    state = under_way(spring, 1)
    late = state.now.end + 10 * MINUTE
    after, _ = tick(spring.night, state, late)
    assert after.now.end == late
    assert after.waiting[0].start > late


def test_done_early_gives_the_time_to_others(spring: Any) -> None:
    """What follows comes sooner; the look itself keeps its start."""
    state = under_way(spring, 4)
    before = state.waiting[0].start
    early = state.now.start + MINUTE
    after, _ = done(spring.night, state, state.clock)
    assert after.look_at(state.now.target_id).end == state.clock
    assert after.look_at(state.now.target_id).start < early
    assert after.waiting[0].start < before


def test_a_look_out_of_turn_is_kept(spring: Any) -> None:
    """What was looked at instead is done, and the look under way waits."""
    state = under_way(spring, 1)
    other = state.waiting[2]
    after, words = done(spring.night, state, state.clock, other.target_id)
    assert after.look_at(other.target_id).status is Status.DONE
    assert after.look_at(state.now.target_id).status is not Status.DONE
    assert after.focuser == other.train
    assert words[0] == f"{other.name} done, out of turn"


def test_skipped_looks_do_not_come_again(spring: Any) -> None:
    """Neither the one under way nor a named one; others take their time."""
    state = under_way(spring, 1)
    current, other = state.now.target_id, state.waiting[1].target_id
    state, words = skip(spring.night, state, state.clock)
    assert words[0].endswith(" skipped")
    state, _ = skip(spring.night, state, state.clock, other)
    state, _ = put_in_order(spring.night, state)
    assert {state.look_at(name).status for name in (current, other)} == {Status.SKIPPED}


def test_longer_here_goes_as_far_as_the_window(spring: Any) -> None:
    """Ten minutes are granted; four hours only until something ends them, and then none."""
    state = under_way(spring, 4)
    look = state.now
    after, words = longer_here(spring.night, state, state.clock, 10)
    assert after.now.end == look.end + 10 * MINUTE
    assert words[0].startswith(f"{look.name} 10 min longer, until ")
    for _ in range(2):
        after, _ = longer_here(spring.night, after, state.clock, 240)
    assert look.end + 10 * MINUTE < after.now.end <= after.end
    after, words = longer_here(spring.night, after, state.clock, 5)
    assert words == (words[0],)
    assert "cannot be looked at beyond" in words[0]


def test_running_late_puts_off_all_that_waits(spring: Any) -> None:
    """Nothing begins before the delay is over; a second one adds to it."""
    state = under_way(spring, 2)
    after, words = running_late(spring.night, state, state.clock, 15)
    assert after.now == state.now
    assert after.waiting[0].start >= state.now.end + 15 * MINUTE
    assert words[0].startswith("All that waits begins after ")
    again, _ = running_late(spring.night, after, state.clock, 10)
    assert again.waiting[0].start >= state.now.end + 25 * MINUTE


def test_a_break_interrupts(spring: Any) -> None:
    """The look under way waits until after it; the rest counts, so that no break is due soon."""
    state = under_way(spring, 2)
    after, words = take_break(spring.night, state, state.clock, 15)
    assert after.now is None
    assert after.waiting[0].start >= state.clock + 15 * MINUTE
    assert words[0].startswith("Break until ")
    planned = [p.start for p in after.pauses if p.kind is PauseKind.BREAK][1:]
    assert all(start > state.clock + 90 * MINUTE for start in planned)


def test_a_target_can_be_asked_for_and_refused(spring: Any) -> None:
    """It comes in although the plan had others; after a veto it is gone, and can be asked again."""
    state = under_way(spring, 1)
    planned = {look.target_id for look in state.looks}
    night = spring.night
    step = int(night.minute(state.clock + 60 * MINUTE) // 5)
    always = night.roster.windows.open[:, step : step + 12].all(axis=1)
    name = next(x for x, row in night.row_of.items() if always[row] and x not in planned)
    state, words = add_target(night, state, state.clock, name)
    assert state.look_at(name).status is Status.WAITING
    assert any(" new at " in word for word in words)
    state, _ = veto_target(night, state, state.clock, name)
    assert state.look_at(name).status is Status.SKIPPED
    assert (name in state.vetoed, name in state.added) == (True, False)
    state, _ = add_target(night, state, state.clock, name)
    assert state.look_at(name).status is Status.WAITING


def test_what_finds_no_place_says_why(spring: Any) -> None:
    """A target that is asked for but does not rise any more is told as such."""
    night = spring.night
    late = spring.plan.end - 30 * MINUTE
    step = int(night.minute(late) // 5)
    is_open = night.roster.windows.open[:, step:].any(axis=1)
    hopeless = next(name for name, row in night.row_of.items() if not is_open[row])
    _, words = add_target(night, spring.begun, late, hopeless)
    name = night.roster.targets[night.row_of[hopeless]].name
    assert words[0].startswith(f"{name} finds no place: ")


def test_another_eyepiece_stays_with_the_look(spring: Any) -> None:
    """For the look under way it is in the focuser; for a later one it is kept by a new order."""
    state = under_way(spring, 1)
    other = next(key for key in spring.night.column_of if key != state.now.train)
    after, words = use_train(spring.night, state, state.clock, other)
    assert (after.focuser, after.now.train) == (other, other)
    assert state.now.name in words[0]
    later = state.waiting[2].target_id
    after, _ = use_train(spring.night, state, state.clock, other, later)
    assert after.focuser == state.focuser
    after, _ = running_late(spring.night, after, state.clock, 10)
    assert after.look_at(later).train == other


def test_a_train_that_is_not_in_the_kit_is_refused(spring: Any) -> None:
    """The sentence names it and the telescope."""
    state = under_way(spring, 1)
    after, words = use_train(spring.night, state, state.clock, TrainKey("Borrowed", 9.0))
    assert after == state
    telescope = spring.night.circumstances.telescope.name
    assert words == (f"Borrowed does not go together with {telescope}.",)


def test_cloud_before_the_telescope_interrupts(spring: Any) -> None:
    """The look under way is not behind the cloud any more: it waits or is lost."""
    state = under_way(spring, 2)
    after, words = cloud_here(spring.night, state, state.clock)
    assert after.now is None
    assert not after.waiting
    lost = after.look_at(state.now.target_id)
    assert lost.status is Status.LOST
    assert lost.reason.startswith("cloud, all sky until further notice")
    assert lost.cause is LossCause.CLOUD
    assert words[0] == "Solid cloud: all sky until further notice"


def test_only_what_cloud_took_is_shown_as_shut(spring: Any) -> None:
    """The cause decides, whatever the sentence for people says."""
    state = under_way(spring, 2)
    closed, _ = cloud_here(spring.night, state, state.clock)
    lost = [look for look in closed.with_status(Status.LOST) if look.cause is LossCause.CLOUD]
    assert all(look.reason.startswith("cloud, all sky") for look in lost)
    other = closed.with_looks(
        replace(lost[0], cause=LossCause.NO_ROOM), replace(lost[1], reason="W is hidden")
    )
    shut = {line.look.target_id: line.is_shut for line in look_lines(spring.night, other)}
    assert not shut[lost[0].target_id]
    assert shut[lost[1].target_id]


def test_a_lost_look_that_was_had_or_skipped_has_no_cause(spring: Any) -> None:
    """It is not lost any more."""
    state = under_way(spring, 2)
    closed, _ = cloud_here(spring.night, state, state.clock)
    target_id = closed.with_status(Status.LOST)[0].target_id
    for move in (done, skip):
        after, _ = move(spring.night, closed, closed.clock, target_id)
        assert after.look_at(target_id).cause is None
    vetoed, _ = veto_target(spring.night, closed, closed.clock, target_id)
    assert vetoed.look_at(target_id).cause is None


def test_cloud_late_in_a_look_leaves_it_done(spring: Any) -> None:
    """Half of a look is enough to count; less sends it back to wait or be lost."""
    state = under_way(spring, 2)
    look = state.now
    half = look.start + 0.5 * spring.night.dwell(look.target_id)
    late, words = cloud_here(spring.night, state, half + MINUTE)
    assert late.look_at(look.target_id).status is Status.DONE
    assert late.look_at(look.target_id).end == half + MINUTE
    assert f"{look.name} cut short by cloud, counted as done" in words
    early, _ = cloud_here(spring.night, state, max(half - MINUTE, state.clock))
    assert early.look_at(look.target_id).status is not Status.DONE


def test_cloud_that_goes_again_leaves_looks_waiting(spring: Any, faults: Any) -> None:
    """A sector that is closed for a time holds no look meanwhile, and may hold some later."""
    state = under_way(spring, 1)
    until = state.clock + 60 * MINUTE
    after, _ = cloud_here(spring.night, state, state.clock, until=until)
    assert after.waiting
    assert all(look.start >= until for look in after.waiting)
    assert faults(spring.night, after) == []


def test_the_reason_names_what_sets_behind_the_cloud(spring: Any) -> None:
    """``cloud, W until 20:10; it sinks below 20 deg at 20:05``: so one need not wait for it."""
    for minutes in range(0, 200, 20):
        state = spring.at(minutes)
        setting = [
            offer.target.id
            for offer in offers_by_group(spring.night, state, state.clock)[2]
            if "sinks below" in offer.reason and state.look_at(offer.target.id) is None
        ]
        if setting:
            break
    after, _ = cloud_here(spring.night, state, state.clock, until=state.clock + 150 * MINUTE)
    sky = open_sky(spring.night, after, after.clock)
    (loss,) = why_lost(spring.night, after, sky, (setting[0],))
    assert loss.cause is LossCause.CLOUD
    assert "cloud" in loss.reason
    assert "; it sinks below " in loss.reason


def test_cleared_brings_back_what_was_lost(spring: Any) -> None:
    """All that cloud had taken can come again."""
    state = under_way(spring, 2)
    closed, _ = cloud_here(spring.night, state, state.clock)
    after, words = cleared(spring.night, closed, state.clock + 10 * MINUTE)
    assert after.closures == ()
    assert len(after.waiting) >= len(state.waiting) - 2
    assert words[0] == "Cleared"
    assert any(" back" in word for word in words)


def test_a_closure_ends_by_itself(spring: Any) -> None:
    """When its time is over it is gone, and what it hid is planned again."""
    state = under_way(spring, 1)
    until = state.clock + 30 * MINUTE
    closed, _ = cloud_here(spring.night, state, state.clock, until=until)
    after, _ = tick(spring.night, closed, until)
    assert after.closures == ()
    assert after.waiting[0].start < until + 15 * MINUTE


def test_only_the_named_part_clears(spring: Any) -> None:
    """West clears, east stays closed."""
    state = under_way(spring, 1)
    for direction in ("W", "E"):
        state, _ = cloud_here(spring.night, state, state.clock, direction=direction)
    state, _ = cleared(spring.night, state, state.clock, direction="W")
    assert [closure.azimuth_from_deg for closure in state.closures] == [67.5]
    after, words = cleared(spring.night, state, state.clock, direction="W")
    assert after == state
    assert words == ("No cloud is known there. Known: E until further notice.",)


@pytest.mark.parametrize("name", ["spring", "moonlit"])
def test_thin_cloud_drops_faint_kinds_and_keeps_moon_planets_and_doubles(
    evening_of: Callable[[str], Any], name: str
) -> None:
    """Two magnitudes: by the physics of the eye, glows fade while bright points hardly do."""
    evening = evening_of(name)
    state = evening.begun
    now = evening.after(60)
    dimmed, _ = cloud_here(evening.night, state, now, kind=CloudKind.THIN, loss_mag=2.0)
    share = {}
    for label, one in (("clear", replace(dimmed, closures=())), ("thin", dimmed)):
        sky = open_sky(evening.night, one, now)
        candidates = candidates_of(
            sky.roster,
            evening.night.circumstances,
            sky.columns,
            evening.night.shares[np.arange(len(sky.columns)), sky.columns],
        )
        share[label] = candidates.quality.max(axis=1)
    kinds = np.array([target.kind.value for target in evening.night.roster.targets])
    shown = share["clear"] > 0.08  # what is worth a look: DEVELOPERS.md
    kinds, left = kinds[shown], share["thin"][shown] / share["clear"][shown]
    bright = np.isin(kinds, ["planet", "moon"])
    glows = np.isin(kinds, ["galaxy", "emission nebula", "reflection nebula"])
    assert (left[bright] > 0.95).all()
    assert np.median(left[kinds == "double star"]) > 0.9
    assert np.median(left[glows]) < 0.7


def test_undo_goes_back_move_by_move(spring: Any) -> None:
    """Each is taken back exactly; then there is nothing left to undo."""
    states = [under_way(spring, 0)]
    for move in (done, skip):
        states.append(move(spring.night, states[-1], states[-1].clock + MINUTE)[0])
    states.append(take_break(spring.night, states[-1], states[-1].clock, 10)[0])
    for before, after in pairwise(states):
        back = undo(after)[0]
        assert replace(back, ahead=()) == replace(before, ahead=())
        assert redo(back)[0] == after
    assert undo(spring.begun) == (spring.begun, ("There is nothing to undo.",))


def test_the_past_is_bounded(spring: Any) -> None:
    """Fifty moves can be undone, and the file does not grow without end."""
    state = spring.begun
    for _ in range(55):
        state, _ = take_break(spring.night, state, state.clock + MINUTE, 2)
    assert len(state.past) == 50


def test_a_refused_move_is_nothing_to_undo(spring: Any) -> None:
    """It leaves the state as it was."""
    state = under_way(spring, 1)
    after, words = longer_here(spring.night, state, state.clock, 0.0)
    assert after == state
    assert words == ("0 minutes cannot be; allowed is 1 to 240.",)


def test_what_is_in_the_plan_is_worth_a_little_more(spring: Any) -> None:
    """So that news changes no more of it than it has to."""
    state = under_way(spring, 1)
    plain = open_sky(spring.night, state, state.now.end)
    _, sky = put_in_order(spring.night, state)
    rows = [spring.night.row_of[look.target_id] for look in state.waiting]
    lifted = (sky.candidates.quality - plain.candidates.quality).max(axis=1)
    np.testing.assert_allclose(lifted[rows], 0.1)  # a tenth of a showpiece (DEVELOPERS.md)
    assert np.count_nonzero(lifted) == len(rows)


@pytest.mark.parametrize(("gain", "is_taken"), [(0.09, False), (0.11, True)])
def test_a_new_order_has_to_gain_a_tenth_of_a_showpiece(
    gain: float, *, is_taken: bool, spring: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As DEVELOPERS.md has it: for less, the plan that the observer knows stays."""
    state = under_way(spring, 1)
    played = replanning.play

    def worth_set(part: Any, session: Any, sequence: Any, start: Any) -> Any:
        order = played(part, session, sequence, start)
        return replace(order, worth=3.0 + gain if len(sequence) == 1 else 3.0)

    monkeypatch.setattr(replanning, "play", worth_set)
    monkeypatch.setattr(replanning, "best_sequence", lambda _pace, **_rest: [0])
    monkeypatch.setattr(replanning, "_refitted", lambda *given: given[2].columns)
    after, _ = put_in_order(spring.night, state)
    known = [look.target_id for look in state.waiting]
    assert len(known) > 1
    assert ([look.target_id for look in after.waiting] == known) != is_taken


def test_breaks_that_overlap_are_one() -> None:
    """However they came about; a delay beside them stays what it is."""
    at = datetime(2026, 3, 18, 20, 0, tzinfo=UTC)
    first = Pause(PauseKind.BREAK, at, at + 20 * MINUTE)
    second = Pause(PauseKind.BREAK, at + 10 * MINUTE, at + 30 * MINUTE)
    delay = Pause(PauseKind.DELAY, at + 5 * MINUTE, at + 15 * MINUTE)
    later = Pause(PauseKind.BREAK, at + 60 * MINUTE, at + 72 * MINUTE)
    found = joined([later, second, delay, first])
    assert found == (Pause(PauseKind.BREAK, at, at + 30 * MINUTE), delay, later)
