"""Writes the journal as a JSON document, and reads one."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from functools import lru_cache
from typing import Any

from planner.journal.exchange.fields import (
    ENTRY_FIELDS,
    SESSION_FIELDS,
    TARGET_FIELDS,
    TRAIN_FIELDS,
    exported_fields,
    read_fields,
)
from planner.journal.exchange.json_document import SCHEMA, Json, json_document
from planner.journal.exchange.lines import (
    Line,
    content_id,
    entry_id_of,
    evening_within,
    is_own_id,
    look_words,
    session_id_of,
    zone_of_offset,
)
from planner.journal.records import (
    JournalEntry,
    JournalSession,
    LoggedTarget,
    LoggedTrain,
    Outcome,
    seeing_at,
    session_zone,
    transparency_at,
)
from planner.text import show
from targets.files import watched_items

OWN = ("seeing", "transparency")
UNKNOWN_SITE = "unknown site"
_FIELDS_OF = {LoggedTarget: TARGET_FIELDS, LoggedTrain: TRAIN_FIELDS}


def journal_json(sessions: Sequence[JournalSession], entries: Iterable[JournalEntry]) -> Json:
    """Return a journal as the object of the ``fieldstop.journal/1`` contract.

    Parameters
    ----------
    sessions : sequence of JournalSession
        Those of the entries; others may be among them.

    Returns
    -------
    dict
        Times have the site's offset; None stands where nothing is known.
    """
    of_id = {session.id: session for session in sessions}
    return {
        "schema": SCHEMA,
        "sessions": [session_json(session) for session in sessions],
        "entries": [entry_json(entry, of_id[entry.session_id]) for entry in entries],
    }


def json_pieces(
    sessions: Sequence[JournalSession], entries: Iterable[JournalEntry]
) -> Iterator[str]:
    """Write the object of `journal_json` piece by piece, an indent of two for each level."""
    of_id = {session.id: session for session in sessions}
    yield f'{{\n  "schema": "{SCHEMA}",\n  "sessions": '
    yield from _items(map(session_json, sessions))
    yield ',\n  "entries": '
    yield from _items(entry_json(entry, of_id[entry.session_id]) for entry in entries)
    yield "\n}\n"


def _items(items: Iterable[Json]) -> Iterator[str]:
    begin = "[\n    "
    for item in items:
        yield begin + json.dumps(item, indent=2, allow_nan=False).replace("\n", "\n    ")
        begin = ",\n    "
    yield "[]" if begin.startswith("[") else "\n  ]"


def session_json(session: JournalSession) -> Json:
    """Return a session as a JSON object; its times have the site's offset."""
    values = {"id": session.id} | exported_fields(SESSION_FIELDS, session)
    times = {name: _local(getattr(session, name), session) for name in ("start", "end")}
    return values | times


def entry_json(entry: JournalEntry, session: JournalSession) -> Json:
    """Return an entry of a session as a JSON object; its times have the site's offset.

    Seeing and transparency are those of the look; the ``own_`` ones are None where it has them from
    its session.
    """
    values = exported_fields(ENTRY_FIELDS, entry)
    planned = values.pop("planned_train")
    del values["at"]
    field_deg = entry.train.true_field_deg
    return {
        "id": entry.id,
        "session": entry.session_id,
        "evening": session.evening.isoformat(),
        "at": _local(entry.at, session),
        "site": session.site or None,
        "target": exported_fields(TARGET_FIELDS, entry.target),
        **exported_fields(TRAIN_FIELDS, entry.train),
        "true_field_arcmin": _arcmin(field_deg),
        "planned_eyepiece": planned,
        **values,
        "seeing": seeing_at(entry, session),
        "transparency": transparency_at(entry, session),
        "own_seeing": entry.seeing,
        "own_transparency": entry.transparency,
        "planned_at": _local(entry.planned_at, session),
    }


def _arcmin(angle_deg: float | None) -> float | None:
    """Return an angle in arcminutes; nothing for a damaged one that JSON cannot hold."""
    angle_arcmin = math.inf if angle_deg is None else angle_deg * 60.0
    return round(angle_arcmin, 6) if math.isfinite(angle_arcmin) else None


def _local(instant: datetime | None, session: JournalSession) -> str | None:
    if instant is None:
        return None
    try:
        return instant.astimezone(session_zone(session)).isoformat()
    except OverflowError:  # the first or the last day that Python knows
        return instant.isoformat()


def read_json(text: str) -> list[Line]:
    """Read a journal from a JSON document.

    Parameters
    ----------
    text : str
        An object with the key ``entries`` and perhaps ``sessions``, as `journal_json` gives it.
        What another program leaves out is nothing; ids of its own are replaced.

    Raises
    ------
    ExchangeError
        If it is no such document.
    """
    document, count, items = json_document(text)
    sessions, lines = _sessions(document.get("sessions", []))
    has_sessions = "sessions" in document
    used: set[str] = set()
    seen: set[str] = set()
    for number, item in zip(watched_items(range(1, count + 1), "Reading"), items, strict=True):
        line = _entry_line(f"entry {number}", item, sessions if has_sessions else None, seen)
        if line.session is not None:
            used.add(line.session.id)
        lines.append(line)
    idle = (session for session in sessions.values() if session.id not in used)
    return lines + [session_line("sessions", session) for session in idle]


def session_line(place: str, session: JournalSession) -> Line:
    """Return the line of a session without entries."""
    what = f"session of {session.evening}, {session.site or UNKNOWN_SITE}"
    return Line(place, what, session, own=True)


