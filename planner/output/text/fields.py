"""Fields and altitude curves as text beside the numbers of a look."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import zip_longest
from typing import TYPE_CHECKING

from planner.ephemeris.kernel import Ephemeris
from planner.model.kit import Train, train_words
from planner.model.plan import View
from planner.model.site import Site
from planner.output.appearance.shades import WIDE, shade_cells
from planner.output.appearance.views import appearances
from planner.output.appearance.words import MODEL, SCALE, limit_words
from planner.output.drawing.curves import curve_cells
from planner.output.drawing.field import ViewedSky, draw_field, wants_close_up
from planner.output.drawing.finding import WayDrawing, draw_way
from planner.output.drawing.marks import FieldDrawing
from planner.output.drawing.night_curves import target_curves
from planner.output.drawing.terminal import field_cells, length_words, scale_words
from planner.output.words import clock
from planner.planning.circumstances import Circumstances
from planner.planning.look import LookReport
from planner.text import fit, wrap

if TYPE_CHECKING:
    from planner.advice.results import Gain

GAP = "  "
# Two or three drawings beside each other on 80 columns, and their rows.
TWO_WIDE, THREE_WIDE = 38, 25
CURVE_ROWS = 12
MOST_FIELDS = 3
# A candidate beside the best train of today.
GAIN_WIDE, GAIN_GAP = 30, "   "


def look_drawings(
    report: LookReport,
    circumstances: Circumstances,
    ephemeris: Ephemeris,
    *,
    count: int,
    unicode: bool,
) -> list[str]:
    """Draw the field of the best eyepieces, and the target's way through the night.

    Parameters
    ----------
    report : LookReport
        With views; without any there is nothing to draw.
    count : int
        How many eyepieces to draw, 0 to 3; with 1 a small target is enlarged beside it.
    unicode : bool
        Whether dots may be drawn, or ASCII alone.

    Returns
    -------
    list of str
        Lines of at most 80 cells.
    """
    if not report.views or count == 0:
        return []
    site = report.night.site
    circumstance = ViewedSky(ephemeris, site, report.at, circumstances.conditions)
    views = different_eyepieces(report.views, count)
    trains = [view.train for view in views]
    drawn = [(_title(t), draw_field(report.target, t, circumstance)) for t in trains]
    if count == 1 and wants_close_up(report.target, views[0].train):
        close = draw_field(report.target, views[0].train, circumstance, close_up=True)
        drawn.append((f"enlarged, {length_words(close.span_arcmin)} wide", close))
    width = TWO_WIDE if len(drawn) < MOST_FIELDS else THREE_WIDE
    blocks = [_block(title, drawing, width, unicode=unicode) for title, drawing in drawn]
    return [
        "",
        *_beside(blocks, width),
        *_legend(drawn[0][1]),
        "",
        *_curves(report, ephemeris, unicode),
    ]


def view_shades(
    report: LookReport,
    circumstances: Circumstances,
    ephemeris: Ephemeris,
    *,
    count: int,
    unicode: bool,
) -> list[str]:
    """Show in shades how the target will look in the best eyepieces, to one scale.

    Parameters and result as for `look_drawings`.
    """
    views = different_eyepieces(report.views, count)
    if not views:
        return []
    circumstance = ViewedSky(ephemeris, report.night.site, report.at, circumstances.conditions)
    width = TWO_WIDE if len(views) < MOST_FIELDS else THREE_WIDE
    seen = appearances(
        report.target,
        [view.train for view in views],
        circumstance,
        circumstances.preferences,
        widest_cells=WIDE * width,
    )
    blocks = [[_title(one.train), *shade_cells(one, unicode=unicode)] for one in seen]
    words = f"{MODEL} {SCALE} {limit_words(report.target, seen)}"
    return ["", "As it will look", *_beside(blocks, width), *wrap(words)]


def way_drawings(
    report: LookReport, circumstances: Circumstances, ephemeris: Ephemeris, *, unicode: bool
) -> list[str]:
    """Draw the way to a target: the sky around it and the field of each move, two in a row.

    Parameters and result as for `look_drawings`; nothing where there is no way.
    """
    drawn = draw_way(report, ephemeris, circumstances)
    blocks = [_block(way.title, way.field, TWO_WIDE, unicode=unicode) for way in drawn]
    lines: list[str] = []
    for first in range(0, len(blocks), 2):
        lines += ["", *_beside(blocks[first : first + 2], TWO_WIDE)]
    return [*lines, *(_way_legend(drawn[1:]) if len(drawn) > 1 else [])]


def _way_legend(moves: Sequence[WayDrawing]) -> list[str]:
    """Say how the fields of the moves are turned, each of several instruments, and how deep."""
    turned: dict[str, list[str]] = {}
    for number, move in enumerate(moves, start=1):
        turned.setdefault(move.field.words, []).append(str(number))
    fields = (
        f"the fields {next(iter(turned))}"
        if len(turned) == 1
        else "; ".join(f"field {' and '.join(n)} {words}" for words, n in turned.items())
    )
    words = (
        f"The sky is drawn as the eye sees it, zenith above; {fields}. An arrow is a move, the "
        "circle at its end the field of the lowest power."
    )
    beyond = [move.field for move in moves if move.field.limit_mag is not None]
    if beyond:
        words += f" {star_words(beyond[0])}"
    return wrap(words)


def _legend(drawing: FieldDrawing) -> list[str]:
    words = f"As seen in the eyepiece: {drawing.words}; {drift_words(drawing)}."
    return wrap(f"{words} {star_words(drawing)}")


def _curves(report: LookReport, ephemeris: Ephemeris, unicode: bool) -> list[str]:  # noqa: FBT001
    site = report.night.site
    curves = target_curves(report.target, ephemeris, report.night, now=report.at)
    skyline = "" if curves.skyline_deg is None else ", grey skyline"
    legend = (
        f"Altitude: line target, dots Moon{skyline}, bar {clock(report.at, site)}, # full darkness"
    )
    return [
        *wrap(legend),
        *curve_cells(
            curves,
            columns=2 * TWO_WIDE,
            rows=CURVE_ROWS,
            clock=lambda instant: clock(instant, site),
            unicode=unicode,
        ),
    ]


def different_eyepieces(views: Sequence[View], count: int) -> list[View]:
    """Return the best view in each of the best eyepieces, without those that cannot be used."""
    best: dict[str, View] = {}
    for view in views:
        if view.train.usable:
            best.setdefault(view.train.eyepiece.name, view)
    return list(best.values())[:count]


def drift_words(drawing: FieldDrawing) -> str:
    """Say where stars leave the field of a telescope that stands still, as on a clock's face."""
    hour = round((90.0 - drawing.drift_deg) / 30.0) % 12 or 12
    when = "with the drive off, " if drawing.is_driven else ""
    return f"{when}stars drift toward {hour} o'clock"


