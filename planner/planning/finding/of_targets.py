"""Ways to the targets of a night, one after the other, or to one target."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache

import numpy as np

from planner.ephemeris.kernel import Ephemeris
from planner.ephemeris.sky_grid import SkyGrid
from planner.ephemeris.tracks import track_instants
from planner.matcher.lens import Moment
from planner.model.finding import Finding, FoundBy, Waypoint
from planner.model.kit import Mount, Pointing
from planner.model.night import Night
from planner.model.plan import Look
from planner.planning.circumstances import Circumstances
from planner.planning.finding.goal import Goal, Sky, StartingPoint
from planner.planning.finding.instruments import Instruments, instruments_of
from planner.planning.finding.plain import plain_through
from planner.planning.finding.star_sky import MomentSky
from planner.planning.finding.way import by_coordinates, find_way
from targets.arrays import Flags, Floats
from targets.bright_stars import load_bright_stars
from targets.double_stars.doubles import julian_year
from targets.model import Kind, Target
from targets.sphere import unit_vectors

STARS = (Kind.STAR, Kind.DOUBLE_STAR)


def find_targets(
    targets: Sequence[Target],
    grid: SkyGrid,
    circumstances: Circumstances,
    *,
    free: Sequence[Flags] = (),
) -> tuple[Finding | None, ...]:
    """Return the way to each of N targets, each at its own step, after those before it.

    Parameters
    ----------
    targets : sequence of Target
        With their places at their steps, in the order in which they are looked at.
    grid : SkyGrid
        N steps.
    free : sequence of ndarray of bool
        Which of K trains can be had on the way to each, N of (K,); empty for all of them.

    Returns
    -------
    tuple of Finding or None
        None for what is below the horizon or has no place.
    """
    each = [instruments_of(circumstances, trains) for trains in free or (None,)]
    instruments = [one for one in each if one is not None]
    if not instruments or not targets:
        return (None,) * len(targets)
    instruments *= 1 if free else len(targets)
    stars = load_bright_stars()
    directions = _directions(round(julian_year(grid.instant(0)), 2))
    equatorial = circumstances.telescope.mount is Mount.EQUATORIAL
    moments = [MomentSky(grid, step, circumstances.conditions) for step in range(len(targets))]
    goals = _goals(targets, moments, circumstances, instruments)
    found: list[Finding | None] = []
    for step, (goal, moment) in enumerate(zip(goals, moments, strict=True)):
        sky = Sky(stars, directions, moment, instruments[step], equatorial)
        is_up = moment.altitude_deg(goal.direction) > 0.0
        found.append(_way(goal, sky, _origins(goals[:step]), circumstances) if is_up else None)
    return tuple(found)


@lru_cache(maxsize=1)
def _directions(epoch_yr: float) -> Floats:
    """Return where the bright stars stand, for all ways of some days: none moves 0.1" in them."""
    return load_bright_stars().directions(epoch_yr)


def with_ways(
    looks: Sequence[Look],
    ephemeris: Ephemeris,
    night: Night,
    circumstances: Circumstances,
    *,
    free: Sequence[Flags] = (),
) -> tuple[Look, ...]:
    """Return looks in order of time, each with the way to it at its start, after those before.

    ``free`` tells which trains can be had on each way, as for `find_targets`.
    """
    if not looks:
        return ()
    grid = track_instants(ephemeris, night, [look.start for look in looks])
    ways = find_targets([look.target for look in looks], grid, circumstances, free=free)
    return tuple(replace(look, finding=way) for look, way in zip(looks, ways, strict=True))


def _way(
    goal: Goal, sky: Sky, origins: Sequence[StartingPoint], circumstances: Circumstances
) -> Finding | None:
    pointing = circumstances.telescope.pointing
    if pointing is Pointing.HAND:
        by_hand = find_way(goal, sky, origins)
        if by_hand is not None:
            return by_hand
        text = "No star that is plain in this sky leads there."
        return by_coordinates(goal, sky, FoundBy.COORDINATES, text)
    if pointing is Pointing.GOTO:
        return by_coordinates(goal, sky, FoundBy.GOTO, "By the motors.")
    return by_coordinates(goal, sky, FoundBy.CIRCLES, "By the setting circles.")


def _origins(before: Sequence[Goal]) -> list[StartingPoint]:
    """Return where the telescope points, and targets looked at before that the eye sees."""
    last = len(before) - 1
    return [
        StartingPoint(goal.point, goal.direction, index == last)
        for index, goal in enumerate(before)
        if index == last or (goal.plain[0] and not goal.is_star)
    ]


def _goals(
    targets: Sequence[Target],
    moments: Sequence[MomentSky],
    circumstances: Circumstances,
    instruments: Sequence[Instruments],
) -> list[Goal]:
    """Return the targets as goals, each plain or not at its own moment."""
    places = [(float(target.ra_deg or 0.0), float(target.dec_deg or 0.0)) for target in targets]
    directions = unit_vectors(*np.array(places).T)
    behind = [
        moment.behind(direction[None, :])
        for moment, direction in zip(moments, directions, strict=True)
    ]
    together = Moment(
        np.concatenate([one.altitude_deg for one in behind]),
        np.concatenate([one.sky_cd_m2 for one in behind]),
        np.concatenate([one.loss_mag for one in behind]),
        circumstances.conditions.seeing_step,
        circumstances.conditions.eye_mag,
        circumstances.conditions.glow_mag,
    )
    through = {
        one: plain_through(targets, together, circumstances, one)
        for one in dict.fromkeys(instruments)
    }
    plain = [through[one][row] for row, one in enumerate(instruments)]
    return [
        Goal(
            Waypoint(target.name, *place, None if target.lunar else target.magnitude),
            direction,
            plain=(bool(row[0]), bool(row[1]), bool(row[2])),
            is_star=target.kind in STARS,
        )
        for target, place, direction, row in zip(targets, places, directions, plain, strict=True)
    ]
