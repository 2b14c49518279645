"""The two faces: deep red on black for dark-adapted eyes, and one for planning by day."""

from __future__ import annotations

from contextlib import suppress
from functools import cache, lru_cache

from rich.color import Color as RichColor
from rich.color_triplet import ColorTriplet
from rich.segment import Segment
from rich.style import Style
from textual.color import Color
from textual.filter import LineFilter
from textual.theme import Theme

NIGHT, DAY = "fieldstop-night", "fieldstop-day"
# The brightest red of the night face by its steps of brightness, 0 .. 255; nothing else shines.
# The last is the least red with 4.5 to 1 on black, as letters need (WCAG 2.2, 1.4.3).
STEPS = (70, 110, 150, 190, 235)
USUAL_STEP = 4
# The ground of what is chosen, as a share of the letters' red: they stand out from it by 3 to 1.
GROUND = 70 / 235
# With 256 colours there are five reds; only the last has contrast enough, and its ground is the
# first. Reds of the palette by their numbers (common practice: xterm's cube of colours).
PALETTE = ((52, 95), (88, 135), (124, 175), (160, 215), (196, 255))
ANSI_BLACK, ANSI_RED, CUBE_BLACK = (RichColor.from_ansi(number) for number in (0, 9, 16))


def themes() -> tuple[Theme, Theme]:
    """Return both faces for the screens."""
    red = "#eb0000"
    night = Theme(
        NIGHT,
        primary=red,
        secondary=red,
        warning=red,
        error=red,
        success=red,
        accent=red,
        foreground=red,
        background="#000000",
        surface="#000000",
        panel="#460000",
        boost="#000000",
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
    """Turns every colour into a red no brighter than a step allows, whoever draws it.

    Letters have the step's red; what is set off by its ground has a darker one behind them.

    Parameters
    ----------
    step : int
        Of brightness, an index of `STEPS`.
    colours : str
        How many the terminal has, as rich names it: ``"truecolor"``, ``"256"``; any other has 16,
        of which one is a red bright enough.
    """

    def __init__(self, step: int, colours: str = "truecolor") -> None:
        super().__init__()
        self.step, self.colours = step, colours

    def apply(self, segments: list[Segment], background: Color) -> list[Segment]:
        """Recolour a line."""
        del background
        return [
            Segment(text, night_style(style or Style.null(), self.step, self.colours), control)
            for text, style, control in segments
        ]


def forget_closed_pages() -> None:
    """Let go of what the toolkit keeps of pages that are closed: their lines, painted.

    It looks up two colours by the page's own memory, and so keeps the last thousand of these.
    """
    with suppress(AttributeError, ImportError):  # not a part that is promised to stay
        from textual import _styles_cache  # noqa: PLC0415

        _styles_cache.StylesCache.get_inner_outer.cache_clear()


class PlainFilter(LineFilter):
    """Takes all colours away, for those who ask for none: marks and letters tell all."""

    def apply(self, segments: list[Segment], background: Color) -> list[Segment]:
        """Leave the terminal's own colours."""
        del background
        return [
            Segment(text, style.without_color if style else style, control)
            for text, style, control in segments
        ]


@cache
def night_filter(step: int, colours: str) -> NightFilter:
    """Return the filter of a step: one for all, with which the toolkit keeps recoloured lines."""
    return NightFilter(step, colours)


@cache
def plain_filter() -> PlainFilter:
    """Return the one that takes all colours away, as above."""
    return PlainFilter()


@lru_cache(4096)
def night_style(style: Style, step: int, colours: str) -> Style:
    """Return a style of the night face; without colours of its own it is red on black."""
    letters, ground = style.color, style.bgcolor
    if style.reverse:
        letters, ground = ground, letters
    is_set_off = _shines(ground, fallback=style.reverse or False)
    is_hidden = not _shines(letters, fallback=not style.reverse) and not is_set_off
    fore, back = (ANSI_BLACK, ANSI_BLACK) if is_hidden else _pair(step, colours, is_set_off)
    if colours == "truecolor":
        fore, back = (RichColor.from_triplet(c.get_truecolor()) for c in (fore, back))
    return style + Style(
        color=fore, bgcolor=back, reverse=False, blink=False, bold=False, dim=False
    )


def _pair(step: int, colours: str, is_set_off: bool) -> tuple[RichColor, RichColor]:  # noqa: FBT001
    """Return the colours of letters and of their ground."""
    if colours == "truecolor":
        limit = STEPS[step]
        ground = ColorTriplet(round(GROUND * limit) if is_set_off else 0, 0, 0)
        return RichColor.from_triplet(ColorTriplet(limit, 0, 0)), RichColor.from_triplet(ground)
    has_cube = colours == "256"
    red = RichColor.from_ansi(PALETTE[step][0]) if has_cube else ANSI_RED
    black = CUBE_BLACK if has_cube else ANSI_BLACK
    if not is_set_off:
        return red, black
    if has_cube and step == len(PALETTE) - 1:
        return red, RichColor.from_ansi(PALETTE[0][0])
    return black, red


def _shines(color: RichColor | None, *, fallback: bool) -> bool:
    """Whether a colour is another than black."""
    if color is None or color.is_default:
        return fallback
    return max(color.get_truecolor()) > 0
