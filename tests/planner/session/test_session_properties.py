"""Whatever an observer and the sky do, in whatever order, the state of a session holds."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)

from planner.session.clock import run_end
from planner.session.cloud_sectors import BANDS, DIRECTIONS
from planner.session.course import tick
from planner.session.moves.clouds import cleared, cloud_here
from planner.session.moves.looks import done, skip, use_train
from planner.session.moves.targets import add_target, start_now, veto_target
from planner.session.moves.times import go_on, longer_here, running_late, take_break
from planner.session.state import CloudKind, SessionState, Status, redo, undo
from planner.session.state_json import from_json, to_json

DIRECTION = st.sampled_from(sorted(DIRECTIONS))
BAND = st.sampled_from(sorted(BANDS))
MINUTES = st.integers(1, 45)
PASSING = st.integers(0, 25)


class Night(RuleBasedStateMachine):
    """Random moves at random times."""

    evening_of: Callable[[str], Any]
    faults: Callable[..., list[str]]

    @initialize(name=st.sampled_from(["spring", "winter", "southern"]))
    def begin(self, name: str) -> None:
        """Begin one of the nights."""
        self.evening = type(self).evening_of(name)
        self.night = self.evening.night
        self.state: SessionState = self.evening.begun
        self.now = self.state.clock

    def make(self, move: Callable[..., Any], *args: Any, **options: Any) -> None:
        """Make a move, and prove what must hold of each."""
        before = self.state
        after, words = move(self.night, before, self.now, *args, **options)
        assert all(word == word.strip() and word for word in words)
        old = [x for x in before.with_status(Status.DONE) if x.reason != "over for long"]
        assert [look for look in after.looks if look in old] == old, "done looks never move"
        assert after.clock >= before.clock
        if len(after.past) > len(before.past):
            back = undo(after)[0]
            assert replace(back, ahead=()) == replace(before, ahead=()), "undo restores exactly"
            assert redo(back)[0] == after, "and what was undone is made again exactly"
        self.state = after

    @rule(minutes=PASSING)
    def pass_time(self, minutes: int) -> None:
        """Let time pass."""
        self.now += timedelta(minutes=minutes)
        self.make(tick)

    @rule(minutes=PASSING)
    def finish(self, minutes: int) -> None:
        """Finish a look after a while."""
        self.now += timedelta(minutes=minutes)
        self.make(done)

    @rule(late=st.integers(-1, 6))
    def follow(self, late: int) -> None:
        """Do as the plan says, more or less on time."""
        for look in (self.state.now, *self.state.waiting):
            if look is not None:
                self.now = max(self.now, look.end + timedelta(minutes=late))
                break
        self.make(done)

    @rule()
    def give_up(self) -> None:
        """Skip a look."""
        self.make(skip)

    @rule(data=st.data())
    def look_elsewhere(self, data: st.DataObject) -> None:
        """Look at another target of the plan than the one whose turn it is."""
        names = [look.target_id for look in self.state.looks] or ["NGC7000"]
        self.make(done, data.draw(st.sampled_from(names)))

    @rule(minutes=MINUTES)
    def stay(self, minutes: int) -> None:
        """Stay longer."""
        self.make(longer_here, minutes)

    @rule(minutes=MINUTES)
    def be_late(self, minutes: int) -> None:
        """Run late."""
        self.make(running_late, minutes)

    @rule(minutes=MINUTES)
    def rest(self, minutes: int) -> None:
        """Take a break."""
        self.make(take_break, minutes)

    @rule(
        direction=DIRECTION,
        band=BAND,
        kind=st.sampled_from(list(CloudKind)),
        until=st.none() | MINUTES,
    )
    def cloud(self, direction: str, band: str, kind: CloudKind, until: int | None) -> None:
        """Let cloud come."""
        end = None if until is None else self.now + timedelta(minutes=until)
        self.make(cloud_here, direction=direction, band=band, kind=kind, until=end)

    @rule()
    def clear(self) -> None:
        """Let it clear."""
        self.make(cleared)

    @rule(data=st.data())
    def want(self, data: st.DataObject) -> None:
        """Ask for any target, or for one that is there already."""
        self.make(add_target, data.draw(st.sampled_from(sorted(self.night.row_of))))

    @rule(data=st.data())
    def begin_at_once(self, data: st.DataObject) -> None:
        """Be at a target whose window is open, as of now."""
        names = sorted(self.night.row_of)
        target_id = data.draw(st.sampled_from(names))
        if run_end(self.night, self.state, target_id) is not None:
            self.make(start_now, target_id)

    @rule(minutes=st.integers(-30, 300))
    def go_on_longer(self, minutes: int) -> None:
        """Go on until another time."""
        self.make(go_on, self.now + timedelta(minutes=minutes))

    @rule(data=st.data())
    def refuse(self, data: st.DataObject) -> None:
        """Veto what is in the plan."""
        names = [look.target_id for look in self.state.looks] or ["NGC7000"]
        self.make(veto_target, data.draw(st.sampled_from(names)))

    @rule(data=st.data(), chosen=st.booleans())
    def swap(self, data: st.DataObject, chosen: bool) -> None:
        """Use another eyepiece, now or for a look to come."""
        train = data.draw(st.sampled_from(sorted(self.night.column_of, key=repr)))
        waiting = [look.target_id for look in self.state.waiting]
        target = data.draw(st.sampled_from(waiting)) if chosen and waiting else None
        self.make(use_train, train, target)

    @rule(minutes=st.integers(2, 90))
    def set_clock_back(self, minutes: int) -> None:
        """Let the clock be wrong for one move."""
        wrong = self.now - timedelta(minutes=minutes)
        state, words = tick(self.night, self.state, wrong)
        late = self.state.clock - wrong > timedelta(minutes=1)
        assert any("clock went back" in word for word in words) == late
        self.state = state

    @precondition(lambda self: self.state.past)
    @rule()
    def regret(self) -> None:
        """Undo."""
        self.state, _ = undo(self.state)

    @precondition(lambda self: self.state.ahead)
    @rule()
    def change_ones_mind(self) -> None:
        """Redo."""
        self.state, _ = redo(self.state)

    @rule()
    def be_killed(self) -> None:
        """Let the program be killed, and read what it had written."""
        self.state = from_json(to_json(self.state))

    @invariant()
    def holds(self) -> None:
        """Nothing overlaps, nothing is behind cloud or outside its window, no news is no news."""
        if not hasattr(self, "state"):
            return
        assert type(self).faults(self.night, self.state) == []
        again, words = tick(self.night, self.state, self.state.clock)
        assert again == self.state
        assert words == ()


@pytest.mark.parametrize("examples", [5, pytest.param(100, marks=pytest.mark.slow)])
def test_random_nights(
    examples: int, evening_of: Callable[[str], Any], faults: Callable[..., list[str]]
) -> None:
    """A state machine over all moves, on three nights, breaks nothing."""
    machine = type("RandomNight", (Night,), {"evening_of": evening_of, "faults": faults})
    machine.evening_of, machine.faults = staticmethod(evening_of), staticmethod(faults)
    run_state_machine_as_test(
        machine,
        settings=settings(
            max_examples=examples,
            stateful_step_count=25,
            deadline=None,
            derandomize=True,
            # To shrink a failure of these long runs takes minutes.
            phases=[Phase.generate],
            suppress_health_check=list(HealthCheck),
        ),
    )
