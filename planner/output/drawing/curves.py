"""Altitudes through a night: of one target or of the looks of a plan, for terminal and page."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from datetime import datetime, timedelta

import numpy as np

from planner.output.drawing.canvas import Canvas
from planner.output.drawing.svg import svg_element, svg_text
from targets.arrays import Floats, runs_of
from targets.frozen import frozen

Clock = Callable[[datetime], str]

HIGHEST_DEG = 90.0
# The axis of a terminal curve: altitudes take so many cells on the left.
AXIS_CELLS = 4
TICKS_DEG = (60, 30, 0)
HOUR_GAP = 3


@frozen(eq=False)
class Curve:
    """The altitude of something [deg] at each of T instants.

    ``begin`` and ``end`` mark when it is looked at; None when it is not. ``skyline_deg`` is how
    high the skyline stands where it is, (T,); None where there is none.
    """

    altitude_deg: Floats
    skyline_deg: Floats | None = None
    begin: datetime | None = None
    end: datetime | None = None


@frozen(eq=False)
class NightCurves:
    """Altitudes through a night.

    Parameters
    ----------
    instants : tuple of datetime
        T of them, evenly spaced (UTC).
    curves : tuple of Curve
        Of the targets.
    moon_deg : ndarray
        The Moon's altitude [deg], (T,).
    dark_start, dark_end : datetime or None
        Of full darkness (UTC).
    now : datetime or None
        To be marked (UTC).
    """

    instants: tuple[datetime, ...]
    curves: tuple[Curve, ...]
    moon_deg: Floats
    dark_start: datetime | None = None
    dark_end: datetime | None = None
    now: datetime | None = None

    @property
    def skyline_deg(self) -> Floats | None:
        """The skyline below a target that is alone; below several there is none in common."""
        return self.curves[0].skyline_deg if len(self.curves) == 1 else None

    def share(self, instant: datetime) -> float:
        """Return where an instant stands between the first, 0, and the last, 1."""
        whole = self.instants[-1] - self.instants[0]
        return (instant - self.instants[0]) / whole if whole else 0.0


def curve_cells(
    curves: NightCurves, *, columns: int, rows: int, clock: Clock, unicode: bool = True
) -> list[str]:
    """Draw altitudes in terminal cells.

    Parameters
    ----------
    columns, rows : int
        Size [cells], the axes included: altitudes on the left, times in the last row.
    clock : callable
        Writes an instant as local time, ``21:40``.
    unicode : bool
        Braille dots, or plain ASCII.

    Returns
    -------
    list of str
        ``rows`` lines of ``columns`` cells. The target is a full line, the Moon a dotted one, the
        skyline is filled, a bar marks now; the last row but one tells what is dark.
    """
    canvas = Canvas(columns - AXIS_CELLS, rows - 2)
    for curve in curves.curves:
        _trace(canvas, curve.altitude_deg, gap=1)
    _trace(canvas, curves.moon_deg, gap=4)
    if curves.skyline_deg is not None:
        _fill(canvas, curves.skyline_deg)
    if curves.now is not None and 0.0 <= curves.share(curves.now) <= 1.0:
        x = curves.share(curves.now) * (canvas.width - 1)
        canvas.line(x, 0.0, x, canvas.height - 1.0, gap=2)
    lines = canvas.lines(unicode=unicode)
    lowest = len(lines) - 1
    ticks = {round((1.0 - deg / HIGHEST_DEG) * lowest): f"{deg:>3} " for deg in TICKS_DEG}
    drawn = [ticks.get(row, " " * AXIS_CELLS) + line for row, line in enumerate(lines)]
    return [*drawn, _darkness(curves, columns), _times(curves, columns, clock)]


def _trace(canvas: Canvas, altitude_deg: Floats, *, gap: int) -> None:
    """Draw a line of altitudes; what is below the horizon is left out."""
    at = np.linspace(0.0, len(altitude_deg) - 1.0, canvas.width)
    heights = np.interp(at, np.arange(len(altitude_deg)), altitude_deg).tolist()
    shown = range(0, canvas.width, gap)
    canvas.dots((x, _y(canvas, heights[x])) for x in shown if heights[x] > 0.0)


def _fill(canvas: Canvas, skyline_deg: Floats) -> None:
    """Fill what is below the skyline with every other dot of every other column, in turn."""
    at = np.linspace(0.0, len(skyline_deg) - 1.0, canvas.width)
    tops = np.interp(at, np.arange(len(skyline_deg)), skyline_deg).tolist()
    for x in range(0, canvas.width, 2):
        y = int(_y(canvas, max(tops[x], 0.0)))
        canvas.dots((x, below) for below in range(y + (y + x // 2) % 2, canvas.height, 2))


def _y(canvas: Canvas, altitude_deg: float) -> float:
    return (1.0 - altitude_deg / HIGHEST_DEG) * (canvas.height - 1) + 0.5


def _darkness(curves: NightCurves, columns: int) -> str:
    """Mark the dark part of the night: ``#`` dark, ``-`` twilight or day."""
    width = columns - AXIS_CELLS
    start, end = curves.dark_start, curves.dark_end
    if start is None or end is None:
        return " " * AXIS_CELLS + "-" * width
    first, last = (curves.share(instant) * (width - 1) for instant in (start, end))
    return " " * AXIS_CELLS + "".join("#" if first <= k <= last else "-" for k in range(width))


