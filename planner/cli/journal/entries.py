"""``fieldstop journal add``, ``list`` and ``show``."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta, tzinfo
from pathlib import Path
from typing import Any

from planner.cli.journal.arguments import (
    hint_for,
    planned_moment,
    read_at,
    read_since,
    read_target,
    read_train,
)
from planner.cli.journal.options import AddOptions, EntryOptions, ListOptions, ShowOptions
from planner.cli.journal.readers import changes_of
from planner.cli.result import Result
from planner.config.settings import Settings
from planner.journal.exchange.json_format import journal_json
from planner.journal.records import (
    ID_SHOWN,
    JournalEntry,
    Outcome,
    logged_words,
    new_id,
    new_session,
    session_zone,
)
from planner.journal.store import has_journal
from planner.journal.store.journal import Journal, open_journal
from planner.model.errors import Faults, InputError
from planner.model.site import Site
from planner.output.contracts.journal import entry_history_json, removed_json
from planner.output.contracts.plan import json_text
from planner.output.text.journal import entry_text, list_text
from planner.request.options import Surroundings, journal_file, open_settings
from planner.text import listed, plain_line, show

USUAL_COUNT = 40
# Looks at one target that are closer may be one look, written twice.
DUPLICATE = timedelta(minutes=1)

# Entries in order of time, when those that were removed were so, and how many there are before.
Found = tuple[Sequence[JournalEntry], dict[str, datetime], int]


def add_command(asked: AddOptions, surroundings: Surroundings, faults: Faults) -> Result:
    """Add a look to the journal, and to the session of its evening and site.

    Raises
    ------
    UserError
        With a sentence for everything that is wrong; nothing is added then.
    """
    faulty = bool(faults.found)
    settings, talk = open_settings(asked.config, surroundings)
    path = journal_file(None if faulty else asked.data, surroundings)
    sites = Faults()
    site = sites.attempt(settings.site, asked.site)
    place = settings.site() if sites.found else site
    faults.found += sites.found
    target = faults.attempt(read_target, asked.target, None if faulty else asked.kind, path.parent)
    used = faults.attempt(read_train, asked.train, settings)
    if not faulty:
        when = faults.attempt(read_at, asked.at, asked.evening, place, surroundings.now)
    faults.check()
    values = changes_of(asked.results)
    planned_at = planned_moment(values.pop("planned_at", None), when[1], site)
    entry = JournalEntry(
        id=new_id(),
        session_id="",
        at=when[0],
        target=target,
        train=used[0],
        outcome=Outcome.SEEN,
        planned_at=planned_at,
    )
    entry = replace(entry, **values)
    with open_journal(path) as journal:
        twin = _just_written(journal, entry)
        entry = _added(journal, entry, settings, site, when[1])
        talk += (*journal.remarks, *used[1], *(_twin_words(twin) if twin else ()))
    return Result(f"{entry_words(entry, site.zone)}\n", talk=talk)


def _just_written(journal: Journal, entry: JournalEntry) -> JournalEntry | None:
    """Return a look at the same target less than a minute away, if there is one."""
    target = entry.target
    near = journal.entries(
        since=entry.at - DUPLICATE,
        target_id=target.id or None,
        target_name=None if target.id else target.name,
    )
    return next((one for one in near if abs(one.at - entry.at) < DUPLICATE), None)


def _twin_words(twin: JournalEntry) -> tuple[str, str]:
    name, digits = plain_line(twin.target.name), twin.id[:ID_SHOWN]
    return (
        f"The journal had a look at {name} within the same minute, {digits}: was it the same look?",
        f'"fieldstop journal remove {digits}" takes that one out.',
    )


def _added(
    journal: Journal, entry: JournalEntry, settings: Settings, site: Site, evening: date
) -> JournalEntry:
    """Keep an entry with the session of its evening, or with a new one that takes its sky."""
    session = new_session(site, evening, entry.at, observer=settings.observer.name)
    session = replace(session, seeing=entry.seeing, transparency=entry.transparency)
    return journal.add_to_evening(entry, session)


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
    """List entries, the latest last.

    Raises
    ------
    UserError
        With a sentence for everything that is wrong.
    """
    path = journal_file(asked.data, surroundings)
    site = open_settings(asked.config, surroundings)[0].site()
    if not has_journal(path):
        content = removed_json([], {}) if asked.removed else journal_json([], [])
        empty = json_text(content) if asked.format == "json" else ""
        return Result(empty, asked.output, (f"There is no journal at {path} yet.",))
    with open_journal(path) as journal:
        wanted = _wanted(journal, asked) | {"since": read_since(asked.since, site)}
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
    elif asked.removed:
        text = json_text(removed_json(pairs, removed_at))
    else:
        is_whole = not (earlier or any(wanted.values()))  # evenings without a look belong to it
        used = sessions if is_whole else tuple(dict.fromkeys(session for _, session in pairs))
        text = json_text(journal_json(used, entries))
    return Result(text, asked.output, talk)


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
    return {"target_id": read_target(text, None, journal.path.parent).id}


def check_there(path: Path) -> None:
    """Make sure that there is a journal: to ask for an entry must not begin one."""
    if not has_journal(path):
        raise InputError([f"There is no journal at {path} yet."])


def show_command(asked: ShowOptions, surroundings: Surroundings) -> Result:
    """Show all that the journal has of one entry.

    Raises
    ------
    UserError
        With a sentence for everything that is wrong.
    """
    path = journal_file(asked.data, surroundings)
    check_there(path)
    with open_journal(path) as journal:
        entry = journal.entry(asked.entry_id)
        session = journal.session(entry.session_id)
        history = journal.history(entry.id)
        talk = journal.remarks
    if asked.format == "json":
        content = json_text(entry_history_json(entry, session, history))
        return Result(content, asked.output, talk)
    return Result(entry_text(entry, session, history), asked.output, talk)


def remove_command(asked: EntryOptions, surroundings: Surroundings) -> Result:
    """Take an entry out of the journal, which keeps it aside.

    Raises
    ------
    InputError
        When there is no such entry, or it was removed before.
    """

    def remove(journal: Journal) -> JournalEntry:
        return journal.remove_entry(asked.entry_id, removed_at=surroundings.now)

    return _done(remove, 'Removed; "journal restore {}" brings it back.', asked.data, surroundings)


def restore_command(asked: EntryOptions, surroundings: Surroundings) -> Result:
    """Bring a removed entry back as it was.

    Raises
    ------
    InputError
        When no such entry was removed.
    """

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
