"""The way of the light through field stop and barrel to the eye, as SVG."""

from __future__ import annotations

import math

from planner.output.drawing.svg import svg_element, svg_text
from targets.frozen import frozen

WIDTH, HEIGHT, MIDDLE_Y = 800.0, 250.0, 125.0
# Across the axis barrel and stop are to one scale, the same for every barrel [px/mm].
PX_PER_MM = 3.0
LENS_X, STOP_X, EYE_LENS_X, EYE_X = 40.0, 430.0, 560.0, 700.0
# The rays end at most so far from the axis at the eye's side [px].
MOST_PX = 105.0


@frozen
class LightPath:
    """One barrel in a telescope.

    Parameters
    ----------
    barrel_mm, stop_mm : float
        Outer diameter of the barrel, and the largest clear stop in it [mm].
    telescope_mm, eyepiece_mm : float
        Focal lengths [mm].
    field_deg, apparent_deg : float
        Field on the sky, and before the eye [deg].
    """

    barrel_mm: float
    stop_mm: float
    telescope_mm: float
    eyepiece_mm: float
    field_deg: float
    apparent_deg: float


def light_path_svg(path: LightPath) -> str:
    """Return an SVG element: objective, stop in its barrel, eye lens, and the angles to both sides.

    Barrel and stop have one scale; lengths along the axis and angles have none.
    """
    stop, barrel = path.stop_mm * PX_PER_MM / 2.0, path.barrel_mm * PX_PER_MM / 2.0
    rise = min(math.tan(math.radians(path.apparent_deg / 2.0)) * (EYE_X - EYE_LENS_X), MOST_PX)
    barrel_at = f'x="{STOP_X - 60:g}" y="{MIDDLE_Y - barrel:.1f}" width="120"'
    parts = [
        f'<path class="level" d="M 0 {MIDDLE_Y:g} H {WIDTH:g}"/>',
        f'<rect class="outline" {barrel_at} height="{2.0 * barrel:.1f}"/>',
        f'<path class="rung" d="M {LENS_X:g} 40 V 210"/>',
    ]
    for side in (-1.0, 1.0):
        edge, rim = MIDDLE_Y + side * stop, MIDDLE_Y + side * barrel
        parts.append(
            f'<path class="rung stop" d="M {STOP_X:g} {edge:.1f} V {rim:.1f}"/>'
            f'<path class="drift" d="M {LENS_X:g} {MIDDLE_Y:g} L {STOP_X:g} {edge:.1f} '
            f'H {EYE_LENS_X:g} L {EYE_X:g} {MIDDLE_Y - side * (rise - stop):.1f}"/>'
        )
    parts += [
        f'<path class="rung" d="M {EYE_LENS_X:g} {MIDDLE_Y - barrel:.1f} v {2.0 * barrel:.1f}"/>',
        svg_text(LENS_X + 60.0, 30.0, "objective"),
        svg_text((LENS_X + STOP_X - 60.0) / 2.0, 240.0, f"{path.telescope_mm:g} mm"),
        svg_text(STOP_X, 16.0, f"stop {path.stop_mm:g} mm"),
        svg_text((STOP_X + EYE_LENS_X) / 2.0 + 20.0, 240.0, f"{path.eyepiece_mm:.3g} mm"),
        svg_text(LENS_X + 120.0, MIDDLE_Y - 8.0, f"{path.field_deg:.2f} deg"),
        svg_text(EYE_X - 10.0, 16.0, f"{path.apparent_deg:.0f} deg before the eye"),
    ]
    title = f"Stop of {path.stop_mm:g} mm in a barrel of {path.barrel_mm:.1f} mm"
    return svg_element("light-path", f"0 0 {WIDTH:g} {HEIGHT:g}", title, parts)


def path_words(path: LightPath) -> str:
    """Return the two formulas with their numbers."""
    return (
        f"The stop cuts the sky: 2 arctan({path.stop_mm:g} / (2 x {path.telescope_mm:g})) = "
        f"{path.field_deg:.2f} deg. The eyepiece spreads it before the eye: {path.stop_mm:g} / "
        f"{path.eyepiece_mm:.3g} x 57.3 = {path.apparent_deg:.0f} deg."
    )
