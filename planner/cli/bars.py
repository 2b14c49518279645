"""Shows on a terminal that long work goes on, and how far; where nobody looks on, not a word.

It takes one line of standard error, which is empty again before anything is said and in the end.
"""

from __future__ import annotations

import os
import stat
import sys
import threading
import time
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from typing import TypeVar

import click

from targets.files import Onlooker

Part = TypeVar("Part")
# Work that takes no longer nobody need be told of; then the seconds are counted [s].
SILENT_S, BEAT_S = 1.0, 0.5
WIDEST = 36  # columns of a bar
BESIDE_IT = 38  # columns of its name and what it tells
_EMPTIED = "\r\x1b[2K"
_EMPTIED_ABOVE = "\x1b[1A" + _EMPTIED


class _Line:
    """Who has the line: bars, or the count of seconds, or nobody."""

    lock = threading.RLock()
    bars = 0
    counts = False


def watch_at_a_terminal(environment: Mapping[str, str]) -> None:
    """Show bars from now on, if standard error is a terminal that can take a line back."""
    if sys.stderr is not None and sys.stderr.isatty() and environment.get("TERM") != "dumb":
        Onlooker.shows = bar


def stop_watching() -> None:
    """Show nothing any more: something else has the terminal for itself."""
    with _Line.lock:
        make_way()
        Onlooker.shows = None


def stop_watching_for(descriptor: int) -> None:
    """Show nothing any more if what is written there may come to the same terminal."""
    with suppress(OSError):
        mode = os.fstat(descriptor).st_mode
        if stat.S_ISREG(mode) or (stat.S_ISCHR(mode) and not os.isatty(descriptor)):
            return
    stop_watching()


def make_way() -> None:
    """Leave the line to what is to be said."""
    with _Line.lock:
        if _Line.counts:
            _write(_EMPTIED)
            _Line.counts = False


def bar(parts: Sequence[Part], what: str) -> Iterator[Part]:
    """Return the parts of some work one by one, with a bar on standard error that grows."""
    import shutil  # noqa: PLC0415  # slow to load, and few look on

    width = max(min(WIDEST, shutil.get_terminal_size().columns - BESIDE_IT), 1)
    with _Line.lock:
        make_way()
        _Line.bars += 1
    try:
        with click.progressbar(parts, label=what, file=sys.stderr, width=width) as shown:
            yield from shown
    finally:
        with _Line.lock:
            _write(_EMPTIED_ABOVE)
            _Line.bars -= 1


@contextmanager
def counting() -> Iterator[None]:
    """Count the seconds of long work in which no bar is shown."""
    if Onlooker.shows is None:
        yield
        return
    done = threading.Event()
    counter = threading.Thread(target=_count, args=(done,), daemon=True)
    counter.start()
    try:
        yield
    finally:
        done.set()
        make_way()


def _count(done: threading.Event) -> None:
    begun, wait_s = time.monotonic(), SILENT_S
    while not done.wait(wait_s):
        with _Line.lock:
            if Onlooker.shows is None or done.is_set():
                return
            if not _Line.bars:
                _write(f"{_EMPTIED}Working, {time.monotonic() - begun:.0f} s")
                _Line.counts = True
        wait_s = BEAT_S


def _write(text: str) -> None:
    with suppress(OSError, ValueError):  # nobody is told; that ends no work
        sys.stderr.write(text)
        sys.stderr.flush()
