"""Chooses from the catalogue: one target by name; rows by kind, by constellation, from a list."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import reduce
from pathlib import Path

import numpy as np

from planner.model.errors import Faults, InputError, NothingToPlanError
from planner.request.user_targets import kept_target
from planner.text import listed
from targets.arrays import Codes
from targets.catalogue.catalogue import Catalogue
from targets.files import NotTextError, typed_text
from targets.model import Kind, Target
from targets.naming.constellations import UnknownConstellation
from targets.naming.lookup import UnknownTarget
from targets.programmes import PROGRAMMES

LARGEST_LIST_BYTES = 200_000
# Somebody who gives a wrong file wants to hear of it, not of each of its thousand lines.
MOST_UNKNOWN = 50


def target_called(catalogue: Catalogue, name: str, *, data: Path | None = None) -> Target:
    """Return the target that a user names; InputError with the reason when there is none.

    Parameters
    ----------
    name : str
        In any usual spelling.
    data : Path or None
        Folder of what the program keeps: where the user's own lists are, and the comets.
    """
    try:
        return catalogue.find(name)
    except UnknownTarget as error:
        own = None if data is None else kept_target(data, name)
        if own is None:
            raise InputError([f"{error}."]) from None
        return own


def chosen_rows(
    catalogue: Catalogue,
    *,
    kinds: Sequence[Kind] = (),
    constellation: str | None = None,
    list_name: str | None = None,
    own_rows: Codes | None = None,
) -> Codes | None:
    """Return the rows to choose from.

    Parameters
    ----------
    kinds : sequence of Kind
        Any of these; empty for all.
    constellation : str or None
        Abbreviation or name.
    list_name : str or None
        A programme such as ``messier``, a list of the user's own, or the path of a file with a
        target in each line.
    own_rows : ndarray of int or None
        The rows of that list when it is the user's own, from `planner.request.user_targets`.

    Returns
    -------
    ndarray of int or None
        None when nothing is asked for.

    Raises
    ------
    InputError
        With a sentence for all that cannot be used.
    NothingToPlanError
        When no target is all of that at once.
    """
    if not kinds and constellation is None and list_name is None:
        return None
    faults = Faults()
    groups: list[Codes] = []
    if own_rows is not None:
        groups.append(own_rows)
    elif list_name is not None:
        groups.append(faults.attempt(_listed_rows, catalogue, list_name))
    if constellation is not None:
        groups.append(faults.attempt(_constellation_rows, catalogue, constellation))
    if kinds:
        groups.append(np.flatnonzero(catalogue.of_kind(*kinds)))
    faults.check()
    rows = reduce(np.intersect1d, groups)
    if not rows.size:
        raise NothingToPlanError(_nothing_is(kinds, constellation, list_name))
    return rows


def _nothing_is(kinds: Sequence[Kind], constellation: str | None, list_name: str | None) -> str:
    asked = [
        f"of kind {listed(kinds)}" if kinds else "",
        f"in the constellation {constellation}" if constellation is not None else "",
        f"on the list {list_name}" if list_name is not None else "",
    ]
    nothing = f"The catalogue holds no target {' and '.join(filter(None, asked))}."
    if kinds and set(kinds) <= {Kind.COMET, Kind.ASTEROID}:
        nothing += ' Those come from files of elements: "fieldstop targets add FILE" keeps them.'
    return nothing


def _constellation_rows(catalogue: Catalogue, constellation: str) -> Codes:
    try:
        return np.flatnonzero(catalogue.in_constellation(constellation))
    except UnknownConstellation as error:
        raise InputError([f"--constellation: {error}."]) from None


def _listed_rows(catalogue: Catalogue, name: str) -> Codes:
    programme = PROGRAMMES.get(name.casefold())
    if programme is not None:
        return programme.rows(catalogue)
    return read_list(catalogue, _list_text(name), source=name)


def _list_text(name: str) -> str:
    """Read the text of a list, or say what is there instead."""
    place = f'--list "{name}"'
    try:
        with Path(name).open("rb") as file:
            content = file.read(LARGEST_LIST_BYTES + 1)
    except FileNotFoundError:
        fault = (
            f"there is no such file; allowed is {', '.join(PROGRAMMES)}, a list of your own"
            ' ("fieldstop targets list" names them), or the path of a file'
        )
    except IsADirectoryError:
        fault = "this is a folder; a text file with a target in each line is needed"
    except (OSError, ValueError) as error:  # ValueError: a path with a zero byte
        reason = getattr(error, "strerror", None) or "this is not a path"
        fault = f"cannot be read: {reason}"
    else:
        if len(content) > LARGEST_LIST_BYTES:
            fault = (
                f"larger than {LARGEST_LIST_BYTES // 1000} kB; keep a long list under a name with"
                ' "fieldstop targets add FILE", then --list NAME'
            )
        else:
            try:
                return typed_text(content, needed="UTF-8 text with a target in each line")
            except NotTextError as error:
                fault = str(error)
    raise InputError([f"{place}: {fault}."])


def read_list(catalogue: Catalogue, text: str, *, source: str) -> Codes:
    """Read a list of targets: one in each line, ``#`` begins a comment.

    Parameters
    ----------
    source : str
        Its name, for messages.

    Returns
    -------
    ndarray of int
        Rows in the order of the list, each once.

    Raises
    ------
    InputError
        With a sentence for every line that names no target; at most 50.
    """
    faults: list[str] = []
    rows: dict[int, None] = {}
    for number, name in _entries(text):
        try:
            rows[catalogue.find_index(name)] = None
        except UnknownTarget as error:
            faults.append(f'--list "{source}", line {number}: {error}.')
        if len(faults) == MOST_UNKNOWN:
            faults.append(
                f'--list "{source}": this is hardly a list of targets; the rest is unread.'
            )
            break
    if not rows and not faults:
        faults.append(f'--list "{source}": the list is empty; write a target in each line.')
    if faults:
        raise InputError([*faults, *_table_hint(text)])
    return np.array(list(rows), dtype=np.intp)


def _table_hint(text: str) -> list[str]:
    """Send somebody who gives a table, or comets, to the command that reads them."""
    from planner.ephemeris.mpc_files import is_element_file  # noqa: PLC0415  # only for what is refused

    first = next((name for _, name in _entries(text)), "")
    if not any(sign in first for sign in ";,\t|<%") and not is_element_file(text):
        return []
    return ['Tables, comets and minor planets are read by "fieldstop targets add FILE".']


def _entries(text: str) -> Iterator[tuple[int, str]]:
    for number, line in enumerate(text.splitlines(), start=1):
        name = line.partition("#")[0].strip()
        if name:
            yield number, name
