"""What shows on a terminal that work goes on: one line, empty again before anything is said."""

from __future__ import annotations

import io
import os
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from planner.cli import bars
from planner.cli.result import say, write_standard_output
from targets.files import Onlooker, watched

EMPTIED = "\r\x1b[2K"  # ECMA-48: erase in line, all of it


class Terminal(io.StringIO):
    """A standard error that somebody looks at."""

    def isatty(self) -> bool:
        """Say so."""
        return True


def at_a_terminal(monkeypatch: pytest.MonkeyPatch) -> Terminal:
    """Put a terminal in place of standard error; in a fixture pytest would replace it."""
    found = Terminal()
    monkeypatch.setattr(sys, "stderr", found)
    monkeypatch.setattr(Onlooker, "shows", None)
    monkeypatch.setattr(bars, "SILENT_S", 0.01)
    monkeypatch.setattr(bars, "BEAT_S", 0.01)
    bars.watch_at_a_terminal({"TERM": "xterm-256color"})
    return found


def left_on(shown: str) -> str:
    """Return what is left of the last line."""
    return shown.rpartition(EMPTIED)[2]


def worked(terminal: Terminal) -> str:
    """Wait until it is told that work goes on."""
    ends = time.monotonic() + 5.0
    while "Working" not in terminal.getvalue() and time.monotonic() < ends:
        time.sleep(0.005)
    return terminal.getvalue()


def test_a_bar_is_gone_in_the_end(monkeypatch: pytest.MonkeyPatch) -> None:
    """Also when it is left half done."""
    terminal = at_a_terminal(monkeypatch)
    assert list(watched(range(9), "Looking")) == list(range(9))
    assert "Looking" in terminal.getvalue()
    assert left_on(terminal.getvalue()) == ""
    work = watched(range(9), "Sifting")
    next(work)
    work.close()  # type: ignore[attr-defined]  # a generator
    assert "Sifting" in terminal.getvalue()
    assert left_on(terminal.getvalue()) == ""


def test_long_work_is_counted_and_makes_way(monkeypatch: pytest.MonkeyPatch) -> None:
    """For a sentence, for a bar, and for what is printed."""
    terminal = at_a_terminal(monkeypatch)
    with bars.counting():
        assert "Working, 0 s" in worked(terminal)
        say("so it is")
        assert f"{EMPTIED}fieldstop: so it is\n" in terminal.getvalue()
        for _ in watched(range(5), "Looking"):
            begin = terminal.getvalue()
            time.sleep(0.03)
            assert "Working" not in terminal.getvalue().removeprefix(begin)
    assert left_on(terminal.getvalue()) == ""
    end = terminal.getvalue()
    time.sleep(0.05)
    assert terminal.getvalue() == end


def test_nothing_is_shown_beside_what_is_printed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What goes through a pipe may come to the same terminal; what goes into a file does not."""
    terminal = at_a_terminal(monkeypatch)

    def pieces() -> Iterator[str]:
        for number in watched(range(9), "Writing"):
            yield str(number)

    with (tmp_path / "x").open("w") as file:
        monkeypatch.setattr(sys, "stdout", file)
        write_standard_output(pieces())
    assert "Writing" in terminal.getvalue()
    terminal.truncate(0)
    reader, writer = os.pipe()
    with os.fdopen(writer, "w") as pipe:
        monkeypatch.setattr(sys, "stdout", pipe)
        write_standard_output(pieces())
    os.close(reader)
    assert "Writing" not in terminal.getvalue()


@pytest.mark.parametrize("term", ["dumb", None])
def test_nobody_looks_on(monkeypatch: pytest.MonkeyPatch, term: str | None) -> None:
    """A terminal that cannot take a line back, and a file."""
    monkeypatch.setattr(sys, "stderr", Terminal() if term else io.StringIO())
    monkeypatch.setattr(Onlooker, "shows", None)
    bars.watch_at_a_terminal({"TERM": term or "xterm"})
    with bars.counting():
        assert list(watched(range(9), "Looking")) == list(range(9))
    assert sys.stderr.getvalue() == ""  # type: ignore[attr-defined]
