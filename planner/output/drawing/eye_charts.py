"""Charts of the observer's eye as one SVG: predicted against seen, and the eye through the year."""

from __future__ import annotations

import math
from collections.abc import Iterator
from html import escape

from planner.model.own_eye import CalibrationBand, EyePart, EyeReport
from planner.output.drawing.svg import svg_text

SIDE, GAP, LEFT, TOP = 260.0, 90.0, 60.0, 50.0
WIDTH, HEIGHT = LEFT + 2 * SIDE + GAP + 20.0, TOP + SIDE + 60.0
SMALLEST, LARGEST = 3.0, 9.0
MOST_MAG = 1.5  # the scale of the year: an eye is never taken as farther off
STYLE = (
    "text{font:12px sans-serif;fill:#000}.axis,.even,.error{stroke:#000;fill:none}"
    ".even{stroke-dasharray:4 3}.level{stroke:#bbb;fill:none}.band{fill:#000}"
)


def eye_svg(report: EyeReport) -> str:
    """Draw both charts, black on white.

    Parameters
    ----------
    report : EyeReport
        With an eye.

    Returns
    -------
    str
        An SVG document. In the first chart a dot is a band of looks, larger for more of them, with
        one standard error of the share; on the dashed line as many are seen as predicted. In the
        second a dot is a quarter of a year.
    """
    words = report.eye.words if report.eye else ""
    box = f'viewBox="0 0 {WIDTH:g} {HEIGHT:g}" width="{WIDTH:g}" height="{HEIGHT:g}"'
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" {box} role="img"><title>{escape(words)}</title>',
        f"<style>{STYLE}</style>",
        f'<rect width="{WIDTH:g}" height="{HEIGHT:g}" fill="#fff"/>',
        svg_text(LEFT, 20.0, f"{words[:1].upper()}{words[1:]}", anchor="start"),
        *_calibration(report.bands),
        *_year([part for part in report.parts if "quarter" in part[0]], report),
        "</svg>\n",
    ]
    return "".join(parts)


def _calibration(bands: tuple[CalibrationBand, ...]) -> Iterator[str]:
    yield from _frame(LEFT, "predicted to be seen", "seen")
    for percent in range(0, 101, 25):
        at = percent / 100.0 * SIDE
        yield svg_text(LEFT + at, TOP + SIDE + 16.0, f"{percent}%")
        yield svg_text(LEFT - 6.0, TOP + SIDE - at + 4.0, f"{percent}%", anchor="end")
    yield _path("even", f"M {LEFT:g} {TOP + SIDE:g} L {LEFT + SIDE:g} {TOP:g}")
    most = max((band.looks for band in bands), default=1)
    for band in bands:
        x, y = LEFT + band.expected * SIDE, TOP + (1.0 - band.seen) * SIDE
        # Laplace's share keeps the error of a band with all or none seen from being nothing.
        share = (band.seen * band.looks + 1.0) / (band.looks + 2.0)
        error = math.sqrt(share * (1.0 - share) / (band.looks + 2.0))
        low, high = max(band.seen - error, 0.0), min(band.seen + error, 1.0)
        yield _path(
            "error", f"M {x:.1f} {TOP + (1 - low) * SIDE:.1f} V {TOP + (1 - high) * SIDE:.1f}"
        )
        radius = SMALLEST + (LARGEST - SMALLEST) * math.sqrt(band.looks / most)
        told = f"{band.looks} looks, {band.expected:.0%} predicted, {band.seen:.0%} seen"
        circle = f'<circle class="band" cx="{x:.1f}" cy="{y:.1f}" r="{radius:.1f}">'
        yield f"{circle}<title>{told}</title></circle>"


def _year(quarters: list[tuple[str, EyePart]], report: EyeReport) -> Iterator[str]:
    left = LEFT + SIDE + GAP
    yield from _frame(left, "quarter of the year", "deeper than the average [mag]")

    def height(depth_mag: float) -> float:
        bounded = min(max(depth_mag, -MOST_MAG), MOST_MAG)
        return TOP + SIDE / 2.0 - bounded / MOST_MAG * SIDE / 2.0

    for tenths in range(-15, 16, 5):
        y = height(tenths / 10.0)
        yield _path("level", f"M {left:g} {y:.1f} h {SIDE:g}")
        yield svg_text(
            left - 6.0, y + 4.0, f"{tenths / 10.0:+.1f}" if tenths else "0", anchor="end"
        )
    if report.eye is not None:
        yield _path("even", f"M {left:g} {height(report.eye.deeper_mag):.1f} h {SIDE:g}")
    if not quarters:
        yield svg_text(left + SIDE / 2.0, TOP + SIDE + 16.0, "all looks in one quarter")
    for number, (name, part) in enumerate(quarters):
        x = left + SIDE * (number + 0.5) / len(quarters)
        ends = [height(part.deeper_mag + sign * part.told_sd_mag) for sign in (-1.0, 1.0)]
        yield _path("error", f"M {x:.1f} {ends[0]:.1f} V {ends[1]:.1f}")
        yield f'<circle class="band" cx="{x:.1f}" cy="{height(part.deeper_mag):.1f}" r="4"/>'
        year, _, quarter = name.partition(", quarter ")
        yield svg_text(x, TOP + SIDE + 16.0, f"{year}/{quarter}" if len(quarters) < 6 else quarter)


def _frame(left: float, below: str, above: str) -> Iterator[str]:
    yield _path("axis", f"M {left:g} {TOP:g} v {SIDE:g} h {SIDE:g} v {-SIDE:g} Z")
    yield svg_text(left + SIDE / 2.0, TOP + SIDE + 38.0, below)
    yield svg_text(left, TOP - 8.0, above, anchor="start")


def _path(name: str, course: str) -> str:
    return f'<path class="{name}" d="{course}"/>'
