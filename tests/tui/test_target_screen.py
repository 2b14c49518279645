"""The target in hand."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest

from tui.app import NightApp

Shown = Callable[[NightApp], str]


@pytest.mark.parametrize("size", [(80, 24), (140, 45)])
def test_field_numbers_reasons_and_curve(evening: Any, press: Any, shown: Shown, size: Any) -> None:
    """A person sees the field, the eyepiece with its numbers, where to point, until when."""
    evening.size = size

    async def story(pilot: Any, app: NightApp) -> None:
        await press(pilot, app, "down", "down", "down", "enter")
        text = shown(app)
        name = app.scene.lines[3].look.name
        assert name in text
        assert re.search("[\u2801-\u28ff]{3}", text)
        assert re.search(r"[0-9]+x, exit pupil [0-9.]+ mm", text)
        assert re.search(r"[0-9]+ deg up", text)
        assert "Window" in text
        assert re.search(r"zenith\s+below|inverted, zenith", text)
        assert "####" in text
        await press(pilot, app, "escape")
        assert len(app.screen_stack) == 2

    evening.tell(story)


def test_it_is_drawn_without_unicode(evening: Any, press: Any, shown: Shown) -> None:
    """Plain characters alone, on every screen."""
    evening.unicode = False

    async def story(pilot: Any, app: NightApp) -> None:
        assert shown(app).isascii()
        await press(pilot, app, "enter")
        assert shown(app).isascii()
        await press(pilot, app, "escape", "c")
        assert shown(app).isascii()

    evening.tell(story)


def test_the_next_one_and_a_close_up(evening: Any, press: Any, shown: Shown) -> None:
    """Down goes on; z enlarges the middle; e changes the eyepiece there too."""

    async def story(pilot: Any, app: NightApp) -> None:
        await press(pilot, app, "enter", "down")
        assert app.scene.lines[1].look.name in shown(app)
        await press(pilot, app, "up", "z")
        assert "enlarged" in shown(app)
        before = app.scene.lines[0].look.train
        await press(pilot, app, "e", "2", "enter")
        assert app.scene.state.look_at(app.scene.lines[0].look.target_id).train != before
        assert len(app.screen_stack) == 3

    evening.tell(story)


def test_moves_work_there_too(evening: Any, press: Any) -> None:
    """Skip on the page of a target skips that target."""

    async def story(pilot: Any, app: NightApp) -> None:
        second = app.scene.lines[1].look.target_id
        await press(pilot, app, "down", "enter", "s")
        assert app.scene.state.look_at(second).status == "skipped"

    evening.tell(story)


def test_all_words_can_be_read_on_a_small_screen(evening: Any, press: Any, shown: Shown) -> None:
    """What does not fit beside the field is announced, and comes with PgDn; PgUp goes back."""

    async def story(pilot: Any, app: NightApp) -> None:
        await press(pilot, app, "enter")
        assert "more lines: PgDn" in shown(app)
        assert "Course" not in shown(app)
        top = shown(app)
        seen = ""
        for _ in range(6):
            await press(pilot, app, "pagedown")
            seen += shown(app)
        assert "Course" in seen
        assert "more lines" not in shown(app)
        await press(pilot, app, *["pageup"] * 6)
        assert shown(app) == top
        await pilot.resize_terminal(72, 18)
        await pilot.pause()
        text = shown(app)
        assert "  ?" in text.splitlines()[-1]
        assert all(re.search(f" {head}: ", text) for head in ("in", "find", "see"))

    evening.tell(story)


def test_a_choice_fits_the_smallest_screen(evening: Any, press: Any, shown: Shown) -> None:
    """Every line on one line, the keys below; the one under the cursor in full."""
    evening.size = (72, 18)

    async def story(pilot: Any, app: NightApp) -> None:
        await press(pilot, app, "e", "3")
        text = shown(app)
        assert "Eyepiece for" in text
        assert "Enter takes it" in text
        assert ">  3" in text

    evening.tell(story)


def test_in_find_see_why(evening: Any, press: Any, shown: Shown) -> None:
    """What to put in, how to get there, what to see, at 80 by 24; then why, nothing twice."""

    async def story(pilot: Any, app: NightApp) -> None:
        def heads() -> list[str]:
            beside = [row[24:] for row in shown(app).splitlines()]
            return [row.split(":")[0] for row in beside if re.match("(in|find|see|why):", row)]

        await press(pilot, app, "enter")
        assert "double star in Delphinus" in shown(app)
        assert "see: companion at " in shown(app)
        assert heads() == ["in", "find", "see", "why"]
        await press(pilot, app, "up")
        assert "M45 Pleiades" in shown(app)
        assert "see: 82 stars to magnitude 10 within it" in shown(app)
        assert heads() == ["in", "find", "see", "why"]
        await press(pilot, app, "pagedown")
        told = " ".join(row[24:].strip() for row in shown(app).splitlines())
        assert told.count("fit: 110' in 104'") == 1

    evening.tell(story)


def test_an_eyepiece_that_is_not_the_best_is_held_against_that(
    evening: Any, press: Any, shown: Shown
) -> None:
    """After a swap the page says what it lacks beside which; it is not told as a praise."""

    async def story(pilot: Any, app: NightApp) -> None:
        best = app.scene.lines[0].train.eyepiece.name
        await press(pilot, app, "e", "2", "enter", "enter", "pagedown")
        assert f"why: beside {best} " in " ".join(shown(app).split())

    evening.tell(story)


def test_what_else_is_there_is_told(evening: Any, press: Any, shown: Shown) -> None:
    """Saturn's rings beside it, and what stands in the field of the Andromeda Galaxy."""
    evening.size = (140, 45)

    async def story(pilot: Any, app: NightApp) -> None:
        ids = [line.look.target_id for line in app.scene.lines]
        await press(pilot, app, *["down"] * ids.index("Saturn"), "enter")
        assert "rings" in shown(app)
        await press(pilot, app, "escape", *["up"] * ids.index("Saturn"))
        await press(pilot, app, *["down"] * ids.index("NGC224"), "enter")
        assert "in the same field: M32, M110" in shown(app)

    evening.tell(story)


