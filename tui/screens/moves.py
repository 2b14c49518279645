"""The moves that every screen of the night has, by the actions of the key table."""

from __future__ import annotations

from planner.output.glossary import glossary_lines
from planner.output.words import SUN_CAUTION
from planner.text import wrap
from tui.keys import help_lines, word_lines
from tui.modals.choice import PagesScreen
from tui.pages.kit import kit_lines
from tui.screens.log_moves import LogMoves
from tui.screens.sky_moves import SkyMoves
from tui.screens.target_moves import TargetMoves
from tui.screens.time_moves import TimeMoves


class MovesScreen(TargetMoves, LogMoves, TimeMoves, SkyMoves):
    """A screen of the night with all its moves, and the pages that can be read from it."""

    def action_kit(self) -> None:
        """Show the kit; the year behind it takes some seconds."""
        if self.scene is not None:
            page = PagesScreen("The kit", ["One moment ..."])
            asked = self.night_app.request
            self.night_app.await_page(
                lambda: kit_lines(asked), page.show_lines, lambda: self.app.push_screen(page)
            )

    def action_messages(self) -> None:
        """Show what was said, the latest first."""
        width = self.app.size.width - 2
        lines = [
            line
            for at, said in reversed(self.night_app.heard)
            for words in said
            for line in wrap(words, width=width, first=f"{at} ", rest=" " * 6)
        ]
        self.app.push_screen(PagesScreen("Messages, the latest first", lines))

    def action_face(self) -> None:
        """Change between the red and the day face."""
        self.night_app.change_face()

    def action_brighter(self) -> None:
        """Go a step brighter."""
        self.night_app.change_brightness(1)

    def action_darker(self) -> None:
        """Go a step darker."""
        self.night_app.change_brightness(-1)

    def action_help(self) -> None:
        """Show the keys."""
        lines = [*help_lines(), "", "In the list", *word_lines(), "", "Words", *glossary_lines()]
        lines += ["", *wrap(SUN_CAUTION, width=72)]
        self.app.push_screen(PagesScreen("Keys", lines))

    def action_quit(self) -> None:
        """Leave."""
        self.app.exit()