def _times(curves: NightCurves, columns: int, clock: Clock) -> str:
    """Write the clock at full hours, as many as there is room for."""
    width, line = columns - AXIS_CELLS, ""
    told = [(curves.share(hour), clock(hour)) for hour in _full_hours(curves)]
    longest = max((len(words) for _, words in told), default=0)
    hours = (curves.instants[-1] - curves.instants[0]) / timedelta(hours=1)
    for share, words in told[:: math.ceil((longest + HOUR_GAP) * hours / width) or 1]:
        cell = round(share * (width - 1))
        if cell + len(words) <= width:
            line = line.ljust(cell) + words
    return (" " * AXIS_CELLS + line).ljust(columns)[:columns]


def _full_hours(curves: NightCurves) -> list[datetime]:
    first = curves.instants[0].replace(minute=0, second=0, microsecond=0)
    hours = int((curves.instants[-1] - first) / timedelta(hours=1)) + 1
    every = [first + timedelta(hours=hour) for hour in range(hours + 1)]
    return [hour for hour in every if 0.0 <= curves.share(hour) <= 1.0]


# Size of a page's curves in their own units, and the room for words around them.
WIDTH, HEIGHT, LEFT, RIGHT, ABOVE, BELOW = 640.0, 180.0, 28.0, 22.0, 14.0, 20.0
# So many clocks fit below them, in letters that can be read on a telephone.
MOST_HOURS = 8
# Points of a look's own line.
LOOK_POINTS = 8
# Room of a digit, its height, and where the number of a look may stand: above it or below, as near
# as leaves the other numbers free.
DIGIT, LETTER = 10.0, 15.0
NUMBER_AT = (-6.0, 18.0, -22.0, 34.0)


def curves_svg(curves: NightCurves, *, clock: Clock, title: str) -> str:
    """Draw altitudes as an SVG element for a page; colours come from the page's classes.

    Each target has a thin line, thick while it is looked at, with its number in the plan. The
    skyline is filled below a target that is alone, and a short line below each look of several.
    """
    box = f"{-LEFT:g} {-ABOVE:g} {LEFT + WIDTH + RIGHT:g} {ABOVE + HEIGHT + BELOW:g}"
    parts = [
        _dark_box(curves),
        _svg_skyline(curves),
        *(_level(degrees) for degrees in (0, 30, 60, 90)),
        *(_polylines("moon", curves.moon_deg)),
        *(line for curve in curves.curves for line in _polylines("course", curve.altitude_deg)),
        *_svg_looks(curves),
        _svg_now(curves),
        *_svg_times(curves, clock),
    ]
    return svg_element("night-curves", box, title, parts)


