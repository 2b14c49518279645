"""What a plan says beside a look at the Moon or a planet: what is on it just then."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

from planner.ephemeris.kernel import Ephemeris
from planner.model.plan import Note
from planner.model.red_spot import RedSpot
from planner.model.site import Site
from targets.model import Kind, Target

MOST_FEATURES = 3
MOST_EVENTS = 2
# Something that happens so soon after a look is still worth staying for.
_SOON = timedelta(minutes=10)


def look_notes(
    target: Target,
    ephemeris: Ephemeris,
    site: Site,
    start: datetime,
    end: datetime,
    *,
    features: Sequence[Target],
    red_spot: RedSpot | None,
) -> tuple[Note, ...]:
    """Return what is to be seen on a body during a look.

    Parameters
    ----------
    start, end : datetime
        Of the look (UTC).
    features : sequence of Target
        Of the Moon.
    red_spot : RedSpot or None
        Where the observer says that it was.

    Returns
    -------
    tuple of Note
        For the Moon the features that are best lit, for a feature how high the Sun stands there,
        for Jupiter what its moons and the Red Spot do, for Saturn the rings, for the inner planets
        the phase; nothing for others.
    """
    middle = start + (end - start) / 2
    if target.kind is Kind.MOON or target.lunar is not None:
        return _of_the_moon(target, ephemeris, site, middle, features)
    if target.id == "Jupiter":
        return _of_jupiter(ephemeris, site, start, end, red_spot)
    if target.id == "Saturn":
        from planner.ephemeris.solar_system.saturn import saturn_face  # noqa: PLC0415  # as below

        tilt_deg = saturn_face(ephemeris, site, middle).tilt_deg
        side = "northern" if tilt_deg >= 0.0 else "southern"
        return (Note(f"rings {abs(tilt_deg):.0f} deg open, {side} face"),)
    if target.id in {"Mercury", "Venus"}:
        from planner.ephemeris.solar_system.planet_phases import planet_phase  # noqa: PLC0415

        illuminated, grows = planet_phase(ephemeris, site, target.id, middle)
        return (Note(f"{illuminated:.0%} lit and {'growing' if grows else 'shrinking'}"),)
    return ()


def _of_the_moon(
    target: Target, ephemeris: Ephemeris, site: Site, middle: datetime, features: Sequence[Target]
) -> tuple[Note, ...]:
    # What is known of one body is loaded for a look at that one: plans have few of them.
    from planner.ephemeris.solar_system.moon import best_lit, feature_light, moon_face  # noqa: PLC0415

    face = moon_face(ephemeris, site, middle)
    if target.kind is Kind.MOON:
        names = ", ".join(light.target.name for light in best_lit(face, features)[:MOST_FEATURES])
        return (Note(f"best lit: {names}"),) if names else ()
    light = feature_light(face, target)
    way = "climbs" if light.is_morning else "sinks"
    return (Note(f"the Sun stands {light.sun_altitude_deg:.0f} deg high there and {way}"),)


def _of_jupiter(
    ephemeris: Ephemeris, site: Site, start: datetime, end: datetime, red_spot: RedSpot | None
) -> tuple[Note, ...]:
    from planner.ephemeris.solar_system.jupiter import (  # noqa: PLC0415
        chief_events,
        jupiter_face,
        moon_events,
        spot_transits,
    )

    events = chief_events(moon_events(ephemeris, site, start, end + _SOON))[:MOST_EVENTS]
    notes = [Note(event.short, event.at) for event in events]
    if red_spot is not None:
        passages = spot_transits(ephemeris, site, red_spot, start, end + _SOON)
        notes += [Note("Red Spot in the middle", instant) for instant in passages]
    if notes:
        return tuple(sorted(notes, key=lambda note: note.at or start))
    shadows = jupiter_face(ephemeris, site, start).shadows
    return tuple(Note(f"{name}'s shadow on the disc") for name in shadows)
