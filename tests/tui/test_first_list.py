"""The first list: shown before the plan is made, which then takes its place unless a key came."""

from __future__ import annotations

import asyncio
import time
from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

import pytest
from textual import events

from planner.planning import plan as planning
from planner.session.state import Status
from tui.app import NightApp

Shown = Callable[[NightApp], str]


def test_the_first_list_does_not_wait_for_the_plan(
    evening: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Looks are shown when planning begins; the plan's looks stand there when it ends."""
    seen: list[tuple[str, ...]] = []
    app = evening.app()
    plan_night = planning.plan_night

    def planned(*what: Any, **how: Any) -> Any:
        seen.append(tuple(look.name for look in app.scene.state.waiting) if app.scene else ())
        return plan_night(*what, **how)

    monkeypatch.setattr(planning, "plan_night", planned)

    async def story(_pilot: Any, app: NightApp) -> None:
        assert len(seen) == 1
        assert seen[0]
        looks = [(look.target_id, look.start) for look in app.scene.state.waiting]
        assert looks == [(look.target.id, look.start) for look in app.desk.plan.looks]
        assert evening.saved() == app.scene.state

    evening.tell(story, app)


def test_a_list_with_which_somebody_works_stays(evening: Any, settled: Any) -> None:
    """The first key is for what was seen: no other plan takes its place."""
    app = evening.app()
    found: list[str] = []

    async def run() -> None:
        async with app.run_test(size=(80, 24)) as pilot:
            app.post_message(events.Key("s", "s"))
            show = app._show  # noqa: SLF001

            def keep(scene: Any) -> None:
                if scene is not None and not found:
                    found.extend(look.target_id for look in scene.state.waiting)
                show(scene)

            app._show = keep  # type: ignore[method-assign]  # noqa: SLF001
            await settled(pilot, app)
            await settled(pilot, app)
            state = app.scene.state
            assert state.look_at(found[0]).status is Status.SKIPPED
            assert len(state.past) == 1

    asyncio.run(run())


def test_how_the_night_stood_is_painted_before_the_planner_is_there(
    evening: Any, press: Any, shown: Shown, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Done, next and waiting looks with their times, while keys wait."""

    async def first(pilot: Any, app: NightApp) -> None:
        await press(pilot, app, "d", "4", "enter", "enter")

    evening.tell(first)
    state = evening.saved()
    app, pages = evening.app(), []
    opening = app._open  # noqa: SLF001

    def opened() -> Any:
        for _ in range(500):  # the screens paint in a thread of their own
            if state.waiting[0].name in shown(app):
                break
            time.sleep(0.01)
        pages.append(shown(app))
        return opening()

    monkeypatch.setattr(app, "_open", opened)

    async def second(_pilot: Any, _app: NightApp) -> None:
        (page,) = pages
        (done,) = state.with_status(Status.DONE)
        assert "keys wait" in page
        assert f"done {done.start:%H:%M} {done.name}" in page
        assert f"next {state.waiting[0].start:%H:%M} {state.waiting[0].name}" in page

    evening.tell(second, app)


def test_what_is_left_of_last_night_is_not_shown(evening: Any) -> None:
    """A night is taken up from noon to noon."""
    from tui.night.last_list import last_list  # noqa: PLC0415

    evening.evening = None
    evening.clock.now = datetime(2026, 12, 8, 23, 0, tzinfo=UTC)

    async def story(_pilot: Any, _app: NightApp) -> None:
        return

    app = evening.tell(story)
    assert last_list(app.request, datetime(2026, 12, 9, 2, 0, tzinfo=UTC))
    assert not last_list(app.request, datetime(2026, 12, 9, 18, 0, tzinfo=UTC))