def _svg_looks(curves: NightCurves) -> list[str]:
    """Draw each look, its number, and the skyline below it; nothing where there is no look."""
    drawn, taken = [], list[tuple[float, float, float]]()
    for number, curve in enumerate(curves.curves, start=1):
        if curve.begin is None or curve.end is None:
            continue
        shares = np.linspace(curves.share(curve.begin), curves.share(curve.end), LOOK_POINTS)
        at = np.linspace(0.0, 1.0, len(curve.altitude_deg))
        heights = np.interp(shares, at, curve.altitude_deg)
        if curve.skyline_deg is not None and len(curves.curves) > 1:
            skyline = np.interp(shares, at, curve.skyline_deg)
            drawn.append(_polyline("skyline-there", shares, skyline))
        drawn.append(_polyline("look", shares, heights))
        x, line_y = float(shares.mean()) * WIDTH, _svg_y(float(heights.mean()))
        width = DIGIT * len(str(number))
        y = _free_y(x, line_y, width, taken)
        taken.append((x, y, width))
        drawn.append(svg_text(x, y, str(number)))
    return drawn


def _free_y(
    x: float, line_y: float, width: float, taken: Sequence[tuple[float, float, float]]
) -> float:
    """Return where a number can stand without touching another one; above its look for none."""
    for y in (line_y + step for step in NUMBER_AT):
        near = (abs(x - a) < (width + wide) / 2.0 and abs(y - b) < LETTER for a, b, wide in taken)
        if not any(near):
            return y
    return line_y + NUMBER_AT[0]


def _polyline(kind: str, shares: Floats, altitude_deg: Floats) -> str:
    points = " ".join(
        f"{share * WIDTH:.1f},{_svg_y(float(height)):.1f}"
        for share, height in zip(shares, altitude_deg, strict=True)
    )
    return f'<polyline class="{kind}" points="{points}"/>'


def _polylines(kind: str, altitude_deg: Floats) -> list[str]:
    """Draw the parts of a line that are above the horizon, cut off where it meets that."""
    fine = np.linspace(0.0, 1.0, 4 * len(altitude_deg) - 3)
    heights = np.interp(fine, np.linspace(0.0, 1.0, len(altitude_deg)), altitude_deg)
    return [
        _polyline(kind, fine[first:end], heights[first:end])
        for first, end in runs_of(heights >= 0.0)
        if end - first > 1
    ]


def _svg_y(altitude_deg: float) -> float:
    return HEIGHT * (1.0 - altitude_deg / HIGHEST_DEG)


def _dark_box(curves: NightCurves) -> str:
    if curves.dark_start is None or curves.dark_end is None:
        return ""
    first = max(curves.share(curves.dark_start), 0.0) * WIDTH
    last = min(curves.share(curves.dark_end), 1.0) * WIDTH
    width = max(last - first, 0.0)
    return f'<rect class="darkness" x="{first:.1f}" y="0" width="{width:.1f}" height="{HEIGHT:g}"/>'


def _svg_skyline(curves: NightCurves) -> str:
    if curves.skyline_deg is None:
        return ""
    shares = np.linspace(0.0, 1.0, len(curves.skyline_deg))
    tops = np.maximum(curves.skyline_deg, 0.0)
    closed = (np.concatenate([[0.0], shares, [1.0]]), np.concatenate([[0.0], tops, [0.0]]))
    return _polyline("skyline", *closed)


def _svg_now(curves: NightCurves) -> str:
    if curves.now is None or not 0.0 <= curves.share(curves.now) <= 1.0:
        return ""
    return f'<path class="now" d="M {curves.share(curves.now) * WIDTH:.1f} 0 V {HEIGHT:g}"/>'


def _level(degrees: int) -> str:
    y = _svg_y(degrees)
    line = f'<path class="level" d="M 0 {y:.1f} H {WIDTH:g}"/>'
    return line + svg_text(-4.0, y + 4.0, str(degrees), anchor="end")


def _svg_times(curves: NightCurves, clock: Clock) -> list[str]:
    """Write full hours, as many as there is room for."""
    hours = _full_hours(curves)
    return [
        svg_text(curves.share(hour) * WIDTH, HEIGHT + 16.0, clock(hour))
        for hour in hours[:: -(-len(hours) // MOST_HOURS) or 1]
    ]
