"""What the head says of the sky: how dark it is, where the Moon is, how far ahead one looks."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from threading import Event
from typing import Any

import pytest

from planner.session.look_list import darkness_words, moon_words
from planner.session.state import TrainKey
from tui.app import NightApp
from tui.keys import KEYS, footer_text
from tui.pages.rows import head_lines


@pytest.fixture
def scene(evening: Any) -> Any:
    """Return the scene of the example's night at dusk."""
    app = evening.app()
    scene = app.desk.open()
    app.desk.close()
    return scene


def test_how_dark_it_is(scene: Any) -> None:
    """From noon to noon and beyond; a night that is not tonight is told from tonight."""
    night = scene.night.night

    def words(hours: float) -> str:
        return darkness_words(night, night.start + timedelta(hours=hours))

    assert words(1) == "day, keep off the Sun: it sets 16:02"
    assert words(4.5) == "twilight, keep off the Sun"  # civil dusk is at 16:42
    assert words(19.7) == "twilight, keep off the Sun"
    assert words(5) == "twilight, dark from 18:05"
    assert words(10) == "dark until 05:59"
    assert words(19) == "twilight, dark is over"
    assert words(21) == "day, keep off the Sun: it rose 08:01"
    assert words(25) == "this night is over"
    assert words(-3) == "looking ahead: tomorrow's night"
    assert words(-24 * 12 - 3) == "looking ahead 13 days"


def test_a_night_without_end_or_without_darkness_is_told_as_it_is(scene: Any) -> None:
    """Polar night: no dusk to wait for; midsummer: twilight all night, never dark."""
    night = scene.night.night
    polar = replace(night, sunset=None, sunrise=None, dark_start=night.start, dark_end=night.end)
    assert darkness_words(polar, night.start + timedelta(hours=3)) == "dark all night"
    gloom = replace(night, sunset=None, sunrise=None, dark_start=None, dark_end=None)
    assert darkness_words(gloom, night.start + timedelta(hours=6)) == "twilight, never fully dark"


def test_where_the_moon_is(evening: Any) -> None:
    """Up: how high and until when; down: when it comes. Almanac: full on 24 December 2026."""
    evening.evening = None
    evening.clock.now = datetime(2026, 12, 22, 20, 0, tzinfo=UTC)
    app = evening.app()
    field = app.desk.open().night
    app.desk.close()
    assert "deg up, sets" in moon_words(field, evening.clock.now)
    assert field.night.moonset is not None
    late = field.night.moonset + timedelta(minutes=5)
    assert "up" not in moon_words(field, late)


@pytest.mark.parametrize("columns", [72, 80, 140])
def test_what_is_in_the_focuser_is_named_wholly(scene: Any, columns: int) -> None:
    """The Moon gives way to it, its times first."""
    focuser = TrainKey("18 mm 65", 18.0, "2x Barlow", None)
    later = replace(scene, state=replace(scene.state, focuser=focuser))
    ended = later.state.end + timedelta(minutes=30)
    for now in (scene.night.night.dark_start, ended):
        line = head_lines(later, now, columns)[1]
        assert line.rstrip().endswith("18 mm 65 + 2x Barlow")


@pytest.mark.parametrize("width", [72, 80, 100, 140, 400])
def test_the_footer_always_shows_the_way_to_help(width: int) -> None:
    """Whatever fits, in the table's order; at 400 cells all of it."""
    text = footer_text(width)
    assert len(text) <= width
    assert "? help" in text
    assert "d done" in text
    assert (all(f"{key.shown} {key.label}" in text for key in KEYS)) == (width == 400)


def test_a_night_ahead_is_told_from_tonight(evening: Any, press: Any, shown: Any) -> None:
    """Planning indoors two weeks before: nothing is told or kept as if it were that evening."""
    evening.clock.now = datetime(2026, 11, 25, 13, 0, tzinfo=UTC)

    async def story(pilot: Any, app: NightApp) -> None:
        assert "looking ahead 13 days" in shown(app)
        await press(pilot, app, "d")
        assert "This night has not begun" in shown(app)

    evening.tell(story)


def test_what_takes_long_is_said_to_be_under_way(evening: Any, shown: Any) -> None:
    """A slow move: the foot says so, and gives the keys again when it is over."""
    gate = Event()

    async def story(pilot: Any, app: NightApp) -> None:
        app.ask(lambda: gate.wait(20), lambda _: None)
        for _ in range(100):
            await pilot.pause(0.1)
            if "Working ..." in shown(app).splitlines()[-1]:
                break
        told = shown(app).splitlines()[-1]
        gate.set()
        assert "Working ..." in told
        await app.workers.wait_for_complete()
        await pilot.pause()
        assert "? help" in shown(app).splitlines()[-1]

    evening.tell(story)
