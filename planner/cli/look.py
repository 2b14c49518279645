"""``fieldstop look``: from its options to what is known of one target."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, time

from planner.cli.options import LookOptions
from planner.cli.result import Result, takes_dots
from planner.ephemeris.almanac import evening_date
from planner.ephemeris.kernel import load_ephemeris
from planner.ephemeris.solar_system.report import BodyReport, body_report
from planner.model.errors import Faults, InputError
from planner.model.kit import Eyepiece, train_words
from planner.model.night import Night
from planner.model.plan import View
from planner.model.site import Site
from planner.output.contracts.plan import look_json
from planner.output.contracts.solar_system import body_json
from planner.output.contracts.writing import json_text
from planner.output.text.fields import look_drawings, view_shades, way_drawings
from planner.output.text.look import look_text
from planner.output.text.solar_system import body_facts, body_lines
from planner.planning.circumstances import Circumstances
from planner.planning.finding.neighbours import neighbours_of
from planner.planning.look import LookReport, look_at
from planner.planning.session_times import clock_remark, instant_of, local_instant
from planner.request.circumstances import check_kit, circumstances_of, night_of
from planner.request.journal_use import with_journal
from planner.request.options import JournalWishes, Surroundings, journal_file, open_settings
from planner.request.target_selection import target_called
from planner.text import hint, listed, show
from targets.catalogue.catalogue import load_catalogue
from targets.model import Target


def look_command(asked: LookOptions, surroundings: Surroundings, faults: Faults) -> Result:
    """Look at one target.

    Raises
    ------
    NothingToPlanError
        When no eyepiece can be used.
    """
    target = faults.attempt(_target, asked, surroundings)
    faults.check()
    settings, talk = open_settings(asked.config, surroundings)
    wanted = () if asked.why is None else eyepieces_called(settings.kit.eyepieces, asked.why)
    site, circumstances = circumstances_of(
        settings, site=asked.site, telescope=asked.telescope, readings=asked.tonight
    )
    check_kit(circumstances)
    use = JournalWishes(
        asked.data,
        leaning=not asked.no_leaning,
        own_eye=not (asked.no_leaning or asked.average_eye),
    )
    circumstances, lessons = with_journal(circumstances, use, surroundings, settings)
    talk += lessons
    night, at, remarks = _night_and_moment(asked, site, surroundings.now)
    report = look_at(target, load_ephemeris(), night, circumstances, at=at)
    near = neighbours_of(report, load_catalogue(), load_ephemeris(), circumstances)
    report = replace(report, neighbours=near)
    why = (*why_answers(report, wanted), *_eye_answers(report, circumstances, wanted))
    body = _body(report, circumstances)
    if asked.format == "json":
        keys = None if body is None else body_json(body, site)
        text = json_text(look_json(report, why=why, details=keys))
    elif asked.format == "html":
        from planner.output.pages.html import look_html  # noqa: PLC0415  # slow to load

        facts = () if body is None else body_facts(body, site)
        text = look_html(report, circumstances, load_ephemeris(), details=facts)
    else:
        orientation = circumstances.telescope.orientation
        details = [] if body is None else body_lines(body, site, orientation)
        drawings = _drawings(report, circumstances, asked, surroundings)
        text = look_text(
            report,
            circumstances=circumstances,
            why=why,
            drawings=drawings,
            details=details,
            how=asked.how,
        )
    talk += remarks
    if not report.views:
        talk += (_why_nothing(report),)
    return Result(text, asked.output, talk, 0 if report.views else 1)


def _drawings(
    report: LookReport, circumstances: Circumstances, asked: LookOptions, surroundings: Surroundings
) -> list[str]:
    """Draw the fields of the best eyepieces and, where asked for, the way and the views."""
    unicode = takes_dots(asked.output, has_dots=surroundings.has_dots)
    shared = (report, circumstances, load_ephemeris())
    way = way_drawings(*shared, unicode=unicode) if asked.how and asked.fields else []
    views = view_shades(*shared, count=asked.fields, unicode=unicode) if asked.view else []
    return [*way, *look_drawings(*shared, count=asked.fields, unicode=unicode), *views]


def _target(asked: LookOptions, surroundings: Surroundings) -> Target:
    data = journal_file(asked.data, surroundings).parent
    return target_called(load_catalogue(), asked.target, data=data)


def _night_and_moment(
    asked: LookOptions, site: Site, now: datetime
) -> tuple[Night, datetime | None, tuple[str, ...]]:
    """Find the night that is meant, the moment in it, and what is to be said about that."""
    ephemeris, evening, at = load_ephemeris(), asked.evening, asked.at
    if isinstance(at, datetime):
        instant = instant_of(at, site)
        own = evening_date(instant, site)
        if evening not in {None, own}:
            raise InputError(
                [f"--at {at.isoformat()} is in the night of {own}, not of --date {evening}."]
            )
        night = night_of(ephemeris, site, evening=own, now=now)
        clock = at.time() if at.tzinfo is None else None
        return night, instant, _remarks(night, clock)
    night = night_of(ephemeris, site, evening=evening, now=now)
    return night, None if at is None else local_instant(night, at), _remarks(night, at)


def _remarks(night: Night, clock: time | None) -> tuple[str, ...]:
    remark = None if clock is None else clock_remark(night, clock)
    return () if remark is None else (remark,)


def _body(report: LookReport, circumstances: Circumstances) -> BodyReport | None:
    """Return what belongs to the Moon, a feature on it or a planet."""
    catalogue = load_catalogue()
    features = [catalogue.target(row) for row in catalogue.lunar]
    red_spot = circumstances.red_spot
    return body_report(
        report.target,
        load_ephemeris(),
        report.night,
        report.at,
        windows=report.windows,
        features=features,
        red_spot=red_spot,
    )


def eyepieces_called(eyepieces: Sequence[Eyepiece], text: str) -> tuple[Eyepiece, ...]:
    """Return the eyepieces whose name is a text, or else those whose name begins with it.

    Raises InputError when there is none; the nearest is named.
    """
    word = text.strip().casefold()
    exact = tuple(item for item in eyepieces if item.name.casefold() == word)
    found = exact or tuple(
        item for item in eyepieces if word and item.name.casefold().startswith(word)
    )
    if found:
        return found
    names = [item.name for item in eyepieces]
    meant = hint(text, names, f"there is {listed(names)}.")
    raise InputError([f"No eyepiece is called {show(text)}; {meant}"])


def why_answers(report: LookReport, eyepieces: Sequence[Eyepiece]) -> tuple[str, ...]:
    """Say why the unfiltered trains with some eyepieces are not the best for the target.

    Returns
    -------
    tuple of str
        Sentences, the better trains first.
    """
    if not report.views or not eyepieces:
        return ()
    best = report.views[0]
    winner = train_words(best.train)
    answers = dict.fromkeys(
        _answer(view, best, report.target.name)
        for view in report.views
        if view.train.eyepiece in eyepieces and (view.train.filter is None or view is best)
    )
    return (*answers, *([] if best.train.eyepiece in eyepieces else [f"{winner} is the best."]))


def _eye_answers(
    report: LookReport, circumstances: Circumstances, eyepieces: Sequence[Eyepiece]
) -> tuple[str, ...]:
    """Say what the own eye changed, where one is asked about eyepieces."""
    eye = report.eye
    if eye is None or not eyepieces or not report.views:
        return ()
    who = circumstances.by_stated_eye()
    stated = look_at(report.target, load_ephemeris(), report.night, who, at=report.at)
    changes = eye_changes(report.views, stated.views)
    return (f"{eye.words[0].upper()}{eye.words[1:]}; {changes}.",)


def eye_changes(own: Sequence[View], stated: Sequence[View]) -> str:
    """Return a clause: what the own eye changes against that of the stated experience.

    Parameters
    ----------
    own, stated : sequence of View
        Of the own eye, and of the stated experience; best first.
    """
    best, usual = own[0], stated[0]
    names = [train_words(view.train) for view in (best, usual)]
    told = []
    if names[0] != names[1]:
        told.append(f"{names[0]} is the best, not {names[1]}")
    if best.grade is not usual.grade:
        told.append(f"{best.grade.value} in it, not {usual.grade.value}")
    before = {train_words(view.train): view.grade for view in stated}
    others = sum(
        before.get(train_words(view.train), view.grade) is not view.grade for view in own[1:]
    )
    if others:
        told.append(f"another grade in {others} of the other trains")
    if not told:
        return "against your stated experience it changes neither the eyepiece nor a grade"
    return f"against your stated experience it changes: {', '.join(told)}"


def _answer(view: View, best: View, target: str) -> str:
    name = train_words(view.train)
    reasons = "; ".join(view.reasons).rstrip(".")
    if view is best:
        return f"{name} is the best of the kit for {target}: {reasons}."
    if not view.train.usable:
        return f"{name} cannot be put together: {reasons}."
    return f"{name}: {reasons}."


def _why_nothing(report: LookReport) -> str:
    if report.hazard is not None:
        return f"{report.hazard}: not to be looked at."
    when = report.at.astimezone(report.night.site.zone)
    if report.unlit is not None and report.altitude_deg > 0.0:
        return f"{report.target.name} cannot be seen at {when:%H:%M}: {report.unlit}."
    reason = f" No window: {report.hindrance}." if report.hindrance else ""
    return f"{report.target.name} is below the horizon at {when:%H:%M}.{reason}"
