"""What all questions over a screen have in common."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeVar

from textual import events
from textual.app import ComposeResult
from textual.screen import ModalScreen

from tui.key_routing import passed_on, swallow
from tui.pages.least_size import TOO_SMALL, is_too_small
from tui.widgets.lines import Box, Lines
from tui.widgets.prompt_screen import PromptScreen

Answer = TypeVar("Answer")

LEAVING = ("escape", "ctrl+c")


class Asking(PromptScreen[Answer | None], ModalScreen[Answer | None]):
    """A box of lines over a screen; Esc leaves it without an answer.

    Subclasses give `title`, `body` and what a key does in `press`.
    """

    title_text = ""
    # The key that ended the question: cold fingers repeat it.
    _repeated: str | None = None
    _key = ""
    _is_over = False

    def compose(self) -> ComposeResult:
        """Lay out the box."""
        yield Box(id="body")

    def redraw(self) -> None:
        """Show the question as it stands now."""
        lines, chosen = self.body()
        if is_too_small(*self.app.size):
            lines, chosen = [TOO_SMALL, "Esc back"], None
        for body in self.query("#body").results(Lines):  # none before it is laid out, or after
            body.show([self.title_text, "", *lines], chosen=chosen)

    def body(self) -> tuple[Sequence[str], range | None]:
        """Return the lines below the title, and those that are set off, counted with the title."""
        raise NotImplementedError

    def press(self, key: str, character: str | None) -> bool:
        """Take a key; True when it meant something."""
        del key, character
        return False

    def on_key(self, event: events.Key) -> None:
        """Take a key."""
        if event.key == self._repeated:
            swallow(event)
            return
        self._repeated = None  # what comes after another key is meant
        if passed_on(self, event):
            return
        if is_too_small(*self.app.size) and event.key not in LEAVING:
            swallow(event)  # nobody sees what would be answered
            return
        self._key = event.key
        if self.press(event.key, event.character):
            swallow(event)
        elif event.key in LEAVING:
            swallow(event)
            self.answer(None)

    def on_paste(self, event: events.Paste) -> None:
        """Take what is pasted as if it were typed, up to the end of its first line."""
        event.stop()
        for character in (event.text.splitlines() or [""])[0]:
            self.press(character, character)
        self.redraw()

    def answer(self, answer: Answer | None) -> None:
        """End the question, once."""
        if not self._is_over:
            self._is_over, self._repeated = True, self._key
            self.dismiss(answer)
