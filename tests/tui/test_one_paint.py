"""A key is answered with one paint: the toolkit alone makes two or three of most."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from tui.app import NightApp
from tui.modals.asking import Asking

Shown = Callable[[NightApp], str]
FULL = "LayoutUpdate"  # the toolkit's name for a paint of the whole screen


@pytest.fixture
def paints(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Return the kinds of the paints that reach the terminal."""
    monkeypatch.setattr("tui.app.PATIENCE_S", 60.0)  # else a slow machine says that it works
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
        for key in ("c", "d", "t", "e", "n", "h", "m", "question_mark"):
            paints.clear()
            await press(pilot, app, key)
            assert isinstance(app.screen, Asking), key
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
