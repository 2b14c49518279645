"""Lists of targets, and what reading one came to, as JSON."""

from __future__ import annotations

from collections.abc import Sequence

from planner.output.contracts.plan import Json, target_json
from planner.output.text.targets import Listed, ListSummary
from targets.userlists.records import Reading, Remark

LISTS_SCHEMA = "fieldstop.lists/1"
TARGETS_SCHEMA = "fieldstop.targets/1"
READING_SCHEMA = "fieldstop.reading/1"


def lists_json(summaries: Sequence[ListSummary]) -> Json:
    """Return programmes and lists as the object of the ``fieldstop.lists/1`` contract."""
    return {
        "schema": LISTS_SCHEMA,
        "lists": [
            {"name": s.name, "title": s.title, "targets": s.count, "seen": s.seen, "own": s.own}
            for s in summaries
        ],
    }


def targets_json(title: str, listed: Sequence[Listed]) -> Json:
    """Return targets of a list as the object of the ``fieldstop.targets/1`` contract."""
    return {
        "schema": TARGETS_SCHEMA,
        "title": title,
        "targets": [
            {"target": target_json(item.target), "note": item.note or None, "seen": item.seen}
            for item in listed
        ],
    }


def reading_json(reading: Reading, source: str, verdict: str) -> Json:
    """Return all of a reading as the object of the ``fieldstop.reading/1`` contract."""
    return {
        "schema": READING_SCHEMA,
        "file": source,
        "form": reading.form,
        "guessed": list(reading.guessed),
        "read": _remarks(reading.read),
        "passed_over": _remarks(reading.passed_over),
        "refused": _remarks(reading.refused),
        "verdict": verdict,
    }


def _remarks(remarks: Sequence[Remark]) -> list[dict[str, str]]:
    return [{"place": remark.place, "text": remark.text} for remark in remarks]
