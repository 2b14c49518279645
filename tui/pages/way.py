"""How to find a target, as lines to read: the moves, the sky around them, the field of each."""

from __future__ import annotations

from planner.ephemeris.kernel import load_ephemeris
from planner.output.text.fields import way_drawings
from planner.output.text.finding import finding_lines, neighbours_words
from planner.output.words import clock, item
from planner.planning.finding.neighbours import neighbours_of
from planner.session.look_list import LookLine
from tui.night.desk import Desk


def way_lines(desk: Desk, line: LookLine, *, unicode: bool) -> list[str]:
    """Return the way to the target of a look at its start, or now when that is over."""
    at = min(max(line.look.start, desk.now()), desk.scene.night.end)
    report = desk.report(line.look.target_id, at)
    if report.finding is None:
        return [f"{report.target.name} cannot be looked at at {clock(at, report.night.site)}."]
    circumstances = desk.scene.night.circumstances
    near = neighbours_words(neighbours_of(report, desk.catalogue, load_ephemeris(), circumstances))
    beside = item("Near it", near) if near else []
    drawings = way_drawings(report, circumstances, load_ephemeris(), unicode=unicode)
    return [
        f"At {clock(at, report.night.site)}",
        *finding_lines(report.finding),
        *beside,
        *drawings,
    ]
