"""What stands on the screen while the night is being opened; it imports little, to be quick."""

from __future__ import annotations

from collections.abc import Sequence

from textual import events
from textual.app import ComposeResult

from planner.text import fit
from tui.key_routing import passed_on
from tui.pages.least_size import LOWEST, NARROWEST, is_too_small
from tui.widgets.lines import Lines
from tui.widgets.prompt_screen import PromptScreen

PLANNING = "Planning the night; keys wait ..."
TAKING_UP = "Taking up the night as it stood; keys wait ..."
LEAVING = "q"


class WaitingScreen(PromptScreen[None]):
    """How the night stood when it was left, or that it is being planned."""

    def __init__(self) -> None:
        super().__init__()
        self._last: Sequence[str] = ()

    def compose(self) -> ComposeResult:
        """Lay out the page."""
        yield Lines(id="night")

    def on_key(self, event: events.Key) -> None:
        """Keep keys until there is a list to see what they are for."""
        passed_on(self, event)

    def show_last(self, lines: Sequence[str]) -> None:
        """Show how the night stood."""
        self._last = lines
        self.redraw()

    def redraw(self) -> None:
        """Show all as it stands."""
        columns, rows = self.app.size
        words = TAKING_UP if self._last else PLANNING
        if is_too_small(columns, rows):
            words = f"{columns} by {rows} is too small: {NARROWEST} by {LOWEST} are needed."
        last = [f"  {fit(line, columns - 4)}" for line in self._last]
        for block in self.query("#night").results(Lines):
            block.show(["", f"  {words}", "", *last[: max(rows - 4, 0)]])
