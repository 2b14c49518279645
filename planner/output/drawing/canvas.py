"""A canvas of dots for a terminal: eight to a cell in Braille, or one character a cell in ASCII."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from functools import lru_cache

# The dot of each place in a cell, by column and row (Unicode 15, "Braille Patterns").
DOTS = ((0x01, 0x02, 0x04, 0x40), (0x08, 0x10, 0x20, 0x80))
BLANK = 0x2800
# ASCII cells by how many dots they hold.
DENSITY = " ..::+++*"
# The character of each pattern of dots.
_BRAILLE = (" ", *(chr(BLANK + cell) for cell in range(1, 256)))
_PLAIN = tuple(DENSITY[cell.bit_count()] for cell in range(256))


class Canvas:
    """Dots on ``columns`` by ``rows`` terminal cells; a cell is two dots wide and four high.

    Dots are numbered from the left and from above; what lies outside is left out.

    Parameters
    ----------
    columns, rows : int
        Size in cells.
    """

    def __init__(self, columns: int, rows: int) -> None:
        self.columns, self.rows = columns, rows
        self.width, self.height = 2 * columns, 4 * rows
        self._cells = [[0] * columns for _ in range(rows)]
        self._text: dict[tuple[int, int], str] = {}

    def dot(self, x: float, y: float, *, ink: bool = True) -> None:
        """Set the dot nearest to a place, or clear it."""
        column, row = math.floor(x), math.floor(y)
        if 0 <= column < self.width and 0 <= row < self.height:
            if ink:
                self._cells[row // 4][column // 2] |= DOTS[column % 2][row % 4]
            else:
                self._cells[row // 4][column // 2] &= ~DOTS[column % 2][row % 4]

    def dots(self, places: Iterable[tuple[float, float]]) -> None:
        """Set the dots at several places."""
        cells, width, height = self._cells, self.width, self.height
        for x, y in places:
            column, row = math.floor(x), math.floor(y)
            if 0 <= column < width and 0 <= row < height:
                cells[row // 4][column // 2] |= DOTS[column % 2][row % 4]

    def ellipse(
        self,
        x: float,
        y: float,
        semi_major: float,
        semi_minor: float,
        angle_deg: float = 0.0,
        *,
        within: float = math.inf,
    ) -> None:
        """Draw an ellipse; its long axis is turned from the right upward [deg].

        What is farther than ``within`` from the middle of the canvas is left out.
        """
        middle_x, middle_y = (self.width - 1) / 2.0, (self.height - 1) / 2.0
        places = ellipse_points(x, y, semi_major, semi_minor, angle_deg)
        if within < math.inf:
            places = (
                at for at in places if math.hypot(at[0] - middle_x, at[1] - middle_y) <= within
            )
        self.dots(places)

    def line(self, x: float, y: float, to_x: float, to_y: float, *, gap: int = 1) -> None:
        """Draw a straight line with every dot, or every so many."""
        steps = max(1, math.ceil(max(abs(to_x - x), abs(to_y - y))))
        for step in range(0, steps + 1, gap):
            self.dot(x + (to_x - x) * step / steps, y + (to_y - y) * step / steps)

    def write(self, column: int, row: int, text: str) -> None:
        """Put characters over the dots, one a cell."""
        for place, character in enumerate(text, start=column):
            if 0 <= place < self.columns and 0 <= row < self.rows:
                self._text[place, row] = character

    def lines(self, *, unicode: bool = True) -> list[str]:
        """Return the rows as text, each exactly as many cells wide as the canvas."""
        character = (_BRAILLE if unicode else _PLAIN).__getitem__
        lines = [[*map(character, cells)] for cells in self._cells]
        for (column, row), written in self._text.items():
            lines[row][column] = written
        return ["".join(line) for line in lines]


def ellipse_points(
    x: float, y: float, semi_major: float, semi_minor: float, angle_deg: float
) -> Iterator[tuple[float, float]]:
    """Return places on an ellipse, no farther apart than dots, as `Canvas.ellipse` draws it.

    From the end of the long axis on over the side that is a quarter turn against the clock from it,
    so that the first half of them lies there.
    """
    steps = 2 * max(4, math.ceil(math.pi * semi_major * 1.5))
    cosine, sine = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    for along_share, across_share in _turns(steps):
        along, across = semi_major * along_share, semi_minor * across_share
        yield x + along * cosine - across * sine, y - along * sine - across * cosine


@lru_cache(maxsize=8)
def _turns(steps: int) -> list[tuple[float, float]]:
    """Return cosine and sine of so many even steps around."""
    angles = (2.0 * math.pi * step / steps for step in range(steps))
    return [(math.cos(angle), math.sin(angle)) for angle in angles]
