"""What a user has added to the catalogue: lists by name, comets and minor planets by the night."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from datetime import datetime
from pathlib import Path

import numpy as np

from planner.ephemeris.kernel import Ephemeris
from planner.ephemeris.minor_targets import bright_enough
from planner.model.errors import InputError
from planner.model.site import Site
from targets.arrays import Codes
from targets.catalogue.catalogue import Catalogue, load_catalogue
from targets.catalogue.joining import with_added, with_notes, with_targets
from targets.frozen import frozen
from targets.model import Target
from targets.naming.lookup import UnknownTarget
from targets.programmes import PROGRAMMES
from targets.userlists.records import Entries, ListError, OwnList
from targets.userlists.store import ORBITS, find_name, kept_names, lists_folder, read_list

# How much fainter bodies may be when their list is asked for by name, and how many of a kind.
FAINTER_MAG = 2.5
MOST_LISTED = 60


@frozen
class Stock:
    """What a plan may choose from.

    Parameters
    ----------
    catalogue : Catalogue
        The plain one, the very same object, when there is nothing to add to it.
    rows : ndarray of int or None
        Those of the user's list that is asked for, in its order; None when it is none of the
        user's.
    remarks : tuple of str
        What is to be said of lists that could not be used.
    """

    catalogue: Catalogue
    rows: Codes | None = None
    remarks: tuple[str, ...] = ()


def stock_for_night(
    data: Path, *, ephemeris: Ephemeris, site: Site, instant: datetime, list_name: str | None = None
) -> Stock:
    """Return the catalogue with what a user has added for one night.

    Parameters
    ----------
    data : Path
        Folder of what the program keeps.
    ephemeris, site, instant
        For when and where comets and minor planets are wanted.
    list_name : str or None
        A list of the user's; other names are left for `planner.request.target_selection`.

    Returns
    -------
    Stock
        Comets and minor planets that are bright enough are in it without being asked for.

    Raises
    ------
    InputError
        When the list that is asked for is damaged. A list that nobody has asked for only gets a
        remark.
    """
    folder = lists_folder(data)
    names, remarks = _names(folder)
    catalogue = load_catalogue()
    asked = _asked_list(folder, list_name)
    bodies: list[Target] = []
    for name, path in names.items():
        if not path.name.endswith(ORBITS) or (asked is not None and name == asked.name):
            continue
        try:
            bodies += _own_targets(read_list(path))
        except ListError as error:
            remarks += [f"{fault}; its bodies are left out." for fault in error.faults]
    if bodies:
        catalogue = with_targets(catalogue, bright_enough(bodies, ephemeris, site, instant))
    if asked is None:
        return Stock(catalogue, None, tuple(remarks))
    catalogue, rows, more = _with_list(catalogue, asked, ephemeris, site, instant)
    return Stock(catalogue, rows, (*remarks, *more))


def with_all_lists(catalogue: Catalogue, data: Path) -> Catalogue:
    """Put the fixed targets of all the user's lists into a catalogue, after what is there.

    A list that cannot be read is passed over.
    """
    for path in _names(lists_folder(data))[0].values():
        with suppress(ListError):
            kept = read_list(path)
            catalogue = catalogue if kept.orbits else with_added(catalogue, kept.columns().own)
    return catalogue


def kept_target(data: Path, name: str) -> Target | None:
    """Return the target of that name from the user's lists; None when none has it.

    A list that cannot be read is passed over.
    """
    plain = catalogue = load_catalogue()
    for path in _names(lists_folder(data))[0].values():
        with suppress(ListError):
            catalogue = with_added(catalogue, read_list(path).columns().own)
    if catalogue is plain:
        return None
    try:
        return catalogue.find(name)
    except UnknownTarget:
        return None


def _names(folder: Path) -> tuple[dict[str, Path], list[str]]:
    """Return the user's lists by name; none, and a remark, where the folder may not be read."""
    try:
        return kept_names(folder), []
    except ListError as error:
        return {}, [f"{fault}; the lists in it are left out." for fault in error.faults]


def _asked_list(folder: Path, list_name: str | None) -> OwnList | None:
    if list_name is None or list_name.casefold() in PROGRAMMES:
        return None
    try:
        found = find_name(folder, list_name)
        return None if found is None else read_list(found[1])
    except ListError as error:
        raise InputError([f'--list "{list_name}": {fault}.' for fault in error.faults]) from None


def _own_targets(kept: OwnList) -> list[Target]:
    return [entry.own for entry in kept.entries if entry.own is not None]


def _with_list(
    catalogue: Catalogue, asked: OwnList, ephemeris: Ephemeris, site: Site, instant: datetime
) -> tuple[Catalogue, Codes, tuple[str, ...]]:
    """Put a list's own targets into the catalogue, and find the rows of all of its entries."""
    remarks: tuple[str, ...] = ()
    entries = asked.columns()
    if asked.orbits:
        some = bright_enough(
            _own_targets(asked), ephemeris, site, instant, fainter_mag=FAINTER_MAG, most=MOST_LISTED
        )
        chosen = {target.id for target in some}
        entries = Entries.of(entry for entry in asked.entries if entry.id in chosen)
        faint = len(asked.entries) - len(entries)
        if faint:
            verb = "is" if faint == 1 else "are"
            remarks = (f'{faint} of the list "{asked.name}" {verb} too faint that night.',)
        catalogue = with_targets(catalogue, some)
    else:
        catalogue = with_added(catalogue, entries.own)
    rows, gone = _rows(catalogue, entries.ids)
    if gone:
        remarks += (f'The catalogue no longer has {", ".join(gone)} of the list "{asked.name}".',)
    found = [n for n, row in enumerate(rows) if row >= 0]
    notes = {rows[n]: entries.notes[n] for n in found if entries.notes[n] and entries.places[n] < 0}
    return with_notes(catalogue, notes), np.array([rows[n] for n in found], dtype=np.intp), remarks


def _rows(catalogue: Catalogue, ids: Sequence[str]) -> tuple[list[int], list[str]]:
    """Return the rows of identifiers, or of what the catalogue calls by another one now.

    Beside them those that it has no more; their row is -1.
    """
    rows, gone = [], []
    for identifier in ids:
        try:
            row = catalogue.index_of(identifier)
        except KeyError:
            try:
                row = catalogue.find_index(identifier)
            except UnknownTarget:
                row = -1
                gone.append(identifier)
        rows.append(row)
    return rows, gone
