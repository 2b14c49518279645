"""What goes wrong in the field: small screens, full disks, two programs, odd names, odd clocks."""

from __future__ import annotations

import asyncio
import errno
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest

from planner.journal.store.journal import journal_path, open_journal
from planner.model.errors import NothingToPlanError
from planner.session.files import previous_path
from planner.session.moves.looks import skip
from planner.session.state import Status
from planner.session.state_json import to_json
from tui.app import NightApp
from tui.night.night_file import state_path
from tui.pages.rows import head_lines
from tui.start import why_not_here

Shown = Callable[[NightApp], str]
ELSEWHERE = "Another fieldstop has this night open: here it can only be read."
WITH_US = "The other fieldstop has let go of this night: here it goes on."
ODD = "[red]b[/red] \u65e5\u672c\u8a9e \u00e9 {x} $(y) 60 cells, no more, no less."


def _example() -> str:
    return files("planner.config").joinpath("example.toml").read_text("utf-8")


def test_too_small_says_so_and_comes_back(evening: Any, shown: Shown) -> None:
    """A window that shrinks to nothing and grows again in the middle of it all."""

    async def story(pilot: Any, app: NightApp) -> None:
        await pilot.resize_terminal(40, 10)
        await pilot.pause()
        assert "40 by 10 is too small" in shown(app)
        await pilot.resize_terminal(140, 45)
        await pilot.pause()
        assert "Saturn" in shown(app)

    evening.tell(story)


def test_odd_names_are_shown_as_they_are(evening: Any, press: Any, shown: Shown) -> None:
    """Brackets, wide characters, 60 cells: no markup, no broken line, on any screen."""
    evening.configuration = (
        _example().replace('name = "Garden"', f'name = "{ODD}"').replace("12 mm 60", ODD)
    )
    evening.size = (140, 45)

    async def story(pilot: Any, app: NightApp) -> None:
        assert "[red]b[/red]" in shown(app)
        for keys in (["enter"], ["escape", "e"], ["escape", "d"], ["escape", "n"], ["escape"]):
            await press(pilot, app, *keys)
            shown(app)

    evening.tell(story)


def test_one_eyepiece_and_one_target(evening: Any, press: Any, shown: Shown) -> None:
    """A kit of one, a session of a quarter of an hour at dawn: still a screen."""
    start = _example().index("[[eyepiece]]")
    end = _example().index("[[eyepiece]]", start + 5)
    tail = _example().index("[[amplifier]]")
    evening.configuration = _example()[:end] + _example()[tail:]
    evening.evening = None
    evening.clock.now = datetime(2026, 12, 9, 6, 55, tzinfo=UTC)

    async def story(pilot: Any, app: NightApp) -> None:
        assert app.scene is not None
        assert "30 mm 70" in shown(app) or "Nothing is planned" in shown(app)
        await press(pilot, app, "enter", "escape", "d", "escape", "e", "escape", "s", "s", "v", "u")
        shown(app)

    evening.tell(story)


def test_an_empty_plan_offers_what_can_be_done(evening: Any, press: Any, shown: Shown) -> None:
    """Everything kept out: no look is left, every key still answers."""

    async def story(pilot: Any, app: NightApp) -> None:
        for _ in range(4):
            await press(pilot, app, "c", "a")
        assert not app.scene.state.waiting
        for key in ("s", "v", "d", "e", "enter", "l", "n", "w"):
            await press(pilot, app, key, "escape")
        shown(app)

    evening.tell(story)


def test_polar_day_ends_with_a_sentence(evening: Any) -> None:
    """No night at 78 degrees north in June: it says so and leaves."""
    evening.configuration = (
        _example()
        .replace("latitude_deg = 51.2", "latitude_deg = 78.2")
        .replace("longitude_deg = -2.4 ", "longitude_deg = 15.6 ")
        .replace('timezone = "Europe/London"', 'timezone = "Arctic/Longyearbyen"')
    )
    evening.evening = date(2026, 6, 21)

    async def story(_pilot: Any, _app: NightApp) -> None:
        return

    app = evening.tell(story)
    assert isinstance(app.return_value, NothingToPlanError)
    assert str(app.return_value).endswith(".")


