"""Opens the screens, or says why they cannot be opened here."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from datetime import UTC, datetime

from planner.cli.result import say
from tui.app import NightApp
from tui.night.scene import Request


def why_not_here() -> str | None:
    """Say why this terminal cannot show screens; None when it can."""
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        return "The screens need a terminal for input and output."
    if os.environ.get("TERM", "") in {"", "dumb", "unknown"}:
        return "This terminal cannot place text (TERM is dumb or not set)."
    return None


def open_screens(request: Request, clock: Callable[[], datetime] | None = None) -> None:
    """Show the night until the observer leaves.

    Parameters
    ----------
    request : Request
    clock : callable, optional
        Gives the time, aware; the system's when not given.

    Raises
    ------
    InputError, SettingsError, NothingToPlanError, DatabaseError
        When there was nothing to show.
    """
    encoding = (sys.stdout.encoding or "ascii").lower().replace("-", "")
    app = NightApp(request, clock or _system_clock, unicode=encoding.startswith("utf"))
    failed = app.run()
    for words in app.farewell:
        say(words)
    if failed is not None:
        raise failed


def _system_clock() -> datetime:
    return datetime.now(UTC)
