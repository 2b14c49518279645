"""Opens the screens, or says why they cannot be opened here."""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime

from textual import constants

from planner.cli.result import say, takes_dots
from tui.night.request import Request

# So long after Esc alone it is known that no arrow key's bytes follow [s]; a tenth of a second is
# felt, and the bytes of one key come in one piece over any usual line (our choice).
ESCAPE_DELAY_S = 0.01
# Paints that are due wait for the next of so many beats a second; at the toolkit's 60 a key waits
# 17 ms for nothing (our choice).
BEATS_PER_S = 250


def why_not_here() -> str | None:
    """Say why this terminal cannot show screens; None when it can."""
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        return "The screens need a terminal for input and output."
    if os.environ.get("TERM", "") in {"", "dumb", "unknown"}:
        return "This terminal cannot place text (TERM is dumb or not set)."
    return None


def open_screens(
    request: Request, clock: Callable[[], datetime] | None = None, *, plain: bool = False
) -> None:
    """Show the night until the observer leaves.

    Parameters
    ----------
    clock : callable, optional
        Gives the time, aware; the system's when not given.
    plain : bool
        Whether to draw with plain letters whatever the terminal can show.

    Raises
    ------
    InputError, SettingsError, NothingToPlanError, DatabaseError
        When there was nothing to show.
    """
    dots = takes_dots(None, has_dots=request.surroundings.has_dots)
    if "ESCDELAY" not in os.environ:
        constants.ESCAPE_DELAY = ESCAPE_DELAY_S  # type: ignore[misc]
    if "TEXTUAL_FPS" not in os.environ:
        constants.MAX_FPS = BEATS_PER_S  # type: ignore[misc]
    from tui.app import NightApp  # noqa: PLC0415  # the toolkit reads the beats when it is loaded

    app = NightApp(request, clock or _system_clock, unicode=not plain and dots)
    gc.disable()  # until the first list: all that is loaded by then stays
    with _pure_red():
        failed = app.run()
    for words in app.farewell:
        say(words)
    if failed is not None:
        raise failed


@contextmanager
def _pure_red() -> Iterator[None]:
    """Let a text console of Linux show its reds without green and blue, and then as before.

    Its escape sequences are in its manual page, console_codes(4). They have no end there; other
    terminals that are taken for one read on until the "string terminator" of ECMA-48 comes.
    """
    if os.environ.get("TERM") != "linux":
        yield
        return
    sys.stdout.write("\x1b]P1eb0000\x1b\\\x1b]P9eb0000\x1b\\")
    sys.stdout.flush()
    try:
        yield
    finally:
        sys.stdout.write("\x1b]R\x1b\\")
        sys.stdout.flush()


def _system_clock() -> datetime:
    return datetime.now(UTC)
