"""Writes a plan as text for a screen or a sheet of paper of 80 columns."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta

from planner.columns import fit, wrap
from planner.reasons import train_words
from planner.sheet_words import SUN_CAUTION, WIDTH, arc, compass, grade_word, heading, item, span
from planner.site import Site
from planner.survey import Circumstances
from planner.view import LeftOut, Look, Plan, View

INDENT = " " * 13
TARGET_WIDTH = 47
TRAIN_WIDTH = 32
# Time between looks that is longer than finding, slewing and changing glass take is told.
FREE_TIME = timedelta(minutes=12)
MOST_REASONS = 10
MOST_NAMES = 8
NUMBER = re.compile(r"[0-9]+(?:[.][0-9]+)?")


def plan_text(plan: Plan, *, circumstances: Circumstances, session: str) -> str:
    """Write a plan.

    Parameters
    ----------
    plan : Plan
    circumstances : Circumstances
        Under which it was made.
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
    lines += ["", *(_table(plan, site) if plan.looks else ["Nothing to look at."])]
    lines += [line for note in plan.notes for line in wrap(note, width=WIDTH)]
    lines += _left_out(plan.left_out)
    lines += ["", *wrap(SUN_CAUTION, width=WIDTH)]
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _table(plan: Plan, site: Site) -> list[str]:
    lines = [
        f"{fit('time', 13)}{fit('target (kind)', TARGET_WIDTH)} {'altitude':>8}  toward",
        _train_line("eyepiece", "power", "exit pupil", "field", "seen"),
    ]
    for start, end, entry in _in_order(plan):
        if isinstance(entry, Look):
            lines += ["", *_look(entry, site)]
        else:
            lines += ["", f"{fit(span(start, end, site), 13)}{entry}"]
    return lines


def _in_order(plan: Plan) -> Iterator[tuple[datetime, datetime, Look | str]]:
    """Give looks, breaks and long gaps in order of time."""
    entries: list[tuple[datetime, datetime, Look | str]] = [
        (look.start, look.end, look) for look in plan.looks
    ]
    entries += [(start, end, "-- break: warm up, rest the eyes --") for start, end in plan.breaks]
    reached = plan.start
    for start, end, entry in sorted(entries, key=lambda entry: entry[0]):
        if start - reached > FREE_TIME:
            yield reached, start, "-- free: nothing in good reach --"
        yield start, end, entry
        reached = end


def _look(look: Look, site: Site) -> list[str]:
    name = f"{look.target.name} ({look.target.kind})"
    train = look.view.train
    about = "" if train.true_field_is_exact else "~"
    what = f"{fit(span(look.start, look.end, site), 13)}{fit(name, TARGET_WIDTH)}"
    return [
        f"{what} {look.altitude_deg:>4.0f} deg  {compass(look.azimuth_deg)}",
        _train_line(
            train_words(train),
            f"{train.magnification:.0f}x",
            f"{train.exit_pupil_mm:.1f} mm",
            f"{about}{arc(train.true_field_arcmin)}",
            grade_word(look.view.grade),
        ),
        *wrap("; ".join(look.view.reasons), width=WIDTH, first=INDENT, rest=INDENT),
        *warning_lines(look.view, INDENT),
    ]


def _train_line(train: str, power: str, pupil: str, field: str, grade: str) -> str:
    return f"{INDENT}{fit(train, TRAIN_WIDTH)} {power:>5} {pupil:>10} {field:>6}  {grade}"


def warning_lines(view: View, indent: str) -> list[str]:
    """Write the warnings of a view that its reasons do not tell already."""
    told = "; ".join(view.reasons)
    news = [warning for warning in view.warnings if warning.split(": ")[-1] not in told]
    if not news:
        return []
    return wrap("; ".join(news), width=WIDTH, first=f"{indent}! ", rest=f"{indent}  ")


def _left_out(left_out: Sequence[LeftOut]) -> list[str]:
    """Write what was left out by its reason, the targets that are missed most first."""
    if not left_out:
        return []
    groups: dict[str, list[LeftOut]] = {}
    for left in left_out:
        groups.setdefault(NUMBER.sub("#", left.reason), []).append(left)
    lines, named = ["", "Left out"], 0
    for group in list(groups.values())[:MOST_REASONS]:
        names = [left.target.name for left in group[:MOST_NAMES]]
        named += len(names)
        more = f" and {len(group) - len(names)} more" if len(group) > len(names) else ""
        text = f"{_shared_reason(group)}: {', '.join(names)}{more}"
        lines += wrap(text, width=WIDTH, first="- ", rest="  ")
    rest = len(left_out) - named
    return lines + (
        [f"... {rest} more: --format json has all, each with its reason"] if rest else []
    )


def _shared_reason(group: Sequence[LeftOut]) -> str:
    """Give the reason of a group, its number widened to the range of all of them."""
    numbers = sorted(
        {found[0] for left in group if (found := NUMBER.search(left.reason))}, key=float
    )
    if len(numbers) < 2:
        return group[0].reason
    return NUMBER.sub(f"{numbers[0]} to {numbers[-1]}", group[0].reason, count=1)
