"""Double, red and variable stars of the project's own tables, as rows of what is added."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

from targets.double_stars.orbits import Orbit
from targets.frozen import frozen
from targets.proper_motion import ProperMotion
from targets.tables import Row, Tables

PAIR_TYPE = "**"
STAR_TYPE = "Star"
ARCMIN_DIGITS = 6  # finer than a hundredth of a second of arc
_ELEMENTS = (
    "period_yr",
    "periastron_yr",
    "eccentricity",
    "semi_major_arcsec",
    "inclination_deg",
    "node_deg",
    "argument_deg",
)


@frozen
class StarFacts:
    """What only stars have; the fields are those of :class:`~targets.model.Target`."""

    epoch_yr: float | None = None
    orbit: Orbit | None = None
    magnitude_range: tuple[float, float] | None = None
    proper_motion: ProperMotion | None = None


def with_stars(tables: Tables) -> Tables:
    """Put the pairs and the other stars after the objects that the database lacks."""
    stars = (*map(pair_row, tables.pairs), *map(star_row, tables.stars))
    return replace(tables, extras=tables.extras + stars)


def pair_row(line: Row) -> Row:
    """Write a line of ``double_stars.csv`` as one of the objects that the database lacks.

    The separation becomes the major axis, and the light of both stars the magnitude.
    """
    both = combined_magnitude(float(line["v_mag_a"]), float(line["v_mag_b"]))
    return line | {
        "type": PAIR_TYPE,
        "major_arcmin": f"{float(line['separation_arcsec']) / 60.0:.{ARCMIN_DIGITS}f}",
        "minor_arcmin": "",
        "v_mag": repr(both),
        "size_source": line["separation_source"],
    }


def star_row(line: Row) -> Row:
    """Write a line of ``stars.csv`` in the same way; the magnitude is the middle of the range."""
    return line | {
        "type": STAR_TYPE,
        "major_arcmin": "",
        "minor_arcmin": "",
        "pa_deg": "",
        "v_mag": f"{(float(line['v_max']) + float(line['v_min'])) / 2.0:.2f}",
        "size_source": "",
        "mag_source": f"{line['mag_source']}; middle of the range",
    }


def combined_magnitude(first_mag: float, second_mag: float) -> float:
    """Return the magnitude of two stars together (Pogson's scale)."""
    return -2.5 * math.log10(10.0 ** (-0.4 * first_mag) + 10.0 ** (-0.4 * second_mag))


def star_facts(tables: Tables, first_extra: int) -> Mapping[int, StarFacts]:
    """Collect epochs, orbits, ranges and motions by the index of the target.

    Parameters
    ----------
    tables : Tables
        From :func:`with_stars`.
    first_extra : int
        Index of the first added object.
    """
    elements = {line["id"]: orbit_of(line) for line in tables.orbits}
    return {
        index: StarFacts(
            epoch_yr=float(line["epoch_yr"]) if line.get("epoch_yr") else None,
            orbit=elements.get(line["id"]),
            magnitude_range=_range(line),
            proper_motion=_motion(line),
        )
        for index, line in enumerate(tables.extras, start=first_extra)
        if line["type"] in (PAIR_TYPE, STAR_TYPE)
    }


def orbit_of(line: Row) -> Orbit:
    """Read the elements of one line of ``double_orbits.csv``."""
    return Orbit(**{name: float(line[name]) for name in _ELEMENTS})


def _range(line: Row) -> tuple[float, float] | None:
    return (float(line["v_max"]), float(line["v_min"])) if line.get("v_max") else None


def _motion(line: Row) -> ProperMotion | None:
    if not line.get("pm_ra_mas_yr"):
        return None
    return ProperMotion(float(line["pm_ra_mas_yr"]), float(line["pm_dec_mas_yr"]))