def star_words(drawing: FieldDrawing) -> str:
    """Say how faint the stars are that are drawn, in a sentence; nothing where there are none."""
    if drawing.faintest_mag is None:
        return ""
    drawn = f"Stars are drawn to magnitude {drawing.faintest_mag:.0f}"
    if drawing.limit_mag is None or round(drawing.limit_mag) <= round(drawing.faintest_mag):
        return f"{drawn}."
    return f"{drawn}, where the star file ends; the eyepiece shows them to {drawing.limit_mag:.0f}."


def _title(train: Train) -> str:
    return f"{train_words(train)}, {train.magnification:.0f}x"


def _block(title: str, drawing: FieldDrawing, width: int, *, unicode: bool) -> list[str]:
    cells = field_cells(drawing, columns=width, rows=width // 2, unicode=unicode)
    return [title, *cells, scale_words(drawing, columns=width)]


def _beside(blocks: Sequence[Sequence[str]], width: int, gap: str = GAP) -> list[str]:
    return [
        gap.join(fit(line, width) for line in lines).rstrip()
        for lines in zip_longest(*blocks, fillvalue="")
    ]


def gain_drawings(
    gains: Sequence[Gain],
    circumstances: Circumstances,
    ephemeris: Ephemeris,
    site: Site,
    *,
    unicode: bool,
) -> list[str]:
    """Draw each target in the present best train and in the new one, to scale.

    Parameters
    ----------
    gains : sequence of Gain
        Those without a place in the sky, or without a present train, are drawn as far as they can.
    unicode : bool
        Whether dots may be drawn, or ASCII alone.

    Returns
    -------
    list of str
        Lines of at most 80 cells.
    """
    lines: list[str] = []
    for gain in gains:
        if gain.target.ra_deg is None:
            continue
        circumstance = ViewedSky(ephemeris, site, gain.instant, circumstances.conditions)
        trains = [train for train in (gain.present, gain.train) if train is not None]
        drawn = [(_title(train), draw_field(gain.target, train, circumstance)) for train in trains]
        blocks = [_block(title, field, GAIN_WIDE, unicode=unicode) for title, field in drawn]
        lines += ["", gain.target.name, *_beside(blocks, GAIN_WIDE, GAIN_GAP)]
    return lines
