"""What the journal teaches, as JSON."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict

from planner.journal.report_records import Counts, JournalReport
from planner.journal.site_sky import SiteSky
from planner.model.own_eye import EyeReport
from planner.output.contracts.plan import Json, eye_json, eye_part_json

REPORT_SCHEMA = "fieldstop.journal-report/1"


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
