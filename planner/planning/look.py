"""One target on one night: when it is up, and how every train shows it."""

from __future__ import annotations

from datetime import UTC, datetime
from functools import lru_cache

import numpy as np

from planner.ephemeris.crossings import find_crossings
from planner.ephemeris.interpolation import azimuth_deg
from planner.ephemeris.kernel import Ephemeris, unix_seconds
from planner.ephemeris.sky_grid import SkyGrid
from planner.ephemeris.solar_system.lunar_calendar import light_over
from planner.ephemeris.solar_system.lunar_light import Sunlight
from planner.ephemeris.tracks import track_instants, track_night
from planner.formulas.refraction import HORIZON_REFRACTION_DEG, SUNSET_ALTITUDE_DEG
from planner.matcher.lens import star_limits_mag
from planner.matcher.look_views import views_in_turn
from planner.matcher.target_classes import TargetTable, target_table_of
from planner.matcher.views import best_column, ranked_views
from planner.model.finding import Finding, Neighbour
from planner.model.night import Night
from planner.model.own_eye import OwnEye
from planner.model.plan import LookView, View
from planner.model.site import Site
from planner.planning.circumstances import Circumstances
from planner.planning.finding.of_targets import find_targets
from planner.planning.outlook.coverage import Wanted, best_step, watch_targets
from planner.planning.season import culminations_deg
from planner.planning.survey import body_at, follow, moment_at, sky_behind
from planner.planning.windows import (
    NO_LIGHT,
    SkyTracks,
    Windows,
    clear_of_sun,
    find_windows,
    hindrance,
    preferred_steps,
    sun_can_show,
)
from planner.planning.worth import air_share
from targets.arrays import Codes
from targets.frozen import frozen
from targets.model import Kind, Target


@frozen
class SunPlace:
    """Where the Sun's centre stands at the moment of a look, and how far from the target.

    Altitude without refraction, azimuth, distance [deg]; and whether its limb can show then or
    within a quarter of an hour.
    """

    altitude_deg: float
    azimuth_deg: float
    separation_deg: float
    can_show: bool


@frozen
class LookReport:
    """One target, on one night.

    Parameters
    ----------
    target : Target
        With its place and size at ``at``.
    at : datetime
        The moment that the rest is for (UTC).
    altitude_deg, azimuth_deg : float
        Apparent, at that moment [deg].
    rise, transit, set : datetime or None
        Within the night (UTC); None where it does not happen. Rising and setting by the almanacs'
        convention: the centre, for the Moon the upper limb, with 34' of refraction.
    transit_altitude_deg : float or None
        Apparent [deg].
    course : str or None
        What it does instead where there is no rising and no setting: ``does not set``.
    windows : tuple of (datetime, datetime)
        When it can be looked at (UTC).
    hindrance : str or None
        Why there is no window.
    hazard : str or None
        Why it must not be looked at at that moment.
    sun : SunPlace
        At that moment.
    unlit : str or None
        Why nothing of a feature of the Moon can be seen at that moment.
    views : tuple of View
        Best first; trains that do not fit together last. None when the target is below the
        horizon, there is a hazard, or it is unlit.
    finding : Finding or None
        How one comes to it at that moment; None where there are no views.
    in_turn : tuple of LookView
        The views of a look of usual length, in the order in which one takes them.
    neighbours : tuple of Neighbour
        What else is one nudge away, where that was asked.
    eye : OwnEye or None
        For which the views are rated; None for that of the stated experience.
    """

    target: Target
    night: Night
    at: datetime
    altitude_deg: float
    azimuth_deg: float
    rise: datetime | None
    transit: datetime | None
    set: datetime | None
    transit_altitude_deg: float | None
    course: str | None
    windows: tuple[tuple[datetime, datetime], ...]
    hindrance: str | None
    hazard: str | None
    sun: SunPlace
    views: tuple[View, ...]
    unlit: str | None = None
    finding: Finding | None = None
    in_turn: tuple[LookView, ...] = ()
    neighbours: tuple[Neighbour, ...] = ()
    eye: OwnEye | None = None


