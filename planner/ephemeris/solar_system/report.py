"""What there is to know of the Moon, a feature on it or a planet, beside where it stands."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

import numpy as np

from planner.ephemeris.kernel import Ephemeris
from planner.ephemeris.sky_grid import SkyGrid
from planner.ephemeris.solar_system.aspect import aspect_of
from planner.ephemeris.solar_system.jupiter import (
    JupiterFace,
    MoonEvent,
    jupiter_face,
    moon_events,
    spot_transits,
)
from planner.ephemeris.solar_system.lunar_calendar import LightSpan, coming_light
from planner.ephemeris.solar_system.moon import (
    FeatureLight,
    MoonFace,
    best_lit,
    feature_light,
    moon_face,
)
from planner.ephemeris.solar_system.planet_phases import PlanetFace, planet_face
from planner.ephemeris.solar_system.saturn import SaturnFace, saturn_face
from planner.ephemeris.tracks import track_bodies, track_night
from planner.formulas.refraction import HORIZON_REFRACTION_DEG
from planner.model.night import Night
from planner.model.red_spot import RedSpot
from targets.frozen import frozen
from targets.model import Kind, Target
from targets.sphere import position_angle_deg

# Jupiter's moons are lost in a brighter sky (common practice: civil twilight) [deg].
_SUN_BELOW_DEG = -6.0
MOST_LIT = 8
_WITH_PHASES = ("Mercury", "Venus", "Mars")


@frozen
class BodyReport:
    """What belongs to one of these bodies; None for the others.

    Parameters
    ----------
    at : datetime
        The instant (UTC).
    zenith_angle_deg : float
        Position angle of the zenith at the body [deg].
    moon : MoonFace or None
        For the Moon and its features.
    lit : tuple of FeatureLight
        For the Moon: the features that are best lit, the finest first.
    at_window : tuple of FeatureLight
        The light on a feature when its window of the night opens and when it closes.
    comes_back : tuple of LightSpan
        When a feature is well lit within a month.
    events : tuple of MoonEvent
        Of Jupiter's moons in the night while it is up and the Sun is 6 deg down.
    red_spot : RedSpot or None
        As the configuration gives it.
    spot_transits : tuple of datetime
        When it stands in the middle of the disc, at the same times.
    planet : PlanetFace or None
        For Mercury, Venus and Mars.
    """

    at: datetime
    zenith_angle_deg: float
    moon: MoonFace | None = None
    lit: tuple[FeatureLight, ...] = ()
    feature: FeatureLight | None = None
    at_window: tuple[FeatureLight, ...] = ()
    comes_back: tuple[LightSpan, ...] = ()
    jupiter: JupiterFace | None = None
    events: tuple[MoonEvent, ...] = ()
    red_spot: RedSpot | None = None
    spot_transits: tuple[datetime, ...] = ()
    saturn: SaturnFace | None = None
    planet: PlanetFace | None = None


def body_report(
    target: Target,
    ephemeris: Ephemeris,
    night: Night,
    at: datetime,
    *,
    windows: Sequence[tuple[datetime, datetime]] = (),
    features: Sequence[Target],
    red_spot: RedSpot | None,
) -> BodyReport | None:
    """Return what belongs to the body that is looked at; None for what is none.

    Parameters
    ----------
    at : datetime
        The instant of the look, aware.
    windows : sequence of pairs of datetime
        When the target may be looked at.
    features : sequence of Target
        Of the Moon.
    red_spot : RedSpot or None
        Where the observer says that it was.
    """
    if target.lunar is not None:
        return _feature_report(target, ephemeris, night, at, windows)
    if target.kind not in {Kind.MOON, Kind.PLANET}:
        return None
    site, zenith = night.site, _zenith_angle(ephemeris, night, target.id, at)
    if target.kind is Kind.MOON:
        face = moon_face(ephemeris, site, at)
        return BodyReport(at, zenith, moon=face, lit=tuple(best_lit(face, features)[:MOST_LIT]))
    if target.id == "Jupiter":
        return BodyReport(
            at,
            zenith,
            jupiter=jupiter_face(ephemeris, site, at),
            red_spot=red_spot,
            events=_seen_events(ephemeris, night),
            spot_transits=() if red_spot is None else _seen_spot(ephemeris, night, red_spot),
        )
    return BodyReport(
        at,
        zenith,
        saturn=saturn_face(ephemeris, site, at) if target.id == "Saturn" else None,
        planet=(planet_face(ephemeris, site, target.id, at) if target.id in _WITH_PHASES else None),
    )


def _feature_report(
    target: Target,
    ephemeris: Ephemeris,
    night: Night,
    at: datetime,
    windows: Sequence[tuple[datetime, datetime]],
) -> BodyReport:
    site = night.site
    face = moon_face(ephemeris, site, at)
    ends = (windows[0][0], windows[-1][1]) if windows else ()
    return BodyReport(
        at,
        _zenith_angle(ephemeris, night, "Moon", at),
        moon=face,
        feature=feature_light(face, target),
        at_window=tuple(feature_light(moon_face(ephemeris, site, end), target) for end in ends),
        comes_back=coming_light(ephemeris, site, target, night.start),
    )


def _zenith_angle(ephemeris: Ephemeris, night: Night, name: str, at: datetime) -> float:
    aspect = aspect_of(ephemeris, night.site, name, [at])
    return float(position_angle_deg(aspect.up, aspect.sight_au, aspect.north)[0])


def _seen_events(ephemeris: Ephemeris, night: Night) -> tuple[MoonEvent, ...]:
    spans = _jupiter_up(ephemeris, night)
    return tuple(
        event for start, end in spans for event in moon_events(ephemeris, night.site, start, end)
    )


def _seen_spot(ephemeris: Ephemeris, night: Night, spot: RedSpot) -> tuple[datetime, ...]:
    return tuple(
        instant
        for start, end in _jupiter_up(ephemeris, night)
        for instant in spot_transits(ephemeris, night.site, spot, start, end)
    )


def _jupiter_up(ephemeris: Ephemeris, night: Night) -> tuple[tuple[datetime, datetime], ...]:
    grid: SkyGrid = track_night(ephemeris, night)
    track = track_bodies(ephemeris, grid, ["Jupiter"])["Jupiter"]
    is_up = track.altitude_deg > -HORIZON_REFRACTION_DEG
    return grid.spans(np.asarray(is_up & (grid.sun_altitude_deg <= _SUN_BELOW_DEG)))