def test_a_wrong_configuration_ends_with_its_faults(evening: Any) -> None:
    """No traceback: the file's path, and every fault in a sentence."""
    evening.configuration = _example().replace("aperture_mm = 200", "aperture_mm = -200")

    async def story(_pilot: Any, _app: NightApp) -> None:
        return

    ended = str(evening.tell(story).return_value)
    assert ended.startswith(f"{evening.folder / 'fieldstop.toml'}: 1 fault")
    assert "aperture_mm" in ended


def test_a_second_program_only_reads(evening: Any, press: Any) -> None:
    """Its moves change nothing; it follows what the first one does, and goes on when that ends."""
    first, second = evening.app(), evening.app()

    async def both() -> None:
        async with first.run_test(size=(80, 24)) as pilot:
            await press(pilot, first, "s")
            desk = second.desk
            scene = await asyncio.get_running_loop().run_in_executor(None, desk.open)
            assert scene.read_only
            assert scene.state == first.scene.state
            after = desk.make(lambda *_: pytest.fail("a move was made"))
            assert after.words == (ELSEWHERE,)
            assert head_lines(after, evening.clock.now, 80)[1].startswith("READ ONLY; twilight")
            await press(pilot, first, "s")
            assert desk.tick().state == first.scene.state
            await press(pilot, first, "a", *"ic2149", "enter")
            assert desk.tick().state == first.scene.state
            assert "IC2149" in desk.scene.night.row_of

    asyncio.run(both())
    desk = second.desk
    left = first.scene.state
    scene = desk.tick()
    assert scene is not None
    assert (scene.read_only, scene.words, scene.state) == (False, (WITH_US,), left)
    desk.make(skip)
    assert evening.saved() == desk.scene.state != left
    assert desk.close() == ()
    third = evening.app()
    assert not third.desk.open().read_only
    third.desk.close()


def test_a_folder_that_takes_nothing_is_told_of_and_nothing_is_lost(
    evening: Any, press: Any, shown: Shown
) -> None:
    """A file stands where the folder should be: moves go on, entries wait, and it says so."""
    evening.data.write_text("", "utf-8")

    async def story(pilot: Any, app: NightApp) -> None:
        assert "NOT SAVED" in shown(app)
        await press(pilot, app, "d", "s", "5", "2", "4")
        await press(pilot, app, "d", "n", "enter")
        assert len(app.scene.state.with_status(Status.DONE)) == 2
        assert "2 not in the journal yet" in " ".join(app.scene.words)
        await press(pilot, app, "u")
        assert "will not be written" in " ".join(app.scene.words)
        evening.data.unlink()
        evening.data.mkdir()
        (evening.data / "nights").mkdir()
        app._tick()  # noqa: SLF001
        await press(pilot, app)
        assert "NOT SAVED" not in shown(app)
        assert "In the journal" in shown(app)
        (done,) = app.scene.state.with_status(Status.DONE)
        assert evening.saved() == app.scene.state
        (entry,) = app.desk.entries(done.target_id)
        with open_journal(journal_path(evening.data)) as journal:
            session = journal.session(entry.session_id)
            assert journal.count() == 1
        assert (session.seeing, session.transparency) == ("II", 4)

    app = evening.app()
    app.checks_disk = False
    evening.tell(story, app)
    assert app.farewell == ()


def test_what_could_not_be_written_is_told_on_leaving(evening: Any, press: Any) -> None:
    """The disk takes nothing to the end: outcome, rating and note are left on the terminal."""
    evening.data.write_text("", "utf-8")

    async def story(pilot: Any, app: NightApp) -> None:
        await press(pilot, app, "d", "t", *"ring", "enter", "s", "5", "enter", "enter", "q")

    app = evening.app()
    app.checks_disk = False
    evening.tell(story, app)
    assert app.scene is not None
    (done,) = app.scene.state.with_status(Status.DONE)
    assert app.farewell[-1] == f"not in the journal: {done.name}, seen, rated 5: ring"


