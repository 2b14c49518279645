"""An evening at a real terminal: start, cloud, swap, log, quit, resume, and a flat battery."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from planner.session.files import load_state

TMUX = shutil.which("tmux")
PATIENCE_S = 30.0
SHELL = "env PS1='ready: ' sh"
BEGIN = datetime(2026, 12, 8, 16, 55, tzinfo=UTC)
# The program with its clock in that evening: so many seconds from the system's.
PROGRAM = """
import sys
from datetime import UTC, datetime, timedelta
import tui.start
from planner.__main__ import run
tui.start._system_clock = lambda: datetime.now(UTC) + timedelta(seconds={seconds})
run()
"""


class Terminal:
    """A terminal of 80 by 24 in which the program runs."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.socket = f"fieldstop-test-{os.getpid()}"
        ahead = BEGIN - datetime.now(UTC)
        self.program = folder / "evening.py"
        self.program.write_text(PROGRAM.format(seconds=ahead.total_seconds()))
        self._tmux("new-session", "-d", "-s", "walk", "-x", "80", "-y", "24", SHELL)

    def _tmux(self, *words: str) -> str:
        home = {"HOME": str(self.folder), "XDG_CONFIG_HOME": str(self.folder), "LC_ALL": "C.UTF-8"}
        run = subprocess.run(
            [str(TMUX), "-L", self.socket, "-f", "/dev/null", *words],
            capture_output=True, text=True, check=True, env={**os.environ, **home},
        )  # fmt: skip
        return run.stdout

    def start(self) -> None:
        """Run the program."""
        self.type("clear", "Enter")
        options = f"--date 2026-12-08 --data {self.folder / 'data'}"
        self.type(f"{sys.executable} {self.program} {options}", "Enter")

    def type(self, *keys: str) -> None:
        """Type keys, by tmux's names."""
        for key in keys:
            self._tmux("send-keys", "-t", "walk", key)
            time.sleep(0.1)

    def read(self) -> str:
        """Read the screen."""
        return self._tmux("capture-pane", "-p", "-t", "walk")

    def wait_for(self, words: str) -> str:
        """Wait until words stand on the screen."""
        end = time.monotonic() + PATIENCE_S
        while time.monotonic() < end:
            text = self.read()
            if words in text:
                return text
            time.sleep(0.1)
        pytest.fail(f"{words!r} never came:\n{self.read()}")

    def process(self) -> int:
        """Return the number of the program's process."""
        found = subprocess.run(
            ["pgrep", "-f", str(self.folder / "data")], capture_output=True, text=True, check=True
        )
        return int(found.stdout.split()[0])

    def close(self) -> None:
        """End it all."""
        subprocess.run([str(TMUX), "-L", self.socket, "kill-server"], check=False)


@pytest.fixture
def terminal(tmp_path: Path) -> Iterator[Terminal]:
    """Return a terminal; without tmux on the machine the test is skipped."""
    if TMUX is None or shutil.which("pgrep") is None:
        pytest.skip("no tmux or no pgrep on this machine")
    made = Terminal(tmp_path)
    yield made
    made.close()


def test_an_evening_with_cloud_and_a_flat_battery(terminal: Terminal, tmp_path: Path) -> None:
    """Each step is seen on the screen; after a kill the night stands where it was shown."""
    terminal.start()
    text = terminal.wait_for(">next")
    assert "Tue 8 / Wed 9 Dec 2026" in text
    assert "built-in" in text
    assert all(len(line) <= 80 for line in text.splitlines())
    terminal.type("Enter")
    terminal.wait_for("exit pupil")
    terminal.type("Escape")
    terminal.wait_for("Enter target")
    terminal.type("c")
    terminal.wait_for("which part of the sky")
    terminal.type("4")
    terminal.wait_for("loud: west half")
    terminal.type("e")
    terminal.wait_for("Eyepiece for")
    terminal.type("2", "Enter")
    terminal.wait_for("your choice")
    terminal.type("d")
    terminal.wait_for("s seen")
    terminal.type("s", "5", "2", "4")
    terminal.wait_for("In the journal")
    terminal.type("q")
    terminal.wait_for("ready: ")
    terminal.start()
    text = terminal.wait_for("Taken up where it stood")
    assert " done " in text
    assert "loud: west half" in text
    terminal.type("s")
    terminal.wait_for("skipped")
    shown = terminal.read()
    os.kill(terminal.process(), signal.SIGKILL)
    (path,) = (tmp_path / "data" / "nights").glob("*.json")
    state, said = load_state(path)
    assert said == ()
    for look in state.looks:
        word = {"done": " done ", "skipped": " skip "}.get(look.status)
        if word is not None:
            assert any(word in line and look.name[:12] in line for line in shown.splitlines())
    terminal.type("C-j", "stty sane", "C-j")  # the kill left the terminal as the program had it
    terminal.start()
    assert " skip " in terminal.wait_for("Taken up where it stood")
    terminal.type("q")
