"""Hands keys to the screen that they are meant for."""

from __future__ import annotations

from typing import Any, Protocol, cast

from textual import events
from textual.screen import Screen


class KeyHolder(Protocol):
    """The application, as keys see it."""

    def holds(self, event: events.Key) -> bool:
        """Keep a key for later; True if it is kept."""


def passed_on(screen: Screen[Any], event: events.Key) -> bool:
    """Return a key to the screen on top when that is another one; True if it was given away.

    Keys that come in one piece, as over a slow line, reach a screen that the first of them has
    already left. While what a key is meant for is not there yet, the application keeps it.
    """
    top = screen.app.screen
    if top is screen:
        if not cast("KeyHolder", screen.app).holds(event):
            return False
        swallow(event)
        return True
    swallow(event)
    top._forward_event(events.Key(event.key, event.character))  # noqa: SLF001  # as the app does
    return True


def swallow(event: events.Key) -> None:
    """Let nobody else have a key."""
    event.stop()
    event.prevent_default()