def look_at(
    target: Target,
    ephemeris: Ephemeris,
    night: Night,
    circumstances: Circumstances,
    *,
    at: datetime | None = None,
) -> LookReport:
    """Rate every train for a target.

    Parameters
    ----------
    circumstances : Circumstances
        Who looks, through what, under what sky; its misfits are named last.
    at : datetime, optional
        Aware, inside the night; without it, the best moment: where it shows best while nothing
        stands in the way, a feature of the Moon where light and height together are best; else
        highest in the dark, else highest.

    Raises
    ------
    ValueError
        If ``at`` is outside the night, or has no time zone.
    """
    night_grid = _grid_of(ephemeris, night)
    tracks = follow([target], ephemeris, night_grid)
    table = target_table_of([target], circumstances.preferences)
    windows = _windows(target, tracks, night, circumstances, table.class_code)
    if at is None:
        at = _best_moment(target, ephemeris, night_grid, tracks, windows, circumstances)
    at = _as_utc(at)
    before, target = target, body_at(target, ephemeris, night_grid, at)
    if target is not before:
        table = target_table_of([target], circumstances.preferences)
    grid = track_instants(ephemeris, night, [at])
    now = follow([target], ephemeris, grid)
    hazard = _hazard(target, now, night.site)
    unlit = _unlit(now)
    is_up = now.altitude_deg[0, 0] > 0.0 and unlit is None
    can_be_seen = is_up and not hazard
    rise, transit, set_ = _rise_transit_set(target, night_grid, tracks)
    views, in_turn = _views(target, table, grid, now, circumstances) if can_be_seen else ((), ())
    return LookReport(
        target=target,
        night=night,
        at=at,
        altitude_deg=float(now.altitude_deg[0, 0]),
        azimuth_deg=float(now.azimuth_deg[0, 0]),
        rise=rise,
        transit=transit,
        set=set_,
        transit_altitude_deg=(
            None if transit is None else _altitude_at(target, ephemeris, night, transit)
        ),
        course=None if rise or set_ else _course(tracks),
        windows=night_grid.spans(windows.open[0]),
        hindrance=None if windows.open[0].any() else hindrance(windows, tracks, 0),
        hazard=hazard,
        sun=_sun_place(grid, now),
        views=views,
        unlit=unlit,
        finding=find_targets([target], grid, circumstances)[0] if can_be_seen else None,
        in_turn=in_turn,
        eye=circumstances.eye,
    )


@lru_cache(maxsize=2)
def _grid_of(ephemeris: Ephemeris, night: Night) -> SkyGrid:
    """Return the grid of a night, in which many targets are looked at one after the other."""
    return track_night(ephemeris, night)


def _sun_place(grid: SkyGrid, now: SkyTracks) -> SunPlace:
    return SunPlace(
        altitude_deg=float(grid.sun_altitude_deg[0]),
        azimuth_deg=float(azimuth_deg(grid.axes, grid.sun_direction)[0]),
        separation_deg=float(now.sun_separation_deg[0, 0]),
        can_show=bool(sun_can_show(now, grid.night.site)[0]),
    )


def _unlit(now: SkyTracks) -> str | None:
    """Say why nothing of a feature of the Moon is to be seen, whatever the eyepiece."""
    code = Sunlight.WELL if now.lit is None else Sunlight(int(now.lit[0, 0]))
    return NO_LIGHT[code] if code in {Sunlight.NIGHT, Sunlight.TURNED_AWAY} else None


def _windows(
    target: Target, tracks: SkyTracks, night: Night, circumstances: Circumstances, class_code: Codes
) -> Windows:
    return find_windows(
        tracks,
        class_code,
        preferences=circumstances.preferences,
        site=night.site,
        telescope=circumstances.telescope,
        moon_illuminated=night.moon_illuminated,
        culmination=culminations_deg([target], night.site),
    )


def _best_moment(
    target: Target,
    ephemeris: Ephemeris,
    grid: SkyGrid,
    tracks: SkyTracks,
    windows: Windows,
    circumstances: Circumstances,
) -> datetime:
    altitude = tracks.altitude_deg[0]
    if target.lunar is not None and windows.open[0].any():
        light = light_over(ephemeris, grid.night.site, target, grid.unix_s)
        preferred = preferred_steps(windows.open[0], tracks.sun_altitude_deg)
        return grid.instant(int(np.argmax(np.where(preferred, light * air_share(altitude), -1.0))))
    if windows.open[0].any() and len(circumstances.table):
        class_code = target_table_of([target], circumstances.preferences).class_code
        wanted = Wanted((target,), class_code, np.ones(1))
        watch = watch_targets(wanted, ephemeris, grid, circumstances)
        step, _ = best_step(watch, 0, circumstances)
    else:
        dark = windows.dark[0] & (altitude > 0.0)
        counts = next(f for f in (windows.open[0], dark, altitude > -np.inf) if f.any())
        counts = preferred_steps(counts, tracks.sun_altitude_deg)
        step = int(np.argmax(np.where(counts, altitude, -np.inf)))
    return grid.instant(step)


