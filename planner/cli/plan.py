"""``fieldstop plan``: from the texts behind its options to a plan on paper."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time
from pathlib import Path

from planner.cli.result import Result, read_output
from planner.ephemeris.kernel import load_ephemeris
from planner.model.errors import Faults, NothingToPlanError
from planner.model.night import Night
from planner.model.plan import Plan
from planner.output.contracts.plan import json_text, plan_json
from planner.output.text.plan import plan_text
from planner.planning.plan import Wishes, plan_night
from planner.planning.session_times import SessionTimes, clock_remark, session_times
from planner.request.arguments import (
    HIGHEST_FLOOR_DEG,
    MOST_LOOKS,
    read_clock,
    read_date,
    read_format,
    read_kinds,
    read_number,
    read_whole,
)
from planner.request.circumstances import Occasion, check_kit, night_of, occasion_of
from planner.request.journal_use import occasion_with, unseen_rows
from planner.request.options import (
    Common,
    JournalUse,
    Readings,
    Surroundings,
    Tonight,
    doubt_remarks,
    journal_file,
    open_settings,
    read_tonight,
)
from planner.request.target_selection import chosen_rows
from planner.request.user_targets import stock_for_night
from targets.model import Kind

PLAN_FORMATS = ("text", "json", "html", "csv", "ecsv", "ics")


@dataclass(frozen=True, slots=True)
class PlanTexts:
    """The texts behind the options of ``plan`` alone; None where an option is not given."""

    begin: str | None = None
    until: str | None = None
    count: str | None = None
    kinds: Sequence[str] = ()
    list_name: str | None = None
    constellation: str | None = None
    min_altitude: str | None = None


@dataclass(frozen=True, slots=True)
class _Asked:
    """The same, read."""

    format: str
    output: Path | None
    evening: date | None
    readings: Readings
    begin: time | None
    until: time | None
    count: int | None
    kinds: tuple[Kind, ...]
    min_altitude_deg: float | None


def plan_command(
    common: Common,
    texts: PlanTexts,
    tonight: Tonight,
    surroundings: Surroundings,
    experience: JournalUse = JournalUse(),  # noqa: B008  # frozen
) -> Result:
    """Plan a session.

    Raises
    ------
    InputError, SettingsError
        With a sentence for everything that is wrong with the options, or the configuration.
    """
    asked = _read(common, texts, tonight)
    settings, talk = open_settings(common.config, surroundings)
    occasion = occasion_of(
        settings, site=common.site, telescope=common.telescope, readings=asked.readings
    )
    night = night_of(load_ephemeris(), occasion.site, evening=asked.evening, now=surroundings.now)
    talk += doubt_remarks(settings) + _clock_remarks(night, asked)
    occasion, lessons = occasion_with(occasion, experience, surroundings)
    talk += lessons
    words = ""
    try:
        check_kit(occasion)
        session = session_times(
            night,
            begin=asked.begin,
            until=asked.until,
            now=surroundings.now if asked.evening is None else None,
        )
        words = session.words
        plan = _plan(texts, asked, occasion, night, session, experience, surroundings)
    except NothingToPlanError as error:
        plan = Plan(night, night.start, night.start, (), notes=(str(error),))
    if not plan.looks:
        talk += plan.notes
    text = _written(plan, asked.format, occasion, session=words, now=surroundings.now)
    return Result(text, asked.output, talk, 0 if plan.looks else 1)


def _written(plan: Plan, form: str, occasion: Occasion, *, session: str, now: datetime) -> str:
    """Write a plan in a format; what only one of them needs is loaded for that one."""
    if form == "json":
        return json_text(plan_json(plan))
    if form == "ics":
        from planner.output.pages.ics import plan_ics  # noqa: PLC0415

        return plan_ics(plan, now=now)
    if form == "html":
        from planner.output.pages.html import plan_html  # noqa: PLC0415

        return plan_html(plan, occasion.circumstances, load_ephemeris(), session=session)
    if form in {"csv", "ecsv"}:
        from planner.output.pages import tables  # noqa: PLC0415

        return tables.plan_csv(plan) if form == "csv" else tables.plan_ecsv(plan)
    return plan_text(plan, circumstances=occasion.circumstances, session=session)


def _read(common: Common, texts: PlanTexts, tonight: Tonight) -> _Asked:
    faults = Faults()
    asked = _Asked(
        format=faults.attempt(read_format, common.format, allowed=PLAN_FORMATS),
        output=faults.attempt(read_output, common.output),
        evening=faults.attempt(read_date, common.date),
        readings=faults.attempt(read_tonight, tonight),
        begin=faults.attempt(read_clock, "--from", texts.begin),
        until=faults.attempt(read_clock, "--until", texts.until),
        count=faults.attempt(read_whole, "--count", texts.count, low=1, high=MOST_LOOKS),
        kinds=faults.attempt(read_kinds, texts.kinds),
        min_altitude_deg=faults.attempt(
            read_number,
            "--min-altitude",
            texts.min_altitude,
            low=0.0,
            high=HIGHEST_FLOOR_DEG,
            unit="deg",
        ),
    )
    faults.check()
    return asked


def _clock_remarks(night: Night, asked: _Asked) -> tuple[str, ...]:
    clocks = (clock for clock in (asked.begin, asked.until) if clock is not None)
    return tuple(filter(None, (clock_remark(night, clock) for clock in clocks)))


def _plan(
    texts: PlanTexts,
    asked: _Asked,
    occasion: Occasion,
    night: Night,
    session: SessionTimes,
    experience: JournalUse,
    surroundings: Surroundings,
) -> Plan:
    stock = stock_for_night(
        journal_file(experience.data, surroundings).parent,
        ephemeris=load_ephemeris(),
        site=night.site,
        instant=session.start,
        list_name=texts.list_name,
    )
    rows = chosen_rows(
        stock.catalogue,
        kinds=asked.kinds,
        constellation=texts.constellation,
        list_name=texts.list_name,
        own_rows=stock.rows,
    )
    notes = stock.remarks
    if experience.not_seen:
        rows, note = unseen_rows(stock.catalogue, rows, experience, surroundings)
        notes += (note,) if note else ()
    plan = plan_night(
        stock.catalogue,
        load_ephemeris(),
        night,
        start=session.start,
        end=session.end,
        circumstances=occasion.circumstances,
        wishes=Wishes(
            rows=rows,
            by_name=texts.list_name is not None,
            count=asked.count,
            min_altitude_deg=asked.min_altitude_deg,
        ),
    )
    return replace(plan, notes=(*plan.notes, *notes)) if notes else plan
