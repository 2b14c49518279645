"""Keys and colours: one table for the keys, and nothing that dazzles."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.color import ColorSystem
from rich.style import Style
from textual.color import Color

from planner.text import cell_width
from tui.app import NightApp
from tui.keys import KEYS, footer_text, help_lines
from tui.theme import night_style

# The least pure red with 4.5 to 1 on black, worked out by the formula of WCAG 2.2.
BRIGHTEST = 235
Shown = Callable[[NightApp], str]


def test_keys_are_told_apart_and_every_one_is_explained() -> None:
    """No key and no action stands twice; the footer fits its screen."""
    assert len({key.key for key in KEYS}) == len({key.action for key in KEYS}) == len(KEYS)
    assert all(key.help and key.label and key.shown for key in KEYS)
    for width in (72, 80, 140):
        assert 0 < len(footer_text(width)) <= width
    assert all(len(line) <= 72 for line in help_lines())


def _colours(app: NightApp) -> set[tuple[int, int, int]]:
    """Return every colour on the screen, of letters and of ground."""
    found = set()
    for strip in app.screen._compositor.render_strips():  # noqa: SLF001
        for segment in strip:
            style = segment.style or Style()
            assert not style.reverse
            for colour in (style.color, style.bgcolor):
                assert colour is not None
                assert not colour.is_default
                found.add(tuple(colour.get_truecolor()))
    return found


WALK = (
    [], ["down"], ["z"], ["z", "enter"], ["z"], ["escape", "c"], ["escape", "e"], ["escape", "d"],
    ["s"], ["escape", "a"], ["m"], ["escape", "r"], ["escape", "n"], ["escape", "question_mark"],
    ["escape", "c", "4"],
)  # fmt: skip


@pytest.mark.parametrize("size", [(80, 24), pytest.param((140, 45), marks=pytest.mark.slow)])
def test_no_screen_is_brighter_than_the_face_allows(evening: Any, press: Any, size: Any) -> None:
    """Every screen and question, at every step: black and reds up to the limit, nothing else."""
    evening.size = size

    async def story(pilot: Any, app: NightApp) -> None:
        for keys in WALK:
            await press(pilot, app, *keys)
            for red, green, blue in _colours(app):
                assert green == blue == 0
                assert red <= BRIGHTEST
        limits = []
        for step in (4, 3, 2, 1, 0):
            app.change_brightness(step - app._step)  # noqa: SLF001
            await pilot.pause()
            reds = {red for red, _, _ in _colours(app)}
            limits.append(max(reds))
            assert min(reds) == 0
        assert limits == sorted(set(limits), reverse=True)
        assert limits[0] == BRIGHTEST
        app.notify("an alarm", severity="error", timeout=60)
        await pilot.pause()
        assert all(green == blue == 0 for _, green, blue in _colours(app))

    evening.tell(story)


def test_the_first_frame_is_dark(evening: Any) -> None:
    """Before there is a plan, nothing but the face's red on black."""
    app = evening.app()

    async def story(_pilot: Any, app: NightApp) -> None:
        assert app.scene is not None

    shown: list[set[tuple[int, int, int]]] = []
    original = app.call_after_refresh

    def first(*arguments: Any, **named: Any) -> Any:
        shown.append(_colours(app))
        return original(*arguments, **named)

    app.call_after_refresh = first  # type: ignore[method-assign]
    evening.tell(story, app)
    assert shown
    assert all(green == blue == 0 and red <= BRIGHTEST for red, green, blue in shown[0])


rgb = st.tuples(*[st.integers(0, 255)] * 3)


@given(rgb, rgb, st.booleans(), st.booleans(), st.integers(0, 4))
def test_any_style_becomes_red_within_the_limit(
    fore: tuple[int, int, int],
    back: tuple[int, int, int],
    reverse: bool,
    bold: bool,
    step: int,
) -> None:
    """Whatever colours a widget asks for, reversed or not."""
    style = Style(
        color=f"rgb{fore}".replace(" ", ""),
        bgcolor=f"rgb{back}".replace(" ", ""),
        reverse=reverse,
        bold=bold,
    )
    made = night_style(style, step, "truecolor")
    for colour in (made.color, made.bgcolor):
        assert colour is not None
        red, green, blue = colour.get_truecolor()
        assert red <= BRIGHTEST
        assert green == blue == 0
    assert not made.reverse


