"""Writes what is known of one target on one night as text of 80 columns."""

from __future__ import annotations

from collections.abc import Sequence

from planner.formulas.refraction import SUNSET_ALTITUDE_DEG
from planner.model.kit import train_words
from planner.model.plan import View
from planner.output.appearance.what_to_see import report_look_for
from planner.output.night_words import grade_word, heading, turn_words
from planner.output.text.finding import finding_line, finding_lines, neighbours_words
from planner.output.text.plan import warning_lines
from planner.output.words import SUN_CAUTION, arc, clock_and_day, compass, item, span
from planner.planning.circumstances import Circumstances
from planner.planning.look import LookReport
from planner.text import WIDTH, fit, text_of, wrap
from targets.double_stars.doubles import pair_words
from targets.model import Kind, Target
from targets.naming.constellations import NAMES

NAME_WIDTH = 34
# Holds the greatest distances of Venus and Mercury, 47 and 28 deg (common knowledge).
NEAR_THE_SUN_DEG = 50.0
INDENT = "    "
# Views that would show as 0.00 are told only as far as a first few.
LEAST_SHOWN_SCORE = 0.005
FEWEST_VIEWS = 3
MOST_VIEWS = 12


def look_text(
    report: LookReport,
    *,
    circumstances: Circumstances,
    why: Sequence[str] = (),
    drawings: Sequence[str] = (),
    details: Sequence[str] = (),
    how: bool = False,
) -> str:
    """Write a report.

    Parameters
    ----------
    why : sequence of str
        Answers to what was asked about an eyepiece.
    drawings : sequence of str
        Lines with drawings, to be put below the numbers.
    details : sequence of str
        Lines about a body, to be put below where it stands.
    how : bool
        Whether to tell move by move how to find it.

    Returns
    -------
    str
        Lines of at most 80 cells; apart from the user's own names and the drawings plain ASCII.
    """
    by_day = daylight_words(report)
    lines = [
        *([*wrap(f"! {by_day}"), ""] if by_day else []),
        fit(report.target.name, WIDTH),
        *(line for fact in target_facts(report.target) for line in wrap(fact)),
        "",
        *heading(report.night, circumstances),
        "",
        *(line for name, text in when_facts(report) for line in item(name, text)),
        *details,
        *_turns(report),
        *_look_for(report),
        *_way(report, how=how),
        *_table([view for view in report.views if view.train.usable]),
        *_misfits([view for view in report.views if not view.train.usable]),
    ]
    if why:
        lines += ["", *(line for answer in why for line in wrap(answer))]
    lines += [*drawings, "", *wrap(SUN_CAUTION)]
    return text_of(lines)


def _turns(report: LookReport) -> list[str]:
    words = turn_words(report.in_turn, whole=True)
    return item("A look", words) if len(report.in_turn) > 1 else []


def _look_for(report: LookReport) -> list[str]:
    facts = report_look_for(report)
    return item("Look for", ", ".join(facts)) if facts else []


def daylight_words(report: LookReport) -> str | None:
    """Say that the Sun is up and where it stands, or that it can show soon; None at night."""
    sun = report.sun
    if not sun.can_show:
        return None
    away = f"{sun.separation_deg:.0f} deg from {report.target.name}"
    if sun.altitude_deg < SUNSET_ALTITUDE_DEG:
        return f"The Sun is near the horizon, toward {compass(sun.azimuth_deg)}, {away}."
    height = f"{sun.altitude_deg:.0f} deg up" if sun.altitude_deg >= 1.0 else "on the horizon"
    return f"The Sun is up: {height}, {compass(sun.azimuth_deg)}, {away}."


def is_near_the_sun(report: LookReport) -> bool:
    """Whether who looks there by day or in twilight may come upon the Sun."""
    return report.sun.can_show or report.sun.separation_deg < NEAR_THE_SUN_DEG


def _way(report: LookReport, *, how: bool) -> list[str]:
    if report.finding is None:
        return []
    lines = (
        finding_lines(report.finding)
        if how
        else item("Find it", f"{finding_line(report.finding)} (--how tells more)")
    )
    near = neighbours_words(report.neighbours)
    return [*lines, *(item("Near it", near) if near else [])]