def test_what_a_key_has_done_is_said_here_too(evening: Any, press: Any, shown: Shown) -> None:
    """Skipped, undone, not saved: above the keys; nothing that was said before it was opened."""

    async def story(pilot: Any, app: NightApp) -> None:
        await press(pilot, app, "c", "2", "o", "enter")
        assert "The sky is open" not in shown(app)
        name = app.screen.chosen().look.name
        await press(pilot, app, "s")
        assert f"* {name} skipped" in shown(app)
        await press(pilot, app, "u")
        assert "* Undone" in shown(app)
        assert "exit pupil" in shown(app)

    evening.tell(story)


def test_a_field_that_gains_nothing_by_enlarging_says_so(
    evening: Any, press: Any, shown: Shown
) -> None:
    """A cluster that fills half of it; Saturn does gain."""

    async def choose(pilot: Any, app: NightApp, name: str) -> None:
        names = [look.name for look in app.scene.state.looks]
        (number,) = [k for k, other in enumerate(names) if name in other]
        steps = number - names.index(app.screen.chosen().look.name)
        await press(pilot, app, *["down" if steps > 0 else "up"] * abs(steps))
        assert name in app.screen.chosen().look.name

    async def story(pilot: Any, app: NightApp) -> None:
        await choose(pilot, app, "Saturn")
        await press(pilot, app, "enter", "z")
        assert "enlarged" in shown(app)
        await press(pilot, app, "z", "escape")
        await choose(pilot, app, "M15")
        await press(pilot, app, "enter", "z")
        assert "Nothing in this field" in shown(app)

    evening.tell(story)


@pytest.mark.parametrize("way_in", [("down", "down"), ("down", "down", "enter")])
def test_p_shows_how_to_find_it(evening: Any, press: Any, shown: Shown, way_in: Any) -> None:
    """From the list and from the target: the way in words and drawn; Esc goes back."""

    async def story(pilot: Any, app: NightApp) -> None:
        await press(pilot, app, *way_in)
        name, depth = app.scene.lines[2].look.name, len(app.screen_stack)
        await press(pilot, app, "p")
        text = shown(app)
        assert f"The way to {name}" in text
        assert "Find it  " in text
        await press(pilot, app, "pagedown")
        assert re.search("[\u2801-\u28ff]{3}", shown(app))
        await press(pilot, app, "escape")
        assert len(app.screen_stack) == depth

    evening.tell(story)
