"""Finds targets while their name is still being typed."""

from __future__ import annotations

from contextlib import suppress
from functools import cache

from targets.catalogue.catalogue import Catalogue, load_catalogue
from targets.naming.designations import name_key


@cache
def _names() -> tuple[tuple[str, int], ...]:
    """Return a key for each name and number of the catalogue, with its row."""
    catalogue = load_catalogue()
    pairs = [(name_key(catalogue.ids[row]), row) for row in range(len(catalogue))]
    pairs += [(name_key(catalogue.texts.name(row)), row) for row in catalogue.texts.titles]
    for row in catalogue.messier():
        pairs.append((name_key(catalogue.texts.name(int(row)).split(" ")[0]), int(row)))
    return tuple(pairs)


def matching_rows(catalogue: Catalogue, text: str, *, most: int = 8) -> tuple[int, ...]:
    """Find targets by a part of a name.

    Parameters
    ----------
    text : str
        What is typed so far; case, blanks and hyphens make no difference.
    most : int
        How many to give.

    Returns
    -------
    tuple of int
        Rows: what is called exactly so first, then what begins so, then what has it inside; named
        and bright ones first among equals.
    """
    key = name_key(text)
    if not key:
        return ()
    found: dict[int, tuple[int, int, float]] = {}
    with suppress(LookupError):
        found[catalogue.find_index(text)] = (0, 0, 0.0)
    own = range(len(load_catalogue()), len(catalogue))  # what a user has added comes last
    added = [(name_key(catalogue.texts.name(row)), row) for row in own]
    for name, row in (*_names(), *added):
        place = name.find(key)
        if place < 0:
            continue
        rank = (
            1 if place == 0 else 2,
            0 if row in catalogue.texts.titles else 1,
            _faintness(catalogue, row),
        )
        found[row] = min(found.get(row, rank), rank)
    return tuple(sorted(found, key=lambda row: (found[row], row))[:most])


def _faintness(catalogue: Catalogue, row: int) -> float:
    magnitude = float(catalogue.magnitude[row])
    return magnitude if magnitude == magnitude else 99.0  # noqa: PLR0124  # nan
