"""The calendar, read back with a parser that has nothing to do with the library that wrote it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
import vobject

from planner.model.plan import Note, Plan
from planner.output.pages.ics import plan_ics

NOW = datetime(2026, 10, 24, 12, 0, tzinfo=UTC)
LONDON = ZoneInfo("Europe/London")


def events(plan: Plan) -> list[Any]:
    """Return the events that the parser finds."""
    return list(vobject.readOne(plan_ics(plan, now=NOW)).vevent_list)


def test_each_look_is_an_event_at_its_local_time_across_the_clock_change(
    autumn_plan: Plan,
) -> None:
    """A reader in London sees the times of the plan; 01:30 stands there in both its meanings."""
    starts = [event.dtstart.value.astimezone(LONDON) for event in events(autumn_plan)]
    assert starts == [look.start.astimezone(LONDON) for look in autumn_plan.looks]
    offsets = {start.utcoffset().total_seconds() for start in starts}
    # British Summer Time ended on 25 October 2026 at 01:00 UTC (Summer Time Order 2002).
    assert offsets == {3600.0, 0.0}
    assert any(start.astimezone(UTC) < datetime(2026, 10, 25, 1, tzinfo=UTC) for start in starts)


def test_ends_and_words_belong_to_the_looks(autumn_plan: Plan) -> None:
    """Target and eyepiece are in the title, the end is the look's own."""
    for event, look in zip(events(autumn_plan), autumn_plan.looks, strict=True):
        assert event.dtend.value == look.end
        assert look.target.name in event.summary.value
        assert look.view.train.eyepiece.name in event.summary.value


def test_what_happens_on_a_body_is_told(autumn_plan: Plan) -> None:
    """At the site's clock: UTC and an hour that evening; and the calendar is transparent."""
    notes = (Note("Io goes behind", datetime(2026, 10, 24, 23, 40, tzinfo=UTC)),)
    look = replace(autumn_plan.looks[0], notes=notes)
    (event,) = events(replace(autumn_plan, looks=(look,)))
    assert "Io goes behind 00:40" in event.description.value
    assert event.transp.value == "TRANSPARENT"


def test_there_is_no_alarm(autumn_plan: Plan) -> None:
    """Nobody wants a telephone to light up at the telescope."""
    assert "VALARM" not in plan_ics(autumn_plan, now=NOW)


def test_identifiers_stay_when_the_plan_is_made_again(autumn_plan: Plan) -> None:
    """The same targets at other times are the same events; another night has others."""
    wait = timedelta(minutes=10)
    late = replace(
        autumn_plan,
        looks=tuple(
            replace(look, start=look.start + wait, end=look.end + wait)
            for look in reversed(autumn_plan.looks)
        ),
    )
    once = {event.uid.value for event in events(autumn_plan)}
    assert once == {event.uid.value for event in events(late)}
    assert len(once) == len(autumn_plan.looks)
    night = replace(autumn_plan.night, date=autumn_plan.night.date.replace(day=23))
    assert not once & {event.uid.value for event in events(replace(autumn_plan, night=night))}


def test_lines_keep_to_the_standard(autumn_plan: Plan) -> None:
    """RFC 5545, 3.1: lines end in CRLF and have at most 75 octets."""
    text = plan_ics(autumn_plan, now=NOW)
    assert text.count("\n") == text.count("\r\n")
    assert max(len(line.encode()) for line in text.split("\r\n")) <= 75


def test_a_plan_without_looks_is_no_calendar(autumn_plan: Plan) -> None:
    """RFC 5545, 3.6: a calendar has at least one component."""
    assert plan_ics(replace(autumn_plan, looks=()), now=NOW) == ""


@pytest.mark.parametrize(
    "name",
    [
        "x\r\nEND:VEVENT\r\nBEGIN:VEVENT\r\nSUMMARY:y",
        "a;b,c:d\\n\\e",
        "BEGIN:VALARM",
        '"; X=1',
        "\u202eM31 \U0001f30c",
        "<script>alert(1)</script>",
        "a\x00b\x07c",
    ],
)
def test_no_name_breaks_out_of_its_line(named: Callable[[str], Plan], name: str) -> None:
    """A hostile name stays one event's text."""
    (event,) = events(named(name))
    lines = plan_ics(named(name), now=NOW).split("\r\n")
    assert lines.count("BEGIN:VEVENT") == 1
    assert "BEGIN:VALARM" not in lines
    assert not any(ord(char) < 32 and char not in "\r\n" for char in "".join(lines))
    assert event.summary.value.startswith(name.replace("\r\n", "\n")[:1])
