"""What comes in from other programs: what was read line by line, and what is new of it."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import fields, replace
from datetime import date, datetime, timedelta
from functools import lru_cache
from typing import Any, TypeVar, cast
from zoneinfo import ZoneInfo

from planner.journal.records import ID_SHOWN, YEARS, JournalEntry, JournalSession, LoggedTarget
from planner.model.errors import InputError
from targets.frozen import frozen
from targets.model import Kind

LARGEST_FILE_BYTES = 256_000_000  # some 200,000 entries
MOST_LINES = 200_000
NOON = timedelta(hours=12)
Record = TypeVar("Record")
OWN_ID = re.compile(r"[0-9a-f]{32}")


class ExchangeError(InputError):
    """A file cannot be read as a whole; the message is a sentence."""

    def __init__(self, sentence: str) -> None:
        super().__init__([sentence])


@frozen
class Line:
    """One entry, or one session without entries, as it stands in a file.

    Parameters
    ----------
    place : str
        Where: ``line 34``, ``row 5``, ``entry 3``.
    what : str
        Which, in a few words; empty when that could not be read.
    entry : JournalEntry or None
        None for a session without entries.
    fault : str
        Why it is refused; empty when it can be used.
    remarks : tuple of str
        What of it cannot be kept, or was understood in a certain way.
    own : bool
        Whether its id is one that a journal of ours gave it.
    """

    place: str
    what: str = ""
    session: JournalSession | None = None
    entry: JournalEntry | None = None
    fault: str = ""
    remarks: tuple[str, ...] = ()
    own: bool = False


@frozen
class Arrival:
    """What is to be done with a file.

    Parameters
    ----------
    sessions, entries : tuple
        What is new.
    lines : tuple of (Line, str)
        Each line of the file and what becomes of it: ``read``, ``here already``,
        ``removed here`` or ``refused``.
    """

    sessions: tuple[JournalSession, ...]
    entries: tuple[JournalEntry, ...]
    lines: tuple[tuple[Line, str], ...]

    def count(self, fate: str) -> int:
        """Count the lines of one fate."""
        return sum(found == fate for _, found in self.lines)


READ, HERE, REMOVED, REFUSED = "read", "here already", "removed here", "refused"


class _Looks:
    """Entries that are known: each by its id, and by what it tells where its id is not ours."""

    def __init__(self, entries: Iterable[JournalEntry]) -> None:
        self.ids: set[str] = set()
        self._id_of_mark: dict[tuple[str, ...], str] = {}
        for entry in entries:
            self.ids.add(entry.id)
            self._id_of_mark[_mark(entry)] = entry.id

    def id_of(self, entry: JournalEntry, *, own: bool) -> str:
        """Return under which id an entry is known; empty when it is not."""
        if entry.id in self.ids:
            return entry.id
        return "" if own else self._id_of_mark.get(_mark(entry), "")


def sort_out(
    lines: Iterable[Line],
    *,
    sessions: Iterable[JournalSession] = (),
    entries: Iterable[JournalEntry] = (),
    removed: Iterable[JournalEntry] = (),
) -> Arrival:
    """Tell what is new in a file.

    An entry is here already when one of its id is, or, with an id that is not ours, when one of
    the same second, target, telescope and eyepiece is. What the journal has is never changed, and
    what was removed from it stays removed.

    Parameters
    ----------
    sessions, entries, removed : iterable
        What the journal has, and the entries that were removed from it.
    """
    known = {session.id for session in sessions}
    looks, gone = _Looks(entries), _Looks(removed)
    new_sessions: dict[str, JournalSession] = {}
    new_entries: list[JournalEntry] = []
    fates: list[tuple[Line, str]] = []
    for line in lines:
        session, entry = line.session, line.entry
        if line.fault or session is None:
            fates.append((line, REFUSED))
        elif entry is None:
            is_new = session.id not in known and session.id not in new_sessions
            fates.append((line, READ if is_new else HERE))
        else:
            fates.append(_fate(line, entry, looks, gone))
        if session is None or fates[-1][1] != READ:
            continue
        if session.id not in known:
            others = new_sessions.get(session.id, session)
            new_sessions[session.id] = min(others, session, key=lambda one: one.start)
        if entry is not None:
            looks.ids.add(entry.id)
            new_entries.append(entry)
    return Arrival(tuple(new_sessions.values()), tuple(new_entries), tuple(fates))


def _fate(line: Line, entry: JournalEntry, looks: _Looks, gone: _Looks) -> tuple[Line, str]:
    """Return what becomes of the line of an entry, and the line with what is to be said of it."""
    if looks.id_of(entry, own=line.own):
        return line, HERE
    removed_id = gone.id_of(entry, own=line.own)
    if not removed_id:
        return line, READ
    remark = f'"journal restore {removed_id[:ID_SHOWN]}" brings it back'
    return replace(line, remarks=(*line.remarks, remark)), REMOVED


def _mark(entry: JournalEntry) -> tuple[str, ...]:
    target = entry.target.id or entry.target.name
    return (
        entry.at.isoformat(timespec="seconds"),
        "".join(target.split()).casefold(),
        entry.train.telescope.strip().casefold(),
        entry.train.eyepiece.strip().casefold(),
    )


def identified(
    lines: Iterable[Line], identify: Callable[[str], LoggedTarget | None]
) -> Iterator[Line]:
    """Return targets that come from other programs the id that the catalogue has for them.

    Parameters
    ----------
    identify : callable
        From a designation or a name to what the catalogue says, None where it knows none such.
        What the file tells stays; the rest is filled in.
    """
    for line in lines:
        entry = None if line.own else line.entry
        found = None if entry is None else identify(entry.target.id or entry.target.name)
        if entry is None or found is None:
            yield line
        else:
            yield replace(line, entry=replace(entry, target=shared(_filled(entry.target, found))))


def _filled(target: LoggedTarget, found: LoggedTarget) -> LoggedTarget:
    given = {
        field.name: value
        for field in fields(target)
        if (value := getattr(target, field.name)) not in {None, "", str(Kind.OTHER)}
    }
    return replace(found, **given | {"id": found.id})


def shared(record: Record) -> Record:
    """Return an equal record that was read before: a long file names few targets and eyepieces."""
    return cast("Record", _shared(record))


@lru_cache(maxsize=20_000)
def _shared(record: Any) -> Any:
    return record


def is_own_id(text: str) -> bool:
    """Tell whether an id may have come from a journal of ours."""
    return bool(OWN_ID.fullmatch(text))


def content_id(*parts: Any) -> str:
    """Return an id that the same content always gets, so that it is known again."""
    text = json.dumps([str(part) for part in parts])
    return hashlib.sha256(text.encode("utf-8", "replace")).hexdigest()[:32]


def evening_within(instant: datetime, zone: str) -> date:
    """Return the date of the night, from noon to noon, in which an instant falls.

    Parameters
    ----------
    instant : datetime
        Aware, in the years of a journal.
    zone : str
        Name of the time zone.

    Raises
    ------
    ValueError
        With a sentence, when the night is not in those years.
    """
    evening = (instant.astimezone(ZoneInfo(zone)) - NOON).date()
    if evening.year not in YEARS:
        raise ValueError(f"its evening, {evening}, is not in the years 1800 to 2200")
    return evening


def zone_of_offset(minutes_east: float) -> str:
    """Name a zone of whole hours for an offset from UT [min]; those names count westwards."""
    hours = max(-12, min(14, round(minutes_east / 60.0)))
    return f"Etc/GMT{-hours:+d}" if hours else "UTC"


def look_words(entry: JournalEntry) -> str:
    """Say which look an entry is: ``M31 Andromeda Galaxy, 2026-11-25 21:30 UT``."""
    return f"{entry.target.name or entry.target.id}, {entry.at:%Y-%m-%d %H:%M} UT"


def entry_id_of(entry: JournalEntry) -> str:
    """Return the content id of an entry from another program."""
    return content_id(
        entry.session_id, entry.at.isoformat(), entry.target.name, entry.target.id,
        entry.train.telescope, entry.train.eyepiece, entry.outcome, entry.note,
    )  # fmt: skip


def session_id_of(session: JournalSession) -> str:
    """Return the content id of a session from another program."""
    return content_id(session.site, session.start.isoformat(), session.evening, session.observer)
