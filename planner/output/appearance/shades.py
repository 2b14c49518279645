"""A view for a terminal: shades in cells, stars as marks."""

from __future__ import annotations

import numpy as np

from planner.output.appearance.views import Appearance
from targets.arrays import Floats

# A terminal cell is so many cells of the picture wide and high: it is twice as high as wide.
WIDE, HIGH = 2, 4
# From black to white: blocks (Unicode 15, "Block Elements"), or letters by their ink.
BLOCKS, LETTERS = " ░▒▓█", " ,:;=oO8#@"
# Few shades have to do for the tones that occur: these are black and white.
BLACK_TONE, WHITE_TONE = 0.05, 0.65
# Order in which the cells of a square turn to the next shade (Bayer 1973, ordered dither).
ORDER = (np.array([[0, 8, 2, 10], [12, 4, 14, 6], [3, 11, 1, 9], [15, 7, 13, 5]]) + 0.5) / 16.0
# Marks of stars, by how far they stand above the limit [mag].
MARKS = ((6.0, "*"), (3.0, "+"), (0.0, "."))


def shade_cells(view: Appearance, *, unicode: bool = True) -> list[str]:
    """Return a view in terminal cells, as many as its picture fills.

    Parameters
    ----------
    view : Appearance
        Its picture has ``WIDE`` by ``HIGH`` cells for each of the terminal.
    unicode : bool
        Blocks, or plain ASCII.
    """
    size = len(view.tones)
    rows, columns = -(-size // HIGH), -(-size // WIDE)
    whole = np.zeros((rows * HIGH, columns * WIDE))
    whole[:size, :size] = view.tones
    tones = whole.reshape(rows, HIGH, columns, WIDE).mean(axis=(1, 3))
    cells = _shaded(tones, BLOCKS if unicode else LETTERS)
    scale = size / view.train.true_field_arcmin
    for star in sorted(view.drawing.stars, key=lambda star: star.weight):
        row = int((size / 2.0 - star.y * scale) / HIGH)
        column = int((size / 2.0 + star.x * scale) / WIDE)
        if star.magnitude is not None and 0 <= row < rows and 0 <= column < columns:
            above_mag = view.limit_mag - star.magnitude
            mark = next((mark for least, mark in MARKS if above_mag >= least), None)
            cells[row][column] = mark or cells[row][column]
    return ["".join(row) for row in cells]


def _shaded(tones: Floats, shades: str) -> list[list[str]]:
    """Return a shade for each tone, between two of them by turns."""
    scaled = np.clip((tones - BLACK_TONE) / (WHITE_TONE - BLACK_TONE), 0.0, 1.0)
    rows, columns = tones.shape
    order = np.tile(ORDER, (-(-rows // 4), -(-columns // 4)))[:rows, :columns]
    codes = np.floor(scaled * (len(shades) - 1) + order).astype(int)
    return [[shades[min(code, len(shades) - 1)] for code in row] for row in codes]
