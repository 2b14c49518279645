"""The sessions of a year's nights as one stretch of sky, worked out in one pass."""

from __future__ import annotations

from dataclasses import fields
from datetime import UTC, date, datetime, timedelta

import numpy as np

from planner.ephemeris.almanac import night_bounds, night_of
from planner.ephemeris.interpolation import fit_motions
from planner.ephemeris.kernel import BODIES, Ephemeris
from planner.ephemeris.sky_grid import SkyGrid
from planner.ephemeris.tracks import SUN_TIME_MARGIN, BodyTrack, body_track, sky_of
from planner.model.errors import NothingToPlanError
from planner.model.night import Night
from planner.model.site import Site
from planner.planning.session_times import session_times
from targets.arrays import Floats
from targets.elements import Elements
from targets.frozen import frozen

# Of each session: half an hour from one to the next in a session of usual length.
STEPS = 9
# Between samples of the Sun's altitude: dusk is then good to five seconds [s].
SAMPLES_S = 300.0


@frozen(eq=False)
class YearSky:
    """M sessions of `STEPS` steps each, one behind the other.

    Parameters
    ----------
    nights : tuple of Night
        Those M on which there is a session.
    grid : SkyGrid
        All the steps, (M x STEPS,); its night is the first one.
    tracked : dict of str to BodyTrack
        Moon, planets and what else was asked for, at these steps.
    moon_illuminated : ndarray
        Lit share of the Moon's disc at each step, 0 .. 1.
    all_nights : int
        How many nights were taken.
    why_none : str or None
        Why the last of the others has no session.
    """

    nights: tuple[Night, ...]
    grid: SkyGrid
    tracked: dict[str, BodyTrack]
    moon_illuminated: Floats
    all_nights: int
    why_none: str | None

    def instant(self, step: int) -> datetime:
        """Return the instant of a step (UTC), to the second."""
        return datetime.fromtimestamp(round(float(self.grid.unix_s[step])), UTC)


def sky_of_year(
    ephemeris: Ephemeris, site: Site, *, first: date, days: range, orbits: dict[str, Elements]
) -> YearSky | None:
    """Work out the sky over the usual session of every night that is taken.

    Parameters
    ----------
    ephemeris, site
        Of what is seen, and from where.
    first : datetime.date
        Evening of the first night.
    days : range
        Which nights are taken [days after the first].
    orbits : dict of str to Elements
        Comets and minor planets to follow beside Moon and planets.

    Returns
    -------
    YearSky or None
        None when no night has a session.

    Raises
    ------
    OutsideEphemerisError
        If there are no positions for one of the dates.
    """
    evenings = [first + timedelta(days=day) for day in days]
    for evening in (evenings[0], evenings[-1]):  # before the work of the nights between
        ephemeris.check_night(evening)
    bounds = (night_bounds(evening, site) for evening in evenings)
    bodies = ("Sun", *BODIES, *orbits)
    motions = fit_motions(
        ephemeris,
        site,
        spans=[(start - SUN_TIME_MARGIN, end + SUN_TIME_MARGIN) for start, end in bounds],
        bodies=bodies,
        orbits=orbits,
    )
    nights, skies, tracks, why_none = [], [], [], None
    for evening, motion in zip(evenings, motions, strict=True):
        night = night_of(motion, evening, step_s=SAMPLES_S)
        try:
            session = session_times(night)
        except NothingToPlanError as error:
            why_none = str(error)
            continue
        steps_s = np.linspace(session.start.timestamp(), session.end.timestamp(), STEPS)
        sky = sky_of(motion, night, steps_s)
        nights.append(night)
        skies.append(sky)
        tracks.append({name: body_track(name, motion, sky) for name in bodies[1:]})
    if not nights:
        return None
    grid = SkyGrid(nights[0], *(_joined(skies, item.name) for item in fields(SkyGrid)[1:]))
    tracked = {
        name: BodyTrack(*(_joined([t[name] for t in tracks], i.name) for i in fields(BodyTrack)))
        for name in bodies[1:]
    }
    lit = np.repeat([night.moon_illuminated for night in nights], STEPS)
    return YearSky(tuple(nights), grid, tracked, lit, len(evenings), why_none)


def _joined(parts: list[SkyGrid] | list[BodyTrack], name: str) -> Floats:
    return np.concatenate([getattr(part, name) for part in parts])
