"""Observing programmes: plain lists of catalogue facts to work through over months."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import field

import numpy as np
from numpy.typing import NDArray

from targets.catalogue.catalogue import Catalogue
from targets.frozen import frozen
from targets.model import Kind

Rows = NDArray[np.intp]

# Planetaries down to this magnitude, with a known size: within reach of 100 mm (our choice).
PLANETARY_LIMIT_MAG = 11.5
# The pairs that observers show to visitors.
SHOWPIECE_RATING = 5

# Easy, bright, and each of another sort than its neighbours; the season is that of its best
# evenings in the north, the other half year's in the south. The selection is ours.
FIRST_LIGHT = {
    "spring": ("NGC2632", "NGC3031", "gammaLeo", "NGC5194", "NGC5272"),
    "summer": ("NGC6205", "NGC6720", "betaCyg", "NGC6853", "NGC6705"),
    "autumn": ("NGC7078", "NGC224", "C14", "gammaAnd", "NGC457"),
    "winter": ("M45", "NGC1976", "NGC2168", "gammaLep", "NGC2287"),
}


@frozen
class Programme:
    """A programme.

    Parameters
    ----------
    name : str
        By which it is asked for.
    title : str
        What it is, in a few words.
    rows : callable
        Gives its targets as rows of the catalogue, in their order.
    notes : mapping of str to str
        What is said of single targets, by their identifiers.
    """

    name: str
    title: str
    rows: Callable[[Catalogue], Rows]
    notes: Mapping[str, str] = field(default_factory=dict)


def bright_planetaries(catalogue: Catalogue) -> Rows:
    """Return planetary nebulae down to `PLANETARY_LIMIT_MAG`, the brightest first."""
    rows = np.flatnonzero(
        catalogue.of_kind(Kind.PLANETARY_NEBULA)
        & (catalogue.magnitude <= PLANETARY_LIMIT_MAG)
        & ~np.isnan(catalogue.major_arcmin)
    )
    return rows[np.argsort(catalogue.magnitude[rows], kind="stable")]


def showpiece_doubles(catalogue: Catalogue) -> Rows:
    """Return the finest pairs in order of right ascension."""
    rows = np.flatnonzero(
        catalogue.of_kind(Kind.DOUBLE_STAR) & (catalogue.visual_rating >= SHOWPIECE_RATING)
    )
    return rows[np.argsort(catalogue.ra_deg[rows], kind="stable")]


def first_light(catalogue: Catalogue) -> Rows:
    """Return twenty easy targets, five for each season."""
    ids = [identifier for season in FIRST_LIGHT.values() for identifier in season]
    return np.array([catalogue.index_of(identifier) for identifier in ids], dtype=np.intp)


PROGRAMMES = {
    programme.name: programme
    for programme in (
        Programme("messier", "the 110 objects of Messier's list", Catalogue.messier),
        Programme("caldwell", "109 more, the Caldwell list", Catalogue.caldwell),
        Programme(
            "bright-planetaries",
            f"planetary nebulae down to magnitude {PLANETARY_LIMIT_MAG:g}",
            bright_planetaries,
        ),
        Programme("showpiece-doubles", "the finest double stars", showpiece_doubles),
        Programme(
            "first-light",
            "twenty easy targets, five for each season",
            first_light,
            {
                identifier: f"evenings of the northern {season}"
                for season, ids in FIRST_LIGHT.items()
                for identifier in ids
            },
        ),
    )
}
