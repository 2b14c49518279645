"""Lines of text, shown as they are: no markup in them means anything."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from itertools import zip_longest
from typing import NamedTuple

from rich.segment import Segment
from rich.style import Style
from textual.color import Color
from textual.filter import LineFilter
from textual.geometry import Region
from textual.strip import Strip
from textual.widget import Widget

from targets.characters import harmless

# Lines that are kept painted: some pages of a large terminal.
LINES_KEPT = 512
# A frame with its gaps takes so many columns and rows.
FRAME_CELLS, FRAME_ROWS = 4, 2


class Lines(Widget):
    """A block of text lines; the one that is chosen is set off by its ground and by a mark.

    Only lines that have changed are painted anew: a key is answered sooner, and less has to go over
    a slow line. The toolkit's frames and gaps are not painted.
    """

    DEFAULT_CSS = "Lines { width: 100%; height: 1fr; }"

    def __init__(self, *, id: str | None = None) -> None:  # noqa: A002  # textual's name for it
        super().__init__(id=id)
        self.lines: tuple[str, ...] = ()
        self._rows: tuple[Row, ...] = ()

    def show(self, lines: Sequence[str], *, chosen: range | None = None) -> None:
        """Show lines, those of ``chosen`` set off."""
        set_off, before = chosen or range(0), self._rows
        self.lines = tuple(lines)
        self._rows = self._arranged(
            [Piece(harmless(x), is_set_off=n in set_off) for n, x in enumerate(lines)]
        )
        pairs = enumerate(zip_longest(before, self._rows))
        changed = [Region(0, y, self.size.width, 1) for y, (old, new) in pairs if old != new]
        if changed:
            self.refresh(*changed)

    def _arranged(self, lines: list[Piece]) -> tuple[Row, ...]:
        """Return the rows of the block from its top on; what is missing is empty."""
        return tuple((line,) for line in lines)

    def render_lines(self, crop: Region) -> list[Strip]:
        """Paint rows, cut off or filled up to the width."""
        letters, theme, width = letters_of(self), self.app.current_theme, self.size.width
        rows = [*self._rows[crop.y : crop.bottom]]
        rows += [()] * (crop.height - len(rows))
        painted = (painted_row(x, width, letters, theme.primary, theme.panel) for x in rows)
        return [row.crop(crop.x, crop.right) for row in painted]


class Box(Lines):
    """Lines in a frame in the middle of the screen; those that do not fit are left out."""

    MOST_CELLS = 78

    def _arranged(self, lines: list[Piece]) -> tuple[Row, ...]:
        columns, rows = self.app.size
        cells, high = min(self.MOST_CELLS, columns), min(len(lines) + FRAME_ROWS, rows)
        before = Piece("", (columns - cells) // 2)
        left, right = (Piece(edge, 2, is_frame=True) for edge in ("| ", " |"))
        edge = before, Piece(f"+{'-' * (cells - 2)}+", cells, is_frame=True)
        inside = [
            (before, left, line._replace(cells=cells - FRAME_CELLS), right)
            for line in lines[: high - FRAME_ROWS]
        ]
        return ((),) * ((rows - high) // 2) + (edge, *inside, edge)


class Piece(NamedTuple):
    """A piece of a row: its text, cut off or filled up to its cells, else as wide as it is."""

    text: str
    cells: int | None = None
    is_frame: bool = False
    is_set_off: bool = False


Row = tuple[Piece, ...]


class Letters(NamedTuple):
    """How letters of a part look, and what is made of that for this terminal."""

    style: Style
    background: Color
    filters: tuple[LineFilter, ...]


def letters_of(part: Widget) -> Letters:
    """Return how the letters of a part look that has no styles for single letters."""
    return Letters(part.rich_style, part.background_colors[1], tuple(part.get_line_filters()))


@lru_cache(LINES_KEPT)
def painted_row(row: Row, width: int, letters: Letters, frame: str, ground: str) -> Strip:
    """Return a row as it goes to the terminal: the same one when it is painted again."""
    painted = Strip.join(_painted_piece(piece, letters, frame, ground) for piece in row)
    line = painted.adjust_cell_length(width, letters.style)
    for one in letters.filters:
        line = line.apply_filter(one, letters.background)
    return line


def _painted_piece(piece: Piece, letters: Letters, frame: str, ground: str) -> Strip:
    style = Style(
        color=frame if piece.is_frame else None, bgcolor=ground if piece.is_set_off else None
    )
    strip = Strip([Segment(piece.text, letters.style + style)])
    return strip if piece.cells is None else strip.adjust_cell_length(piece.cells, letters.style)