def target_facts(target: Target) -> list[str]:
    """Say what a target is, and what else an observer should know of it."""
    facts = [target.kind + _where(target), pair_words(target)]
    if target.separation_arcsec is None and target.kind is not Kind.LUNAR_FEATURE:
        facts += ["" if target.kind is Kind.STAR else f"size {_size(target)}", _brightness(target)]
    notes = [target.note, f"your note: {target.own_note}" if target.own_note else None]
    return ["; ".join(fact for fact in facts if fact), *filter(None, notes)]


def _where(target: Target) -> str:
    # A feature's constellation is that of the Moon on the night: nobody looks for it there.
    name = "" if target.lunar else NAMES.get(target.constellation or "", "")
    return f" in {name.replace('ö', 'o')}" if name else ""


def _size(target: Target) -> str:
    if target.major_arcmin is None:
        return "unknown"
    about = " (approximate)" if target.size_is_approximate else ""
    if target.minor_arcmin is None or arc(target.minor_arcmin) == arc(target.major_arcmin):
        return arc(target.major_arcmin) + about
    return f"{arc(target.major_arcmin)} by {arc(target.minor_arcmin)}{about}"


def _brightness(target: Target) -> str:
    if target.magnitude_range is not None:
        bright, faint = target.magnitude_range
        return (
            f"magnitude {bright:.1f} to {faint:.1f}; the middle, {target.magnitude:.1f}, is assumed"
        )
    if target.magnitude is not None:
        return f"magnitude {target.magnitude:.1f}"
    if target.visual_rating is not None:
        return f"visual rating {target.visual_rating} of 5"
    return "magnitude unknown"


def when_facts(report: LookReport) -> list[tuple[str, str]]:
    """Return names and texts: when the target is up, when it can be looked at, where it is then."""
    site = report.night.site
    spans = ", ".join(span(start, end, site) for start, end in report.windows)
    now = (
        f"{report.altitude_deg:.0f} deg up, {compass(report.azimuth_deg)}"
        if report.altitude_deg > 0.0
        else "below the horizon"
    )
    time, _, which = clock_and_day(report.at, site).partition(" ")
    facts = [
        ("Course", _path(report)),
        ("Window", spans or f"none: {report.hindrance}"),
        (f"At {time}", f"{which}: {now}" if which else now),
    ]
    return [*facts, ("!", f"Not to be looked at: {report.hazard}.")] if report.hazard else facts


def _path(report: LookReport) -> str:
    site, highest_deg = report.night.site, report.transit_altitude_deg
    if report.course == "does not rise":
        return report.course
    events = [(report.rise, "rises"), (report.transit, "highest"), (report.set, "sets")]
    told = []
    for instant, words in sorted((i, w) for i, w in events if i is not None):
        height = ""
        if words == "highest" and highest_deg is not None:
            height = f" at {highest_deg:.0f} deg"
        told.append(f"{words} {clock_and_day(instant, site)}{height}")
    if report.course is not None:
        told.append(report.course)
    return ", ".join(told)


def _table(views: Sequence[View]) -> list[str]:
    if not views:
        return []
    good = sum(view.score >= LEAST_SHOWN_SCORE for view in views)
    shown = views[: min(max(good, FEWEST_VIEWS), MOST_VIEWS)]
    lines = ["", _row("", "eyepiece", "power", "exit pupil", "field", "score", "seen")]
    for number, view in enumerate(shown, start=1):
        lines += [*_view(number, view)]
    rest = len(views) - len(shown)
    return lines + ([f"... and {rest} more that suit it less"] if rest else [])


def _view(number: int, view: View) -> list[str]:
    train = view.train
    row = _row(
        str(number),
        train_words(train),
        f"{train.magnification:.0f}x",
        f"{train.exit_pupil_mm:.1f} mm",
        f"{'' if train.true_field_is_exact else '~'}{arc(train.true_field_arcmin)}",
        f"{view.score:.2f}",
        grade_word(view.grade),
    )
    reasons = wrap("; ".join(view.reasons), first=INDENT, rest=INDENT)
    return [row, *reasons, *warning_lines(view, INDENT)]


def _row(number: str, name: str, power: str, pupil: str, field: str, score: str, seen: str) -> str:
    left = f"{number:>2}  {fit(name, NAME_WIDTH)}"
    return f"{left} {power:>5} {pupil:>10} {field:>6} {score:>5}  {seen}"


def _misfits(views: Sequence[View]) -> list[str]:
    faults = dict.fromkeys(reason for view in views for reason in view.reasons)
    if not faults:
        return []
    return ["", *wrap(f"Does not go together: {' '.join(faults)}")]
