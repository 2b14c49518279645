"""Targets that a user has added, as columns: so that a million of them fit into the memory."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from targets.catalogue.columns import COLUMNS
from targets.catalogue.values import KINDS, ORIGINS
from targets.elements import Elements
from targets.frozen import frozen
from targets.model import Origin, Target

# What a target of a user's own may have besides names, kind and constellation.
NUMBERS = (
    "ra_deg", "dec_deg", "major_arcmin", "minor_arcmin", "position_angle_deg", "magnitude",
)  # fmt: skip
_ORIGIN_OF = {"size_origin_code": "major_arcmin", "magnitude_origin_code": "magnitude"}


@frozen
class Added:
    """Targets as columns; a ``Target`` is built when somebody asks for it.

    Parameters
    ----------
    ids, names, notes : list of str
        Identifiers, names as they are shown, and the user's words; N of each.
    columns : mapping of str to ndarray
        Those of `targets.catalogue.columns.COLUMNS` that are known, shape (N,).
    aliases : mapping of int to tuple of str
        Other names, by place.
    elements : mapping of int to Elements
        Of what moves, by place.
    """

    ids: list[str]
    names: list[str]
    notes: list[str]
    columns: Mapping[str, NDArray[Any]]
    aliases: Mapping[int, tuple[str, ...]] = field(default_factory=dict)
    elements: Mapping[int, Elements] = field(default_factory=dict)

    def __len__(self) -> int:
        """Count the targets."""
        return len(self.ids)

    @classmethod
    def of(cls, targets: Iterable[Target]) -> Added:
        """Put targets into columns."""
        some = list(targets)
        return cls(
            [target.id for target in some],
            [target.name for target in some],
            [target.own_note or "" for target in some],
            {name: _column(some, name) for name in COLUMNS},
            {i: tuple(target.aliases) for i, target in enumerate(some) if target.aliases},
            {i: t.elements for i, t in enumerate(some) if t.elements is not None},
        )

    def column(self, name: str) -> NDArray[Any]:
        """Return a column of the catalogue; unknown values where there is none."""
        if name in self.columns:
            return self.columns[name]
        if name in _ORIGIN_OF:
            known = ~np.isnan(self.column(_ORIGIN_OF[name]))
            codes = ORIGINS.index(Origin.UNKNOWN), ORIGINS.index(Origin.CATALOGUE)
            return np.where(known, codes[1], codes[0]).astype(np.int8)
        return np.full(len(self), np.nan)

    def of_places(self, places: Sequence[int] | NDArray[Any]) -> Added:
        """Return some of them."""
        at = np.asarray(places, dtype=np.intp)
        chosen = at.tolist()
        return Added(
            [self.ids[i] for i in chosen],
            [self.names[i] for i in chosen],
            [self.notes[i] for i in chosen],
            {name: values[at] for name, values in self.columns.items()},
            {n: self.aliases[i] for n, i in enumerate(chosen) if i in self.aliases},
            {n: self.elements[i] for n, i in enumerate(chosen) if i in self.elements},
        )

    def all_names(self) -> Iterator[tuple[str, int]]:
        """Return each name and alias with the place of its target."""
        if not self.aliases:
            return ((name, i) for i, name in enumerate(self.names))
        return (
            (name, i)
            for i, first in enumerate(self.names)
            for name in dict.fromkeys((first, *self.aliases.get(i, ())))
        )

    def target(self, place: int) -> Target:
        """Return one of the targets."""
        numbers: dict[str, Any] = {name: _known(self.column(name)[place]) for name in NUMBERS}
        return Target(
            id=self.ids[place],
            name=self.names[place],
            kind=KINDS[self.columns["kind_code"][place]],
            constellation=str(self.columns["constellation"][place]) or None,
            **numbers,
            size_origin=_origin(numbers["major_arcmin"]),
            magnitude_origin=_origin(numbers["magnitude"]),
            aliases=self.aliases.get(place, ()),
            own_note=self.notes[place] or None,
            elements=self.elements.get(place),
        )


def _column(targets: Sequence[Target], name: str) -> NDArray[Any]:
    """Return one column of the catalogue for some targets; a body that moves has no place in it."""
    if name == "kind_code":
        return np.array([KINDS.index(target.kind) for target in targets], dtype=np.int8)
    if name in _ORIGIN_OF:
        origins = [getattr(target, name.removesuffix("_code")) for target in targets]
        return np.array([ORIGINS.index(origin) for origin in origins], dtype=np.int8)
    if name == "constellation":
        return np.array([target.constellation or "" for target in targets], dtype="<U3")
    values = [
        None if target.moves and name in {"ra_deg", "dec_deg"} else getattr(target, name)
        for target in targets
    ]
    return np.array(values, dtype=float)


def _known(value: float) -> float | None:
    return None if value != value else float(value)  # noqa: PLR0124  # nan


def _origin(value: float | None) -> Origin:
    return Origin.UNKNOWN if value is None else Origin.CATALOGUE
