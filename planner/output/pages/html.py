"""Pages for paper and telephone: one file that needs nothing else."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby
from typing import Any

from markupsafe import Markup

from planner.ephemeris.kernel import Ephemeris
from planner.model.kit import train_words
from planner.model.plan import Look, Plan, Spare, View
from planner.model.site import Site
from planner.output.appearance.what_to_see import look_for, report_look_for
from planner.output.appearance.words import MODEL, SCALE
from planner.output.drawing.curves import NightCurves, curves_svg
from planner.output.drawing.field import ViewedSky, draw_field, wants_close_up
from planner.output.drawing.finding import draw_way, sketch_ways
from planner.output.drawing.marks import FieldDrawing
from planner.output.drawing.night_curves import plan_curves, target_curves
from planner.output.drawing.svg import field_svg
from planner.output.night_words import (
    grade_word,
    heading_facts,
    in_field_words,
    latest_start,
    note_words,
    slack_words,
    turn_words,
)
from planner.output.pages.page import page
from planner.output.pages.views import view_figures
from planner.output.text.fields import different_eyepieces, drift_words, star_words
from planner.output.text.finding import finding_line, neighbours_words
from planner.output.text.look import daylight_words, target_facts, when_facts
from planner.output.text.plan import entries_in_order, left_out_lines
from planner.output.together_words import together_words
from planner.output.words import arc, clock, compass, double_date, span
from planner.planning.circumstances import Circumstances
from planner.planning.look import LookReport
from planner.text import items_of

# Drawings and letters on paper are the smaller the more looks there are, so that these fit three
# pages: up to so many looks, [mm], [pt].
PRINT_SIZES = ((8, 34, 11.0), (14, 28, 10.5), (20, 23, 10.0), (100, 14, 8.4))
FIELDS, PICTURES = 3, 6
MOST_VIEWS = 8
POINTS = ("N", "NE", "E", "SE", "S", "SW", "W", "NW")


def plan_html(
    plan: Plan, circumstances: Circumstances, ephemeris: Ephemeris, *, session: str
) -> str:
    """Write a plan as a page.

    Parameters
    ----------
    session : str
        A clause that says how its start and end were found.

    Returns
    -------
    str
        HTML without a script and without anything that is loaded from elsewhere. On paper it is
        black on white; on a telephone, or where the reader asks for dark, deep red on black.
    """
    site = plan.night.site
    facts = heading_facts(plan.night, circumstances)
    drawings = [look_drawing(look, circumstances, ephemeris, site) for look in plan.looks]
    if plan.looks:
        facts.append(session_fact(plan, session))
    return page(
        "plan.html.j2",
        **plan_values(plan, ephemeris, drawings),
        facts=facts,
        rows=_rows(plan, drawings, sketch_ways(plan.looks, ephemeris, plan.night, circumstances)),
        print_size=next((mm, pt) for most, mm, pt in PRINT_SIZES if len(plan.looks) <= most),
        spares=_spares(plan.spares, site),
    )


def session_fact(plan: Plan, session: str) -> tuple[str, str]:
    """Say when a session is; what options change it is of no use on paper."""
    return "Session", f"{span(plan.start, plan.end, plan.night.site)}, {session.partition(';')[0]}"


def plan_values(
    plan: Plan, ephemeris: Ephemeris, drawings: Sequence[FieldDrawing]
) -> dict[str, Any]:
    """Return what the pages of a plan with one telescope and with two have in common."""
    site = plan.night.site
    return {
        "title": f"{double_date(plan.night.date)}, {site.name}",
        "curves": _curves_figure(plan_curves(plan, ephemeris), site) if plan.looks else None,
        "left_out": items_of(left_out_lines(plan.left_out)[2:-1]),
        "orientation": _orientation_words(drawings),
        "notes": plan.news,
    }


def look_html(
    report: LookReport,
    circumstances: Circumstances,
    ephemeris: Ephemeris,
    *,
    details: Sequence[tuple[str, str]] = (),
) -> str:
    """Write what is known of one target on one night as a page, as `plan_html` does.

    ``details`` are names and texts about a body, told after where it stands.
    """
    site = report.night.site
    circumstance = ViewedSky(ephemeris, site, report.at, circumstances.conditions)
    views = different_eyepieces(report.views, FIELDS)
    drawn = [(draw_field(report.target, v.train, circumstance), _field_words(v)) for v in views]
    if views and wants_close_up(report.target, views[0].train):
        close = draw_field(report.target, views[0].train, circumstance, close_up=True)
        drawn.append((close, f"enlarged, {arc(close.span_arcmin)} wide"))
    seen = [(v.train, _field_words(v)) for v in different_eyepieces(report.views, PICTURES)]
    usable = [view for view in report.views if view.train.usable]
    return page(
        "look.html.j2",
        title=f"{report.target.name}, {double_date(report.night.date)}",
        lines=target_facts(report.target),
        facts=[
            *([("!", by_day)] if (by_day := daylight_words(report)) else []),
            *when_facts(report),
            *details,
            *([("Find it", finding_line(report.finding))] if report.finding else []),
            *([("Look for", ", ".join(told))] if (told := report_look_for(report)) else []),
            *([("Near it", near)] if (near := neighbours_words(report.neighbours)) else []),
            *heading_facts(report.night, circumstances),
        ],
        fields=[{"drawing": _svg(d, report.target.name), "words": words} for d, words in drawn],
        orientation=_orientation_words([d for d, _ in drawn]),
        model=f"{MODEL} {SCALE}",
        seen=view_figures(report.target, seen, circumstance, circumstances.preferences),
        steps=[step.text for step in report.finding.steps] if report.finding else [],
        way=[
            {"drawing": _svg(way.field, way.title), "words": f"{way.title}; {way.field.words}"}
            for way in draw_way(report, ephemeris, circumstances)
        ],
        curves=_curves_figure(
            target_curves(report.target, ephemeris, report.night, now=report.at), site
        ),
        views=[
            {"train": train_words(v.train), "optics": _optics(v), "why": "; ".join(v.reasons)}
            for v in usable[:MOST_VIEWS]
        ],
    )


def _curves_figure(curves: NightCurves, site: Site) -> dict[str, str]:
    """Return the drawing of some curves, and what it shows."""
    svg = curves_svg(
        curves, clock=lambda instant: clock(instant, site), title="Altitudes through the night"
    )
    is_plan = any(curve.begin for curve in curves.curves)
    skyline = "short lines below them" if is_plan else "filled"
    words = [
        "Altitudes in degrees",
        *(["thick: the looks by their numbers"] if is_plan else []),
        *([f"{skyline}: the skyline there"] if curves.curves[0].skyline_deg is not None else []),
        "dots: the Moon",
        *(["shaded: full darkness"] if curves.dark_start is not None else []),
        *([f"upright line: {clock(curves.now, site)}"] if curves.now is not None else []),
    ]
    # The drawing is made of numbers, and escaped words.
    return {"drawing": Markup(svg), "words": f"{'; '.join(words)}."}  # noqa: S704


def look_drawing(
    look: Look, circumstances: Circumstances, ephemeris: Ephemeris, site: Site
) -> FieldDrawing:
    """Draw the field of a look as it is in the middle of it."""
    middle = look.start + (look.end - look.start) / 2
    circumstance = ViewedSky(ephemeris, site, middle, circumstances.conditions)
    return draw_field(look.target, look.view.train, circumstance)


def look_entry(
    look: Look, drawing: FieldDrawing, way: FieldDrawing | None, site: Site
) -> dict[str, Any]:
    """Return what a page says of a look, by the names that the templates know."""
    slack, clauses = look.slack, [look.view.brief]
    shown = look.together is not None and look.together.found_in
    if slack is not None and slack.closes is not None:
        clauses.append(slack_words(slack, site, look.start))
    if look.timing:
        clauses.insert(0, look.timing)
    if turns := turn_words(look.views):
        clauses.append(turns)
    if look.in_field:
        clauses.append(in_field_words(look))
    if look.memory:
        clauses.append(look.memory)
    clauses.append(note_words(look.notes, site))
    clauses += [warning for warning in look.view.warnings if warning not in look.view.brief]
    return {
        "time": span(look.start, look.end, site),
        "wait": f"until {latest_start(slack, site, look.start)}" if slack else "",
        "drawing": _svg(drawing, look.target.name),
        "way": _svg(way, f"The way to {look.target.name}") if way else "",
        "name": look.target.name,
        "about": ", ".join(
            [
                *([look.target.kind] if look.target.kind != look.target.name else []),
                f"{look.altitude_deg:.0f} deg up, {compass(look.azimuth_deg)}",
            ]
        ),
        "train": train_words(look.view.train),
        "optics": _optics(look.view),
        "why": "; ".join(clause for clause in clauses if clause),
        "together": "; ".join(together_words(look.together, site)),
        "find": "" if look.finding is None or shown else finding_line(look.finding),
        "look_for": ", ".join(look_for(look, site)),
    }


def _rows(
    plan: Plan, drawings: Sequence[FieldDrawing], ways: Sequence[FieldDrawing | None]
) -> list[dict[str, Any]]:
    """Return what comes when: the looks with their numbers, breaks, and times without a look."""
    site = plan.night.site
    drawn = {
        id(look): (field, way) for look, field, way in zip(plan.looks, drawings, ways, strict=True)
    }
    rows: list[dict[str, Any]] = []
    number = 0
    for start, end, entry in entries_in_order(plan):
        if isinstance(entry, Look):
            number += 1
            rows.append({"number": number, **look_entry(entry, *drawn[id(entry)], site)})
        else:
            rows.append({"number": 0, "time": span(start, end, site), "words": entry.strip("- ")})
    return rows


def _svg(drawing: FieldDrawing, title: str) -> Markup:
    return Markup(field_svg(drawing, title=title))  # noqa: S704  # escaped there


def _optics(view: View) -> str:
    train = view.train
    about = "" if train.true_field_is_exact else "about "
    return (
        f"{train.magnification:.0f}x, exit pupil {train.exit_pupil_mm:.1f} mm, field "
        f"{about}{arc(train.true_field_arcmin)}, {grade_word(view.grade)}"
    )


def _field_words(view: View) -> str:
    return f"{train_words(view.train)}: {_optics(view)}"


def _orientation_words(drawings: Sequence[FieldDrawing]) -> str:
    """Say which way up the drawings are, by the first; the drift differs from one to the next."""
    if not drawings:
        return ""
    words = f"Fields as seen in the eyepiece: {drawings[0].words}. An arrow at the edge shows where"
    if len(drawings) == 1:
        return f"{words} stars drift: {drift_words(drawings[0])}. {star_words(drawings[0])}"
    depths = [d.faintest_mag for d in drawings if d.faintest_mag is not None]
    deepest = f" Stars are drawn to magnitude {max(depths):.0f} at most" if depths else ""
    if deepest and any(d.limit_mag for d in drawings):
        deepest += ", where the star file ends; these eyepieces show fainter ones"
    deepest += "." if deepest else ""
    return f"{words} stars drift while the telescope stands still.{deepest}"


def _spares(spares: Sequence[Spare], site: Site) -> list[tuple[str, list[dict[str, str]]]]:
    """Sort the spares by direction."""

    def point(spare: Spare) -> str:
        return POINTS[round(spare.azimuth_deg / 45.0) % 8]

    return [
        (
            direction,
            [
                {
                    "name": spare.target.name,
                    "train": train_words(spare.train),
                    "where": f"{spare.altitude_deg:.0f} deg up at {clock(spare.at, site)}",
                }
                for spare in group
            ],
        )
        for direction, group in groupby(spares, key=point)
    ]
