"""The way to a target as text: in one line under a look, or move by move."""

from __future__ import annotations

from collections.abc import Sequence

from planner.model.finding import Finding, Neighbour, Step
from planner.output.words import compass, item
from planner.planning.finding.words import degrees_words
from planner.text import wrap


def finding_line(finding: Finding) -> str:
    """Return the way on one line: ``from Caph (beta Cas) 6.3 deg left to 4 Cas, 0.7 deg up``."""
    if finding.of_date_deg is not None:
        return f"{_first_low(finding.text)} {coordinates_words(finding)}"
    if not finding.steps:
        return _first_low(finding.text.rstrip("."))
    first, *others = finding.steps
    lead = first.text.partition(": ")[0] if ": " in first.text else f"From {first.start.name}"
    moves = [f"{_first_low(lead)}{',' if ': ' in first.text else ''} {_move(first)}"]
    moves += [_move(step) for step in others]
    for index, step in enumerate(finding.steps[:-1]):
        moves[index] += f" to {step.end.name}"
    return ", ".join(moves)


def finding_lines(finding: Finding) -> list[str]:
    """Return the way as numbered moves, below where it begins and what it takes."""
    place = f"{finding.altitude_deg:.0f} deg up, {compass(finding.azimuth_deg)}"
    about = f"about {max(round(finding.minutes), 1)} min"
    if finding.of_date_deg is not None:
        return ["", *item("Find it", f"{finding.text} {coordinates_words(finding)}; {about}.")]
    magnitude = None if finding.start is None else finding.start.magnitude
    bright = "" if magnitude is None else f", magnitude {magnitude:.1f}"
    lines = item("Find it", f"{finding.text.rstrip('.')}{bright}, {place}; {about}.")
    for number, step in enumerate(finding.steps, start=1):
        lines += wrap(step.text, first=f"{number:>2}  ", rest="    ")
    return ["", *lines]


def neighbours_words(neighbours: Sequence[Neighbour]) -> str:
    """Return what is one nudge away: ``M82 Cigar Galaxy 0.6 deg up``; empty for nothing."""
    return "; ".join(
        f"{one.target.name} {degrees_words(one.separation_deg)} {one.direction}"
        for one in neighbours
    )


def coordinates_words(finding: Finding) -> str:
    """Write where the target is: right ascension and declination of date, altitude, azimuth."""
    ra_deg, dec_deg = finding.of_date_deg or (0.0, 0.0)
    tenths = round(ra_deg / 15.0 * 600.0) % 14400  # of a minute of time
    arcmin = round(abs(dec_deg) * 60.0)
    return (
        f"RA {tenths // 600}h {tenths % 600 / 10.0:04.1f}m, Dec {'-' if dec_deg < 0.0 else '+'}"
        f"{arcmin // 60} deg {arcmin % 60:02d}' (of date), {finding.altitude_deg:.0f} deg up, "
        f"{compass(finding.azimuth_deg)}"
    )


def _move(step: Step) -> str:
    return f"{degrees_words(step.separation_deg)} {step.direction}"


def _first_low(text: str) -> str:
    return text[:1].lower() + text[1:]