def test_a_full_disk_is_told_of_until_there_is_room(
    evening: Any, press: Any, shown: Shown, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The next move that can be saved takes the warning away."""

    async def story(pilot: Any, app: NightApp) -> None:
        def full(*_: Any) -> None:
            raise OSError(errno.ENOSPC, "No space left on device")

        with monkeypatch.context() as patch:
            patch.setattr("tui.night.night_file.save_state", full)
            await press(pilot, app, "s")
            assert "NOT SAVED: No space left on device" in shown(app)
        await press(pilot, app, "s")
        assert "NOT SAVED" not in shown(app)
        assert evening.saved() == app.scene.state

    evening.tell(story)


def test_a_clock_that_jumps_back_keeps_what_is_done(evening: Any, press: Any) -> None:
    """An hour back in the middle of the night: a sentence, and the night goes on."""
    evening.clock.forward(60)

    async def story(pilot: Any, app: NightApp) -> None:
        await press(pilot, app, "d", "s", "3", "enter", "enter")
        done = app.scene.state.with_status(Status.DONE)
        evening.clock.forward(-60)
        await press(pilot, app, "s")
        assert app.scene.state.with_status(Status.DONE) == done
        assert any("clock" in words.lower() for words in app.scene.words)

    evening.tell(story)


def test_a_night_that_is_read_only_asks_nothing_that_it_could_not_keep(
    evening: Any, press: Any, shown: Shown
) -> None:
    """D and x answer at once, before a note is typed."""
    first = evening.app()
    first.desk.open()

    async def story(pilot: Any, app: NightApp) -> None:
        for key in ("d", "x", "w"):
            await press(pilot, app, key)
            assert len(app.screen_stack) == 2
            assert ELSEWHERE in shown(app)
            assert "READ ONLY" in shown(app).splitlines()[1]

    evening.tell(story)
    first.desk.close()


def test_a_damaged_night_is_told_of_and_begun_anew(evening: Any) -> None:
    """Whoever cut the file off: a sentence, a fresh plan, the damaged file kept."""
    folder = evening.data / "nights"
    folder.mkdir(parents=True)
    (folder / "2026-12-08-garden.json").write_text('{"cut', "utf-8")

    async def story(_pilot: Any, app: NightApp) -> None:
        assert app.scene.state.waiting
        assert "2026-12-08-garden.json" in " ".join(app.scene.words)

    evening.tell(story)


def test_a_move_taken_back_is_one_write(evening: Any, press: Any) -> None:
    """The copy before the night's file is the night before the key, not the same night again."""

    async def story(pilot: Any, app: NightApp) -> None:
        await press(pilot, app, "s")
        skipped = to_json(app.scene.state)
        await press(pilot, app, "u")
        path = state_path(evening.data, app.scene.night.night)
        assert path.read_text("ascii") == to_json(app.scene.state)
        assert previous_path(path).read_text("ascii") == skipped

    evening.tell(story)


def test_two_damaged_copies_of_a_night_are_both_kept(evening: Any, press: Any) -> None:
    """Nothing to go on from: a new plan begins, says so, and writes over neither."""

    async def leave(pilot: Any, app: NightApp) -> None:
        await press(pilot, app, "s", "s", "q")

    evening.tell(leave)
    folder = evening.data / "nights"
    copies = [folder / "2026-12-08-garden.json", folder / "2026-12-08-garden.json.previous"]
    cut = [copy.read_text("utf-8")[:300] for copy in copies]
    for copy, text in zip(copies, cut, strict=True):
        copy.write_text(text, "utf-8")

    async def come_back(pilot: Any, app: NightApp) -> None:
        assert "a new plan begins" in " ".join(app.scene.words)
        await press(pilot, app, "s", "s")

    evening.tell(come_back)
    kept = [copy.with_name(f"{copy.name}.damaged").read_text("utf-8") for copy in copies]
    assert kept == cut
    assert evening.saved().with_status(Status.SKIPPED)


@pytest.mark.parametrize(
    ("one", "other"), [("\u5c71", "\u6d77"), ("Hill 1", "Hill-1"), ("a" * 50 + "1", "a" * 50 + "2")]
)
def test_sites_with_similar_names_have_nights_of_their_own(
    garden_night: Any, tmp_path: Path, one: str, other: str
) -> None:
    """Letters that no file name keeps, or too many of them."""
    night = garden_night
    names = {
        state_path(tmp_path, replace(night, site=replace(night.site, name=name))).name
        for name in (one, other, "Garden")
    }
    assert len(names) == 3
    assert "2026-12-08-garden.json" in names


def test_a_folder_that_may_not_be_written_is_named(
    evening: Any, press: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its own reason, not that of what follows from it."""

    async def story(pilot: Any, app: NightApp) -> None:
        def refuse(path: Path, **_: Any) -> None:
            raise PermissionError(errno.EACCES, "Permission denied", str(path))

        with monkeypatch.context() as patch:
            patch.setattr(Path, "mkdir", refuse)
            await press(pilot, app, "s")
        assert app.scene.warning.startswith("NOT SAVED: Permission denied (")
        assert str(evening.data / "nights") in app.scene.warning

    evening.tell(story)


def test_an_older_result_never_replaces_a_newer_one(evening: Any, press: Any) -> None:
    """A scene that comes late is passed over."""

    async def story(pilot: Any, app: NightApp) -> None:
        old = app.scene
        await press(pilot, app, "s")
        new = app.scene
        app._show(old)  # noqa: SLF001
        assert app.scene is new

    app = evening.app()
    app.checks_disk = False
    evening.tell(story, app)


def test_many_keys_at_once_are_all_taken_in_order(evening: Any) -> None:
    """Cold fingers: six moves before the first is answered; each is made, none twice."""

    async def story(pilot: Any, app: NightApp) -> None:
        await pilot.press("s", "s", "s", "u", "s", "u")
        await app.workers.wait_for_complete()
        await pilot.pause()
        await app.workers.wait_for_complete()
        assert len(app.scene.state.with_status(Status.SKIPPED)) == 2
        assert evening.saved() == app.scene.state

    evening.tell(story)


@pytest.mark.parametrize("term", ["dumb", "", "unknown"])
def test_a_terminal_that_cannot_place_text_is_refused(
    monkeypatch: pytest.MonkeyPatch, term: str
) -> None:
    """With a sentence; the command line then prints the plan."""
    monkeypatch.setattr("sys.stdin.isatty", lambda: True, raising=False)
    monkeypatch.setattr("sys.stdout.isatty", lambda: True, raising=False)
    monkeypatch.setenv("TERM", term)
    assert "cannot place text" in (why_not_here() or "")


def test_no_terminal_is_refused() -> None:
    """As under a test: output goes to a file."""
    assert "need a terminal" in (why_not_here() or "")


def test_time_passes_through_a_whole_night(evening: Any, shown: Shown) -> None:
    """From dusk to dawn in quarter hours, nobody touching a key: looks begin, overrun, are lost."""

    async def story(pilot: Any, app: NightApp) -> None:
        for _ in range(60):
            evening.clock.forward(15)
            app._tick()  # noqa: SLF001
            await app.workers.wait_for_complete()
            await pilot.pause()
        shown(app)
        assert not app.scene.state.waiting
        assert evening.clock.now - datetime(2026, 12, 8, 16, 30, tzinfo=UTC) == timedelta(hours=15)

    evening.tell(story)


@pytest.mark.parametrize("kind", [ValueError, RuntimeError, OSError])
def test_a_fault_behind_a_key_asks_for_a_report(
    evening: Any, press: Any, monkeypatch: pytest.MonkeyPatch, kind: type[Exception]
) -> None:
    """It is the program's, not the observer's; the night goes on."""

    def blunder(*_: Any, **__: Any) -> None:
        raise kind("by nothing")

    async def story(pilot: Any, app: NightApp) -> None:
        with monkeypatch.context() as patch:
            patch.setattr(app.desk, "make", blunder)
            await press(pilot, app, "s")
        (note,) = list(app._notifications)  # noqa: SLF001
        name = kind.__name__
        assert note.message == (
            f"a fault of the program itself, {name}: by nothing. Please report it."
        )

    evening.tell(story)
