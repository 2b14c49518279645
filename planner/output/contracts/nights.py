"""The coming nights as JSON."""

from __future__ import annotations

from collections.abc import Sequence

from planner.model.kit import Telescope
from planner.model.site import Site
from planner.output.contracts.plan import Json, night_json, spans_json, target_json, time_json
from planner.output.text.nights import reason_words
from planner.planning.outlook.best_night import (
    NightOutlook,
    TargetOutlook,
    best_night,
    night_for_the_list,
)
from planner.planning.outlook.coming_nights import NightsAsked

SCHEMA = "fieldstop.nights/1"


def nights_json(
    outlooks: Sequence[NightOutlook], asked: NightsAsked, *, telescope: Telescope, wishes: str
) -> Json:
    """Return the nights as the object of the ``fieldstop.nights/1`` contract.

    Without a session ``well_placed`` is null, as the times of the session are.
    """
    site = outlooks[0].night.site
    richest, best = night_for_the_list(outlooks), best_night(outlooks)
    target = None
    if asked.target is not None:
        target = target_json(asked.target) | {
            "best_night": best.outlook.night.date.isoformat() if best else None,
            "reason": reason_words(best) if best else None,
        }
    return {
        "schema": SCHEMA,
        "site": site.name,
        "timezone": site.timezone,
        "telescope": telescope.name,
        "wish_list": {
            "name": wishes,
            "count": outlooks[0].wish_count,
            "best_night": richest.night.date.isoformat() if richest else None,
        },
        "target": target,
        "nights": [_outlook_json(outlook) for outlook in outlooks],
    }


def _outlook_json(outlook: NightOutlook) -> Json:
    site, session = outlook.night.site, outlook.session
    return night_json(outlook.night) | {
        "dark_hours": round(outlook.dark_hours, 2),
        "dark_moonless_hours": round(outlook.dark_moonless_hours, 2),
        "window_start": time_json(session.start, site) if session else None,
        "window_end": time_json(session.end, site) if session else None,
        "no_session": outlook.no_session,
        "well_placed": outlook.well_placed if session else None,
        "best": [{"id": target.id, "name": target.name} for target in outlook.best],
        "note": outlook.night.note,
        "clear_share": None if outlook.clear_share is None else round(outlook.clear_share, 3),
        "target": _target_outlook_json(outlook.target, site) if outlook.target else None,
    }


def _target_outlook_json(target: TargetOutlook, site: Site) -> Json:
    best = target.best
    return {
        "windows": spans_json(target.windows, site),
        "window_minutes": target.window_minutes,
        "at": time_json(best.at, site) if best else None,
        "altitude_deg": round(best.altitude_deg, 2) if best else None,
        "moon_separation_deg": round(best.moon_separation_deg, 1) if best else None,
        "moon_is_up": best.moon_altitude_deg > 0.0 if best else None,
        "grade": best.grade.value if best else None,
        "hindrance": target.hindrance,
    }
