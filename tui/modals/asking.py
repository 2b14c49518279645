"""What all questions over a screen have in common."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeVar

from textual import events
from textual.app import ComposeResult
from textual.containers import Vertical
from textual.screen import ModalScreen

from tui.widgets.lines import Lines

Answer = TypeVar("Answer")


class Asking(ModalScreen[Answer | None]):
    """A box of lines over a screen; Esc leaves it without an answer.

    Subclasses give `title`, `body` and what a key does in `press`.
    """

    DEFAULT_CSS = """
    Asking { align: center middle; background: $background; }
    Asking > Vertical {
        width: 78; max-width: 100%; height: auto; max-height: 100%;
        background: $surface; border: ascii $primary; padding: 0 1;
    }
    """
    BINDINGS = [("escape", "leave", "back")]  # noqa: RUF012  # textual's way
    title_text = ""

    def compose(self) -> ComposeResult:
        """Lay out the box."""
        with Vertical():
            yield Lines(id="body")

    def on_mount(self) -> None:
        """Show the question."""
        self.redraw()

    def redraw(self) -> None:
        """Show the question as it stands now."""
        lines, chosen = self.body()
        self.query_one("#body", Lines).show([self.title_text, "", *lines], chosen=chosen)

    def body(self) -> tuple[Sequence[str], range | None]:
        """Give the lines below the title, and those that are set off, counted with the title."""
        raise NotImplementedError

    def press(self, key: str, character: str | None) -> bool:
        """Take a key; True when it meant something."""
        del key, character
        return False

    def on_key(self, event: events.Key) -> None:
        """Take a key."""
        if self.press(event.key, event.character):
            event.stop()
            event.prevent_default()

    def action_leave(self) -> None:
        """Go back without an answer."""
        self.dismiss(None)
