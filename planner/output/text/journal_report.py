"""Writes what the journal teaches as one page of 80 columns."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence

from planner.journal.report_records import (
    Counts,
    EyepieceUse,
    JournalReport,
    KindUse,
    ListState,
    PlanUse,
)
from planner.journal.site_sky import SiteSky
from planner.model.own_eye import EyeReport
from planner.output.text.own_eye import eye_lines, sky_lines
from planner.output.words import date_words
from planner.text import WIDTH, cell_width, counted, first_named, fit, plain_line, text_of, wrap

LABEL = 10
MOST_EYEPIECES, MOST_KINDS, MOST_CHANGES, MOST_REASONS = 10, 9, 5, 3
MOST_NAMES = 60  # of a list, so that a page stays one
LONGEST = 40  # cells of a name
UNKNOWN = "-"
NOBODY = "Observer"  # as the example of a configuration has it
DESIGNATION = re.compile(r"(M|C|B|NGC|IC|Sh2|Barnard|Cr|Mel)[ -]?[0-9]+\b")
NUMBERED = re.compile(r"([A-Za-z]+)([0-9]{1,9})")


def report_text(
    report: JournalReport, eye: EyeReport | None = None, skies: Sequence[SiteSky] = ()
) -> str:
    """Write a report as a page, with what the journal tells of eye and sky, if it does.

    Returns
    -------
    str
        Lines of at most 80 cells.
    """
    if not report.looks:
        return "The journal has no looks yet.\n"
    lines = [*_head(report), ""]
    if report.eyepieces:
        lines += [*_eyepieces(report), ""]
    lines += [*_kinds(report.kinds), ""]
    lines += _plan(report.plan)
    lines += _shares(report.eyepieces)
    if skies:
        lines += ["", *sky_lines(skies)]
    if eye is not None and eye.eye is not None:
        lines += ["", *eye_lines(eye)]
    if report.list is not None:
        lines += ["", *_list(report, report.list)]
    return text_of(lines)


def _short(text: str) -> str:
    """Cut the observer's own words where they would not fit a line."""
    line = plain_line(text)
    return fit(line, LONGEST).rstrip() if cell_width(line) > LONGEST else line


def _item(label: str, text: str) -> list[str]:
    return wrap(plain_line(text), first=label.ljust(LABEL), rest=" " * LABEL)


def _head(report: JournalReport) -> Iterator[str]:
    names = [name for name in report.observers if name != NOBODY]
    who = f" of {', '.join(map(_short, names[:3]))}" if names else ""
    yield from wrap(plain_line(f"The journal{who}"))
    first, last = report.first, report.last
    span = " to ".join(dict.fromkeys(date_words(day) for day in (first, last) if day))
    sites = ", ".join(
        f"{_short(site) or 'unknown site'} ({nights})" for site, nights in report.sites[:4]
    )
    yield from _item(
        "Nights",
        f"{report.nights} from {span}, {report.hours:.1f} hours; nights at {sites}"
        if first != last
        else f"1, {span}, {report.hours:.1f} hours; at {sites}",
    )
    outcomes = ", ".join(
        f"{count} {name.replace('-', ' ')}" for name, count in report.outcomes.items() if count
    )
    targets = counted(len(report.targets), "target")
    yield from _item("Looks", f"{report.looks}, at {targets}: {outcomes}")
    if report.faintest_star_mag is not None:
        when = f" on {date_words(report.faintest_star_on)}" if report.faintest_star_on else ""
        yield from _item("By eye", f"stars to {report.faintest_star_mag:.1f} at best,{when}")


def _eyepieces(report: JournalReport) -> Iterator[str]:
    yield f"{'Eyepiece':<18} {'looks':>6} {'nights':>6}  {'exit pupil':<10} {'rated':>5}  mostly on"
    for use in report.eyepieces[:MOST_EYEPIECES]:
        yield from _eyepiece(use)
    others = report.eyepieces[MOST_EYEPIECES:]
    if others:
        looks = sum(use.looks for use in others)
        yield f"{counted(len(others), 'other')}, {counted(looks, 'look')}"
    if report.without_eyepiece:
        yield f"No eyepiece named: {counted(report.without_eyepiece, 'look')}"


def _eyepiece(use: EyepieceUse) -> Iterator[str]:
    rating = UNKNOWN if use.rating is None else f"{use.rating:.1f}"
    first = (
        f"{fit(plain_line(use.name), 18)} {use.looks:>6} {use.nights:>6}  "
        f"{_pupils(use):<10} {rating:>5}  "
    )
    yield first + _kind_words(use.kinds, width=WIDTH - cell_width(first))


def _pupils(use: EyepieceUse) -> str:
    low, high = use.pupil_low_mm, use.pupil_high_mm
    if low is None or high is None:
        return UNKNOWN
    texts = list(dict.fromkeys(f"{value:.1f}" for value in (low, high)))
    return "-".join(texts) + " mm"