def _sessions(items: list[Any]) -> tuple[dict[str, JournalSession], list[Line]]:
    """Read the sessions: those that can be used by the ids in the file, and lines for the rest."""
    sessions: dict[str, JournalSession] = {}
    faults = []
    for number, item in enumerate(items, start=1):
        place = f"session {number}"
        try:
            raw_id = raw_id_of(item)
            if not raw_id:
                raise ValueError('"id" is missing')  # noqa: TRY301
            if raw_id in sessions:
                raise ValueError(f"the id {show(raw_id)} stands there twice")  # noqa: TRY301
            sessions[raw_id] = session_of(item)
        except ValueError as error:
            faults.append(Line(place, fault=str(error)))
    return sessions, faults


def raw_id_of(item: Any, key: str = "id") -> str:
    """Return the id under which an object stands in a file; empty when it has none."""
    if not isinstance(item, Mapping):
        raise ValueError(f"found {show(item)} where an object is needed")  # noqa: TRY004
    value = item.get(key)
    if value is not None and not isinstance(value, str):
        raise ValueError(f'"{key}" is {show(value)}; allowed is text')
    return value or ""


def session_of(item: Mapping[str, Any]) -> JournalSession:
    """Make a session of what a file says of it.

    Raises ValueError with a sentence, when something cannot be used.
    """
    values = read_fields(SESSION_FIELDS, item)
    if values["start"] is None:
        raise ValueError('"start" is missing')
    if values["end"] is not None and values["end"] < values["start"]:
        raise ValueError('"end" is before "start"')
    values["timezone"] = values["timezone"] or "UTC"
    values["evening"] = values["evening"] or evening_within(values["start"], values["timezone"])
    session = JournalSession(id="", **values)
    raw_id = raw_id_of(item)
    return replace(session, id=raw_id if is_own_id(raw_id) else session_id_of(session))


def _entry_line(
    place: str, item: Any, sessions: Mapping[str, JournalSession] | None, seen: set[str]
) -> Line:
    try:
        raw_id, raw_session = raw_id_of(item), raw_id_of(item, "session")
        if raw_id in seen:
            raise ValueError(f"the id {show(raw_id)} stands there twice")  # noqa: TRY301
        if raw_id:
            seen.add(raw_id)
        known = sessions or {}
        if raw_session and sessions is not None and raw_session not in known:
            raise ValueError(  # noqa: TRY301
                f"its session {show(raw_session)} is not among the sessions, or is refused"
            )
        own = {name: item.get(f"own_{name}", item.get(name)) for name in OWN}
        flat = dict(item) | {"planned_train": item.get("planned_eyepiece")} | own
        return entry_line(place, flat, known.get(raw_session))
    except ValueError as error:
        return Line(place, fault=str(error))


def entry_line(place: str, item: Mapping[str, Any], session: JournalSession | None) -> Line:
    """Make the line of an entry of what a file says of it.

    Parameters
    ----------
    item : mapping
        With the names of the fields; the target's under ``target``.
    session : JournalSession or None
        None where the file has none: an evening at the site that is named is taken.

    Raises
    ------
    ValueError
        With a sentence, when something cannot be used.
    """
    target_item = item.get("target")
    raw_id_of(target_item)  # an object it must be
    target: LoggedTarget = _part(LoggedTarget, target_item or {})
    train: LoggedTrain = _part(LoggedTrain, item)
    values = read_fields(ENTRY_FIELDS, item)
    if not (target.name or target.id):
        raise ValueError("its target has no name")
    if values["at"] is None:
        raise ValueError('"at" is missing')
    if session is None:
        session = session_at(values["at"], item.get("site"), item["at"])
        raw_session = raw_id_of(item, "session")
        session = replace(session, id=raw_session) if is_own_id(raw_session) else session
    values["outcome"] = Outcome(values["outcome"])
    raw_id = raw_id_of(item)
    entry = JournalEntry(raw_id, session.id, target=target, train=train, **values)
    own = is_own_id(raw_id)
    if not own:
        entry = replace(entry, id=entry_id_of(entry))
    return Line(place, look_words(entry), session, entry, own=own)


def _part(kind: type, item: Mapping[str, Any]) -> Any:
    """Return the target or train of a look: a long file has few, so each is read and kept once."""
    values = [item.get(field.name) for field in _FIELDS_OF[kind]]
    try:
        return _read_part(kind, *values)
    except TypeError:  # a list or an object where a value should be: no field takes it
        return _read_part.__wrapped__(kind, *values)


@lru_cache(maxsize=20_000, typed=True)
def _read_part(kind: type, *values: Any) -> Any:
    names = (field.name for field in _FIELDS_OF[kind])
    return kind(**read_fields(_FIELDS_OF[kind], dict(zip(names, values, strict=True))))


def session_at(at: datetime, site: Any, written: Any) -> JournalSession:
    """Return the session of a look of which the file tells none: that evening at the site.

    Parameters
    ----------
    at : datetime
        UTC.
    site : object
        Its name, or None.
    written : object
        The time as it stands in the file, whose offset tells which evening is meant.
    """
    if site is not None and not isinstance(site, str):
        raise ValueError(f'"site" is {show(site)}; allowed is text')
    offset = datetime.fromisoformat(written).utcoffset() if isinstance(written, str) else None
    zone = zone_of_offset(offset.total_seconds() / 60.0 if offset else 0.0)
    evening = evening_within(at, zone)
    name = site or UNKNOWN_SITE
    return JournalSession(content_id(name, evening), evening, name, zone, at)
