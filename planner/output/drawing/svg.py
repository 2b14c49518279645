"""A field drawing as scalable vector graphics, and what all drawings of a page are made with."""

from __future__ import annotations

import math
import zlib
from collections.abc import Iterable
from html import escape

from planner.output.drawing.marks import Disc, FieldDrawing, Label, Outline, Ring, Star, Track
from planner.output.drawing.terminal import length_words

# Half the width of the drawing in its own units, and the margin for letters around it.
HALF, MARGIN = 100.0, 22.0
# Width of a letter at the size that pages write it, about; names such as gamma are wide.
LETTER = 11.0
SMALLEST_STAR, LARGEST_STAR = 0.7, 3.2


def field_svg(drawing: FieldDrawing, *, title: str) -> str:
    """Draw a field as an SVG element for a page.

    Colours come from the page: lines and stars have its text colour, what is lit the class
    ``lit``, what is in shadow ``dark``, the field itself ``field``.

    Parameters
    ----------
    title : str
        What it shows, for those who do not see it; any text.

    Returns
    -------
    str
        One ``svg`` element without anything outside it.
    """
    scale = 2.0 * HALF / drawing.span_arcmin
    size = HALF + MARGIN
    box = f"{-size:g} {-size:g} {2 * size:g} {2 * size + MARGIN:g}"
    # The field is round; a part of it that is enlarged is drawn in a square.
    square = f'x="{-HALF:g}" y="{-HALF:g}" width="{2 * HALF:g}" height="{2 * HALF:g}"'
    shape = f"rect {square}" if drawing.is_close_up else f'circle r="{HALF:g}"'
    # A name of its own for the clip, as there may be several drawings on a page.
    name = f"field-{zlib.crc32(repr((title, drawing)).encode()):x}"
    parts = [
        f'<clipPath id="{name}"><{shape}/></clipPath>',
        f'<{shape} class="field"/><g clip-path="url(#{name})">',
        *(_body(disc, scale) for disc in drawing.discs),
        *(_outline(outline, scale) for outline in drawing.outlines),
        *(_track(track, scale) for track in drawing.tracks),
        *(_star(star, scale) for star in drawing.stars),
        "</g>",
        *(_label(label, scale) for label in drawing.labels),
        _around(drawing.north_deg, "N"),
        _around(drawing.east_deg, "E"),
        _drift(drawing.drift_deg),
        _scale_bar(drawing, scale),
    ]
    return svg_element("field-drawing", box, title, parts)


def svg_element(name: str, box: str, title: str, parts: Iterable[str]) -> str:
    """Return an SVG element of a class; its title, any text, is for those who do not see it."""
    head = f'<svg class="{name}" viewBox="{box}" role="img" xmlns="http://www.w3.org/2000/svg">'
    return f"{head}<title>{escape(title)}</title>{''.join(parts)}</svg>"


def svg_text(x: float, y: float, words: str, *, anchor: str = "middle") -> str:
    """Write any text at a place of a drawing."""
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">{escape(words)}</text>'


def _outline(outline: Outline, scale: float) -> str:
    return (
        f'<ellipse class="outline" rx="{outline.semi_major * scale:.2f}" '
        f'ry="{outline.semi_minor * scale:.2f}" '
        f'transform="{_moved(outline.x, outline.y, scale, outline.angle_deg)}"/>'
    )


def _body(disc: Disc, scale: float) -> str:
    """Draw a disc, with its rings behind it and before it."""
    if disc.ring is None:
        return _disc(disc, scale)
    near, far = disc.ring.near_is_across, not disc.ring.near_is_across
    moved = (disc.x, disc.y, scale)
    return (
        _half_ring(disc.ring, *moved, is_across=far)
        + _disc(disc, scale)
        + _half_ring(disc.ring, *moved, is_across=near)
    )


def _half_ring(ring: Ring, x: float, y: float, scale: float, *, is_across: bool) -> str:
    """Draw the half of the rings on one side of their long axis."""
    major, minor = ring.semi_major * scale, ring.semi_minor * scale
    inner_major, inner_minor = major * ring.inner, minor * ring.inner
    # The turned element's own y axis runs down: across is up, and against the clock is sweep 0.
    there, back = (0, 1) if is_across else (1, 0)
    return (
        f'<path class="ring" transform="{_moved(x, y, scale, ring.angle_deg)}" '
        f'd="M {major:.2f} 0 A {major:.2f} {minor:.2f} 0 0 {there} {-major:.2f} 0 '
        f"H {-inner_major:.2f} A {inner_major:.2f} {inner_minor:.2f} 0 0 {back} "
        f'{inner_major:.2f} 0 Z"/>'
    )


