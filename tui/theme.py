"""The two faces: deep red on black for dark-adapted eyes, and one for planning by day."""

from __future__ import annotations

from functools import lru_cache

from rich.color import Color as RichColor
from rich.color_triplet import ColorTriplet
from rich.segment import Segment
from rich.style import Style
from textual.color import Color
from textual.filter import LineFilter
from textual.theme import Theme

NIGHT, DAY = "fieldstop-night", "fieldstop-day"
# The brightest red of the night face by its steps of brightness, 0 .. 255; nothing else shines.
STEPS = (70, 95, 120, 150, 180)
USUAL_STEP = 3
BLACK = ColorTriplet(0, 0, 0)
ANSI_BLACK, ANSI_RED = RichColor.from_ansi(0), RichColor.from_ansi(1)


def themes() -> tuple[Theme, Theme]:
    """Return both faces for the screens."""
    night = Theme(
        NIGHT,
        primary="#960000",
        secondary="#960000",
        warning="#b40000",
        error="#b40000",
        success="#960000",
        accent="#b40000",
        foreground="#b40000",
        background="#000000",
        surface="#000000",
        panel="#3c0000",
        boost="#140000",
        dark=True,
        luminosity_spread=0.0,
        text_alpha=1.0,
        variables={"block-cursor-text-style": "none", "input-selection-background": "#500000"},
    )
    day = Theme(
        DAY,
        primary="#1f3d5c",
        secondary="#3c5a3c",
        warning="#7a4b00",
        error="#8a1010",
        success="#23552b",
        accent="#5c2f66",
        foreground="#101010",
        background="#f4f1e8",
        surface="#f4f1e8",
        panel="#dcd6c6",
        boost="#e8e3d6",
        dark=False,
    )
    return night, day


class NightFilter(LineFilter):
    """Turns every colour into a red no brighter than a limit: whatever is drawn, by whom ever.

    Parameters
    ----------
    limit : int
        Of the red, 0 .. 255; green and blue are always 0.
    few_colours : bool
        Whether the terminal has 16 colours, of which one is a red dark enough: dark reds would
        come out as black on black.
    """

    def __init__(self, limit: int, *, few_colours: bool = False) -> None:
        super().__init__()
        self.limit, self.few_colours = limit, few_colours

    def apply(self, segments: list[Segment], background: Color) -> list[Segment]:
        """Recolour a line."""
        del background
        return [
            Segment(text, self._style(style or Style.null()), control)
            for text, style, control in segments
        ]

    def _style(self, style: Style) -> Style:
        return plain_red(style) if self.few_colours else red_style(style, self.limit)


class PlainFilter(LineFilter):
    """Takes all colours away, for those who ask for none: marks and letters tell all."""

    def apply(self, segments: list[Segment], background: Color) -> list[Segment]:
        """Leave the terminal's own colours."""
        del background
        return [
            Segment(text, style.without_color if style else style, control)
            for text, style, control in segments
        ]


@lru_cache(4096)
def red_style(style: Style, limit: int) -> Style:
    """Return a style in reds up to a limit; without colours of its own it is red on black."""
    fore = _red(style.color, limit, fallback=limit)
    back = _red(style.bgcolor, limit, fallback=0)
    if style.reverse:
        fore, back = back, fore
    return _dressed(style, RichColor.from_triplet(fore), RichColor.from_triplet(back))


def plain_red(style: Style) -> Style:
    """Return a style in the red and the black that every terminal with colours has."""
    return _dressed(style, ANSI_RED, ANSI_BLACK)


def _dressed(style: Style, fore: RichColor, back: RichColor) -> Style:
    return style + Style(color=fore, bgcolor=back, reverse=False, blink=False, bold=False)


def _red(color: RichColor | None, limit: int, *, fallback: int) -> ColorTriplet:
    if color is None or color.is_default:
        return ColorTriplet(fallback, 0, 0) if fallback else BLACK
    brightest = max(color.get_truecolor())
    return ColorTriplet(min(round(brightest * limit / 180), limit), 0, 0)
