"""Parts of the sky by the names that observers use: ``west, low``."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from planner.session.state import Closure
from targets.arrays import Flags, Floats

ALL_SKY = "all"
# Azimuths [deg], from and to, clockwise.
DIRECTIONS: dict[str, tuple[float, float]] = {
    "N": (337.5, 22.5),
    "NE": (22.5, 67.5),
    "E": (67.5, 112.5),
    "SE": (112.5, 157.5),
    "S": (157.5, 202.5),
    "SW": (202.5, 247.5),
    "W": (247.5, 292.5),
    "NW": (292.5, 337.5),
    "north half": (270.0, 90.0),
    "east half": (0.0, 180.0),
    "south half": (90.0, 270.0),
    "west half": (180.0, 360.0),
    ALL_SKY: (0.0, 360.0),
}
# Altitudes [deg], from and to.
BANDS: dict[str, tuple[float, float]] = {
    "low": (0.0, 30.0),
    "middle": (30.0, 60.0),
    "high": (60.0, 90.0),
    ALL_SKY: (0.0, 90.0),
}


def find_sector(direction: str, band: str) -> tuple[float, float, float, float] | str:
    """Return azimuths from and to, altitudes from and to [deg], or say what is wrong.

    Parameters
    ----------
    direction : str
        One of ``DIRECTIONS``.
    band : str
        One of ``BANDS``.
    """
    for name, table in ((direction, DIRECTIONS), (band, BANDS)):
        if name not in table:
            return (
                f'There is no part of the sky called "{name[:20]}"; known are {", ".join(table)}.'
            )
    return (*DIRECTIONS[direction], *BANDS[band])


def sector_words(closure: Closure) -> str:
    """Name the part of the sky that a cloud covers: ``W, low``; ``all sky``."""
    azimuths = closure.azimuth_from_deg, closure.azimuth_to_deg
    return part_words((*azimuths, closure.altitude_low_deg, closure.altitude_high_deg))


def part_words(sector: tuple[float, float, float, float]) -> str:
    """Name a part of the sky by its azimuths from and to, altitudes from and to [deg]."""
    azimuths, altitudes = sector[:2], sector[2:]
    direction = _name(DIRECTIONS, azimuths) or f"azimuth {azimuths[0]:.0f} to {azimuths[1]:.0f} deg"
    band = _name(BANDS, altitudes) or f"{altitudes[0]:.0f} to {altitudes[1]:.0f} deg up"
    if band == ALL_SKY:
        return "all sky" if direction == ALL_SKY else direction
    return f"all round, {band}" if direction == ALL_SKY else f"{direction}, {band}"


def _name(table: dict[str, tuple[float, float]], span: tuple[float, float]) -> str | None:
    return next((name for name, known in table.items() if known == span), None)


def inside(closure: Closure, azimuth_deg: Floats, altitude_deg: Floats) -> Flags:
    """Tell which places lie in a cloud sector.

    Parameters
    ----------
    azimuth_deg, altitude_deg : ndarray
        Of one shape [deg].

    Returns
    -------
    ndarray of bool
        Same shape. The lower ends belong to the sector, the upper ends to its neighbour.
    """
    first, last = closure.azimuth_from_deg, closure.azimuth_to_deg
    # From 0 to 360 is all round, and not nothing at all.
    width = (last - first) % 360.0 or 360.0
    toward = (azimuth_deg - first) % 360.0 < width
    low, high = closure.altitude_low_deg, closure.altitude_high_deg
    up = (altitude_deg >= low) & ((altitude_deg < high) | (high >= 90.0))
    return np.asarray(toward & up)


def without_sector(
    closure: Closure, sector: tuple[float, float, float, float]
) -> tuple[Closure, ...]:
    """Return what is left of a cloud when a part of the sky opens.

    Parameters
    ----------
    sector : tuple of float
        Azimuths from and to, altitudes from and to [deg], as `find_sector` gives them.

    Returns
    -------
    tuple of Closure
        The cloud itself where it does not reach into that part; none where the part holds it all.
    """
    first, last, low, high = sector
    start = closure.azimuth_from_deg
    width = (closure.azimuth_to_deg - start) % 360.0 or 360.0
    begin, length = (first - start) % 360.0, (last - first) % 360.0 or 360.0
    # The part may reach into the cloud at its beginning, at its end, or at both.
    spans = [(max(b, 0.0), min(b + length, width)) for b in (begin - 360.0, begin)]
    shared = [(a, b) for a, b in spans if b > a]
    overlaps = closure.altitude_low_deg < high and low < closure.altitude_high_deg
    if not shared or not overlaps:
        return (closure,)
    edges = [0.0, *(edge for span in shared for edge in span), width]
    apart = [(a, b) for a, b in zip(edges[::2], edges[1::2], strict=True) if b > a]
    sides = [_part(closure, span) for span in apart]
    below = [
        _part(closure, span, altitude_high_deg=low)
        for span in shared
        if low > closure.altitude_low_deg
    ]
    above = [
        _part(closure, span, altitude_low_deg=high)
        for span in shared
        if high < closure.altitude_high_deg
    ]
    return (*sides, *below, *above)


def _part(closure: Closure, span: tuple[float, float], **altitudes: float) -> Closure:
    """Return a part of a cloud: by degrees after where it begins, in other altitudes."""
    first, last = ((closure.azimuth_from_deg + edge) % 360.0 for edge in span)
    return replace(
        closure,
        azimuth_from_deg=first,
        azimuth_to_deg=last or 360.0,
        **altitudes,  # type: ignore[arg-type]
    )
