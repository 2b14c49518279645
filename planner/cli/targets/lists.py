"""``fieldstop targets``: finds targets, and keeps, lists, shows and removes the user's lists."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

from planner.cli.result import Result
from planner.cli.targets.add import count_words
from planner.cli.targets.options import FindOptions, ListsOptions, RemoveOptions, ShowListOptions
from planner.ephemeris.minor_targets import age_doubt
from planner.journal.store import has_journal
from planner.model.errors import InputError, NothingToPlanError
from planner.output.contracts.targets import lists_json, targets_json
from planner.output.contracts.writing import json_text
from planner.output.text.targets import Listed, ListSummary, lists_text, targets_text
from planner.request.options import Surroundings, journal_file
from planner.text import show
from targets.catalogue.catalogue import load_catalogue
from targets.model import Target
from targets.naming.designations import name_key
from targets.naming.lookup import LONGEST_NAME
from targets.naming.partial_names import matching_rows
from targets.programmes import PROGRAMMES, Programme
from targets.userlists.records import ListEntry, ListError, OwnList
from targets.userlists.store import (
    find_name,
    kept_names,
    lists_folder,
    no_list,
    read_list,
    remove_list,
)

MOST_FOUND = 20


def find_command(asked: FindOptions, surroundings: Surroundings) -> Result:
    """Find targets by a part of their names, the user's own among them.

    Raises
    ------
    InputError
        When the options are wrong.
    NothingToPlanError
        When nothing is called so.
    """
    folder, seen, talk = _around(asked.data, surroundings)
    text = asked.text
    if not name_key(text) or len(text) > LONGEST_NAME:
        raise InputError([f"{show(text)} is not part of a name; give some letters or digits."])
    catalogue = load_catalogue()
    found = [catalogue.target(row) for row in matching_rows(catalogue, text, most=MOST_FOUND)]
    own, remarks = _own_called(folder, text)
    found = [*own, *found][:MOST_FOUND]
    if not found:
        raise NothingToPlanError(f"Nothing has {show(text)} in its name.")
    listed = [_listed(target, seen) for target in found]
    title = f'Targets with "{text}" in their names'
    if len(found) == MOST_FOUND:
        title += f"; the first {MOST_FOUND}, a longer part finds fewer"
    return Result(_written(title, listed, asked.format), asked.output, (*talk, *remarks))


def list_command(asked: ListsOptions, surroundings: Surroundings) -> Result:
    """List the programmes and the user's lists, with how much of each has been seen."""
    folder, seen, talk = _around(asked.data, surroundings)
    summaries = [_programme_summary(programme, seen) for programme in PROGRAMMES.values()]
    names, more = _names(folder)
    talk += more
    for name, path in names.items():
        try:
            summaries.append(_own_summary(name, read_list(path), seen))
        except ListError as error:
            talk += error.sentences
    text = json_text(lists_json(summaries)) if asked.format == "json" else lists_text(summaries)
    return Result(text, asked.output, talk)


def show_command(asked: ShowListOptions, surroundings: Surroundings) -> Result:
    """Show the targets of a programme or of one of the user's lists.

    Raises InputError when there is none of that name.
    """
    folder, seen, talk = _around(asked.data, surroundings)
    name = asked.name
    programme = PROGRAMMES.get(name.casefold())
    if programme is not None:
        catalogue = load_catalogue()
        targets = [catalogue.target(int(row)) for row in programme.rows(catalogue)]
        listed = [
            replace(_listed(target, seen), note=programme.notes.get(target.id, ""))
            for target in targets
        ]
        title = f"{programme.name}: {programme.title}"
    else:
        kept = _kept_list(folder, name)
        listed = [_listed_entry(entry, seen, surroundings) for entry in kept.entries]
        title = f"{kept.name}: {count_words(kept)}, from {kept.source}"
    if seen is not None:
        title += f"; {sum(item.seen is True for item in listed)} of {len(listed)} seen"
    return Result(_written(title, listed, asked.format), asked.output, talk)


