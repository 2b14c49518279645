"""Plans and programmes as calendars: an event for each look, or each night (RFC 5545)."""

from __future__ import annotations

import unicodedata
import uuid
from datetime import datetime

from icalendar import Calendar, Event

from planner.model.kit import train_words
from planner.model.plan import Look, Plan
from planner.model.site import Site
from planner.output.night_words import grade_word, note_words
from planner.output.text.programme import looks_words
from planner.output.together_words import together_words
from planner.output.words import SUN_CAUTION, arc, compass, span
from planner.planning.outlook.programme import NightsToFinish
from planner.text import counted

# Events of this program, so that no other maker of calendars uses the same identifiers.
NAMESPACE = uuid.UUID("5d2f3f0a-6c1b-4a53-9d0c-5f4c8a9c6e21")


def plan_ics(plan: Plan, *, now: datetime) -> str:
    """Write a plan as a calendar without alarms.

    Times are in UTC: in the night in which clocks go back an hour of local time comes twice, and
    nothing else tells the two apart. A calendar shows them in local time. A plan for the same night
    and site keeps the identifiers, so that importing it again moves events and doubles none.

    Parameters
    ----------
    now : datetime
        When it is written; aware.

    Returns
    -------
    str
        Lines that end in CRLF; nothing when there are no looks, for no calendar is without events.
    """
    calendar = _calendar()
    site = plan.night.site
    for look in plan.looks:
        through = f" in {look.view.train.telescope.name}" if plan.telescopes else ""
        # What stays the same when the plan for this night and place is made again.
        name = f"{plan.night.date.isoformat()} {_place(site)} {look.target.id}{through}"
        event = _event(name, (look.start, look.end), site, now)
        what = f"{look.target.name}: {train_words(look.view.train)}{through}"
        event.add("summary", _text(what))
        event.add("description", _text(_description(look, plan, through)))
        calendar.add_component(event)
    return str(calendar.to_ical(), "utf-8") if plan.looks else ""


def programme_ics(programme: NightsToFinish, *, title: str, site: Site, now: datetime) -> str:
    """Write a programme as a calendar: a tentative event for each night.

    Parameters
    ----------
    title : str
        What the list is called.
    now : datetime
        When it is written; aware.

    Returns
    -------
    str
        As `plan_ics`.
    """
    calendar = _calendar()
    for number, night in enumerate(programme.nights, start=1):
        name = f"{title} {night.night.date.isoformat()} {_place(site)}"
        event = _event(name, (night.session.start, night.session.end), site, now)
        event.add("status", "TENTATIVE")
        count = sum(len(look.targets) for look in night.looks)
        words = f"{title}, night {number} of {len(programme.nights)}: {counted(count, 'target')}"
        event.add("summary", _text(words))
        event.add("description", _text(f"{looks_words(night.looks, site)}\n{SUN_CAUTION}"))
        calendar.add_component(event)
    return str(calendar.to_ical(), "utf-8") if programme.nights else ""


def _calendar() -> Calendar:
    calendar = Calendar()
    calendar.add("prodid", "-//fieldstop//observing plan//EN")
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    return calendar


def _place(site: Site) -> str:
    return f"{site.latitude_deg:.4f} {site.longitude_deg:.4f}"


def _event(name: str, span_utc: tuple[datetime, datetime], site: Site, now: datetime) -> Event:
    event = Event()
    event.add("uid", f"{uuid.uuid5(NAMESPACE, name)}@fieldstop")
    event.add("dtstamp", now)
    event.add("dtstart", span_utc[0])
    event.add("dtend", span_utc[1])
    event.add("location", _text(site.name))
    event.add("geo", (site.latitude_deg, site.longitude_deg))
    event.add("transp", "TRANSPARENT")
    return event


def _description(look: Look, plan: Plan, through: str) -> str:
    train, view = look.view.train, look.view
    when = span(look.start, look.end, plan.night.site)
    where = f"{look.altitude_deg:.0f} deg up, {compass(look.azimuth_deg).split()[0]}"
    optics = f"{train.magnification:.0f}x, exit pupil {train.exit_pupil_mm:.1f} mm"
    field = f"field {arc(train.true_field_arcmin)}"
    lines = [
        f"{when} {plan.night.site.timezone}, {where}",
        f"{train_words(train)}{through}: {optics}, {field}, {grade_word(view.grade)}",
        *together_words(look.together, plan.night.site),
        view.brief,
        note_words(look.notes, plan.night.site),
        *view.warnings,
        SUN_CAUTION,
    ]
    return "\n".join(line for line in lines if line)


def _text(text: str) -> str:
    """Leave the control characters out, which no text of a calendar may hold (RFC 5545, 3.1)."""
    lines = text.replace("\r\n", "\n").split("\n")
    return "\n".join("".join(c for c in line if unicodedata.category(c) != "Cc") for line in lines)