def _disc(disc: Disc, scale: float) -> str:
    """Draw the dark disc and, over it, its lit part: half an edge and half a terminator."""
    major, minor = disc.semi_major * scale, disc.semi_minor * scale
    turn = disc.sunward_deg - disc.angle_deg
    radius = major * minor / math.hypot(minor * math.cos(math.radians(turn)),
                                        major * math.sin(math.radians(turn)))  # fmt: skip
    across = major * minor / radius if radius else 0.0
    terminator = abs(1.0 - 2.0 * disc.lit) * radius
    sweep = 0 if disc.lit < 0.5 else 1
    lit = (
        f'<path class="lit" d="M 0 {-across:.2f} A {radius:.2f} {across:.2f} 0 0 1 0 {across:.2f} '
        f'A {terminator:.2f} {across:.2f} 0 0 {sweep} 0 {-across:.2f} Z" '
        f'transform="{_moved(disc.x, disc.y, scale, disc.sunward_deg)}"/>'
    )
    moved = _moved(disc.x, disc.y, scale, disc.angle_deg)
    dark = f'<ellipse class="dark" rx="{major:.2f}" ry="{minor:.2f}" transform="{moved}"/>'
    if disc.lit > 0.995:
        return dark.replace('class="dark"', 'class="lit"')
    return dark + lit


def _star(star: Star, scale: float) -> str:
    radius = SMALLEST_STAR + (LARGEST_STAR - SMALLEST_STAR) * star.weight
    return (
        f'<circle class="star" cx="{star.x * scale:.1f}" cy="{-star.y * scale:.1f}" '
        f'r="{radius:.2f}"/>'
    )


def _track(track: Track, scale: float) -> str:
    """Draw a line, dashed, or an arrow with its head."""
    points = [(x * scale, -y * scale) for x, y in track.points]
    path = "M " + " L ".join(f"{x:.1f} {y:.1f}" for x, y in points)
    if not track.is_arrow:
        return f'<path class="outline" d="{path}"/>'
    (x, y), (to_x, to_y) = points[-2:]
    angle = math.degrees(math.atan2(to_y - y, to_x - x))
    head = f'd="M -6 -4 L 0 0 L -6 4" transform="translate({to_x:.1f} {to_y:.1f})'
    return f'<path class="drift" d="{path}"/><path class="drift" {head} rotate({angle:.1f})"/>'


def _moved(x: float, y: float, scale: float, angle_deg: float) -> str:
    return f"translate({x * scale:.2f} {-y * scale:.2f}) rotate({-angle_deg:.2f})"


def _around(direction_deg: float, letter: str) -> str:
    """Write a letter outside the edge."""
    angle = math.radians(direction_deg)
    reach = HALF + MARGIN / 2.0
    return svg_text(reach * math.cos(angle), 6.0 - reach * math.sin(angle), letter)


def _label(label: Label, scale: float) -> str:
    """Write a word beside its mark, away from the middle, and not beyond the edge."""
    right, above = label.x >= 0.0, label.y >= 0.0
    x, y = label.x * scale + (8.0 if right else -8.0), -label.y * scale + (-6.0 if above else 18.0)
    room = HALF + MARGIN - LETTER * len(label.text)
    x = min(x, room) if right else max(x, -room)
    return svg_text(x, y, label.text, anchor="start" if right else "end")


def _drift(direction_deg: float) -> str:
    """Draw an arrow at the edge to which the sky drifts."""
    return (
        f'<path class="drift" transform="rotate({-direction_deg:.1f})" '
        f'd="M {HALF - 20:.0f} 0 H {HALF - 4:.0f} m -6 -4 l 6 4 l -6 4"/>'
    )


def _scale_bar(drawing: FieldDrawing, scale: float) -> str:
    length = drawing.scale_arcmin * scale
    y = HALF + MARGIN + 8.0
    words = escape(length_words(drawing.scale_arcmin))
    return (
        f'<path class="scale" d="M {-HALF:.0f} {y - 3:.0f} v 6 m 0 -3 h {length:.1f} m 0 -3 v 6"/>'
        f'<text x="{-HALF + length + 5:.1f}" y="{y + 6:.0f}">{words}</text>'
    )
