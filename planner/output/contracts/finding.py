"""The way to a target and its neighbours as JSON: parts of the contracts of plans and looks."""

from __future__ import annotations

from typing import Any

from planner.model.finding import Finding, Neighbour, Step, Waypoint

Json = dict[str, Any]


def finding_json(finding: Finding | None) -> Json | None:
    """Return a way; None for none.

    ``start`` and the ends of ``steps`` are J2000 at the epoch of the night. A target that is plain
    by itself is its own start, without steps. Where coordinates lead there is no start, and
    ``of_date`` holds those of the target.
    """
    if finding is None:
        return None
    return {
        "by": finding.by.value,
        "start": None if finding.start is None else _point(finding.start),
        "steps": [_step(step) for step in finding.steps],
        "altitude_deg": round(finding.altitude_deg, 2),
        "azimuth_deg": round(finding.azimuth_deg, 2) % 360.0,
        "minutes": round(finding.minutes, 1),
        "text": finding.text,
        "of_date": _of_date(finding),
    }


def neighbour_json(neighbour: Neighbour) -> Json:
    """Return what else is one nudge away."""
    return {
        "id": neighbour.target.id,
        "name": neighbour.target.name,
        "kind": neighbour.target.kind.value,
        "separation_deg": round(neighbour.separation_deg, 3),
        "position_angle_deg": round(neighbour.position_angle_deg, 2) % 360.0,
        "direction": neighbour.direction,
    }


def _of_date(finding: Finding) -> Json | None:
    if finding.of_date_deg is None:
        return None
    ra_deg, dec_deg = finding.of_date_deg
    return {"ra_deg": round(ra_deg, 3) % 360.0, "dec_deg": round(dec_deg, 3)}


def _point(point: Waypoint) -> Json:
    magnitude = point.magnitude
    return {
        "name": point.name,
        "ra_deg": round(point.ra_deg, 5),
        "dec_deg": round(point.dec_deg, 5),
        "magnitude": None if magnitude is None else round(magnitude, 2),
    }


def _step(step: Step) -> Json:
    return {
        "from": _point(step.start),
        "to": _point(step.end),
        "separation_deg": round(step.separation_deg, 4),
        "position_angle_deg": round(step.position_angle_deg, 2) % 360.0,
        "direction": step.direction,
        "instrument": step.instrument,
        "text": step.text,
    }
