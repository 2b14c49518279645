"""Lines of text, shown as they are: no markup in them means anything."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import zip_longest

from rich.segment import Segment
from rich.style import Style
from textual.geometry import Region, Size
from textual.strip import Strip
from textual.widget import Widget

from targets.characters import harmless


class Lines(Widget):
    """A block of text lines; the one that is chosen is set off by its ground and by a mark.

    Only lines that have changed are painted anew: a key is answered sooner, and less has to go over
    a slow line.
    """

    DEFAULT_CSS = "Lines { width: 100%; height: auto; }"

    def __init__(self, *, id: str | None = None) -> None:  # noqa: A002  # textual's name for it
        super().__init__(id=id)
        self.lines: tuple[str, ...] = ()
        # Each as it is painted, and whether it is set off.
        self._painted: tuple[tuple[str, bool], ...] = ()

    def show(self, lines: Sequence[str], *, chosen: range | None = None) -> None:
        """Show lines, those of ``chosen`` set off."""
        set_off, before = chosen or range(0), self._painted
        self.lines = tuple(lines)
        self._painted = tuple((harmless(x), n in set_off) for n, x in enumerate(lines))
        height = self.styles.height
        if len(before) != len(lines) and height is not None and height.is_auto:
            self.refresh(layout=True)
            return
        pairs = enumerate(zip_longest(before, self._painted))
        changed = [Region(0, y, self.size.width, 1) for y, (old, new) in pairs if old != new]
        if changed:
            self.refresh(*changed)

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """Return how many lines there are."""
        del container, viewport, width
        return len(self.lines)

    def render_line(self, y: int) -> Strip:
        """Paint a line, cut off or filled up to the width."""
        text, is_set_off = self._painted[y] if y < len(self._painted) else ("", False)
        plain = self.rich_style
        ground = Style(bgcolor=self.app.current_theme.panel) if is_set_off else Style()
        return Strip([Segment(text, plain + ground)]).adjust_cell_length(self.size.width, plain)
