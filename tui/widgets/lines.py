"""Lines of text, shown as they are: no markup in them means anything."""

from __future__ import annotations

from collections.abc import Sequence

from rich.style import Style
from rich.text import Text
from textual.widgets import Static

from targets.characters import harmless


class Lines(Static):
    """A block of text lines; the one that is chosen is set off by its ground and by a mark."""

    DEFAULT_CSS = "Lines { width: 100%; height: auto; text-wrap: nowrap; text-overflow: clip; }"

    def __init__(self, *, id: str | None = None) -> None:  # noqa: A002  # textual's name for it
        super().__init__("", id=id, markup=False)
        self.lines: tuple[str, ...] = ()

    def show(self, lines: Sequence[str], *, chosen: range | None = None) -> None:
        """Show lines, those of ``chosen`` set off."""
        height = self.styles.height
        is_moved = len(lines) != len(self.lines) and height is not None and height.is_auto
        self.lines = tuple(lines)
        ground = Style(bgcolor=self.app.current_theme.panel)
        text = Text(no_wrap=True, overflow="crop", end="")
        for number, line in enumerate(lines):
            style = ground if chosen is not None and number in chosen else Style()
            text.append(harmless(line) + ("\n" if number + 1 < len(lines) else ""), style)
        self.update(text, layout=is_moved)