def _hazard(target: Target, now: SkyTracks, site: Site) -> str | None:
    """Say why looking would risk an eye: the Sun is near; inner planets ask for it to be down."""
    if now.altitude_deg[0, 0] <= 0.0:
        return None
    shows = bool(sun_can_show(now, site)[0])
    if not clear_of_sun(now, site)[0, 0]:
        away = float(now.sun_separation_deg[0, 0])
        state = _sun_state(now) if shows else "it is not yet at civil twilight"
        return f"{target.name} is {away:.0f} deg from the Sun, and {state}"
    if shows and target.id in {"Mercury", "Venus"}:
        return f"{target.name} is offered only with the Sun well below the horizon"
    return None


def _sun_state(now: SkyTracks) -> str:
    """Say whether the Sun is up, or just below where it can show."""
    up = now.sun_altitude_deg[0] >= SUNSET_ALTITUDE_DEG
    return "the Sun is up" if up else "the Sun can show within a quarter of an hour"


def _views(
    target: Target, table: TargetTable, grid: SkyGrid, now: SkyTracks, circumstances: Circumstances
) -> tuple[tuple[View, ...], tuple[LookView, ...]]:
    moments = sky_behind([target], now, grid, circumstances.conditions)
    moment = moment_at(moments, np.zeros(1, dtype=np.intp))
    ratings = circumstances.rate(table, moment)
    limit_mag = star_limits_mag(circumstances.lens, moment)[0]
    altitude_deg = float(now.altitude_deg[0, 0])
    case = circumstances.case(target, 0, ratings, altitude_deg, star_limit_mag=limit_mag)
    if not len(circumstances.table):
        return ranked_views(case, circumstances.misfits), ()
    stated_min = circumstances.preferences.classes[int(table.class_code[0])].dwell_minutes
    minutes = circumstances.pace.dwell_min(stated_min)
    return ranked_views(case, circumstances.misfits), views_in_turn(
        case, best_column(case), minutes
    )


def _rise_transit_set(
    target: Target, grid: SkyGrid, tracks: SkyTracks
) -> tuple[datetime | None, datetime | None, datetime | None]:
    """Find when the centre passes 34' below the true horizon, and when it culminates.

    The Moon's own radius and parallax count too; the night has its rising and setting.
    """
    altitude = tracks.true_altitude_deg[0]
    rises, sets = find_crossings(grid.unix_s, altitude + HORIZON_REFRACTION_DEG)
    # How far it stands to the east: this sinks through zero at the upper culmination.
    east = np.cos(np.radians(altitude)) * np.sin(np.radians(tracks.azimuth_deg[0]))
    _, transits = find_crossings(grid.unix_s, east)
    rise = _instant(float(rises[0])) if rises.size else None
    set_ = _instant(float(sets[-1])) if sets.size else None
    if target.kind in {Kind.MOON, Kind.LUNAR_FEATURE}:
        rise, set_ = grid.night.moonrise, grid.night.moonset
    return rise, _instant(float(transits[0])) if transits.size else None, set_


def _course(tracks: SkyTracks) -> str:
    is_up = tracks.true_altitude_deg[0].mean() > -HORIZON_REFRACTION_DEG
    return "does not set" if is_up else "does not rise"


def _altitude_at(target: Target, ephemeris: Ephemeris, night: Night, instant: datetime) -> float:
    """Return the apparent altitude at an instant; near the zenith no line between steps will do."""
    grid = track_instants(ephemeris, night, [instant])
    return float(follow([target], ephemeris, grid).altitude_deg[0, 0])


def _as_utc(instant: datetime) -> datetime:
    unix_seconds([instant])  # refuses what has no time zone, which would pass for the computer's
    return instant.astimezone(UTC)


def _instant(unix_s: float) -> datetime:
    return datetime.fromtimestamp(round(unix_s), UTC)
