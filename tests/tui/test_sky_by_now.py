"""What the observer says of sky and optics in mid-night, and what the journal keeps of it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from planner.cli.main import main
from planner.journal.store.journal import journal_path, open_journal
from planner.request.options import Surroundings
from planner.session.state import SkyReadings
from tui.app import NightApp

LATER = datetime(2026, 12, 8, 18, 0, tzinfo=UTC)
Shown = Callable[[NightApp], str]


def test_one_key_says_what_the_sky_is_like(evening: Any, press: Any, shown: Shown) -> None:
    """Poor seeing and haze: the rest is rated anew, says so, survives a restart, and is undone."""
    evening.clock.now = datetime(2026, 12, 8, 18, 0, tzinfo=UTC)
    said = SkyReadings("V", 2, 19.5)

    async def story(pilot: Any, app: NightApp) -> None:
        before = app.scene.state
        margin = app.scene.night.candidates.quality.max()
        await press(pilot, app, "h", "s", "s", "t", "t", "t", "r", *"19.5", "enter")
        assert "19.5" in shown(app)
        await press(pilot, app, "enter")
        assert app.scene.state.readings == said
        assert app.scene.night.circumstances.conditions.seeing == "V"
        assert app.scene.night.circumstances.conditions.sky_mag_arcsec2 == 19.5
        assert app.scene.night.candidates.quality.max() != margin
        assert app.scene.words[0] == (
            "The sky now: seeing V, transparency 2 of 5, 19.5 mag/arcsec2"
        )
        assert len(app.scene.words) > 1
        assert [x.target_id for x in app.scene.state.waiting] != [
            x.target_id for x in before.waiting
        ] or [x.train for x in app.scene.state.waiting] != [x.train for x in before.waiting]

    evening.tell(story)

    async def again(pilot: Any, app: NightApp) -> None:
        assert app.scene.state.readings == said
        assert app.scene.night.circumstances.conditions.seeing == "V"
        await press(pilot, app, "u")
        assert "Undone: The sky now" in shown(app)
        assert app.scene.state.readings is None
        assert app.scene.night.circumstances.conditions.seeing == "III"

    evening.tell(again)


def test_a_grade_through_thin_cloud_says_so(evening: Any, press: Any, shown: Shown) -> None:
    """On the page of a target, for as long as the cloud stands."""
    evening.clock.now = LATER

    async def story(pilot: Any, app: NightApp) -> None:
        await press(pilot, app, "c", "t", "a", "enter")
        told = " ".join(row[24:].strip() for row in shown(app).splitlines())
        assert f"{app.screen.chosen().grade} through thin cloud" in told
        await press(pilot, app, "o")
        assert "through" not in shown(app)

    evening.tell(story)


def test_dew_takes_light(evening: Any, press: Any) -> None:
    """As much as some haze; wiped off, all is as it was."""

    async def story(pilot: Any, app: NightApp) -> None:
        usual = app.scene.night.circumstances.conditions
        await press(pilot, app, "h", "w", "enter")
        dewed = app.scene.night.circumstances.conditions
        assert dewed.extinction_mag == pytest.approx(usual.extinction_mag + 0.3)
        await press(pilot, app, "h", "w", "enter")
        assert app.scene.night.circumstances.conditions == usual

    evening.tell(story)


def test_a_reading_that_cannot_be_is_refused(evening: Any, press: Any, shown: Shown) -> None:
    """In a sentence, and nothing is changed."""

    async def story(pilot: Any, app: NightApp) -> None:
        await press(pilot, app, "h", "r", *"9,5", "enter")
        assert "9.5 cannot be; a sky lies between 16 and 22.5" in shown(app)
        await press(pilot, app, "escape")
        assert app.scene.state.readings is None

    evening.tell(story)


def _sessions(data: Path) -> Any:
    with open_journal(journal_path(data)) as journal:
        return journal.sessions()


def test_the_sky_goes_into_the_journal_and_is_not_asked_again(evening: Any, press: Any) -> None:
    """What was said with h stands with the evening's session."""

    async def story(pilot: Any, app: NightApp) -> None:
        await press(pilot, app, "h", "s", "t", "enter")
        await press(pilot, app, "d", "s", "4")
        assert len(app.screen_stack) == 2
        (session,) = _sessions(evening.data)
        assert (session.seeing, session.transparency) == ("IV", 4)

    evening.tell(story)


def test_a_sky_that_a_command_set_is_not_overwritten_with_nothing(evening: Any, press: Any) -> None:
    """Passing over the questions leaves what is known."""

    async def story(pilot: Any, app: NightApp) -> None:
        await press(pilot, app, "d", "4")
        options = ["--data", str(evening.data), "--seeing", "II", "--transparency", "4"]
        assert main(["journal", "night", "--date", "2026-12-08", *options]) == 0
        await press(pilot, app, "d", "s", "3", "enter", "enter")
        (session,) = _sessions(evening.data)
        assert (session.seeing, session.transparency) == ("II", 4)

    evening.tell(story)


def test_a_journal_that_is_replaced_in_mid_night_takes_the_next_looks(
    evening: Any, press: Any
) -> None:
    """Moved away while the program runs: the evening is begun again in the new file."""

    async def story(pilot: Any, app: NightApp) -> None:
        await press(pilot, app, "d", "4")
        path = journal_path(evening.data)
        for file in path.parent.glob(f"{path.name}*"):
            file.rename(file.with_name(f"old-{file.name}"))
        await press(pilot, app, "d", "5")
        assert app.scene.warning == ""
        with open_journal(path) as journal:
            assert journal.entries()[-1].rating == 5
            assert len(journal.sessions()) == 1

    evening.tell(story)


def test_one_evening_has_one_session(evening: Any, press: Any, monkeypatch: Any) -> None:
    """A look that could not be written, and one that a command added meanwhile."""

    async def story(pilot: Any, app: NightApp) -> None:
        from planner.journal.store.errors import JournalError  # noqa: PLC0415
        from tui.night import logbook  # noqa: PLC0415

        def refuse(_path: Path) -> None:
            raise JournalError("The disk is full.")

        with monkeypatch.context() as patch:
            patch.setattr(logbook, "open_journal", refuse)
            await press(pilot, app, "d", "4")
            assert "not in the journal yet" in app.scene.warning
        options = ["--data", str(evening.data), "--at", "2026-12-08T17:00"]
        around = Surroundings(LATER, evening.folder / "none.toml", evening.data)
        words = ["journal", "add", "M31", "--outcome", "seen", *options]
        assert main(words, surroundings=around) == 0
        app._tick()  # noqa: SLF001
        await press(pilot, app)
        assert app.scene.warning == ""
        assert len(_sessions(evening.data)) == 1
        with open_journal(journal_path(evening.data)) as journal:
            assert len(journal.entries()) == 2

    evening.tell(story)
