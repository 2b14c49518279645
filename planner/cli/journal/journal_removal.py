"""``fieldstop journal remove`` and ``restore``: looks that were entered by mistake."""

from __future__ import annotations

from collections.abc import Callable

from planner.cli.journal.entries import check_there, entry_words
from planner.cli.result import Outcome as Delivery
from planner.journal.records import JournalEntry
from planner.journal.store.journal import Journal, open_journal
from planner.journal.store.rows import ID_SHOWN
from planner.output.text.journal import session_zone
from planner.request.options import Surroundings, journal_file


def remove_command(entry_id: str, data: str | None, surroundings: Surroundings) -> Delivery:
    """Take an entry out of the journal, which keeps it aside.

    Raises
    ------
    InputError
        When there is no such entry, or it was removed before.
    """

    def remove(journal: Journal) -> JournalEntry:
        return journal.remove_entry(entry_id, removed_at=surroundings.now)

    return _done(remove, 'Removed; "journal restore {}" brings it back.', data, surroundings)


def restore_command(entry_id: str, data: str | None, surroundings: Surroundings) -> Delivery:
    """Bring a removed entry back as it was.

    Raises
    ------
    InputError
        When no such entry was removed.
    """

    def restore(journal: Journal) -> JournalEntry:
        return journal.restore_entry(entry_id)

    return _done(restore, "Back in the journal.", data, surroundings)


def _done(
    work: Callable[[Journal], JournalEntry],
    said: str,
    data: str | None,
    surroundings: Surroundings,
) -> Delivery:
    path = journal_file(data, surroundings)
    check_there(path)
    with open_journal(path) as journal:
        entry = work(journal)
        zone = session_zone(journal.session(entry.session_id))
        talk = journal.remarks
    said = said.format(entry.id[:ID_SHOWN])
    return Delivery(f"{entry_words(entry, zone)}\n", talk=(*talk, said))
