"""Terminals that can do little, that are small, that are ended, repainted or pasted into."""

from __future__ import annotations

import fcntl
import os
import pty
import select
import signal
import struct
import subprocess
import sys
import termios
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from textual import events

from planner.cli.result import terminal_has_dots
from tui.app import NightApp
from tui.start import _pure_red

Shown = Callable[[NightApp], str]
PATIENCE_S = 60.0


@pytest.mark.parametrize(
    ("environment", "has_dots"),
    [
        ({"TERM": "xterm-256color", "LANG": "en_GB.UTF-8"}, True),
        ({"TERM": "tmux-256color", "LC_ALL": "C.utf8", "LANG": "C"}, True),
        ({"TERM": "xterm", "LANG": "C"}, False),
        # What Python itself makes of LANG=C (PEP 538) is not the user's word.
        ({"TERM": "xterm", "LANG": "C", "LC_CTYPE": "C.UTF-8"}, False),
        ({"TERM": "xterm", "LC_ALL": "POSIX", "LANG": "de_DE.UTF-8"}, False),
        ({"TERM": "linux", "LANG": "en_GB.UTF-8"}, False),
        ({"TERM": "vt100", "LANG": "en_GB.UTF-8"}, False),
        ({"TERM": "vt220", "LANG": "en_GB.UTF-8"}, False),
        ({"TERM": "xterm"}, False),
    ],
)
def test_which_terminals_get_dots(environment: dict[str, str], has_dots: bool) -> None:
    """Only those with a Unicode locale and letters for them."""
    assert terminal_has_dots(environment) == has_dots


