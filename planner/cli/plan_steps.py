"""What plans with one telescope and with two have in common: what is asked, and how it is written.

What only one of the formats needs is loaded for that one.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from planner.cli.options import PlanOptions
from planner.ephemeris.kernel import load_ephemeris
from planner.model.night import Night
from planner.model.plan import Plan
from planner.model.site import Site
from planner.output.text.plan import plan_text
from planner.planning.circumstances import Circumstances, Wishes
from planner.planning.plan import plan_night
from planner.planning.session_times import SessionTimes, clock_remark, session_times
from planner.request.journal_use import unseen_rows
from planner.request.options import JournalWishes, Surroundings, journal_file
from planner.request.target_selection import chosen_rows
from planner.request.user_targets import stock_for_night
from targets.catalogue.catalogue import Catalogue
from targets.frozen import frozen


def clock_remarks(night: Night, asked: PlanOptions) -> tuple[str, ...]:
    """Say what is to be said of times that the clocks leave out, or show twice."""
    clocks = (clock for clock in (asked.begin, asked.until) if clock is not None)
    return tuple(filter(None, (clock_remark(night, clock) for clock in clocks)))


def use_of(asked: PlanOptions) -> JournalWishes:
    """Return what use to make of the journal."""
    return JournalWishes(
        asked.data,
        leaning=not asked.no_leaning,
        own_eye=not (asked.no_leaning or asked.average_eye),
        not_seen=asked.not_seen,
    )


def session_asked(asked: PlanOptions, night: Night, surroundings: Surroundings) -> SessionTimes:
    """Return the session that is asked for; of tonight none that has passed."""
    return session_times(
        night,
        begin=asked.begin,
        until=asked.until,
        now=surroundings.now if asked.evening is None else None,
    )


@frozen
class ChosenTargets:
    """What to choose from, and what is to be said of it."""

    catalogue: Catalogue
    wishes: Wishes
    notes: tuple[str, ...]


def choice_of(
    asked: PlanOptions,
    circumstances: Circumstances,
    site: Site,
    session: SessionTimes,
    use: JournalWishes,
    surroundings: Surroundings,
) -> ChosenTargets:
    """Find the targets that are asked for.

    Raises
    ------
    UserError, NothingToPlanError
        Where there are none.
    """
    stock = stock_for_night(
        journal_file(use.data, surroundings).parent,
        ephemeris=load_ephemeris(),
        site=site,
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
        notes += (forecast_words(forecast, session.start, session.end, site),)
    if rows is None and asked.guests is not None:
        from planner.request.guests import rows_for_guests  # noqa: PLC0415  # only with guests

        rows = rows_for_guests(stock.catalogue)
    if use.not_seen:
        rows, note = unseen_rows(stock.catalogue, rows, use, surroundings)
        notes += (note,) if note else ()
    wishes = Wishes(
        rows=rows,
        by_name=asked.list_name is not None,
        count=asked.count,
        min_altitude_deg=asked.min_altitude_deg,
        teach=asked.teach,
    )
    return ChosenTargets(stock.catalogue, wishes, notes)


def plan_single(
    asked: PlanOptions,
    circumstances: Circumstances,
    night: Night,
    session: SessionTimes,
    use: JournalWishes,
    surroundings: Surroundings,
) -> Plan:
    """Plan a session with one telescope.

    Raises
    ------
    UserError, NothingToPlanError
        Where there are no targets.
    """
    choice = choice_of(asked, circumstances, night.site, session, use, surroundings)
    plan = plan_night(
        choice.catalogue,
        load_ephemeris(),
        night,
        start=session.start,
        end=session.end,
        circumstances=circumstances,
        wishes=choice.wishes,
    )
    return replace(plan, notes=(*plan.notes, *choice.notes)) if choice.notes else plan


def write_single(
    plan: Plan, form: str, circumstances: Circumstances, *, session: str, now: datetime
) -> str:
    """Write a plan with one telescope in a format."""
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
