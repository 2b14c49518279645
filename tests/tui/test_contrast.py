"""Contrast and colour of what a terminal is really sent, with 16, 256 and 16 million colours."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any

import pytest
from rich.color import ColorSystem
from rich.console import Console

from tui.app import NightApp
from tui.modals.choice import ChoiceScreen

# What contrast letters need, and what is set off from the rest (WCAG 2.2, 1.4.3 and 1.4.11).
LETTERS, SET_OFF = 4.5, 3.0
# xterm's colours of the 16 and levels of its cube (xterm's manual, "colors").
SIXTEEN = {30: (0, 0, 0), 40: (0, 0, 0), 31: (205, 0, 0), 91: (255, 0, 0), 101: (255, 0, 0),
           41: (205, 0, 0)}  # fmt: skip
LEVELS = (0, 95, 135, 175, 215, 255)
SYSTEMS = {
    "16": ColorSystem.STANDARD, "256": ColorSystem.EIGHT_BIT, "true": ColorSystem.TRUECOLOR,
}  # fmt: skip


def luminance(rgb: tuple[int, int, int]) -> float:
    """Return the relative luminance by the definition of WCAG 2.2."""
    linear = [
        c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in (v / 255 for v in rgb)
    ]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: tuple[int, int, int], other: tuple[int, int, int]) -> float:
    """Return the ratio of contrast by the definition of WCAG 2.2."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def colour(codes: list[int]) -> tuple[int, int, int]:
    """Return what a terminal makes of the codes of one colour."""
    if codes[1:2] == [2]:
        return codes[2], codes[3], codes[4]
    if codes[1:2] == [5]:
        number = codes[2] - 16
        red, green, blue = (LEVELS[number // by % 6] for by in (36, 6, 1))
        return red, green, blue
    return SIXTEEN[codes[0]]


def painted(sent: str) -> Iterator[tuple[str, tuple[int, int, int], tuple[int, int, int]]]:
    """Return each piece of text with the colours of its letters and of its ground."""
    for codes, text in re.findall(r"\x1b\[([0-9;]*)m([^\x1b]*)", sent):
        if not text.strip():
            continue
        numbers = [int(code) for code in codes.split(";") if code]
        parts: list[list[int]] = []
        while numbers:
            size = {2: 5, 5: 3}.get(numbers[1] if len(numbers) > 1 else 0, 1)
            size = size if numbers[0] in {38, 48} else 1
            parts.append(numbers[:size])
            numbers = numbers[size:]
        fore = [p for p in parts if p[0] in {38, *range(30, 38), *range(90, 98)}]
        back = [p for p in parts if p[0] in {48, *range(40, 48), *range(100, 108)}]
        assert len(fore) == len(back) == 1, (codes, text)
        yield text, colour(fore[0]), colour(back[0])


def sent_to(app: NightApp, system: ColorSystem) -> str:
    """Return the bytes of a screen as this kind of terminal gets them."""
    console = Console(
        file=io.StringIO(), force_terminal=True, color_system=None, width=app.size.width
    )
    console._color_system = system  # noqa: SLF001
    lines = []
    for strip in app.screen._compositor.render_strips():  # noqa: SLF001
        lines += [strip.render(console)]
    return "\n".join(lines)


@pytest.mark.parametrize("name", SYSTEMS)
def test_letters_and_the_chosen_row_can_be_read(evening: Any, press: Any, name: str) -> None:
    """List, large print, map, list of choices, target: pure reds, 4.5 and 3 to 1."""
    walks = ([], ["down"], ["z"], ["z", "c"], ["escape", "n"], ["escape", "enter"], ["d"])

    async def story(pilot: Any, app: NightApp) -> None:
        app.console._color_system = SYSTEMS[name]  # noqa: SLF001
        app.refresh(layout=True)
        for keys in walks:
            await press(pilot, app, *keys)
            set_off = 0
            for _text, fore, back in painted(sent_to(app, SYSTEMS[name])):
                assert fore[1:] == back[1:] == (0, 0)
                is_set_off = back != (0, 0, 0)
                set_off += is_set_off
                assert contrast(fore, back) >= (SET_OFF if is_set_off else LETTERS)
            if keys in ([], ["down"]):
                assert set_off

    evening.tell(story)


def test_the_day_face_asks_first_in_the_dark(evening: Any, press: Any) -> None:
    """One press beside d must not cost half an hour of dark adaptation; by day it is one press."""
    evening.clock.now = datetime(2026, 12, 8, 16, 0, tzinfo=UTC)

    async def by_day(pilot: Any, app: NightApp) -> None:
        await press(pilot, app, "f")
        assert app.theme == "fieldstop-day"
        await press(pilot, app, "f")
        assert app.theme == "fieldstop-night"

    evening.tell(by_day)
    evening.clock.now = datetime(2026, 12, 8, 19, 0, tzinfo=UTC)

    async def by_night(pilot: Any, app: NightApp) -> None:
        await press(pilot, app, "f")
        assert isinstance(app.screen, ChoiceScreen)
        assert app.theme == "fieldstop-night"
        await press(pilot, app, "enter")
        assert app.theme == "fieldstop-night"
        await press(pilot, app, "f", "2", "enter")
        assert app.theme == "fieldstop-day"
        await press(pilot, app, "f")
        assert app.theme == "fieldstop-night"
        rows = [s for s in painted(sent_to(app, ColorSystem.TRUECOLOR)) if s[0].startswith(">")]
        assert rows
        assert all(contrast(fore, back) >= SET_OFF for _, fore, back in rows)

    evening.tell(by_night)
