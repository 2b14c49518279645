"""A programme as JSON."""

from __future__ import annotations

from planner.model.site import Site
from planner.output.contracts.plan import Json, time_json
from planner.planning.outlook.programme import NightsToFinish, ProgrammeNight

SCHEMA = "fieldstop.programme/1"


def programme_json(
    programme: NightsToFinish, *, title: str, site: Site, seen: int, clear_share: float | None
) -> Json:
    """Return a programme as the object of the ``fieldstop.programme/1`` contract."""
    return {
        "schema": SCHEMA,
        "list": title,
        "site": site.name,
        "timezone": site.timezone,
        "first": programme.first.isoformat(),
        "last": programme.last.isoformat(),
        "seen_before": seen,
        "look_minutes": programme.look_minutes,
        "clear_share": clear_share,
        "nights": [_night_json(night, site, clear_share) for night in programme.nights],
        "out_of_reach": [
            {"id": one.target.id, "name": one.target.name, "reason": one.why}
            for one in programme.out_of_reach
        ],
        "leaving": [
            {
                "id": one.target.id,
                "name": one.target.name,
                "last": one.last.isoformat(),
                "planned": one.planned.isoformat() if one.planned else None,
            }
            for one in programme.leaving
        ],
    }


def _night_json(night: ProgrammeNight, site: Site, clear_share: float | None) -> Json:
    return {
        "date": night.night.date.isoformat(),
        "start": time_json(night.session.start, site),
        "end": time_json(night.session.end, site),
        "moon_illuminated": round(night.night.moon_illuminated, 3),
        "stand_ins": [date.isoformat() for date in night.stand_ins],
        "chance": None if clear_share is None else round(night.chance(clear_share), 3),
        "looks": [
            {
                "start": time_json(look.start, site),
                "end": time_json(look.end, site),
                "altitude_deg": round(look.altitude_deg, 1),
                "targets": [{"id": target.id, "name": target.name} for target in look.targets],
            }
            for look in night.looks
        ],
    }
