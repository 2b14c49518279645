"""Writes a plan as text for a screen or a sheet of paper of 80 columns."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta

from planner.model.kit import train_words
from planner.model.plan import LeftOut, Look, Plan, View
from planner.model.site import Site
from planner.output.appearance.what_to_see import look_for
from planner.output.night_words import (
    grade_word,
    heading,
    in_field_words,
    latest_start,
    note_words,
    slack_words,
    turn_words,
)
from planner.output.text.finding import finding_line
from planner.output.words import SUN_CAUTION, arc, compass, item, span
from planner.planning.circumstances import Circumstances
from planner.text import WIDTH, fit, text_of, wrap
from targets.model import Target

INDENT = " " * 13
HANGING = f"{INDENT}  "
TARGET_WIDTH = 47
TRAIN_WIDTH = 32
# Time between looks that is longer than finding, slewing and changing glass take is told.
FREE_TIME = timedelta(minutes=12)
# A longer wait is not for the dusk.
LONG_WAIT = timedelta(minutes=45)
# A look that cannot wait longer than this says so before all else [min].
PRESSING_MIN = 30.0
MOST_REASONS = 10
MOST_NAMES = 6
NUMBER = re.compile(r"[0-9]+(?:[.][0-9]+)?")


def plan_text(plan: Plan, *, circumstances: Circumstances, session: str) -> str:
    """Write a plan.

    Parameters
    ----------
    session : str
        A clause that says how its start and end were found; empty when there is no session.

    Returns
    -------
    str
        Lines of at most 80 cells; apart from the user's own names plain ASCII.
    """
    site = plan.night.site
    lines = heading(plan.night, circumstances)
    if plan.end > plan.start:
        lines += item("Session", f"{span(plan.start, plan.end, site)}, {session}")
    lines += [line for note in plan.news for line in item("Note", note)]
    lines += ["", *_table(plan, site)] if plan.looks else []
    lines += left_out_lines(plan.left_out)
    lines += ["", *wrap(SUN_CAUTION)]
    return text_of(lines)


def _table(plan: Plan, site: Site) -> list[str]:
    lines = [
        f"{fit('time', 13)}{fit('target (kind)', TARGET_WIDTH)} {'altitude':>8}  toward",
        _train_line("eyepiece", "power", "exit pupil", "field", "seen", wait="can wait"),
    ]
    for start, end, entry in entries_in_order(plan):
        if isinstance(entry, Look):
            lines += ["", *_look(entry, site)]
        else:
            lines += ["", f"{_time_cells(start, end, site)}{entry}"]
    return lines


def entries_in_order(plan: Plan) -> Iterator[tuple[datetime, datetime, Look | str]]:
    """Return looks, breaks and long gaps in order of time."""
    entries: list[tuple[datetime, datetime, Look | str]] = [
        (look.start, look.end, look) for look in plan.looks
    ]
    entries += [(start, end, "-- break: warm up, rest the eyes --") for start, end in plan.breaks]
    reached = plan.start
    for start, end, entry in sorted(entries, key=lambda entry: entry[0]):
        if start - reached > FREE_TIME:
            yield reached, start, _waiting(plan, reached, start)
        yield start, end, entry
        reached = end


def _waiting(plan: Plan, start: datetime, end: datetime) -> str:
    dark = plan.night.dark_start or plan.night.nautical_dusk
    if dark and start < dark and end - dark < LONG_WAIT:
        return "-- wait: not dark enough yet --"
    if any(begin < end and finish > start for begin, finish in plan.clouded):
        return "-- cloud by the forecast --"
    return (
        "-- free: what follows gets better by waiting --"
        if end - start > LONG_WAIT
        else "-- free --"
    )


def _time_cells(start: datetime, end: datetime, site: Site) -> str:
    """Write a span for its column; one that names zones takes room from what follows."""
    return f"{span(start, end, site)} ".ljust(len(INDENT))


def _look(look: Look, site: Site) -> list[str]:
    name, kind = look.target.name, look.target.kind
    name = name if name == kind else f"{name} ({kind})"
    train = look.view.train
    about, facts = "" if train.true_field_is_exact else "~", look_for(look, site)
    what = fit(f"{_time_cells(look.start, look.end, site)}{name}", len(INDENT) + TARGET_WIDTH)
    return [
        f"{what} {look.altitude_deg:>4.0f} deg  {compass(look.azimuth_deg)}",
        _train_line(
            train_words(train),
            f"{train.magnification:.0f}x",
            f"{train.exit_pupil_mm:.1f} mm",
            f"{about}{arc(train.true_field_arcmin)}",
            grade_word(look.view.grade),
            wait=f"until {latest_start(look.slack, site, look.start)}" if look.slack else "",
        ),
        *_told(_reasons(look, site)),
        *_told(f"find: {finding_line(look.finding)}" if look.finding else "", rest=HANGING),
        *_told(turn_words(look.views), rest=HANGING),
        *_told(f"look for: {', '.join(facts)}" if facts else "", rest=HANGING),
        *([f"{INDENT}{in_field_words(look)}"] if look.in_field else []),
        *([f"{INDENT}{look.memory}"] if look.memory else []),
        *_told(note_words(look.notes, site)),
        *warning_lines(look.view, INDENT),
        *_notes(look.target),
    ]


def _told(words: str, *, rest: str = INDENT) -> list[str]:
    """Write words under the target; nothing where there are none."""
    return wrap(words, first=INDENT, rest=rest) if words else []


def _notes(target: Target) -> list[str]:
    """Write what the user's list says of a target, and what is to be doubted of a comet."""
    doubts = target.note if target.elements is not None else None
    own = f"your note: {target.own_note}" if target.own_note else None
    return [line for note in filter(None, (doubts, own)) for line in _told(note)]


