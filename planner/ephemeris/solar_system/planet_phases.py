"""Phase and elongation of a planet, and when Mercury and Venus stand farthest from the Sun."""

from __future__ import annotations

from datetime import datetime, timedelta

import numpy as np

from planner.ephemeris.bodies import observe_body
from planner.ephemeris.kernel import Ephemeris
from planner.ephemeris.solar_system.aspect import aspect_of
from planner.model.site import Site
from targets.frozen import frozen

INNER = ("Mercury", "Venus")
# Mercury comes to the same place beside the Sun after 116 days, Venus after 584 (from memory):
# half of that, and some days, always holds a greatest elongation.
_AHEAD_DAYS = {"Mercury": 80, "Venus": 460}


@frozen
class PlanetFace:
    """A planet at an instant.

    Parameters
    ----------
    illuminated : float
        Lit fraction of the disc, 0 .. 1.
    grows : bool
        Whether that fraction grows from day to day.
    phase_angle_deg : float
        Angle at the planet between Sun and observer [deg].
    bright_limb_deg : float
        Position angle of the middle of the lit edge [deg].
    elongation_deg : float
        From the Sun [deg].
    is_east : bool
        East of the Sun, and so in the evening sky.
    greatest : tuple of (datetime, float, bool) or None
        For Mercury and Venus the next greatest elongation: when (UTC, to the day), how far from
        the Sun [deg], and whether east of it.
    meridian_deg, tilt_deg, pole_angle_deg : float or None
        For Mars: longitude (west, as its maps for observers count) and latitude in the middle of
        the disc, position angle of the north pole [deg].
    """

    illuminated: float
    grows: bool
    phase_angle_deg: float
    bright_limb_deg: float
    elongation_deg: float
    is_east: bool
    greatest: tuple[datetime, float, bool] | None = None
    meridian_deg: float | None = None
    tilt_deg: float | None = None
    pole_angle_deg: float | None = None


def planet_face(ephemeris: Ephemeris, site: Site, name: str, instant: datetime) -> PlanetFace:
    """Return a planet's phase and what goes with it at an instant (aware)."""
    illuminated, grows = planet_phase(ephemeris, site, name, instant)
    seen = observe_body(ephemeris, site, name, [instant])
    aspect = aspect_of(ephemeris, site, name, [instant])
    of_mars = name == "Mars"
    return PlanetFace(
        illuminated=illuminated,
        grows=grows,
        phase_angle_deg=float(seen.phase_deg[0]),
        bright_limb_deg=float(aspect.bright_limb_deg[0]),
        elongation_deg=float(seen.elongation_deg[0]),
        is_east=_is_east(ephemeris, site, name, instant),
        greatest=_greatest_elongation(ephemeris, site, name, instant) if name in INNER else None,
        meridian_deg=float(-aspect.facing()[0][0] % 360.0) if of_mars else None,
        tilt_deg=float(aspect.facing()[1][0]) if of_mars else None,
        pole_angle_deg=float(aspect.pole_angle_deg()[0]) if of_mars else None,
    )


def planet_phase(
    ephemeris: Ephemeris, site: Site, name: str, instant: datetime
) -> tuple[float, bool]:
    """Return the lit fraction of a planet, 0 .. 1, and whether it grows from day to day."""
    hour = timedelta(hours=1)
    before, there, after = observe_body(
        ephemeris, site, name, [instant - hour, instant, instant + hour]
    ).illuminated
    return float(there), bool(after > before)


def _is_east(ephemeris: Ephemeris, site: Site, name: str, instant: datetime) -> bool:
    """Whether a planet is east of the Sun, by the ecliptic's own north."""
    aspect = aspect_of(ephemeris, site, name, [instant])
    sun = aspect.sight_au + aspect.sun_au
    return bool(np.cross(sun, aspect.sight_au)[0] @ _ECLIPTIC_NORTH > 0.0)


_ECLIPTIC_NORTH = np.array([0.0, -0.397777, 0.917482])  # at J2000.0, obliquity 23.4393 deg


def _greatest_elongation(
    ephemeris: Ephemeris, site: Site, name: str, instant: datetime
) -> tuple[datetime, float, bool] | None:
    """Find the next time at which the elongation is greatest, to the day."""
    days = [instant + timedelta(days=k) for k in range(-1, _AHEAD_DAYS[name])]
    days = [d for d in days if ephemeris.first_night <= d.date() <= ephemeris.last_night]
    if len(days) < 3:
        return None
    elongation = observe_body(ephemeris, site, name, days).elongation_deg
    tops = np.flatnonzero(
        (elongation[1:-1] > elongation[:-2]) & (elongation[1:-1] >= elongation[2:])
    )
    if not tops.size:
        return None
    top = int(tops[0]) + 1
    before, there, after = (float(value) for value in elongation[top - 1 : top + 2])
    shift_days = 0.5 * (before - after) / (before - 2.0 * there + after)  # top of a parabola
    when = days[top] + timedelta(days=shift_days)
    return when, there, _is_east(ephemeris, site, name, when)
