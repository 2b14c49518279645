"""Six hours at the telescope at 80 by 24: late, cloudy, cut off, gone on with, and turbulent.

Each step is drawn into `pictures/six-hours`, as a person saw it. One that differs is to be looked
at; delete it to have it drawn anew.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from planner.session.state import PauseKind, SessionState, Status
from tui.app import NightApp

PICTURES = Path(__file__).parent / "pictures" / "six-hours"
Shown = Callable[[NightApp], str]


class Night:
    """The script: time passes in minutes, keys are pressed, pictures are taken."""

    def __init__(self, evening: Any, press: Any, shown: Shown) -> None:
        self.evening, self._press, self._shown = evening, press, shown
        self.new: list[str] = []
        self.differing: list[str] = []

    async def press(self, pilot: Any, app: NightApp, *keys: str) -> SessionState:
        """Press keys, and return where the night stands."""
        await self._press(pilot, app, *keys)
        assert app.scene is not None
        assert self.evening.saved() == app.scene.state, "what is acknowledged is on disk"
        return app.scene.state

    async def wait(self, pilot: Any, app: NightApp, until: datetime) -> SessionState:
        """Let time pass minute by minute."""
        while self.evening.clock.now < until:
            self.evening.clock.now = min(self.evening.clock.now + timedelta(minutes=1), until)
            app._tick()  # noqa: SLF001
            await app.workers.wait_for_complete()
        app._look_at_clock()  # noqa: SLF001
        await self._press(pilot, app)
        assert app.scene is not None
        return app.scene.state

    def draw(self, app: NightApp, name: str) -> str:
        """Take a picture, or compare with the one that is there."""
        text = self._shown(app)
        lines = [line.rstrip() for line in text.splitlines()]
        path = PICTURES / f"{name}.txt"
        if not path.exists():
            path.parent.mkdir(exist_ok=True)
            path.write_text("\n".join(lines) + "\n", "utf-8")
            self.new.append(name)
        elif path.read_text("utf-8").splitlines() != lines:
            self.differing.append(name)
        return text


def test_six_hours(  # noqa: C901, PLR0915  # one night is one story
    evening: Any, press: Any, shown: Shown
) -> None:
    """Planned at tea, begun late, and looked at until after midnight."""
    night = Night(evening, press, shown)
    evening.clock.now = datetime(2026, 12, 8, 15, 0, tzinfo=UTC)

    async def at_tea(_pilot: Any, app: NightApp) -> None:
        night.draw(app, "01-planned-at-tea")

    evening.tell(at_tea)
    evening.clock.now = datetime(2026, 12, 8, 18, 0, tzinfo=UTC)

    async def first_half(pilot: Any, app: NightApp) -> None:
        assert "From now until when?" in night.draw(app, "02-late-start-asks")
        state = await night.press(pilot, app, "1", "enter")
        assert state.end == datetime(2026, 12, 8, 22, 0, tzinfo=UTC)
        night.draw(app, "03-from-now-on")
        state = await night.wait(pilot, app, state.waiting[0].start + timedelta(minutes=4))
        assert state.now is not None
        night.draw(app, "04-under-way")
        first = state.now.target_id
        state = await night.press(pilot, app, "d", "s", "4", "3", "4")
        assert state.look_at(first).status is Status.DONE
        state = await night.wait(pilot, app, datetime(2026, 12, 8, 18, 40, tzinfo=UTC))
        state = await night.press(pilot, app, "c", "4")
        night.draw(app, "05-cloud-in-the-west")
        assert len(state.closures) == 1
        state = await night.wait(pilot, app, datetime(2026, 12, 8, 19, 10, tzinfo=UTC))
        state = await night.press(pilot, app, "o")
        assert not state.closures
        for _ in range(4):
            if state.now is None:
                state = await night.wait(pilot, app, state.waiting[0].start)
            state = await night.wait(pilot, app, state.now.due - timedelta(minutes=1))
            state = await night.press(pilot, app, "d", "4")
        app.checks_disk = False
        # The battery is flat: nothing more is written, nothing is tidied up.
        app.desk.close = lambda: ()  # type: ignore[method-assign]

    app = evening.tell(first_half)
    left = evening.saved()
    app.desk._opened.lock.release()  # noqa: SLF001  # as the system does when a program ends
    evening.clock.forward(12)

    async def second_half(pilot: Any, app: NightApp) -> None:
        state = app.scene.state
        done = {x.target_id for x in left.with_status(Status.DONE)}
        assert done <= {x.target_id for x in state.with_status(Status.DONE)}
        night.draw(app, "06-after-a-flat-battery")
        state = await night.press(pilot, app, "h", "s", "s", "enter")
        assert app.scene.night.circumstances.conditions.seeing == "V"
        night.draw(app, "07-seeing-has-gone")
        if state.now is None:
            state = await night.wait(pilot, app, state.waiting[0].start)
        state = await night.wait(pilot, app, state.now.due + timedelta(minutes=12))
        assert "over by 12 min: d?" in night.draw(app, "08-overdue")
        state = await night.press(pilot, app, "d", "3")
        state = await night.press(pilot, app, "n")
        night.draw(app, "09-best-now")
        state = await night.press(pilot, app, "1", "enter")
        assert state.now is not None
        state = await night.press(pilot, app, "enter")
        night.draw(app, "10-in-hand")
        state = await night.press(pilot, app, "escape")
        state = await night.press(pilot, app, "t", "3", "enter")
        assert state.end == datetime(2026, 12, 9, 0, 0, tzinfo=UTC)
        night.draw(app, "11-two-hours-more")
        state = await night.wait(pilot, app, state.now.due)
        state = await night.press(pilot, app, "d", "5")
        state = await night.press(pilot, app, "u")
        assert "Undone: " in night.draw(app, "12-taken-back")
        state = await night.press(pilot, app, "y")
        while evening.clock.now < state.end:
            if state.now is None and not state.waiting:
                break
            if state.now is None:
                state = await night.wait(pilot, app, state.waiting[0].start)
                continue
            state = await night.wait(pilot, app, state.now.due)
            state = await night.press(pilot, app, "d", "4")
        state = await night.wait(pilot, app, state.end + timedelta(minutes=5))
        assert "t goes on" in night.draw(app, "13-the-session-is-over")
        done = state.with_status(Status.DONE)
        assert len(done) >= 12
        assert all(a.end <= b.start for a, b in pairwise(done))
        told = {x.name: (x.reason, len(app.desk.entries(x.target_id))) for x in done}
        assert all(entries == 1 or reason for reason, entries in told.values()), told
        assert all(pause.kind in PauseKind for pause in state.pauses)

    evening.tell(second_half)
    if night.new or night.differing:
        pytest.fail(f"drawn anew: {night.new}; differing: {night.differing}. Look at them.")
