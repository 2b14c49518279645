"""A field drawing for a terminal."""

from __future__ import annotations

import math

from planner.field.canvas import Canvas
from planner.field.drawing import Disc, FieldDrawing, Star

# Dots around the middle of a star, by its weight.
SPOTS = (
    (0.0, ((0, 0),)),
    (0.35, ((0, 0), (1, 0))),
    (0.6, ((0, 0), (1, 0), (0, 1), (1, 1))),
    (0.85, ((0, 0), (1, 0), (0, 1), (1, 1), (-1, 0), (2, 0), (0, -1), (1, 2))),
)
# Faint stars in a terminal would be a field of gravel: these are left out.
LEAST_WEIGHT = 0.02
CARDINALS = (("N", "north_deg"), ("E", "east_deg"))


def field_cells(
    drawing: FieldDrawing, *, columns: int, rows: int, unicode: bool = True
) -> list[str]:
    """Draw a field in terminal cells.

    Parameters
    ----------
    drawing : FieldDrawing
    columns, rows : int
        Size [cells]; the drawing takes what is square of it, in the middle.
    unicode : bool
        Braille dots, or plain ASCII.

    Returns
    -------
    list of str
        ``rows`` lines of ``columns`` cells.
    """
    canvas = Canvas(columns, rows)
    size = min(canvas.width, canvas.height) - 1.0
    scale = size / drawing.span_arcmin
    middle = ((canvas.width - 1) / 2.0, (canvas.height - 1) / 2.0)

    def at(x: float, y: float) -> tuple[float, float]:
        return middle[0] + x * scale + 0.5, middle[1] - y * scale + 0.5

    if not drawing.is_close_up:
        edge = drawing.field_arcmin / 2.0 * scale
        canvas.ellipse(*at(0.0, 0.0), edge, edge)
    for outline in drawing.outlines:
        canvas.ellipse(
            *at(outline.x, outline.y),
            outline.semi_major * scale,
            outline.semi_minor * scale,
            outline.angle_deg,
            within=size / 2.0,
        )
    for disc in drawing.discs:
        _fill(canvas, disc, at(disc.x, disc.y), scale)
    for star in drawing.stars:
        _spot(canvas, star, at(star.x, star.y))
    for label in drawing.labels:
        x, y = at(label.x, label.y)
        canvas.write(int(x / 2.0) + 1, int(y / 4.0), label.text)
    _cardinals(canvas, drawing, size / 2.0)
    return canvas.lines(unicode=unicode)


def scale_words(drawing: FieldDrawing, *, columns: int) -> str:
    """Give a scale bar for a drawing of so many cells: ``|----| 20'``."""
    cells = columns * drawing.scale_arcmin / drawing.span_arcmin
    return f"|{'-' * max(round(cells) - 2, 1)}| {length_words(drawing.scale_arcmin)}"


def length_words(arcmin: float) -> str:
    """Write a length on the sky: ``20'``, ``10"``, ``2 deg``."""
    if arcmin >= 60.0:
        return f"{arcmin / 60.0:g} deg"
    return f"{arcmin:.3g}'" if arcmin >= 1.0 else f'{arcmin * 60.0:.3g}"'


def _fill(canvas: Canvas, disc: Disc, middle: tuple[float, float], scale: float) -> None:
    """Draw a disc: its edge, and its lit part full."""
    canvas.ellipse(*middle, disc.semi_major * scale, disc.semi_minor * scale, disc.angle_deg)
    if disc.semi_major * scale < 1.0:
        canvas.dot(*middle)
        return
    reach = math.ceil(disc.semi_major * scale)
    for right in range(-reach, reach + 1):
        for up in range(-reach, reach + 1):
            if disc.is_lit(disc.x + right / scale, disc.y + up / scale):
                canvas.dot(middle[0] + right, middle[1] - up)


def _spot(canvas: Canvas, star: Star, place: tuple[float, float]) -> None:
    if star.weight < LEAST_WEIGHT:
        return
    shape = next(shape for least, shape in reversed(SPOTS) if star.weight >= least)
    canvas.dots((place[0] + right, place[1] + down) for right, down in shape)


def _cardinals(canvas: Canvas, drawing: FieldDrawing, radius: float) -> None:
    """Write N and E on the edge of the field."""
    for letter, name in CARDINALS:
        angle = math.radians(getattr(drawing, name))
        x = (canvas.width - 1) / 2.0 + radius * math.cos(angle)
        y = (canvas.height - 1) / 2.0 - radius * math.sin(angle)
        column, row = round((x - 0.5) / 2.0), round((y - 1.5) / 4.0)
        canvas.write(
            min(max(column, 0), canvas.columns - 1), min(max(row, 0), canvas.rows - 1), letter
        )