def _kind_words(kinds: Counts, width: int = WIDTH // 2) -> str:
    """Name the first kinds with their counts, as many as there is room for."""
    words = [plain_line(f"{kind or 'others'} {count}") for kind, count in kinds]
    line = fit(words[0], width)
    for word in words[1:]:
        longer = f"{line.rstrip()}, {word}"
        if cell_width(longer) > width:
            break
        line = longer
    return line.rstrip()


def _kinds(kinds: tuple[KindUse, ...]) -> Iterator[str]:
    yield f"{'Kind':<20} {'looks':>6} {'seen':>9}  faintest seen"
    for use in kinds[:MOST_KINDS]:
        faintest = UNKNOWN
        if use.faintest_mag is not None:
            faintest = f"{use.faintest_mag:.1f} mag, {plain_line(use.faintest)}"
        elif use.closest_arcsec is not None:
            faintest = f'closest: {use.closest_arcsec:.1f}", {plain_line(use.closest)}'
        first = (
            f"{fit(plain_line(use.kind) or 'others', 20)} {use.looks:>6} "
            f"{f'{use.seen} of {use.targets}':>9}  "
        )
        yield first + fit(faintest, WIDTH - len(first))
    if len(kinds) > MOST_KINDS:
        looks = sum(use.looks for use in kinds[MOST_KINDS:])
        yield f"{counted(len(kinds) - MOST_KINDS, 'other')}, {counted(looks, 'look')}"


def _plan(plan: PlanUse) -> Iterator[str]:
    if not plan.planned:
        yield from _item("Plan", "no look says which eyepiece the plan had")
    else:
        words = [f"{plan.followed} of {counted(plan.planned, 'planned look')} as planned"]
        if plan.rating_followed is not None and plan.rating_overruled is not None:
            words.append(
                f"rated {plan.rating_followed:.1f}, the others {plan.rating_overruled:.1f}"
            )
        if plan.delay_min is not None:
            words.append(_delay(plan.delay_min))
        yield from _item("Plan", "; ".join(words))
    for change in plan.overrulings[:MOST_CHANGES]:
        times = counted(change.times, "time")
        yield from wrap(
            f"{_short(change.used)} for {_short(change.planned)}: {times}; "
            f"{_kind_words(change.kinds)}",
            first=" " * LABEL, rest=" " * (LABEL + 2),
        )  # fmt: skip
    if len(plan.overrulings) > MOST_CHANGES:
        rest = plan.overrulings[MOST_CHANGES:]
        yield f"{' ' * LABEL}otherwise: {counted(sum(one.times for one in rest), 'time')}"
    if plan.skipped:
        reasons = ", ".join(
            f"{_short(why) or 'no reason noted'} ({times})"
            for why, times in plan.skipped[:MOST_REASONS]
        )
        yield from _item("Skipped", f"mostly: {reasons}" if len(plan.skipped) > 1 else reasons)


def _shares(eyepieces: Sequence[EyepieceUse]) -> Iterator[str]:
    """Tell how often each eyepiece is used, was planned, and was taken against the plan."""
    chosen = [use for use in eyepieces if use.against_plan]
    if not chosen:
        return
    yield ""
    yield f"{'Chosen':<18} {'used':>5} {'planned':>8}  against the plan"
    for use in chosen[:MOST_EYEPIECES]:
        planned = UNKNOWN if use.planned_share is None else f"{use.planned_share:.0%}"
        told = [counted(use.against_plan, "time"), f"seen {use.seen_against_plan}"]
        if use.rating_against_plan is not None:
            told.append(f"rated {use.rating_against_plan:.1f}")
            if use.rating_as_planned is not None:
                told.append(f"as planned {use.rating_as_planned:.1f}")
        first = f"{fit(plain_line(use.name), 18)} {use.share:>5.0%} {planned:>8}  "
        yield first + ", ".join(told)


def _delay(minutes: float) -> str:
    if abs(minutes) < 0.5:
        return "half of them on time or earlier"
    return f"{abs(minutes):.0f} min {'late' if minutes > 0 else 'early'} in the middle"


def _list(report: JournalReport, state: ListState) -> Iterator[str]:
    total = len(state.seen) + len(state.sought) + len(state.not_yet)
    yield from wrap(plain_line(f"{_short(state.name)}: {len(state.seen)} of {total} seen"))
    glasses = {use.id: {name for name, _ in use.eyepieces} for use in report.targets if use.id}
    for use in report.eyepieces[:MOST_EYEPIECES]:
        yield from _names(use.name, (item for item in state.seen if use.name in glasses[item[0]]))
    yield from _names("Looked for", state.sought)
    yield from _names("Not yet", state.not_yet)


def _names(label: str, items: Iterable[tuple[str, str]]) -> list[str]:
    known = runs(_short(short_name(name)) for _, name in items)
    if not known:
        return []
    text = plain_line(first_named(known, MOST_NAMES))
    return wrap(text, first=f"{_short(label)}: ", rest="  ")


def short_name(name: str) -> str:
    """Return the designation with which a name begins, else the name: ``M31`` of M31 Andromeda."""
    found = DESIGNATION.match(name)
    return found[0].replace(" ", "") if found else name


def runs(names: Iterable[str]) -> list[str]:
    """Write three or more neighbours of a catalogue as one: ``M1-M12``.

    Parameters
    ----------
    names : iterable of str
        In the order of the list.
    """
    groups: list[list[str]] = []
    for name in names:
        if groups and _follows(groups[-1][-1], name):
            groups[-1].append(name)
        else:
            groups.append([name])
    return [
        word
        for group in groups
        for word in (group if len(group) < 3 else [f"{group[0]}-{group[-1]}"])
    ]


def _follows(name: str, following: str) -> bool:
    first, second = NUMBERED.fullmatch(name), NUMBERED.fullmatch(following)
    if not (first and second and first[1] == second[1]):
        return False
    return int(second[2]) == int(first[2]) + 1
