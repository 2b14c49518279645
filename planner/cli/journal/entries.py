"""``fieldstop journal list``, ``show``, ``remove`` and ``restore``: what needs no night sky."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime, tzinfo
from pathlib import Path
from typing import Any

from planner.cli.journal.options import EntryOptions, ListOptions, ShowOptions
from planner.cli.journal.readers import hint_for
from planner.cli.result import Result
from planner.journal.records import (
    ID_SHOWN,
    JournalEntry,
    JournalSession,
    logged_words,
    session_zone,
)
from planner.journal.store import has_journal
from planner.journal.store.journal import Journal, open_journal
from planner.model.errors import Faults, InputError
from planner.output.text.journal import entry_text, list_text
from planner.request.options import Surroundings, journal_file, open_settings
from planner.text import listed, plain_line, show

USUAL_COUNT = 40

# Entries in order of time, when those that were removed were so, and how many there are before.
Found = tuple[Sequence[JournalEntry], dict[str, datetime], int]


def entry_words(entry: JournalEntry, zone: tzinfo) -> str:
    """Return an entry in a line, its digits first."""
    train = entry.train
    local = entry.at.astimezone(zone)
    glass = plain_line(logged_words(train)) or "no eyepiece noted"
    power = f", {train.magnification:.0f}x" if train.magnification else ""
    return (
        f"{entry.id[:ID_SHOWN]}  {local:%Y-%m-%d %H:%M}  {plain_line(entry.target.name)}: "
        f"{glass}{power}, {entry.outcome}"
    )


def list_command(asked: ListOptions, surroundings: Surroundings) -> Result:
    """List entries, the latest last."""
    path = journal_file(asked.data, surroundings)
    since = _noon_before(asked, surroundings)
    if not has_journal(path):
        empty = _json_of(asked, (), (), {}) if asked.format == "json" else ""
        return Result(empty, asked.output, (f"There is no journal at {path} yet.",))
    with open_journal(path) as journal:
        wanted = _wanted(journal, asked) | {"since": since}
        usual = None if asked.format == "json" or asked.since else USUAL_COUNT
        found = _removed if asked.removed else _kept
        entries, removed_at, earlier = found(journal, wanted, asked.count or usual)
        sessions = journal.sessions() if asked.removed else journal.counted_sessions()
        journal.name_passed_over()
        talk = journal.remarks
    of_id = {session.id: session for session in sessions}
    pairs = [(entry, of_id[entry.session_id]) for entry in entries]
    if not pairs:
        talk += (f"The journal {path} has no {_kind_words(wanted, asked)}entry.",)
    if asked.format != "json":
        text = list_text(pairs, earlier=earlier, removed_at=removed_at) if pairs else ""
    else:
        is_whole = not (earlier or any(wanted.values()))  # evenings without a look belong to it
        used = sessions if is_whole else tuple(dict.fromkeys(session for _, session in pairs))
        text = _json_of(asked, used, pairs, removed_at)
    return Result(text, asked.output, talk)


def _noon_before(asked: ListOptions, surroundings: Surroundings) -> datetime | None:
    """Return when the first evening that is wanted begins, by the clock of the site.

    Nothing else here needs the configuration; one that is named is read all the same.
    """
    if asked.since is None and asked.config is None:
        return None
    from planner.cli.journal.arguments import read_since  # noqa: PLC0415  # slow to load

    return read_since(asked.since, open_settings(asked.config, surroundings)[0].site())


def _json_of(
    asked: ListOptions,
    sessions: Sequence[JournalSession],
    pairs: Sequence[tuple[JournalEntry, JournalSession]],
    removed_at: dict[str, datetime],
) -> str:
    from planner.journal.exchange.json_format import journal_json  # noqa: PLC0415  # slow to load
    from planner.output.contracts.journal import removed_json  # noqa: PLC0415  # the same
    from planner.output.contracts.writing import json_text  # noqa: PLC0415  # the same

    if asked.removed:
        return json_text(removed_json(pairs, removed_at))
    return json_text(journal_json(sessions, [entry for entry, _ in pairs]))


def _kept(journal: Journal, wanted: dict[str, Any], most: int | None) -> Found:
    entries = journal.entries(**wanted, limit=most)
    return entries, {}, journal.count(**wanted) - len(entries)


def _removed(journal: Journal, wanted: dict[str, Any], most: int | None) -> Found:
    every = journal.removed(**wanted)
    latest = every[-most:] if most else every
    removed_at = {former.record.id: former.changed_at for former in latest}
    return [former.record for former in latest], removed_at, len(every) - len(latest)


def _kind_words(wanted: dict[str, Any], asked: ListOptions) -> str:
    such = "such " if any(wanted.values()) else ""
    return f"{such}removed " if asked.removed else such


def _wanted(journal: Journal, asked: ListOptions) -> dict[str, Any]:
    """Read which entries are meant, by the names that the journal has."""
    faults = Faults()
    wanted: dict[str, Any] = {}
    if asked.eyepiece is not None:
        wanted["eyepiece"] = faults.attempt(_known_eyepiece, journal, asked.eyepiece)
    if asked.target is not None:
        named = faults.attempt(_known_target, journal, asked.target)
        faults.check()
        wanted |= named
    faults.check()
    return wanted


def _known_eyepiece(journal: Journal, text: str) -> str:
    names = journal.eyepieces()
    word = " ".join(text.split()).casefold()
    exact = [name for name in names if name.casefold() == word]
    found = exact or [name for name in names if word and name.casefold().startswith(word)]
    if len(found) == 1:
        return found[0]
    if found:
        raise InputError([f"--eyepiece {show(text)} may be {listed(found)}."])
    raise InputError([f"The journal has no eyepiece {show(text)}; {hint_for(text, names)}"])


def _known_target(journal: Journal, text: str) -> dict[str, str]:
    for name in journal.unlisted_names():
        if name.casefold() == " ".join(text.split()).casefold():
            return {"target_name": name}
    from planner.cli.journal.arguments import read_target  # noqa: PLC0415  # slow to load

    return {"target_id": read_target(text, None, journal.path.parent).id}


def check_there(path: Path) -> None:
    """Make sure that there is a journal: to ask for an entry must not begin one."""
    if not has_journal(path):
        raise InputError([f"There is no journal at {path} yet."])


def show_command(asked: ShowOptions, surroundings: Surroundings) -> Result:
    """Show all that the journal has of one entry."""
    path = journal_file(asked.data, surroundings)
    check_there(path)
    with open_journal(path) as journal:
        entry = journal.entry(asked.entry_id)
        session = journal.session(entry.session_id)
        history = journal.history(entry.id)
        talk = journal.remarks
    if asked.format == "json":
        from planner.output.contracts.journal import entry_history_json  # noqa: PLC0415  # slow
        from planner.output.contracts.writing import json_text  # noqa: PLC0415  # the same

        content = json_text(entry_history_json(entry, session, history))
        return Result(content, asked.output, talk)
    return Result(entry_text(entry, session, history), asked.output, talk)


def remove_command(asked: EntryOptions, surroundings: Surroundings) -> Result:
    """Take an entry out of the journal, which keeps it aside.

    Raises InputError when there is no such entry, or it was removed before.
    """

    def remove(journal: Journal) -> JournalEntry:
        return journal.remove_entry(asked.entry_id, removed_at=surroundings.now)

    return _done(remove, 'Removed; "journal restore {}" brings it back.', asked.data, surroundings)


def restore_command(asked: EntryOptions, surroundings: Surroundings) -> Result:
    """Bring a removed entry back as it was; raises InputError when no such entry was removed."""

    def restore(journal: Journal) -> JournalEntry:
        return journal.restore_entry(asked.entry_id)

    return _done(restore, "Back in the journal.", asked.data, surroundings)


def _done(
    work: Callable[[Journal], JournalEntry],
    said: str,
    data: Path | None,
    surroundings: Surroundings,
) -> Result:
    path = journal_file(data, surroundings)
    check_there(path)
    with open_journal(path) as journal:
        entry = work(journal)
        zone = session_zone(journal.session(entry.session_id))
        talk = journal.remarks
    said = said.format(entry.id[:ID_SHOWN])
    return Result(f"{entry_words(entry, zone)}\n", talk=(*talk, said))
