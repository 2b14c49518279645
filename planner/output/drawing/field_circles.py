"""True fields as circles inside each other, with things in the sky to the same scale, as SVG."""

from __future__ import annotations

import math
from collections.abc import Sequence
from html import escape

from planner.output.drawing.svg import svg_element, svg_text
from targets.frozen import frozen

WIDTH, MARGIN = 800.0, 24.0
# Letters stand around the circles, from the top left against the clock to the bottom left, each at
# the end of a line from its circle [deg], [px].
FIRST_LETTER_DEG, LAST_LETTER_DEG, MOST_APART_DEG = 110.0, 250.0, 20.0
LETTER_OFF = 13.0
GAP_ARCMIN_SHARE = 0.06
# Room for the words under a thing, and for a letter of them [px].
WORDS_HIGH, LETTER_WIDE = 18.0, 6.5


@frozen
class SkyShape:
    """Something in the sky: its axes [arcmin]."""

    name: str
    major_arcmin: float
    minor_arcmin: float


def field_circles_svg(
    fields: Sequence[tuple[str, float]],
    largest: Sequence[tuple[str, float]],
    shapes: Sequence[SkyShape],
) -> str:
    """Return an SVG element with fields around one middle and shapes beside them, to one scale.

    Parameters
    ----------
    fields : sequence of (str, float)
        Letters and diameters of true fields [arcmin].
    largest : sequence of (str, float)
        Words and diameters of the largest fields that barrels hold [arcmin]; dashed.
    shapes : sequence of SkyShape
        Two rows: the first shape alone, the others below it.
    """
    widest = max([size for _, size in (*fields, *largest)], default=1.0)
    gap = GAP_ARCMIN_SHARE * (widest + 100.0)
    below = shapes[1:]
    rows = [shapes[:1], below]
    across = max([sum(s.major_arcmin + gap for s in row) for row in rows if row], default=0.0)
    scale = (WIDTH - 2.0 * MARGIN) / (widest + gap + across)
    heights = [max((s.minor_arcmin for s in row), default=0.0) * scale for row in rows]
    high = max(widest * scale, sum(heights) + 3.0 * WORDS_HIGH) + 2.0 * MARGIN
    x, y = MARGIN + widest * scale / 2.0, high / 2.0
    parts: list[str] = []
    for words, size in largest:
        parts.append(_circle("outline", x, y, size * scale / 2.0))
        parts.append(svg_text(x, y - size * scale / 2.0 - 4.0, words))
    apart = min((LAST_LETTER_DEG - FIRST_LETTER_DEG) / max(len(fields) - 1, 1), MOST_APART_DEG)
    for number, (letter, size) in enumerate(fields):
        parts.append(_circle("field", x, y, size * scale / 2.0))
        angle = math.radians(FIRST_LETTER_DEG + apart * number)
        inner, outer = size * scale / 2.0, widest * scale / 2.0 + LETTER_OFF
        across, up = math.cos(angle), -math.sin(angle)
        parts.append(
            f'<path class="drift" d="M {x + inner * across:.1f} {y + inner * up:.1f} '
            f'L {x + (outer - 7.0) * across:.1f} {y + (outer - 7.0) * up:.1f}"/>'
        )
        parts.append(svg_text(x + outer * across, y + outer * up + 4.0, letter))
    top = MARGIN
    for row, height in zip(rows, heights, strict=True):
        left = MARGIN + (widest + gap) * scale
        for shape in row:
            half = (shape.major_arcmin * scale / 2.0, shape.minor_arcmin * scale / 2.0)
            middle = (left + half[0], top + height / 2.0)
            parts.append(
                f'<ellipse class="shape" data-name="{escape(shape.name)}" cx="{middle[0]:.1f}" '
                f'cy="{middle[1]:.1f}" rx="{half[0]:.2f}" ry="{half[1]:.2f}"/>'
            )
            parts.append(svg_text(middle[0], top + height + WORDS_HIGH - 4.0, shape.name))
            left += max((shape.major_arcmin + gap) * scale, LETTER_WIDE * (len(shape.name) + 2))
        top += height + 1.5 * WORDS_HIGH
    return svg_element("field-circles", f"0 0 {WIDTH:g} {high:.0f}", "True fields to scale", parts)


def _circle(name: str, x: float, y: float, radius: float) -> str:
    return f'<circle class="{name}" cx="{x:.1f}" cy="{y:.1f}" r="{radius:.2f}"/>'
