"""``fieldstop plan``: from its options to a plan on paper."""

from __future__ import annotations

from planner.cli.options import PlanOptions
from planner.cli.plan_steps import clock_remarks, plan_single, session_asked, use_of, write_single
from planner.cli.result import Result
from planner.ephemeris.kernel import load_ephemeris
from planner.model.errors import NothingToPlanError
from planner.model.pace import Tempo
from planner.model.plan import Plan
from planner.request.circumstances import check_kit, circumstances_of, night_of, with_forecast
from planner.request.journal_use import with_journal
from planner.request.options import Surroundings, open_settings


def plan_command(asked: PlanOptions, surroundings: Surroundings) -> Result:
    """Plan a session."""
    if len(asked.telescopes) > 1 or asked.observers == 2:
        from planner.cli.two_telescopes import plan_two_command  # noqa: PLC0415  # only with two

        return plan_two_command(asked, surroundings)
    use = use_of(asked)
    settings, talk = open_settings(asked.config, surroundings)
    site, circumstances = circumstances_of(
        settings,
        site=asked.site,
        telescope=asked.telescopes[0] if asked.telescopes else None,
        readings=asked.tonight,
        tempo=Tempo(asked.pace),
    )
    night = night_of(load_ephemeris(), site, evening=asked.evening, now=surroundings.now)
    talk += clock_remarks(night, asked)
    circumstances, lessons = with_journal(circumstances, use, surroundings, settings)
    talk += lessons
    words = ""
    try:
        check_kit(circumstances)
        session = session_asked(asked, night, surroundings)
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
        plan = plan_single(asked, circumstances, night, session, use, surroundings)
    except NothingToPlanError as error:
        plan = Plan(night, night.start, night.start, (), notes=(str(error),))
    if not plan.looks:
        talk += plan.notes
    text = write_single(plan, asked.format, circumstances, session=words, now=surroundings.now)
    return Result(text, asked.output, talk, 0 if plan.looks else 1)
