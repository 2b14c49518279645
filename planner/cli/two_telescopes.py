"""``fieldstop plan`` with two telescopes: from its options to a plan on paper."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from planner.cli.options import PlanOptions
from planner.cli.plan_steps import (
    choice_of,
    clock_remarks,
    plan_single,
    session_asked,
    use_of,
    write_single,
)
from planner.cli.result import Result
from planner.config.settings import Settings
from planner.ephemeris.kernel import load_ephemeris
from planner.model.errors import InputError, NothingToPlanError
from planner.model.night import Night
from planner.model.pace import Tempo
from planner.model.plan import Plan
from planner.model.site import Site
from planner.planning.circumstances import Circumstances
from planner.planning.session_times import SessionTimes
from planner.planning.two_telescopes.parts_in_use import things_owned
from planner.planning.two_telescopes.plan import TwoTelescopes, plan_both
from planner.request.circumstances import circumstances_of, night_of, with_forecast
from planner.request.journal_use import with_journal
from planner.request.options import JournalWishes, Surroundings, open_settings
from planner.request.two_telescopes import Pair, check_two, usable, with_own_corrector


def plan_two_command(asked: PlanOptions, surroundings: Surroundings) -> Result:
    """Plan a session with two telescopes.

    Raises
    ------
    UserError
        With a sentence for everything that is wrong, or that two telescopes do not go with.
    """
    _check(asked)
    use = use_of(asked)
    settings, talk = open_settings(asked.config, surroundings)
    check_two(settings, asked.telescopes, asked.observers)
    site, pair, lessons = _pair(asked, settings, use, surroundings)
    talk += lessons
    night = night_of(load_ephemeris(), site, evening=asked.evening, now=surroundings.now)
    talk += clock_remarks(night, asked)
    words, able = "", tuple[Circumstances, ...](pair)
    try:
        able, note = usable(pair)
        session = session_asked(asked, night, surroundings)
        words = session.words
        able, remarks = _with_forecast(able, asked, settings, night, session)
        talk += (*remarks, *session.remarks)
        plan = _plan(asked, able, settings, night, session, use, surroundings)
        plan = replace(plan, notes=(*plan.notes, note)) if note else plan
    except NothingToPlanError as error:
        plan = Plan(night, night.start, night.start, (), notes=(str(error),))
    if not plan.looks:
        talk += plan.notes
    text = _written(plan, asked.format, able, session=words, now=surroundings.now)
    return Result(text, asked.output, tuple(dict.fromkeys(talk)), 0 if plan.looks else 1)


def _check(asked: PlanOptions) -> None:
    """Refuse what two telescopes do not go with."""
    faults = []
    if asked.guests is not None:
        faults.append("--guests does not go with two telescopes: plan each by itself for guests.")
    if asked.teach:
        faults.append("--teach does not go with two telescopes: plan each by itself for it.")
    if faults:
        raise InputError(faults)


def _pair(
    asked: PlanOptions, settings: Settings, use: JournalWishes, surroundings: Surroundings
) -> tuple[Site, Pair, tuple[str, ...]]:
    """Find the site and both telescopes, with what the journal teaches; and what is to be said."""
    found, talk = list[Circumstances](), tuple[str, ...]()
    for name in asked.telescopes:
        site, circumstances = circumstances_of(
            settings,
            site=asked.site,
            telescope=name,
            readings=asked.tonight,
            tempo=Tempo(asked.pace),
        )
        found.append(circumstances)
    found[1], remark = with_own_corrector((found[0], found[1]), settings.kit)
    talk += (remark,) if remark else ()
    for number, circumstances in enumerate(found):
        found[number], lessons = with_journal(circumstances, use, surroundings, settings)
        talk += lessons
    return site, (found[0], found[1]), talk


def _with_forecast(
    able: tuple[Circumstances, ...],
    asked: PlanOptions,
    settings: Settings,
    night: Night,
    session: SessionTimes,
) -> tuple[tuple[Circumstances, ...], tuple[str, ...]]:
    found, talk = list[Circumstances](), tuple[str, ...]()
    for circumstances in able:
        changed, remarks = with_forecast(
            circumstances,
            asked.forecast,
            settings,
            site=night.site,
            span=(session.start, session.end),
            seeing_given=asked.tonight.seeing is not None,
        )
        found.append(changed)
        talk += remarks
    return tuple(found), talk


def _plan(
    asked: PlanOptions,
    able: tuple[Circumstances, ...],
    settings: Settings,
    night: Night,
    session: SessionTimes,
    use: JournalWishes,
    surroundings: Surroundings,
) -> Plan:
    if len(able) == 1:
        return plan_single(asked, able[0], night, session, use, surroundings)
    choice = choice_of(asked, able[0], night.site, session, use, surroundings)
    plan = plan_both(
        choice.catalogue,
        load_ephemeris(),
        night,
        start=session.start,
        end=session.end,
        two=TwoTelescopes((able[0], able[1]), asked.observers or 1, things_owned(settings.kit)),
        wishes=choice.wishes,
    )
    return replace(plan, notes=(*plan.notes, *choice.notes))


def _written(
    plan: Plan, form: str, able: tuple[Circumstances, ...], *, session: str, now: datetime
) -> str:
    """Write a plan in a format; one that came to be for one telescope as any other."""
    if plan.telescopes and form == "text":
        from planner.output.two_telescopes import plan_of_two_text  # noqa: PLC0415  # this one

        return plan_of_two_text(plan, circumstances=(able[0], able[1]), session=session)
    if plan.telescopes and form == "html":
        from planner.output.pages.two_telescopes import plan_of_two_html  # noqa: PLC0415  # this one

        return plan_of_two_html(plan, (able[0], able[1]), load_ephemeris(), session=session)
    return write_single(plan, form, able[0], session=session, now=now)
