"""A programme as a page: its nights, and its targets in the sky by month."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from planner.model.site import Site
from planner.output.pages.page import DARK_CAUTION, page
from planner.output.text.programme import (
    ADVICE,
    leaving_words,
    look_name,
    night_words,
    summary_words,
)
from planner.output.words import MONTHS, SUN_CAUTION, clock
from planner.planning.outlook.programme import NightsToFinish
from targets.frozen import frozen
from targets.model import Target

# The picture of the sky, in its own units.
WIDTH, HEIGHT, MARGIN = 800.0, 420.0, 30.0
LATITUDE_DEG = 90.0
# Sidereal time at 22:00 local mean time on 1 January [deg]: the mean Sun stands at 18 h 42 m of
# right ascension then (Astronomical Almanac, section B: GMST at 0 h is 6 h 42 m), and ten hours on
# is the meridian.
JANUARY_EVENING_DEG = (18.7 + 10.0) * 15.0 - 360.0


@frozen
class _Mark:
    """A target in the picture: ``state`` is ``seen``, ``planned`` or ``out``."""

    x: float
    y: float
    state: str
    number: int | None
    name: str


def programme_html(
    programme: NightsToFinish,
    *,
    title: str,
    site: Site,
    seen: Sequence[Target],
    clear_share: float | None,
) -> str:
    """Write a programme as a page that stands alone.

    Parameters
    ----------
    title : str
        What the list is called.
    seen : sequence of Target
        What of the list the journal has as seen.
    clear_share : float or None
        The chance, 0 .. 1, that a night is clear.
    """
    months = [(_x(number / 12.0), name) for number, name in enumerate(MONTHS)]
    declinations = [(_y(dec), f"{dec:+.0f}") for dec in range(-60, 61, 30)]
    return page(
        "programme.html.j2",
        cautions=(SUN_CAUTION, DARK_CAUTION),
        title=title,
        summary=summary_words(programme, title=title, site=site, seen=len(seen)),
        nights=[
            (
                night_words(number, night, clear_share),
                [
                    (clock(look.start, site), look_name(look), f"{look.altitude_deg:.0f}")
                    for look in night.looks
                ],
            )
            for number, night in enumerate(programme.nights, start=1)
        ],
        leaving=leaving_words(programme.leaving) if programme.leaving else None,
        out_of_reach=[(one.target.name, one.why) for one in programme.out_of_reach],
        marks=list(_marks(programme, seen)),
        months=months,
        declinations=declinations,
        size=(WIDTH, HEIGHT, MARGIN),
        advice=ADVICE,
    )


def _marks(programme: NightsToFinish, seen: Sequence[Target]) -> Iterator[_Mark]:
    for target in seen:
        yield from _mark(target, "seen", None)
    for number, night in enumerate(programme.nights, start=1):
        for look in night.looks:
            for target in look.targets:
                yield from _mark(target, "planned", number)
    for one in programme.out_of_reach:
        yield from _mark(one.target, "out", None)


def _mark(target: Target, state: str, number: int | None) -> Iterator[_Mark]:
    """Mark a target; what moves has no place in a picture of the year."""
    if target.ra_deg is None or target.dec_deg is None or target.moves:
        return
    share = (target.ra_deg - JANUARY_EVENING_DEG) % 360.0 / 360.0
    yield _Mark(_x(share), _y(target.dec_deg), state, number, target.name)


def _x(year_share: float) -> float:
    return round(MARGIN + year_share * (WIDTH - 2.0 * MARGIN), 1)


def _y(dec_deg: float) -> float:
    share = (LATITUDE_DEG - dec_deg) / (2.0 * LATITUDE_DEG)
    return round(MARGIN + share * (HEIGHT - 2.0 * MARGIN), 1)
