"""How the bytes of keys are read from a terminal."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import nullcontext
from threading import Event
from typing import Any

import pytest
from textual import constants, events

import tui.driver
from tui.driver import IDLE_S, PromptDriver


class Line:
    """Stands in for a terminal's line: what comes on it, piece by piece; None for nothing."""

    pieces: Iterator[bytes | None]
    waits_s: list[float]
    end: Event

    def __init__(self) -> None:
        self.read_end, self.write_end = os.pipe()

    def register(self, *_: object) -> None:
        """Know the line already."""

    def select(self, wait_s: float) -> list[Any]:
        """Give the next piece; after the last one the program ends."""
        self.waits_s.append(wait_s)
        piece = next(self.pieces, None)
        if piece is None:
            self.end.set()
            return []
        os.write(self.write_end, piece)
        return [self]


def keys_of(monkeypatch: pytest.MonkeyPatch, *pieces: bytes | None) -> tuple[list[str], Line]:
    """Read pieces as the driver does; give the keys, and the line with what was waited."""
    keys: list[str] = []
    driver = PromptDriver.__new__(PromptDriver)
    line = Line()
    line.pieces, line.waits_s, line.end = iter(pieces), [], Event()
    vars(driver).update(fileno=line.read_end, exit_event=line.end, _debug=False)

    def heard(message: object) -> None:
        assert isinstance(message, events.Key)
        keys.append(message.key)

    monkeypatch.setattr(driver, "process_message", heard)
    monkeypatch.setattr(tui.driver.selectors, "SelectSelector", lambda: nullcontext(line))
    driver.run_input_thread()
    os.close(line.read_end)
    os.close(line.write_end)
    return keys, line


def test_escape_alone_is_known_after_its_delay(monkeypatch: pytest.MonkeyPatch) -> None:
    """The wait after it is no longer than the delay; it is long again when nothing is due."""
    monkeypatch.setattr(constants, "ESCAPE_DELAY", 0.0)
    keys, line = keys_of(monkeypatch, b"\x1b", None)
    assert keys == ["escape"]
    assert line.waits_s[0] == IDLE_S
    assert line.waits_s[1] < IDLE_S / 10.0


def test_a_key_in_two_pieces_is_one_key(monkeypatch: pytest.MonkeyPatch) -> None:
    """The second piece comes within the delay, as over a slow line; letters of two bytes too."""
    monkeypatch.setattr(constants, "ESCAPE_DELAY", 60.0)
    pieces = (b"s\x1b", b"[A", b"\xc3", b"\xa9", "ö".encode())
    assert keys_of(monkeypatch, *pieces)[0] == ["s", "up", "é", "ö"]


def test_a_terminal_that_is_gone_ends_the_reading(monkeypatch: pytest.MonkeyPatch) -> None:
    """Reading nothing means that nothing will come: it is not asked again and again."""
    monkeypatch.setattr(os, "read", lambda *_: b"")
    _, line = keys_of(monkeypatch, b"s", b"s", b"s")
    assert len(line.waits_s) == 1