def _reasons(look: Look, site: Site) -> str:
    """Write on one line why this train; where waiting would lose the look, that comes first."""
    slack, clauses = look.slack, look.view.brief.split("; ")
    presses = slack is not None and slack.closes is not None and slack.slack_min <= PRESSING_MIN
    words = slack_words(slack, site, look.start) if slack is not None and presses else look.timing
    if not words:
        return look.view.brief
    while clauses and len("; ".join([words, *clauses])) > WIDTH - len(INDENT):
        clauses.pop()
    return "; ".join([words, *clauses])


def _train_line(train: str, power: str, pupil: str, field: str, grade: str, *, wait: str) -> str:
    what = f"{fit(wait, len(INDENT))}{fit(train, TRAIN_WIDTH)}"
    return f"{what} {power:>5} {pupil:>10} {field:>6}  {grade}"


def warning_lines(view: View, indent: str) -> list[str]:
    """Write the warnings of a view that its reasons do not tell already."""
    told = "; ".join(view.reasons)
    news = [warning for warning in view.warnings if warning.split(": ")[-1] not in told]
    if not news:
        return []
    return wrap("; ".join(news), first=f"{indent}! ", rest=f"{indent}  ")


def left_out_lines(left_out: Sequence[LeftOut]) -> list[str]:
    """Write what was left out by its reason, the targets that are missed most first."""
    if not left_out:
        return []
    groups: dict[str, list[LeftOut]] = {}
    for left in left_out:
        if not left.rises:
            continue
        groups.setdefault(NUMBER.sub("#", left.reason), []).append(left)
    lines = ["", "Left out"]
    for group in list(groups.values())[:MOST_REASONS]:
        lines += wrap(_group(group), first="- ", rest="  ")
    never = sum(not left.rises for left in left_out)
    if never:
        lines.append(f"- never above the horizon of this site: {never} well-known targets")
    return [*lines, f"{len(left_out)} in all; --format json has each with its reason"]


def _group(group: Sequence[LeftOut]) -> str:
    """Write targets that share a reason; each with its number, where only that differs."""
    reason, numbers = group[0].reason, [NUMBER.search(left.reason) for left in group]
    values = sorted({number[0] for number in numbers if number}, key=float)
    names = [left.target.name for left in group[:MOST_NAMES]]
    if len(values) > 1:
        reason = NUMBER.sub(f"{values[0]} to {values[-1]}", reason, count=1)
        names = [
            f"{name} ({number[0]})" for name, number in zip(names, numbers, strict=False) if number
        ]
    more = f" and {len(group) - len(names)} more" if len(group) > len(names) else ""
    return f"{reason}: {', '.join(names)}{more}"
