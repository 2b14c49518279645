"""Plans and looks as JSON objects, on whose keys and units other programs may rely."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any

from planner.model.night import Night
from planner.model.own_eye import EyePart, OwnEye
from planner.model.plan import Look, LookView, Plan, Together, View
from planner.model.site import Site
from planner.output.appearance.what_to_see import look_for, report_look_for
from planner.output.contracts.finding import finding_json, neighbour_json
from planner.output.night_words import slack_words
from planner.planning.look import LookReport, SunPlace
from targets.model import Target

PLAN_SCHEMA = "fieldstop.plan/1"
LOOK_SCHEMA = "fieldstop.look/1"

Json = dict[str, Any]


def plan_json(plan: Plan) -> Json:
    """Return a plan as the object of the ``fieldstop.plan/1`` contract.

    Parameters
    ----------
    plan : Plan
        A session that ends when it starts is none: its times are null.
    """
    site = plan.night.site
    session = (plan.start, plan.end) if plan.end > plan.start else (None, None)
    return {
        "schema": PLAN_SCHEMA,
        "night": night_json(plan.night)
        | {"window_start": time_json(session[0], site), "window_end": time_json(session[1], site)}
        | {"note": plan.night.note},
        "looks": [_look(look, site) for look in plan.looks],
        "breaks": [
            {
                "start": time_json(start, site),
                "end": time_json(end, site),
                "telescope": _telescope_of_break(plan, number),
            }
            for number, (start, end) in enumerate(plan.breaks)
        ],
        "telescopes": [telescope.name for telescope in plan.telescopes],
        "observers": plan.observers,
        "left_out": [
            {"target": target_json(left.target), "reason": left.reason, "in_season": left.in_season}
            for left in plan.left_out
        ],
        "notes": list(plan.notes),
        "eye": eye_json(plan.eye),
    }


def _telescope_of_break(plan: Plan, number: int) -> str | None:
    """Return at which of two telescopes an observer rests; None for an only observer."""
    which = plan.break_of[number] if plan.break_of else -1
    return plan.telescopes[which].name if which >= 0 else None


def look_json(
    report: LookReport, *, why: tuple[str, ...] = (), details: Mapping[str, Any] | None = None
) -> Json:
    """Return a report as the object of the ``fieldstop.look/1`` contract.

    Parameters
    ----------
    why : tuple of str
        Answers to what was asked about an eyepiece.
    details : mapping, optional
        What belongs to the Moon, a feature on it or a planet; more keys.
    """
    site = report.night.site
    return {
        "schema": LOOK_SCHEMA,
        "target": target_json(report.target),
        "date": report.night.date.isoformat(),
        "site": site.name,
        "timezone": site.timezone,
        "at": time_json(report.at, site),
        "altitude_deg": round(report.altitude_deg, 2),
        "azimuth_deg": _azimuth(report.azimuth_deg),
        "rise": time_json(report.rise, site),
        "transit": time_json(report.transit, site),
        "set": time_json(report.set, site),
        "transit_altitude_deg": _rounded(report.transit_altitude_deg, 2),
        "course": report.course,
        "windows": spans_json(report.windows, site),
        "hindrance": report.hindrance,
        "hazard": report.hazard,
        "sun": _sun(report.sun),
        "unlit": report.unlit,
        "views": [_view(view) | {"usable": view.train.usable} for view in report.views],
        "in_turn": _in_turn(report.in_turn),
        "look_for": list(report_look_for(report)),
        "finding": finding_json(report.finding),
        "neighbours": [neighbour_json(neighbour) for neighbour in report.neighbours],
        "why": list(why),
        "eye": eye_json(report.eye),
        **(details or {}),
    }


def eye_json(eye: OwnEye | None) -> Json | None:
    """Return the eye that the journal tells of, against the average; None where it tells none."""
    if eye is None:
        return None
    return {
        **_depth(eye),
        "stated_deeper_mag": eye.stated_mag,
        "left_out": [{"reason": reason, "looks": looks} for reason, looks in eye.left_out],
        "stars": eye_part_json(eye.stars),
        "glows": eye_part_json(eye.glows),
        "telescopes": [
            {
                "name": one.telescope,
                "light_factor": round(one.factor, 3),
                "uncertainty_mag": round(one.sd_mag, 3),
                "looks": one.looks,
            }
            for one in eye.glass
        ],
    }


def eye_part_json(part: EyePart | None) -> Json | None:
    """Return how deep an eye is at stars, at glows or for a time; None where that is not told."""
    return None if part is None else _depth(part)


def _depth(eye: OwnEye | EyePart) -> Json:
    return {
        "deeper_mag": round(eye.deeper_mag, 3),
        "uncertainty_mag": round(eye.sd_mag, 3),
        "looks": eye.looks,
    }


def _sun(sun: SunPlace) -> Json | None:
    """Return where the Sun stands while its limb can show; None at night."""
    if not sun.can_show:
        return None
    return {
        "altitude_deg": round(sun.altitude_deg, 2),
        "azimuth_deg": _azimuth(sun.azimuth_deg),
        "separation_deg": round(sun.separation_deg, 2),
    }


def _in_turn(views: Sequence[LookView]) -> list[Json]:
    """Return the views of a look in the order in which one takes them."""
    return [
        {"role": turn.role.value, "minutes": turn.minutes, "detail": turn.detail or None}
        | _view(turn.view)
        for turn in views
    ]


def night_json(night: Night) -> Json:
    """Return the Sun and Moon of a night, without a session."""
    times = (
        "sunset", "sunrise", "civil_dusk", "civil_dawn", "nautical_dusk", "nautical_dawn",
        "dark_start", "dark_end", "moonrise", "moonset",
    )  # fmt: skip
    return {
        "date": night.date.isoformat(),
        "site": night.site.name,
        "timezone": night.site.timezone,
        **{name: time_json(getattr(night, name), night.site) for name in times},
        "moon_illuminated": round(night.moon_illuminated, 3),
    }


def _look(look: Look, site: Site) -> Json:
    return {
        "start": time_json(look.start, site),
        "end": time_json(look.end, site),
        "target": target_json(look.target),
        "altitude_deg": round(look.altitude_deg, 2),
        "azimuth_deg": _azimuth(look.azimuth_deg),
        "view": _view(look.view),
        "slack_minutes": round(look.slack.slack_min) if look.slack else None,
        "why_now": _why_now(look, site),
        "views": _in_turn(look.views),
        "look_for": list(look_for(look, site)),
        "in_field": list(look.in_field),
        "memory": look.memory or None,
        "finding": finding_json(look.finding),
        "shows": [{"text": note.words, "at": time_json(note.at, site)} for note in look.notes],
        "together": _together(look.together, site),
    }


def _together(together: Together | None, site: Site) -> Json | None:
    """Return what a look shares with the other of two telescopes; None with one."""
    if together is None:
        return None
    return {
        "compares": together.compares or None,
        "found_in": together.found_in or None,
        "elsewhere": [
            {"name": name, "telescope": telescope, "until": time_json(until, site)}
            for name, telescope, until in together.elsewhere
        ],
        "brought": [{"name": name, "telescope": telescope} for name, telescope in together.brought],
    }


def _why_now(look: Look, site: Site) -> str | None:
    if look.slack is None:
        return None
    words = slack_words(look.slack, site, look.start)
    return f"{look.timing}; {words}" if look.timing else words


def target_json(target: Target) -> Json:
    """Return what the catalogue says of a target."""
    return {
        "id": target.id,
        "name": target.name,
        "kind": target.kind.value,
        "constellation": target.constellation,
        "ra_deg": _rounded(target.ra_deg, 5),
        "dec_deg": _rounded(target.dec_deg, 5),
        "major_arcmin": _rounded(target.major_arcmin, 4),
        "minor_arcmin": _rounded(target.minor_arcmin, 4),
        "size_is_approximate": target.size_is_approximate,
        # A feature's share of the Moon's light serves the matcher; nobody measures it.
        "magnitude": None if target.lunar else _rounded(target.magnitude, 2),
        "companion_magnitude": _rounded(target.companion_magnitude, 2),
        "magnitude_range": target.magnitude_range and [*target.magnitude_range],
        "separation_arcsec": _rounded(target.separation_arcsec, 2),
        "position_angle_deg": _rounded(target.position_angle_deg, 1),
        "epoch_yr": _rounded(target.epoch_yr, 2),
        "visual_rating": target.visual_rating,
        "note": target.note,
        "own_note": target.own_note,
    }


def _view(view: View) -> Json:
    train = view.train
    return {
        "telescope": train.telescope.name,
        "eyepiece": train.eyepiece.name,
        "eyepiece_focal_length_mm": round(train.focal_length_mm, 2),
        "amplifier": train.amplifier.name if train.amplifier else None,
        "filter": train.filter.name if train.filter else None,
        "magnification": round(train.magnification, 2),
        "true_field_arcmin": round(train.true_field_arcmin, 2),
        "exit_pupil_mm": round(train.exit_pupil_mm, 3),
        "framing": _rounded(view.framing, 4),
        "fits": view.fits,
        "seen_major_arcmin": _rounded(view.seen_major_arcmin, 2),
        "seen_minor_arcmin": _rounded(view.seen_minor_arcmin, 2),
        "star_limit_mag": _rounded(view.star_limit_mag, 2),
        "score": round(view.score, 4),
        "grade": view.grade.value,
        "reasons": list(view.reasons),
        "warnings": list(view.warnings),
    }


def time_json(instant: datetime | None, site: Site) -> str | None:
    """Write an instant with the site's offset, to the second."""
    if instant is None:
        return None
    return instant.astimezone(site.zone).isoformat(timespec="seconds")


def spans_json(spans: Iterable[tuple[datetime, datetime]], site: Site) -> list[Json]:
    """Write spans with the site's offset."""
    return [{"start": time_json(start, site), "end": time_json(end, site)} for start, end in spans]


def _azimuth(degrees: float) -> float:
    """Round an azimuth [deg] and keep it below 360."""
    return round(degrees, 2) % 360.0


def _rounded(value: float | None, digits: int) -> float | None:
    return None if value is None else round(value, digits)
