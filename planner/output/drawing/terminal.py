"""A field drawing for a terminal."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise

from planner.output.drawing.canvas import Canvas, ellipse_points
from planner.output.drawing.marks import Disc, FieldDrawing, Outline, Ring, Star

# Dots around the middle of a star, by its weight.
SPOTS = (
    (0.0, ((0, 0),)),
    (0.35, ((0, 0), (1, 0))),
    (0.6, ((0, 0), (1, 0), (0, 1), (1, 1))),
    (0.85, ((0, 0), (1, 0), (0, 1), (1, 1), (-1, 0), (2, 0), (0, -1), (1, 2))),
)
# Faint stars in a terminal would be a field of gravel: these are left out.
LEAST_WEIGHT = 0.02
# A globe must be so large before the rings in front of it can be told from it [dots].
LEAST_RINGED_DOTS = 5.0
# The head of an arrow: the length of its sides [dots], and their angle with the shaft [rad].
HEAD_DOTS, HEAD_TURN = 4.0, 0.5
CARDINALS = (("N", "north_deg"), ("E", "east_deg"))


def field_cells(
    drawing: FieldDrawing, *, columns: int, rows: int, unicode: bool = True
) -> list[str]:
    """Draw a field in terminal cells.

    Parameters
    ----------
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
    for disc in drawing.discs:
        _disc(canvas, disc, at(disc.x, disc.y), scale, within=size / 2.0)
    for outline in drawing.outlines:
        _outline(canvas, outline, drawing.discs, at, scale, within=size / 2.0)
    for track in drawing.tracks:
        _track(canvas, [at(*point) for point in track.points], is_arrow=track.is_arrow)
    for star in drawing.stars:
        _spot(canvas, star, at(star.x, star.y))
    for label in drawing.labels:
        x, y = at(label.x, label.y)
        aside = 1 if label.x >= 0.0 else -len(label.text)  # away from the middle
        canvas.write(int(x / 2.0) + aside, int(y / 4.0), label.text)
    _cardinals(canvas, drawing, size / 2.0)
    return canvas.lines(unicode=unicode)


def scale_words(drawing: FieldDrawing, *, columns: int) -> str:
    """Return a scale bar for a drawing of so many cells: ``|----| 20'``."""
    cells = columns * drawing.scale_arcmin / drawing.span_arcmin
    return f"|{'-' * max(round(cells) - 2, 1)}| {length_words(drawing.scale_arcmin)}"


def length_words(arcmin: float) -> str:
    """Write a length on the sky: ``20'``, ``10"``, ``2 deg``."""
    if arcmin >= 60.0:
        return f"{arcmin / 60.0:g} deg"
    return f"{arcmin:.2g}'" if arcmin >= 1.0 else f'{arcmin * 60.0:.2g}"'


def _outline(
    canvas: Canvas,
    outline: Outline,
    discs: Sequence[Disc],
    at: Callable[[float, float], tuple[float, float]],
    scale: float,
    *,
    within: float,
) -> None:
    """Draw an outline: dots on the dark, a dark line over what is lit."""
    middle = at(0.0, 0.0)
    axes = (outline.semi_major * scale, outline.semi_minor * scale)
    for x, y in ellipse_points(*at(outline.x, outline.y), *axes, outline.angle_deg):
        right, up = (x - middle[0]) / scale, (middle[1] - y) / scale
        if math.hypot(right, up) * scale <= within:
            canvas.dot(x, y, ink=not any(disc.is_lit(right, up) for disc in discs))


def _disc(
    canvas: Canvas, disc: Disc, middle: tuple[float, float], scale: float, *, within: float
) -> None:
    """Draw a disc, its lit part full, and its rings: behind it, and over it as a dark line."""
    major, minor = disc.semi_major * scale, disc.semi_minor * scale
    near, far = _ring_halves(disc.ring, middle, scale)
    canvas.dots(far)
    canvas.ellipse(*middle, major, minor, disc.angle_deg, within=within)
    if major < 1.0:
        canvas.dot(*middle)
    else:
        canvas.dots(_lit_dots(canvas, disc, middle, scale, within))
    for x, y in near:
        lit = disc.is_lit(disc.x + (x - middle[0]) / scale, disc.y - (y - middle[1]) / scale)
        canvas.dot(x, y, ink=not lit or major < LEAST_RINGED_DOTS)


def _lit_dots(
    canvas: Canvas, disc: Disc, middle: tuple[float, float], scale: float, within: float
) -> Iterator[tuple[float, float]]:
    """Return the dots of the lit part of a disc that lie in the field."""
    across, down = (canvas.width - 1) / 2.0, (canvas.height - 1) / 2.0
    reach = math.ceil(disc.semi_major * scale)
    for right in range(-reach, reach + 1):
        for up in range(-reach, reach + 1):
            x, y = middle[0] + right, middle[1] - up
            if math.hypot(x - across, y - down) <= within and disc.is_lit(
                disc.x + right / scale, disc.y + up / scale
            ):
                yield x, y


def _ring_halves(
    ring: Ring | None, middle: tuple[float, float], scale: float
) -> tuple[list[tuple[float, float]], list[tuple[float, float]]]:
    """Return the dots of the near and of the far half of the rings' edges."""
    halves: tuple[list[tuple[float, float]], list[tuple[float, float]]] = ([], [])
    if ring is None:
        return halves
    for part in (1.0, ring.inner):
        axes = (ring.semi_major * scale * part, ring.semi_minor * scale * part)
        dots = list(ellipse_points(*middle, *axes, ring.angle_deg))
        half = len(dots) // 2
        for side, is_across in ((dots[:half], True), (dots[half:], False)):
            halves[0 if is_across is ring.near_is_across else 1].extend(side)
    return halves


def _track(canvas: Canvas, points: Sequence[tuple[float, float]], *, is_arrow: bool) -> None:
    for (x, y), (to_x, to_y) in pairwise(points):
        canvas.line(x, y, to_x, to_y, gap=1 if is_arrow else 2)
    if is_arrow:
        (x, y), (to_x, to_y) = points[-2:]
        back = math.atan2(y - to_y, x - to_x)
        for turn in (-HEAD_TURN, HEAD_TURN):
            aside = (math.cos(back + turn) * HEAD_DOTS, math.sin(back + turn) * HEAD_DOTS)
            canvas.line(to_x, to_y, to_x + aside[0], to_y + aside[1])


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