def test_a_style_without_colours_is_red_on_black() -> None:
    """The terminal's own colours, which may be white, never come through."""
    made = night_style(Style.null(), 4, "truecolor")
    assert made.color is not None
    assert made.bgcolor is not None
    assert tuple(made.color.get_truecolor()) == (235, 0, 0)
    assert tuple(made.bgcolor.get_truecolor()) == (0, 0, 0)


@pytest.mark.parametrize("columns", [72, 80, 100, 140, 200])
def test_rows_have_the_width_of_the_screen(evening: Any, columns: int) -> None:
    """Heads and rows are cut or filled to it, counted in cells."""
    from tui.pages.rows import head_lines, list_head, list_rows  # noqa: PLC0415

    evening.size = (columns, 24)

    async def story(_pilot: Any, app: NightApp) -> None:
        scene = app.scene
        assert scene is not None
        rows = [
            row
            for line in scene.lines
            for row in list_rows(line, scene, columns, scene.state.clock, chosen=True)
        ]
        rows += head_lines(scene, evening.clock.now, columns)
        assert {cell_width(row) for row in rows} == {columns}
        assert cell_width(list_head(columns)) <= columns

    evening.tell(story)


def test_long_paths_and_wide_letters_stay_inside_their_lines(evening: Any) -> None:
    """News with a word wider than the screen: broken, nothing pushed down, nothing lost."""
    from tui.pages.rows import said_lines  # noqa: PLC0415

    async def story(_pilot: Any, app: NightApp) -> None:
        assert app.scene is not None
        for long in ("/home/" + "deep/" * 40 + "x.toml", "\u6771\u4eac" * 60):
            told = said_lines(replace(app.scene, words=(f"Look at {long} for more",)), 80)
            assert len(told) > 1
            assert all(cell_width(line) <= 80 for line in told)
            assert "".join("".join(told).split()).startswith(f"*Lookat{long[:100]}")

    evening.tell(story)


def test_sixteen_colours_give_letters_that_can_be_seen(evening: Any) -> None:
    """The darkest step on a text console: red letters on black, never black on black."""

    async def story(pilot: Any, app: NightApp) -> None:
        app.console._color_system = ColorSystem.STANDARD  # noqa: SLF001
        app.change_brightness(-9)
        await pilot.pause()
        for strip in app.screen._compositor.render_strips():  # noqa: SLF001
            for segment in strip.apply_filter(app.get_line_filters()[-1], Color(0, 0, 0)):
                codes = (segment.style or Style()).render("x", color_system=ColorSystem.STANDARD)
                assert codes.startswith(("\x1b[91;40m", "\x1b[30;101m"))

    evening.tell(story)


def test_steps_of_brightness_that_do_nothing_say_so(evening: Any, press: Any, shown: Shown) -> None:
    """With 16 colours there is one red: the key answers with what can be done."""

    async def story(pilot: Any, app: NightApp) -> None:
        await press(pilot, app, "plus")
        assert "dim the terminal" not in shown(app)
        app.console._color_system = ColorSystem.STANDARD  # noqa: SLF001
        await press(pilot, app, "minus")
        assert "dim the terminal" in shown(app)

    evening.tell(story)


def test_no_colour_is_sent_to_those_who_ask_for_none(
    evening: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """NO_COLOR: the terminal's own colours, so that nothing can vanish on its own ground."""
    monkeypatch.setenv("NO_COLOR", "1")

    async def story(_pilot: Any, app: NightApp) -> None:
        for strip in app.screen._compositor.render_strips():  # noqa: SLF001
            for segment in strip:
                style = segment.style or Style()
                assert style.color is None or style.color.is_default
                assert style.bgcolor is None or style.bgcolor.is_default
        assert ">next" in "".join(s.text for s in app.screen._compositor.render_strips())  # noqa: SLF001

    evening.tell(story)


def test_pages_that_are_wider_than_the_screen_go_on_below(
    evening: Any, press: Any, shown: Shown
) -> None:
    """At 72 cells the way to a target is told to its end, and pages begin at the top."""
    evening.size = (72, 18)

    async def story(pilot: Any, app: NightApp) -> None:
        await press(pilot, app, "p")
        lines = shown(app).splitlines()
        assert lines[0].startswith("The way to ")
        told = " ".join(" ".join(line.split()) for line in lines)
        assert re.search(r"about \d+ min", told)

    evening.tell(story)
