"""The catalogue with more in it: targets of the user's own, and the user's notes."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from targets.catalogue.added import Added
from targets.catalogue.catalogue import COLUMNS, Catalogue
from targets.model import Target


def with_targets(catalogue: Catalogue, targets: Iterable[Target]) -> Catalogue:
    """Put targets after those of a catalogue; see `with_added`."""
    known = _keys(catalogue)
    return with_added(catalogue, Added.of(one for one in targets if one.id.casefold() not in known))


def with_added(catalogue: Catalogue, added: Added) -> Catalogue:
    """Put targets after those of a catalogue.

    Parameters
    ----------
    catalogue : Catalogue
        Not changed; the very same is given back when there is nothing to add.
    added : Added
        Of fixed place, or with elements. One whose identifier is there already is left out.

    Returns
    -------
    Catalogue
        With the same indices for what was there; the new targets are found by identifier, name
        and aliases wherever the catalogue has no such name.
    """
    known = _keys(catalogue) if len(added) else set()
    first_of: dict[str, int] = {}
    for place, identifier in enumerate(added.ids):
        key = identifier.casefold()
        if key not in known:
            first_of.setdefault(key, place)
    if not first_of:
        return catalogue
    news = added if len(first_of) == len(added) else added.of_places(list(first_of.values()))
    del known, first_of
    first, texts = len(catalogue), catalogue.texts
    ids = (*catalogue.ids, *news.ids)
    names = [(name, first + place) for name, place in news.all_names()]
    notes = {first + place: note for place, note in enumerate(news.notes) if note}
    columns: dict[str, Any] = {
        name: np.concatenate([getattr(catalogue, name), news.column(name)]) for name in COLUMNS
    }
    return replace(
        catalogue,
        ids=ids,
        **columns,
        texts=replace(
            texts,
            ids=ids,
            names=[*texts.names, *names],
            labels=dict(texts.labels) | dict(enumerate(news.names, first)),
            own_note=texts.own_note | notes,
        ),
        elements=dict(catalogue.elements)
        | {first + place: elements for place, elements in news.elements.items()},
    )


def with_notes(catalogue: Catalogue, notes: Mapping[int, str]) -> Catalogue:
    """Put a user's notes beside those of the catalogue.

    Parameters
    ----------
    catalogue : Catalogue
        Not changed.
    notes : mapping of int to str
        By the index of the target; empty ones are passed over.
    """
    said = {index: note for index, note in notes.items() if note}
    if not said:
        return catalogue
    return replace(
        catalogue, texts=replace(catalogue.texts, own_note=catalogue.texts.own_note | said)
    )


def _keys(catalogue: Catalogue) -> set[str]:
    """Return the identifiers of a catalogue, in capitals or not."""
    return {identifier.casefold() for identifier in catalogue.ids}
