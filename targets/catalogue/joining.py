"""The catalogue with more in it: targets of the user's own, and the user's notes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from targets.catalogue.catalogue import COLUMNS, Catalogue
from targets.catalogue.values import KINDS, ORIGINS
from targets.model import Target


def with_targets(catalogue: Catalogue, targets: Sequence[Target]) -> Catalogue:
    """Put targets after those of a catalogue.

    Parameters
    ----------
    catalogue : Catalogue
        Not changed; the very same is given back when there is nothing to add.
    targets : sequence of Target
        Of fixed place, or with elements. One whose identifier is there already is left out.

    Returns
    -------
    Catalogue
        With the same indices for what was there; the new targets are found by identifier, name
        and aliases wherever the catalogue has no such name.
    """
    known = {identifier.casefold() for identifier in catalogue.ids}
    added: dict[str, Target] = {}
    for target in targets:
        if target.id.casefold() not in known:
            added.setdefault(target.id.casefold(), target)
    if not added:
        return catalogue
    news, first = list(added.values()), len(catalogue)
    columns: dict[str, Any] = {
        name: np.concatenate([getattr(catalogue, name), _column(news, name)]) for name in COLUMNS
    }
    texts, indices = catalogue.texts, range(first, first + len(news))
    ids = (*catalogue.ids, *(target.id for target in news))
    names = [
        (name, index)
        for index, target in zip(indices, news, strict=True)
        for name in dict.fromkeys((target.name, *target.aliases))
    ]
    own_notes = {i: t.own_note for i, t in zip(indices, news, strict=True) if t.own_note}
    return replace(
        catalogue,
        ids=ids,
        **columns,
        texts=replace(
            texts,
            ids=ids,
            names=[*texts.names, *names],
            labels=dict(texts.labels) | {i: t.name for i, t in zip(indices, news, strict=True)},
            own_note=texts.own_note | own_notes,
        ),
        elements=dict(catalogue.elements)
        | {i: t.elements for i, t in zip(indices, news, strict=True) if t.elements is not None},
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
    return replace(catalogue, texts=replace(catalogue.texts, own_note=said))


def _column(targets: Sequence[Target], name: str) -> NDArray[Any]:
    """Return one column of the catalogue for some targets; a body that moves has no place in it."""
    if name == "kind_code":
        return np.array([KINDS.index(target.kind) for target in targets], dtype=np.int8)
    if name in {"size_origin_code", "magnitude_origin_code"}:
        origins = [getattr(target, name.removesuffix("_code")) for target in targets]
        return np.array([ORIGINS.index(origin) for origin in origins], dtype=np.int8)
    if name == "constellation":
        return np.array([target.constellation or "" for target in targets], dtype="<U3")
    values = [
        None if target.moves and name in {"ra_deg", "dec_deg"} else getattr(target, name)
        for target in targets
    ]
    return np.array([np.nan if value is None else value for value in values], dtype=float)