def remove_command(asked: RemoveOptions, surroundings: Surroundings) -> Result:
    """Remove one of the user's lists.

    Raises InputError when there is none of that name, or it is a programme.
    """
    name = asked.name
    if name.casefold() in PROGRAMMES:
        raise InputError([f"{show(name)} is a programme that comes with fieldstop; it stays."])
    folder = lists_folder(journal_file(asked.data, surroundings).parent)
    return Result(f"The list {remove_list(folder, name)} is removed.\n")


def _around(
    data: Path | None, surroundings: Surroundings
) -> tuple[Path, frozenset[str] | None, tuple[str, ...]]:
    """Return the folder of the lists, what has been seen, and what is to be said of the journal."""
    path = journal_file(data, surroundings)
    folder = lists_folder(path.parent)
    if not has_journal(path):
        return folder, None, ()
    from planner.journal.store.errors import JournalError  # noqa: PLC0415  # only with a journal
    from planner.journal.store.journal import open_journal  # noqa: PLC0415

    try:
        with open_journal(path) as journal:
            return folder, journal.seen_ids(), journal.remarks
    except JournalError as error:
        return folder, None, (f"{error} Nothing is counted as seen.",)


def _own_called(folder: Path, text: str) -> tuple[list[Target], tuple[str, ...]]:
    """Find targets of the user's own by a part of their names."""
    key, found = name_key(text), dict[str, Target]()
    names, remarks = _names(folder)
    for path in names.values():
        try:
            own = read_list(path).columns().own
        except ListError as error:
            remarks += error.sentences
            continue
        for place in (place for name, place in own.all_names() if key in name_key(name)):
            if len(found) >= MOST_FOUND:
                break
            target = own.target(place)
            found.setdefault(target.id, target)
    return list(found.values()), remarks


def _names(folder: Path) -> tuple[dict[str, Path], tuple[str, ...]]:
    """Return the lists by name; none, and why, where their folder may not be read."""
    try:
        return kept_names(folder), ()
    except ListError as error:
        return {}, error.sentences


def _kept_list(folder: Path, name: str) -> OwnList:
    found = find_name(folder, name)
    if found is None:
        programmes = ", ".join(PROGRAMMES)
        raise InputError([f"{no_list(folder, name)}; programmes are {programmes}."])
    return read_list(found[1])


def _programme_summary(programme: Programme, seen: frozenset[str] | None) -> ListSummary:
    catalogue = load_catalogue()
    ids = np.array(catalogue.ids, dtype=np.str_)[programme.rows(catalogue)].tolist()
    return ListSummary(programme.name, programme.title, len(ids), _seen_of(ids, seen), own=False)


def _own_summary(name: str, kept: OwnList, seen: frozenset[str] | None) -> ListSummary:
    ids = kept.columns().ids
    what = "comets and minor planets, " if kept.orbits else ""
    return ListSummary(name, f"{what}from {kept.source}", len(ids), _seen_of(ids, seen), own=True)


def _seen_of(ids: Sequence[str], seen: frozenset[str] | None) -> int | None:
    return None if seen is None else sum(identifier in seen for identifier in ids)


def _listed(target: Target, seen: frozenset[str] | None) -> Listed:
    return Listed(target, seen=None if seen is None else target.id in seen)


def _listed_entry(
    entry: ListEntry, seen: frozenset[str] | None, surroundings: Surroundings
) -> Listed:
    target, note = entry.own, entry.note
    if target is None:
        catalogue = load_catalogue()
        try:
            target = catalogue.target(catalogue.index_of(entry.id))
        except KeyError:
            raise InputError([f"The catalogue no longer has {entry.id} of this list."]) from None
    elif target.elements is not None:
        note = age_doubt(target.kind, target.elements, surroundings.now) or note
    return Listed(target, note, None if seen is None else entry.id in seen)


def _written(title: str, listed: Sequence[Listed], form: str) -> str:
    if form == "json":
        return json_text(targets_json(title, listed))
    return targets_text(title, listed)
