"""``fieldstop plan``: from its options to a plan on paper."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from planner.cli.options import PlanOptions
from planner.cli.result import Result
from planner.ephemeris.kernel import load_ephemeris
from planner.model.errors import NothingToPlanError
from planner.model.night import Night
from planner.model.pace import Tempo
from planner.model.plan import Plan
from planner.output.text.plan import plan_text
from planner.planning.circumstances import Circumstances
from planner.planning.plan import plan_night
from planner.planning.session_times import SessionTimes, clock_remark, session_times
from planner.planning.wishes import Wishes
from planner.request.circumstances import check_kit, circumstances_of, night_of, with_forecast
from planner.request.journal_use import unseen_rows, with_journal
from planner.request.options import (
    JournalWishes,
    Surroundings,
    journal_file,
    open_settings,
)
from planner.request.target_selection import chosen_rows
from planner.request.user_targets import stock_for_night


def plan_command(asked: PlanOptions, surroundings: Surroundings) -> Result:
    """Plan a session."""
    use = JournalWishes(
        asked.data,
        leaning=not asked.no_leaning,
        own_eye=not (asked.no_leaning or asked.average_eye),
        not_seen=asked.not_seen,
    )
    settings, talk = open_settings(asked.config, surroundings)
    site, circumstances = circumstances_of(
        settings,
        site=asked.site,
        telescope=asked.telescope,
        readings=asked.tonight,
        tempo=Tempo(asked.pace),
    )
    night = night_of(load_ephemeris(), site, evening=asked.evening, now=surroundings.now)
    talk += _clock_remarks(night, asked)
    circumstances, lessons = with_journal(circumstances, use, surroundings, settings)
    talk += lessons
    words = ""
    try:
        check_kit(circumstances)
        session = session_times(
            night,
            begin=asked.begin,
            until=asked.until,
            now=surroundings.now if asked.evening is None else None,
        )
        words = session.words
        circumstances, remarks = with_forecast(
            circumstances,
            asked.forecast,
            settings,
            site=site,
            span=(session.start, session.end),
            seeing_given=asked.tonight.seeing is not None,
        )
        talk += remarks
        talk += session.remarks
        if asked.guests is not None:
            from planner.request.guests import for_guests  # noqa: PLC0415  # only with guests

            circumstances = for_guests(circumstances, asked.guests)
        plan = _plan(asked, circumstances, night, session, use, surroundings)
    except NothingToPlanError as error:
        plan = Plan(night, night.start, night.start, (), notes=(str(error),))
    if not plan.looks:
        talk += plan.notes
    text = _written(plan, asked.format, circumstances, session=words, now=surroundings.now)
    return Result(text, asked.output, talk, 0 if plan.looks else 1)


def _written(
    plan: Plan, form: str, circumstances: Circumstances, *, session: str, now: datetime
) -> str:
    """Write a plan in a format; what only one of them needs is loaded for that one."""
    guests = circumstances.pace.guests
    if guests and plan.looks and form in {"text", "html"}:
        return _for_guests(plan, form, circumstances, guests)
    if form == "json":
        from planner.output.contracts.plan import plan_json  # noqa: PLC0415
        from planner.output.contracts.writing import json_text  # noqa: PLC0415

        return json_text(plan_json(plan))
    if form == "ics":
        from planner.output.pages.ics import plan_ics  # noqa: PLC0415

        return plan_ics(plan, now=now)
    if form == "html":
        from planner.output.pages.html import plan_html  # noqa: PLC0415

        return plan_html(plan, circumstances, load_ephemeris(), session=session)
    if form in {"csv", "ecsv"}:
        from planner.output.pages import tables  # noqa: PLC0415

        return tables.plan_csv(plan) if form == "csv" else tables.plan_ecsv(plan)
    return plan_text(plan, circumstances=circumstances, session=session)


def _for_guests(plan: Plan, form: str, circumstances: Circumstances, guests: int) -> str:
    """Write the sheet to read from."""
    telescope = circumstances.telescope
    if form == "html":
        from planner.output.pages.guests import guests_html  # noqa: PLC0415

        return guests_html(plan, guests=guests, telescope=telescope, ephemeris=load_ephemeris())
    from planner.output.guests import guests_text  # noqa: PLC0415

    return guests_text(plan, guests=guests, telescope=telescope, ephemeris=load_ephemeris())


def _clock_remarks(night: Night, asked: PlanOptions) -> tuple[str, ...]:
    clocks = (clock for clock in (asked.begin, asked.until) if clock is not None)
    return tuple(filter(None, (clock_remark(night, clock) for clock in clocks)))


def _plan(
    asked: PlanOptions,
    circumstances: Circumstances,
    night: Night,
    session: SessionTimes,
    use: JournalWishes,
    surroundings: Surroundings,
) -> Plan:
    stock = stock_for_night(
        journal_file(use.data, surroundings).parent,
        ephemeris=load_ephemeris(),
        site=night.site,
        instant=session.start,
        list_name=asked.list_name,
    )
    rows = chosen_rows(
        stock.catalogue,
        kinds=tuple(dict.fromkeys(kind for kinds in asked.kinds for kind in kinds)),
        constellation=asked.constellation,
        list_name=asked.list_name,
        own_rows=stock.rows,
    )
    notes = stock.remarks
    if circumstances.forecast is not None:
        from planner.output.text.forecast import forecast_words  # noqa: PLC0415  # only with one

        forecast = circumstances.forecast
        notes += (forecast_words(forecast, session.start, session.end, night.site),)
    if rows is None and asked.guests is not None:
        from planner.request.guests import rows_for_guests  # noqa: PLC0415  # only with guests

        rows = rows_for_guests(stock.catalogue)
    if use.not_seen:
        rows, note = unseen_rows(stock.catalogue, rows, use, surroundings)
        notes += (note,) if note else ()
    plan = plan_night(
        stock.catalogue,
        load_ephemeris(),
        night,
        start=session.start,
        end=session.end,
        circumstances=circumstances,
        wishes=Wishes(
            rows=rows,
            by_name=asked.list_name is not None,
            count=asked.count,
            min_altitude_deg=asked.min_altitude_deg,
            teach=asked.teach,
        ),
    )
    return replace(plan, notes=(*plan.notes, *notes)) if notes else plan
