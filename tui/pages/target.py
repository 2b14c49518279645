"""All that the page of a target needs, worked out behind the screens."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from functools import cache

from planner.ephemeris.kernel import load_ephemeris
from planner.ephemeris.tracks import track_instants
from planner.model.kit import train_words
from planner.model.plan import Look, View
from planner.model.site import Site
from planner.output.appearance.what_to_see import what_to_see
from planner.output.drawing.curves import NightCurves
from planner.output.drawing.field import ViewedSky, draw_field
from planner.output.drawing.marks import FieldDrawing
from planner.output.drawing.night_curves import target_curves
from planner.output.night_words import in_field_words, turn_words
from planner.output.words import clock
from planner.planning.look import LookReport
from planner.session.look_list import LookLine
from planner.session.night import key_of
from planner.session.state import Status
from planner.session.words import veil_words
from targets.frozen import frozen
from tui.night.desk import Desk

MOST_ENTRIES = 3
MOST_OTHERS = 2


@frozen
class TargetPage:
    """A target in hand.

    Parameters
    ----------
    view : View or None
        In the eyepiece that is planned or was chosen, else in the best; None when nothing shows it.
    then : str
        What to put in after that, in words; empty when nothing.
    others : tuple of View
        The best with other eyepieces.
    draw : callable
        Draws the field of that view, or with True a close-up; None when nothing shows the target.
    look_for : str
        What follows from data and optics; empty when nothing does.
    notes : tuple of str
        What the plan says beside its look: what else is in the field, what is on a body.
    veil : str
        The cloud that takes light from it, in a word; empty where none stands.
    history : tuple of str
        What the journal has of it.
    """

    report: LookReport
    view: View | None
    then: str
    others: tuple[View, ...]
    draw: Callable[[bool], FieldDrawing | None]
    curves: NightCurves
    look_for: str
    notes: tuple[str, ...]
    veil: str
    history: tuple[str, ...]


def target_page(desk: Desk, line: LookLine, *, close_up: bool = False) -> TargetPage:
    """Work out the page of a look's target, with one of its drawings; it takes a moment."""
    scene, look = desk.scene, line.look
    middle = look.start + (look.end - look.start) / 2
    report = desk.report(look.target_id, desk.now() if look.status is Status.NOW else middle)
    site, view = report.night.site, _view_of(line, report)
    conditions = scene.night.circumstances.conditions
    grid = track_instants(load_ephemeris(), report.night, [report.at])
    circumstance = ViewedSky(load_ephemeris(), site, report.at, conditions, grid)

    @cache
    def draw(close_up: bool) -> FieldDrawing | None:  # noqa: FBT001
        if view is None:
            return None
        return draw_field(report.target, view.train, circumstance, close_up=close_up)

    draw(close_up)
    planned = next((p for p in desk.plan.looks if p.target.id == look.target_id), None)
    return TargetPage(
        report=report,
        view=view,
        then=_then(report, view, planned),
        others=_others(report, view),
        draw=draw,
        curves=target_curves(report.target, load_ephemeris(), report.night, now=desk.now()),
        look_for=_look_for(report, view),
        notes=_notes(planned, site) if planned else (),
        veil=veil_words(scene.state.closures, report.at, report.azimuth_deg, report.altitude_deg),
        history=_history(desk, look.target_id, site),
    )


def _view_of(line: LookLine, report: LookReport) -> View | None:
    for view in report.views:
        if key_of(view.train) == line.look.train:
            return view
    return report.views[0] if report.views else None


def _look_for(report: LookReport, view: View | None) -> str:
    if view is None or report.altitude_deg <= 0.0:
        return ""
    facts = what_to_see(
        report.target,
        view.train,
        altitude_deg=report.altitude_deg,
        azimuth_deg=report.azimuth_deg,
        site=report.night.site,
        seen_arcmin=view.seen_major_arcmin,
        star_limit_mag=view.star_limit_mag,
        counts_stars=True,
    )
    return "; ".join(fact for fact in facts if fact != report.target.note)  # that is told already


def _then(report: LookReport, view: View | None, planned: Look | None) -> str:
    """Say which views come after the main one, as planned for this train, else of the best."""
    if (
        view is not None
        and planned is not None
        and key_of(planned.view.train) == key_of(view.train)
    ):
        return turn_words(planned.views)
    return turn_words(report.in_turn) if report.views and view is report.views[0] else ""


def _others(report: LookReport, view: View | None) -> tuple[View, ...]:
    """Return the best with other eyepieces, but for those that the reasons name already."""
    if view is None:
        return ()
    told, own = "; ".join(view.reasons), view.train.eyepiece.name
    # The first of all is told already: it is the view, or what that is compared with.
    others = [v for v in report.views[1:] if v.train.usable and v.train.eyepiece.name != own]
    return tuple(v for v in others if train_words(v.train) not in told)[:MOST_OTHERS]


def _notes(planned: Look, site: Site) -> tuple[str, ...]:
    return (
        *([in_field_words(planned)] if planned.in_field else []),
        *([planned.memory] if planned.memory else []),
        *(f"{clock(n.at, site)} {n.words}" if n.at else n.words for n in planned.notes),
    )


def _history(desk: Desk, target_id: str, site: Site) -> tuple[str, ...]:
    def day(at: datetime) -> str:
        return f"{at.astimezone(site.zone):%Y-%m-%d}"

    return tuple(
        f"{day(entry.at)} {entry.outcome.words} with {entry.train.eyepiece or '?'}"
        f"{f', {entry.rating} of 5' if entry.rating else ''}"
        for entry in desk.entries(target_id)[:MOST_ENTRIES]
    )
