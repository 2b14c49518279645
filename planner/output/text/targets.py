"""Lists of targets, and what reading one came to, as text of 80 cells a line."""

from __future__ import annotations

from collections.abc import Sequence

from planner.text import fit, text_of, wrap
from targets.frozen import frozen
from targets.model import Kind, Target
from targets.userlists.records import Reading

# So many lines of a report are shown of each sort; JSON has all.
MOST_SHOWN = 30
NAME_WIDTH, TITLE_WIDTH = 20, 45
NEVER = "-"


@frozen
class ListSummary:
    """A list or programme: how many targets, how many of them seen; None where nobody knows."""

    name: str
    title: str
    count: int
    seen: int | None
    own: bool


@frozen
class Listed:
    """A target of a list with the user's note, and whether it has been seen."""

    target: Target
    note: str = ""
    seen: bool | None = None


def lists_text(summaries: Sequence[ListSummary]) -> str:
    """Write the programmes and the user's lists with counts."""
    lines = [f"{'':{NAME_WIDTH}} {'':{TITLE_WIDTH}}targets  seen"]
    own = [summary for summary in summaries if summary.own]
    lines += ["Programmes", *(_summary_line(item) for item in summaries if not item.own)]
    lines += ["", "Your lists", *map(_summary_line, own)]
    if not own:
        lines += ['none yet; "fieldstop targets add FILE" keeps one']
    lines += ["", *wrap('"fieldstop plan --list NAME" plans with one of them alone.')]
    if all(summary.seen is None for summary in summaries):
        lines.append("Nothing is counted as seen, for want of a journal.")
    return _joined(lines)


def targets_text(title: str, listed: Sequence[Listed]) -> str:
    """Write targets, one in each line, with their notes below them."""
    lines = [*wrap(title), ""]
    for item in listed:
        lines.append(_target_line(item))
        if item.note:
            lines += wrap(item.note, first="    ", rest="    ")
    return _joined(lines)


def reading_text(reading: Reading, source: str, verdict: str) -> str:
    """Write what was read from a file, guessed at and refused, line by line."""
    lines = wrap(f"{source}: {reading.form}")
    if reading.guessed:
        lines += ["", f"Guessed ({len(reading.guessed):,})", *_shown(reading.guessed)]
    for title, remarks in (
        ("Read", reading.read),
        ("Passed over", reading.passed_over),
        ("Refused", reading.refused),
    ):
        if remarks:
            lines += ["", f"{title} ({len(remarks):,})", *_shown(remarks)]
    return _joined([*lines, "", *wrap(verdict)])


def _shown(sentences: Sequence[object]) -> list[str]:
    lines = []
    for sentence in sentences[:MOST_SHOWN]:
        lines += wrap(str(sentence), first="- ", rest="  ")
    rest = len(sentences) - MOST_SHOWN
    return [*lines, f"  and {rest:,} more; --format json has all"] if rest > 0 else lines


def _summary_line(summary: ListSummary) -> str:
    seen = NEVER if summary.seen is None else str(summary.seen)
    name = fit(summary.name, max(NAME_WIDTH, len(summary.name)))
    left = fit(f"{name} {summary.title}", NAME_WIDTH + 1 + TITLE_WIDTH)
    return f"{left}{summary.count:>7,}{seen:>6}"


def _target_line(item: Listed) -> str:
    target = item.target
    seen = {True: "seen", False: "", None: ""}[item.seen]
    return (
        f"{fit(target.name, 34)} {fit(str(target.kind), 17)} {target.constellation or '':3} "
        f"{_magnitude(target):>5} {_size(target):>9} {seen}"
    ).rstrip()


def _magnitude(target: Target) -> str:
    if target.elements is not None and target.magnitude is None:
        return ""
    return "" if target.magnitude is None else f"{target.magnitude:.1f}"


def _size(target: Target) -> str:
    if target.kind is Kind.DOUBLE_STAR:
        return "" if target.separation_arcsec is None else f'{target.separation_arcsec:.1f}"'
    major = target.major_arcmin
    if major is None:
        return ""
    tilde = "~" if target.size_is_approximate else ""
    return f'{tilde}{major * 60.0:.0f}"' if major < 1.0 else f"{tilde}{major:.3g}'"


def _joined(lines: Sequence[str]) -> str:
    return text_of(lines)
