"""A key is answered with one paint: the toolkit alone makes two or three of most."""

from __future__ import annotations

import asyncio
import threading
from collections.abc import Callable
from typing import Any

import pytest

import tui.screens.target
from tui.app import NightApp
from tui.modals.asking import Asking
from tui.screens.target import TargetScreen

Shown = Callable[[NightApp], str]
FULL = "LayoutUpdate"  # the toolkit's name for a paint of the whole screen


@pytest.fixture
def paints(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Return the kinds of the paints that reach the terminal."""
    for name in ("PATIENCE_S", "SOON_S"):  # else a slow machine says that it works
        monkeypatch.setattr(f"tui.app.{name}", 60.0)
    kinds: list[str] = []
    display = NightApp._display  # noqa: SLF001

    def counted(app: NightApp, screen: Any, paint: Any) -> None:
        if paint is not None:
            kinds.append(type(paint).__name__)
        display(app, screen, paint)

    monkeypatch.setattr(NightApp, "_display", counted)
    return kinds


def test_questions_and_pages_are_painted_once(
    evening: Any, press: Any, settled: Any, paints: list[str]
) -> None:
    """Opened and left: the whole screen, once each; the cursor paints lines only."""

    async def story(pilot: Any, app: NightApp) -> None:
        await settled(pilot, app)
        told = {}
        for key in ("c", "d", "t", "e", "n", "h", "m", "question_mark", "p", "enter"):
            paints.clear()
            await press(pilot, app, key)
            assert isinstance(app.screen, Asking | TargetScreen), key
            opened = [*paints]
            paints.clear()
            await press(pilot, app, "escape")
            told[key] = opened, [*paints]
        assert told == dict.fromkeys(told, ([FULL], [FULL]))
        paints.clear()
        await press(pilot, app, "down")
        assert paints
        assert FULL not in paints

    evening.clock.forward(25)  # else nothing is there to log
    evening.tell(story)


def test_a_page_is_painted_though_a_part_never_says_what_it_wants(
    evening: Any, press: Any, shown: Shown, paints: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """It is waited for some beats only; so it is while something holds all paints for a while."""
    monkeypatch.setattr(Asking, "_is_awaited", lambda _: True)

    async def story(pilot: Any, app: NightApp) -> None:
        await press(pilot, app)
        paints.clear()
        await press(pilot, app, "c")
        for _ in range(9):  # beats
            app.screen._on_timer_update()  # noqa: SLF001
        assert FULL in paints
        assert "which part of the sky" in shown(app)
        with app.batch_update():
            await press(pilot, app, "escape", "down")
            assert len(app.screen_stack) == 2
            paints.clear()
        await press(pilot, app)
        assert FULL in paints

    evening.tell(story)


def test_a_page_that_comes_late_is_opened_empty_and_can_be_left(
    evening: Any, press: Any, settled: Any, shown: Shown, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Keys wait for it no longer than it may come soon; what comes after Esc opens nothing.

    Nor do they wait for one that never comes.
    """
    may_go_on = threading.Event()
    worked_out = tui.screens.target.target_page

    def slow_page(*of: Any, **how: Any) -> Any:
        may_go_on.wait(20)
        return worked_out(*of, **how)

    monkeypatch.setattr("tui.screens.target.target_page", slow_page)
    monkeypatch.setattr("tui.app.SOON_S", 0.01)

    async def story(pilot: Any, app: NightApp) -> None:
        await settled(pilot, app)
        await pilot.press("enter")
        async with asyncio.timeout(20):
            while app.screen._compositor.size != app.size or "One moment" not in shown(app):  # noqa: SLF001
                await asyncio.sleep(0.01)
            await pilot.press("escape")
            while len(app.screen_stack) > 2:
                await asyncio.sleep(0.01)
        may_go_on.set()
        await settled(pilot, app)
        assert "Enter target" in shown(app)
        await press(pilot, app, "enter")
        assert "exit pupil" in shown(app)
        monkeypatch.setattr("tui.screens.target.target_page", None)  # a fault
        await press(pilot, app, "down", "escape", "down")
        assert "That did not work" in shown(app)
        assert "Enter target" in shown(app)

    try:
        evening.tell(story)
    finally:
        may_go_on.set()


def test_keys_wait_for_a_page(evening: Any, burst: Any, shown: Shown) -> None:
    """Those sent with the one that opens it are meant for it."""

    async def story(pilot: Any, app: NightApp) -> None:
        second = app.scene.lines[1].look
        await burst(pilot, app, "enter", "down", "e")
        assert f"Eyepiece for {second.name}" in shown(app)

    evening.tell(story)


def test_a_page_is_laid_out_once(
    evening: Any, press: Any, settled: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Mounted, and then told its size: nothing is drawn twice for that; another size draws anew."""
    drawn: list[int] = []
    field_cells = tui.screens.target.field_cells

    def counted(*of: Any, **how: Any) -> list[str]:
        drawn.append(how["rows"])
        return field_cells(*of, **how)

    monkeypatch.setattr("tui.screens.target.field_cells", counted)

    async def story(pilot: Any, app: NightApp) -> None:
        await press(pilot, app, "enter")
        assert len(drawn) == 1
        await pilot.resize_terminal(100, 40)
        await settled(pilot, app)
        assert len(drawn) == 2
        assert drawn[1] > drawn[0]

    evening.tell(story)
