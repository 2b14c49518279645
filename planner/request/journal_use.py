"""Brings the journal into a plan; where there is no journal, nothing of it is even loaded."""

from __future__ import annotations

import numpy as np

from planner.config.settings import Settings
from planner.journal.store import has_journal
from planner.model.errors import NothingToPlanError
from planner.planning.circumstances import Circumstances
from planner.request.options import JournalWishes, Surroundings, journal_file
from targets.arrays import Codes
from targets.catalogue.catalogue import Catalogue


def with_journal(
    circumstances: Circumstances,
    experience: JournalWishes,
    surroundings: Surroundings,
    settings: Settings,
) -> tuple[Circumstances, tuple[str, ...]]:
    """Return circumstances with what the journal teaches of the observer, as far as is wanted.

    Returns
    -------
    circumstances : Circumstances
        As it was where there is no journal, or too little in it.
    remarks : tuple of str
        Sentences for the observer.
    """
    path = journal_file(experience.data, surroundings)
    leaning = experience.leaning and settings.observer.lean_on_journal
    own_eye = experience.own_eye and settings.observer.learn_eye
    if not (leaning or own_eye) or not has_journal(path):
        return circumstances, ()
    from planner.request.experience import taught  # noqa: PLC0415  # only where there is a journal

    return taught(circumstances, path, settings, leaning=leaning, own_eye=own_eye)


def unseen_rows(
    catalogue: Catalogue, rows: Codes | None, experience: JournalWishes, surroundings: Surroundings
) -> tuple[Codes | None, str | None]:
    """Leave out the targets that the journal has as seen.

    Parameters
    ----------
    rows : ndarray of int or None
        What to choose from; None for all.
    experience, surroundings
        Where the journal is.

    Returns
    -------
    rows : ndarray of int or None
        The rest.
    note : str or None
        A sentence that counts what was left out.

    Raises
    ------
    NothingToPlanError
        When all of them have been seen.
    InputError
        When the journal cannot be read.
    """
    path = journal_file(experience.data, surroundings)
    if not has_journal(path):
        return rows, f"There is no journal at {path}, so nothing counts as seen."
    from planner.journal.store.journal import open_journal  # noqa: PLC0415  # only where there is one

    with open_journal(path) as journal:
        seen = journal.seen_ids()
    every = np.arange(len(catalogue), dtype=np.intp) if rows is None else rows
    rest = np.array([row for row in every if catalogue.ids[row] not in seen], dtype=np.intp)
    if not rest.size:
        raise NothingToPlanError("The journal has all of these targets as seen.")
    count = len(every) - len(rest)
    if not count:
        return rows, None
    targets = "1 target is" if count == 1 else f"{count} targets are"
    return rest, f"{targets} left out: the journal has them as seen (--not-seen)."
