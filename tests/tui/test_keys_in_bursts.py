"""Keys that come all at once, twice, or too late: nothing breaks or goes astray."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from typing import Any

import pytest
from textual import events

from planner.session.state import Status
from tui.app import NightApp
from tui.modals.choice import SearchScreen

Shown = Callable[[NightApp], str]


def test_a_look_is_logged_in_one_piece(evening: Any, burst: Any) -> None:
    """Outcome, rating, seeing, transparency in one write; then the next look is skipped by it."""

    async def story(pilot: Any, app: NightApp) -> None:
        first, second = (look.target_id for look in app.scene.state.waiting[:2])
        await burst(pilot, app, "d", "s", "4", "2", "4")
        (entry,) = app.desk.entries(first)
        assert (entry.outcome, entry.rating) == ("seen", 4)
        assert app.scene.state.look_at(first).status is Status.DONE
        await burst(pilot, app, "c", "escape", "s")
        assert len(app.screen_stack) == 2
        assert app.scene.state.with_status(Status.SKIPPED)
        assert second

    evening.tell(story)


def test_what_is_typed_after_the_key_of_a_search_is_searched(
    evening: Any, burst: Any, shown: Shown
) -> None:
    """``a`` and a name in one write."""

    async def story(pilot: Any, app: NightApp) -> None:
        await burst(pilot, app, "a", *"m42")
        assert isinstance(app.screen, SearchScreen)
        assert "M42 Orion Nebula" in shown(app)

    evening.tell(story)


@pytest.mark.parametrize(
    "keys",
    [
        ["n", "enter"], ["c", "enter"], ["r", "enter"], ["e", "enter"], ["c", "4"], ["x", "1"],
        ["a", *"m42", "enter"], ["d", "s", "4", "2", "enter"], ["question_mark", "escape"],
        ["enter", "escape"], ["w", "escape"],
    ],
)  # fmt: skip
def test_the_last_key_of_a_question_may_be_repeated(
    evening: Any, press: Any, burst: Any, shown: Shown, keys: list[str]
) -> None:
    """Three times in one write: answered once, and the night is still there and takes keys."""

    async def story(pilot: Any, app: NightApp) -> None:
        before = len(app.scene.state.past)
        await press(pilot, app, *keys[:-1])
        await burst(pilot, app, *[keys[-1]] * 3)
        assert len(app.scene.state.past) <= before + 1
        while len(app.screen_stack) > 2:
            await press(pilot, app, "escape")
        assert "Enter target" in shown(app)
        await press(pilot, app, "s")
        assert "skipped" in shown(app)

    evening.tell(story)


def test_a_key_waits_for_the_list_that_it_is_meant_for(
    evening: Any, burst: Any, settled: Any
) -> None:
    """The second key of a pair chooses from the list of the first, however late that comes."""

    async def story(pilot: Any, app: NightApp) -> None:
        first = app.scene.state.waiting[0]
        await burst(pilot, app, "e", "2", "enter", "d", "s", "4", "enter", "enter")
        look = app.scene.state.look_at(first.target_id)
        assert look.chosen
        await settled(pilot, app)
        await settled(pilot, app)
        (done,) = app.scene.state.with_status(Status.DONE)
        assert len(app.desk.entries(done.target_id)) == 1
        await burst(pilot, app, "n", "escape", "s", "s")
        assert len(app.scene.state.with_status(Status.SKIPPED)) == 2

    evening.tell(story)


def test_the_kit_may_be_left_before_it_is_there(evening: Any, burst: Any, shown: Shown) -> None:
    """It takes seconds: Esc goes back at once, and what comes late disturbs nothing."""

    async def story(pilot: Any, app: NightApp) -> None:
        await burst(pilot, app, "k", "escape", "s")
        assert len(app.screen_stack) == 2
        assert "skipped" in shown(app)

    evening.tell(story)


@pytest.mark.parametrize(
    "keys",
    [["d", "s", "4", "2", "4"], ["s"], ["n", "enter"], ["l", "v"], ["u", "y", "i"], ["q", "q"]],
)
def test_keys_before_the_first_list_wait_for_it(
    evening: Any, settled: Any, keys: list[str]
) -> None:
    """None ends the program, none is lost, none is obeyed on a list that nobody saw."""
    app = evening.app()

    async def run() -> None:
        async with app.run_test(size=(80, 24)) as pilot:
            for key in keys:
                app.post_message(events.Key(key, key if len(key) == 1 else None))
            await settled(pilot, app)
            await settled(pilot, app)
            if keys[0] == "d":
                done = app.scene.state.with_status(Status.DONE)
                assert len(done) == 1
                (entry,) = app.desk.entries(done[0].target_id)
                assert (entry.outcome, entry.rating) == ("seen", 4)
            if keys == ["s"]:
                assert len(app.scene.state.with_status(Status.SKIPPED)) == 1

    asyncio.run(run())
    assert app.return_value is None


def test_keys_of_all_kinds_at_full_speed(evening: Any, burst: Any, shown: Shown) -> None:
    """Sixty keys in one write; the screens stand, and what is shown is on disk."""
    keys = ["s", "n", "enter", "enter", "escape", "c", "4", "enter", "u", "d", "s", "4", "enter",
            "escape", "e", "enter", "escape", "enter", "down", "escape", "a", "m", "1", "enter",
            "escape", "o", "z", "question_mark", "down", "escape"]  # fmt: skip

    async def story(pilot: Any, app: NightApp) -> None:
        await burst(pilot, app, *(keys * 2))
        for _ in range(4):
            await burst(pilot, app, "escape")
        assert "Enter target" in shown(app)
        assert evening.saved() == app.scene.state

    evening.tell(story)
