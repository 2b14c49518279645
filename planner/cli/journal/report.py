"""``fieldstop journal report``: what the journal teaches."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from planner.cli.journal.options import ReportOptions
from planner.cli.result import Result
from planner.config.preferences import preferences_with
from planner.ephemeris.kernel import load_ephemeris
from planner.formulas.visibility_limit import EXPERIENCE_MAG
from planner.journal.report import COLUMNS, journal_report
from planner.journal.site_sky import site_skies
from planner.journal.store import has_journal
from planner.journal.store.journal import Journal, open_journal
from planner.model.errors import InputError, NothingToPlanError
from planner.model.own_eye import EyeReport
from planner.output.contracts.journal_report import report_json
from planner.output.contracts.writing import json_text
from planner.output.text.journal_report import report_text
from planner.request.options import Surroundings, journal_file, open_settings
from planner.request.own_eye.choices import eye_choices
from planner.request.own_eye.directions import skies_toward
from planner.request.own_eye.looks import eye_looks
from planner.request.own_eye.report import eye_report
from planner.request.target_selection import chosen_rows
from targets.catalogue.catalogue import Catalogue, load_catalogue
from targets.errors import UserError
from targets.naming.lookup import UnknownTarget
from targets.userlists.records import ListError
from targets.userlists.store import find_name, lists_folder, read_list

USUAL_LIST, CALDWELL = "messier", "caldwell"


def report_command(asked: ReportOptions, surroundings: Surroundings) -> Result:
    """Say what the journal teaches, on one page or as JSON.

    Raises
    ------
    NothingToPlanError
        When there is no journal yet.
    """
    path, name = journal_file(asked.data, surroundings), asked.list_name
    listed = _listed(name, path.parent)
    if not has_journal(path):
        raise NothingToPlanError(f'There is no journal at {path} yet; "journal add" begins one.')
    with open_journal(path) as journal:
        rows, sessions = journal.columns(*COLUMNS), journal.counted_sessions()
        journal.name_passed_over()
        talk = journal.remarks
        eye, doubts = _eye(asked.config, surroundings, journal)
    title = name.capitalize() if name.casefold() in {USUAL_LIST, CALDWELL} else name
    report = journal_report(rows, sessions, list_name=title, listed=listed)
    depth_mag = eye.eye.at_stars_mag if eye and eye.eye else 0.0
    skies = site_skies(sessions, eye_mag=depth_mag)
    if asked.format == "svg":
        from planner.output.drawing.eye_charts import eye_svg  # noqa: PLC0415  # for this format alone

        if eye is None or eye.eye is None:
            raise NothingToPlanError(
                "Nothing to draw: the journal tells too little of your eye yet."
            )
        text = eye_svg(eye)
    elif asked.format == "json":
        text = json_text(report_json(report, eye, skies))
    else:
        text = report_text(report, eye, skies)
    return Result(text, asked.output, (*talk, *doubts))


def _eye(
    config: str | None, surroundings: Surroundings, journal: Journal
) -> tuple[EyeReport | None, tuple[str, ...]]:
    """Report on the eye; a configuration that cannot be used costs nothing else of the page."""
    try:
        settings, _ = open_settings(config, surroundings)
    except UserError as error:
        return None, (*error.sentences, "Nothing is told of your eye.")
    preferences = preferences_with(settings.match)
    looks = eye_looks(
        journal, settings, preferences, ephemeris=load_ephemeris(), catalogue=load_catalogue()
    )
    report = eye_report(looks, stated_mag=EXPERIENCE_MAG[settings.observer.experience])
    if report.eye is not None:
        report = replace(
            report,
            toward=tuple(skies_toward(looks, report.eye, preferences)),
            choices=tuple(eye_choices(looks, report.eye, settings, preferences)),
        )
    return report, ()


def _listed(name: str, data: Path) -> list[tuple[str, str]]:
    """Return ids and names of the targets of a list, the user's own among them."""
    catalogue = load_catalogue()
    kept = find_name(lists_folder(data), name)
    if kept is not None:
        return _kept(catalogue, kept[1], name)
    rows = chosen_rows(catalogue, list_name=name)
    found = [] if rows is None else [catalogue.target(row) for row in rows]
    if name.casefold() != CALDWELL:
        return [(target.id, target.name) for target in found]
    # Few of his numbers are part of a name; people tick them off by them.
    numbered = enumerate(found, start=1)
    return [(one.id, f"C{n} {one.name.removeprefix(f'C{n} ')}") for n, one in numbered]


def _kept(catalogue: Catalogue, path: Path, name: str) -> list[tuple[str, str]]:
    try:
        entries = read_list(path).columns()
    except ListError as error:
        raise InputError([f'--list "{name}": {fault}.' for fault in error.faults]) from None
    return [
        (identifier, _name(catalogue, identifier) if place < 0 else entries.own.names[place])
        for identifier, place in zip(entries.ids, entries.places.tolist(), strict=True)
    ]


def _name(catalogue: Catalogue, identifier: str) -> str:
    try:
        return catalogue.find(identifier).name
    except UnknownTarget:
        return identifier
