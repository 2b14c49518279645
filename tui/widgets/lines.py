"""Lines of text, shown as they are: no markup in them means anything."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from itertools import zip_longest

from rich.segment import Segment
from rich.style import Style
from textual.color import Color
from textual.filter import LineFilter
from textual.geometry import Region, Size
from textual.strip import Strip
from textual.widget import Widget

from targets.characters import harmless
from targets.frozen import frozen

# Lines that are kept painted: some pages of a large terminal.
LINES_KEPT = 512


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

    def render_lines(self, crop: Region) -> list[Strip]:
        """Paint lines, cut off or filled up to the width; without the toolkit's frames."""
        look, width = letters_of(self), self.size.width
        ground = self.app.current_theme.panel
        shown = self._painted[crop.y : crop.bottom]
        lines = [painted_line(text, width, look, ground if x else None) for text, x in shown]
        lines += [painted_line("", width, look)] * (crop.height - len(lines))
        return [line.crop(crop.x, crop.right) for line in lines]


@frozen
class Letters:
    """How letters of a part look, and what is made of that for this terminal."""

    style: Style
    background: Color
    filters: tuple[LineFilter, ...]


def letters_of(part: Widget) -> Letters:
    """Return how the letters of a part look that has no styles for single letters."""
    return Letters(part.rich_style, part.background_colors[1], tuple(part.get_line_filters()))


@lru_cache(LINES_KEPT)
def painted_line(text: str, width: int, look: Letters, ground: str | None = None) -> Strip:
    """Return a line as it goes to the terminal: the same one when it is painted again."""
    segment = Segment(text, look.style + Style(bgcolor=ground))
    line = Strip([segment]).adjust_cell_length(width, look.style)
    for one in look.filters:
        line = line.apply_filter(one, look.background)
    return line
