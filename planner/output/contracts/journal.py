"""What the journal has of one entry, what was removed from it and what it teaches, as JSON.

The entries themselves, and the journal as a whole, are `planner.journal.exchange.json_format`'s, so
that what is listed can be imported.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict
from datetime import datetime
from typing import Any

from planner.journal.exchange.json_format import entry_json
from planner.journal.records import JournalEntry, JournalSession, session_zone
from planner.journal.report_records import Counts, JournalReport
from planner.journal.site_sky import SiteSky
from planner.journal.store.history import Former
from planner.model.own_eye import EyeReport
from planner.output.contracts.plan import eye_json, eye_part_json

REMOVED_SCHEMA = "fieldstop.removed/1"  # another one, so that no import takes them for looks
ENTRY_SCHEMA = "fieldstop.entry/1"
REPORT_SCHEMA = "fieldstop.journal-report/1"

Json = dict[str, Any]
Pairs = Iterable[tuple[JournalEntry, JournalSession]]


def removed_json(pairs: Pairs, removed_at: Mapping[str, datetime]) -> Json:
    """Return removed entries, each with the time of its removal, by the site's clock."""
    entries = [
        entry_json(entry, session) | {"removed_at": _time(removed_at[entry.id], session)}
        for entry, session in pairs
    ]
    return {"schema": REMOVED_SCHEMA, "entries": entries}


def entry_history_json(
    entry: JournalEntry, session: JournalSession, history: Sequence[Former[JournalEntry]]
) -> Json:
    """Return an entry, and what it was before each correction."""
    former = [
        {
            "changed_at": _time(former.changed_at, session),
            "entry": entry_json(former.record, session),
        }
        for former in history
    ]
    return {"schema": ENTRY_SCHEMA, "entry": entry_json(entry, session), "history": former}


def _time(instant: datetime, session: JournalSession) -> str:
    return instant.astimezone(session_zone(session)).isoformat(timespec="seconds")


def report_json(
    report: JournalReport, eye: EyeReport | None = None, skies: Sequence[SiteSky] = ()
) -> Json:
    """Return a report as a JSON object: the names of the fields are its keys."""
    values = {"schema": REPORT_SCHEMA} | asdict(report) | {"eye": eye and _eye_report(eye)}
    values["skies"] = [asdict(sky) | {"doubtful": list(sky.doubtful)} for sky in skies]
    for name in ("first", "last", "faintest_star_on"):
        values[name] = values[name].isoformat() if values[name] else None
    values["hours"] = round(report.hours, 2)
    values["sites"] = _objects(report.sites, "site", "nights")
    values["eyepieces"] = [
        asdict(use) | {"kinds": _objects(use.kinds, "kind", "looks")} for use in report.eyepieces
    ]
    values["targets"] = [
        asdict(use) | {"eyepieces": _objects(use.eyepieces, "eyepiece", "times_seen")}
        for use in report.targets
    ]
    plan = values["plan"]
    plan["skipped"] = _objects(report.plan.skipped, "why", "times")
    plan["overrulings"] = [
        asdict(change) | {"kinds": _objects(change.kinds, "kind", "looks")}
        for change in report.plan.overrulings
    ]
    if report.list is not None:
        for name in ("seen", "sought", "not_yet"):
            pairs = getattr(report.list, name)
            values["list"][name] = [{"id": id_, "name": name_} for id_, name_ in pairs]
    return values


def _eye_report(report: EyeReport) -> Json:
    stated_mag = report.eye.stated_mag if report.eye else None
    return {
        "looks": report.looks,
        "left_out": _objects(report.left_out, "reason", "looks"),
        "learned": eye_json(report.eye),
        "parts": [
            {"of": name, "stated_deeper_mag": stated_mag, "left_out": []}
            | (eye_part_json(part) or {})
            for name, part in report.parts
        ],
        "bands": [
            {"looks": band.looks, "expected": round(band.expected, 3), "seen": round(band.seen, 3)}
            for band in report.bands
        ],
        "surprises": [
            asdict(surprise) | {"chance": round(surprise.chance, 4)}
            for surprise in report.surprises
        ],
        "skies_toward": [_rounded(asdict(sky)) for sky in report.toward],
        "choices": [
            _rounded(asdict(choice)) | {"verdict": choice.verdict} for choice in report.choices
        ],
    }


def _rounded(values: Json) -> Json:
    return {k: round(v, 3) if isinstance(v, float) else v for k, v in values.items()}


def _objects(counts: Counts, name: str, count: str) -> list[Json]:
    return [{name: one, count: times} for one, times in counts]