class Line:
    """The program at a terminal of its own."""

    def __init__(self, folder: Path, *options: str, **environment: str) -> None:
        self.master, slave = pty.openpty()
        fcntl.ioctl(slave, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
        self.slave, self.painted = slave, b""
        known = {
            k: v for k, v in os.environ.items() if k not in {"LC_ALL", "LC_CTYPE", "COLORTERM"}
        }
        self.process = subprocess.Popen(
            [sys.executable, "-m", "planner", "--date", "2026-12-08", "--data", str(folder),
             *options],
            stdin=slave, stdout=slave, stderr=slave,
            env={**known, "XDG_CONFIG_HOME": str(folder), **environment},
        )  # fmt: skip

    def wait_for(self, words: bytes) -> None:
        """Read until words are painted."""
        end = time.monotonic() + PATIENCE_S
        while words not in self.painted:
            assert time.monotonic() < end, self.painted[-1000:]
            if select.select([self.master], [], [], 0.2)[0]:
                self.painted += os.read(self.master, 65536)

    def type(self, keys: bytes) -> None:
        """Type."""
        os.write(self.master, keys)

    def echoes(self) -> bool:
        """Whether the terminal shows what is typed, as a shell needs."""
        return bool(termios.tcgetattr(self.slave)[3] & termios.ECHO)


@pytest.mark.parametrize(
    ("options", "environment"),
    [([], {"TERM": "vt100", "LANG": "C"}), (["--plain"], {"TERM": "xterm", "LANG": "C.UTF-8"})],
)
def test_a_plain_terminal_gets_plain_letters_and_is_left_whole(
    tmp_path: Path, options: list[str], environment: dict[str, str]
) -> None:
    """No Braille in what is sent; after the system ends the program the shell can be used."""
    line = Line(tmp_path, *options, **environment)
    try:
        line.wait_for(b"? help")
        assert not line.echoes()
        line.type(b"\r")
        line.wait_for(b"Esc back")
        line.wait_for(b"exit pupil")
        text = line.painted.decode("utf-8", errors="replace")
        assert not any(0x2800 <= ord(letter) < 0x2900 for letter in text)
        line.process.send_signal(signal.SIGTERM)
        assert line.process.wait(20) == 0
        assert line.echoes()
        while select.select([line.master], [], [], 0.2)[0]:
            line.painted += os.read(line.master, 65536)
        assert b"\x1b[?1049l" in line.painted  # back to the shell's screen
    finally:
        line.process.kill()
        os.close(line.master)
        os.close(line.slave)


def test_sequences_of_the_text_console_end(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Else a terminal that only passes for one swallows what comes after: the shell stays blank.

    ECMA-48, 8.3.89 (OSC) and 8.3.143 (ST): such a string goes on until ESC and a backslash.
    """
    monkeypatch.setenv("TERM", "linux")
    with _pure_red():
        pass
    strings = capsys.readouterr().out.split("\x1b]")[1:]
    assert len(strings) == 3
    assert all(one.endswith("\x1b\\") for one in strings)


def test_no_move_is_made_behind_too_small(evening: Any, press: Any, shown: Shown) -> None:
    """Keys do nothing that nobody sees, on any screen; they work again when there is room."""

    async def story(pilot: Any, app: NightApp) -> None:
        before = app.scene.state
        await pilot.resize_terminal(60, 15)
        await press(pilot, app, "s", "d", "s", "4", "i", "v", "c", "a")
        assert app.scene.state == before
        assert len(app.screen_stack) == 2
        await pilot.resize_terminal(80, 24)
        await press(pilot, app, "c")
        await pilot.resize_terminal(60, 15)
        await press(pilot, app, "4")
        assert "Too small: 72 by 18 are needed." in shown(app)
        assert app.scene.state == before
        await pilot.resize_terminal(80, 24)
        await press(pilot, app, "4")
        assert len(app.scene.state.closures) == 1

    evening.tell(story)


def test_pastes_go_where_something_is_typed(evening: Any, press: Any, shown: Shown) -> None:
    """A name in the search, a note in the journal; on the list they make no moves."""

    async def story(pilot: Any, app: NightApp) -> None:
        before = app.scene.state
        app.post_message(events.Paste("ssdd"))
        await press(pilot, app, "a")
        app.post_message(events.Paste("ngc457\nrubbish"))
        await press(pilot, app)
        assert "NGC 457" in shown(app)
        assert "rubbish" not in shown(app)
        await press(pilot, app, "escape", "d", "t")
        app.post_message(events.Paste("owl above"))
        await press(pilot, app)
        assert "owl above" in shown(app)
        await press(pilot, app, "escape", "escape")
        assert app.scene.state == before

    evening.tell(story)


def test_a_long_note_leaves_room_for_other_news(evening: Any, press: Any, shown: Shown) -> None:
    """Its beginning is told on two lines; the journal has it whole."""

    async def story(pilot: Any, app: NightApp) -> None:
        target_id = app.screen.chosen().look.target_id
        await press(pilot, app, "d", "t")
        app.post_message(events.Paste("and " * 120))
        await press(pilot, app, "enter", "4")
        first, second = app.scene.words[:2]
        assert first.endswith("and ...")
        assert second[:30] in " ".join(shown(app).split())
        assert app.desk.written(target_id).note == ("and " * 120)

    evening.tell(story)


def test_the_screen_is_painted_anew(evening: Any, press: Any) -> None:
    """Ctrl-L sends every line again, whatever another program has written over them."""

    async def story(pilot: Any, app: NightApp) -> None:
        sent: list[Any] = []
        display = app._display  # noqa: SLF001

        def noting(screen: Any, renderable: Any) -> None:
            sent.append(renderable)
            display(screen, renderable)

        app._display = noting  # type: ignore[method-assign]  # noqa: SLF001
        await press(pilot, app, "ctrl+l")
        assert any(type(one).__name__ == "LayoutUpdate" for one in sent)

    evening.tell(story)


def test_help_explains_the_words_of_the_list(evening: Any, press: Any, shown: Shown) -> None:
    """Fill, lost and shut; whole pages turn with the space bar too."""

    async def story(pilot: Any, app: NightApp) -> None:
        await press(pilot, app, "question_mark")
        seen = shown(app)
        for _ in range(3):
            await press(pilot, app, "space")
            seen += shown(app)
        for word in ("fill  ", "lost  ", "shut  ", "NOW  ", "Caution"):
            assert word in seen

    evening.tell(story)


def test_a_terminal_that_is_gone_ends_the_program(tmp_path: Path) -> None:
    """Without a signal too, as where the line drops: it neither waits nor turns for ever."""
    line = Line(tmp_path, TERM="xterm-256color", LANG="C.UTF-8")
    try:
        line.wait_for(b"M")
        os.close(line.slave)
        os.close(line.master)
        line.process.wait(PATIENCE_S)
    finally:
        line.process.kill()
