"""Long lists as text: a line for what the list is, then lines of columns, some rows in each."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from itertools import chain
from math import isnan
from typing import Any

import numpy as np

from targets.arrays import Floats
from targets.catalogue.added import NUMBERS, Added
from targets.catalogue.values import KINDS
from targets.characters import harmless
from targets.files import slices, watched
from targets.userlists.cells import FIXED_KINDS
from targets.userlists.records import Entries

SCHEMA = "fieldstop.list/2"
BOUNDS = {
    "ra_deg": (0.0, 360.0),
    "dec_deg": (-90.0, 90.0),
    "major_arcmin": (0.0, 10_800.0),
    "minor_arcmin": (0.0, 10_800.0),
    "position_angle_deg": (0.0, 360.0),
    "magnitude": (-30.0, 30.0),
}
_CODES = {str(kind): KINDS.index(kind) for kind in FIXED_KINDS}
_OF_THE_CATALOGUE = ""


def block_lines(about: Mapping[str, Any], entries: Entries) -> Iterator[str]:
    """Write a list of fixed targets, a line at a time.

    Parameters
    ----------
    about : mapping
        What is to be said of the list; the schema and the count are added.
    entries : Entries
    """
    yield json.dumps({"schema": SCHEMA, **about, "count": len(entries)}) + "\n"
    for rows in watched(slices(len(entries)), "Writing"):
        yield json.dumps(_block(entries, rows), allow_nan=False) + "\n"


def _block(entries: Entries, rows: slice) -> dict[str, list[Any]]:
    places = entries.places[rows].tolist()
    some = entries.own.of_places([place for place in places if place >= 0])
    codes = iter(some.columns["kind_code"].tolist())
    kind = [str(KINDS[next(codes)]) if place >= 0 else _OF_THE_CATALOGUE for place in places]
    block: dict[str, list[Any]] = {
        "id": entries.ids[rows],
        "note": entries.notes[rows],
        "kind": kind,
        # A name that is the identifier need not be written twice.
        "name": [
            None if name == identifier else name
            for name, identifier in zip(some.names, some.ids, strict=True)
        ],
        "constellation": some.columns["constellation"].tolist(),
    }
    for name in NUMBERS:
        numbers = some.column(name).tolist()
        block[name] = [None if isnan(number) else number for number in numbers]
    return block


def entries_of(lines: Sequence[str], count: int) -> Entries:
    """Read the lines of `block_lines` below the first.

    Parameters
    ----------
    lines : sequence of str
    count : int
        Of the targets, as the first line tells it.

    Raises
    ------
    KeyError, TypeError, ValueError
        When they are not as they were written.
    """
    parts = [_entries(json.loads(line)) for line in watched(lines, "Opening the list")]
    ids = list(chain.from_iterable(part.ids for part in parts))
    if len(ids) != count:
        raise ValueError(count)
    is_own = np.concatenate([part.places >= 0 for part in parts])
    names = ("kind_code", "constellation", *NUMBERS)
    own = Added(
        list(chain.from_iterable(part.own.ids for part in parts)),
        list(chain.from_iterable(part.own.names for part in parts)),
        list(chain.from_iterable(part.own.notes for part in parts)),
        {name: np.concatenate([part.own.columns[name] for part in parts]) for name in names},
    )
    notes = list(chain.from_iterable(part.notes for part in parts))
    return Entries(ids, notes, own, np.where(is_own, np.cumsum(is_own) - 1, -1))


def _entries(block: Mapping[str, list[Any]]) -> Entries:
    """Read one line, and make sure that it holds what a list may."""
    ids, notes, kinds = (block[name] for name in ("id", "note", "kind"))
    is_own = [kind != _OF_THE_CATALOGUE for kind in kinds]
    if not len(ids) == len(notes) == len(kinds):
        raise ValueError("rows")
    own_ids = [identifier for identifier, own in zip(ids, is_own, strict=True) if own]
    names = [
        identifier if name is None else name
        for name, identifier in zip(block["name"], own_ids, strict=True)
    ]
    constellations = block["constellation"]
    ids, notes, names = _texts(ids), _texts(notes), _texts(names)
    columns: dict[str, Any] = {
        "kind_code": np.array(
            [_CODES[kind] for kind in kinds if kind != _OF_THE_CATALOGUE], dtype=np.int8
        ),
        "constellation": np.array(_texts(constellations), dtype="<U3"),
        **{name: _numbers(block[name], len(names), *BOUNDS[name]) for name in NUMBERS},
    }
    if len(constellations) != len(names) or np.isnan(columns["ra_deg"] + columns["dec_deg"]).any():
        raise ValueError("places")
    own = Added(
        [identifier for identifier, own in zip(ids, is_own, strict=True) if own],
        names,
        [note for note, own in zip(notes, is_own, strict=True) if own],
        columns,
    )
    return Entries(ids, notes, own, np.where(is_own, 0, -1))


def _texts(values: list[Any]) -> list[str]:
    """Return texts without what would steer a terminal."""
    whole = "".join(values)  # TypeError where one is no text
    return values if whole.isprintable() else [harmless(text, instead=" ") for text in values]


def _numbers(values: list[Any], count: int, low: float, high: float) -> Floats:
    """Return numbers within bounds, NaN where there is none."""
    if len(values) != count or not {type(value) for value in values} <= {float, int, type(None)}:
        raise TypeError(values)
    found = np.array(values, dtype=float)
    if ((found < low) | (found > high)).any():
        raise ValueError(found)
    return found
