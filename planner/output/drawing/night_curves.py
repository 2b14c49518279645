"""Follows targets and the Moon through a night, for the curves that sheets and screens draw."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import datetime, timedelta

import numpy as np

from planner.ephemeris.kernel import Ephemeris
from planner.ephemeris.tracks import track_instants
from planner.model.night import Night
from planner.model.plan import Plan
from planner.output.drawing.curves import Curve, NightCurves
from planner.planning.survey import follow
from targets.model import Target

STEP = timedelta(minutes=10)
# What is shown of the time around a session.
AROUND = timedelta(minutes=30)


def target_curves(
    target: Target, ephemeris: Ephemeris, night: Night, *, now: datetime | None = None
) -> NightCurves:
    """Follow one target from sunset to sunrise, with the skyline below it.

    Parameters
    ----------
    ephemeris, night
        The sky, and the night; where the Sun does not set or rise, the whole of it.
    now : datetime, optional
        To be marked.
    """
    start, until = night.sunset or night.start, night.sunrise or night.end
    return _curves([target], ephemeris, night, start, until, [], now)


def plan_curves(plan: Plan, ephemeris: Ephemeris) -> NightCurves:
    """Follow the targets of a plan through its session and half an hour around it."""
    return _curves(
        [look.target for look in plan.looks],
        ephemeris,
        plan.night,
        max(plan.start - AROUND, plan.night.start),
        min(plan.end + AROUND, plan.night.end),
        [(look.start, look.end) for look in plan.looks],
    )


def _curves(
    targets: Sequence[Target],
    ephemeris: Ephemeris,
    night: Night,
    start: datetime,
    end: datetime,
    spans: Sequence[tuple[datetime, datetime]],
    now: datetime | None = None,
) -> NightCurves:
    steps = max(math.ceil((end - start) / STEP), 1)
    instants = tuple(start + (end - start) * (step / steps) for step in range(steps + 1))
    grid = track_instants(ephemeris, night, instants)
    tracks = follow(targets, ephemeris, grid)
    site = night.site
    curves = [
        Curve(
            tracks.altitude_deg[row],
            site.horizon_altitude_deg(tracks.azimuth_deg[row]) if site.horizon else None,
            *(spans[row] if spans else ()),
        )
        for row, target in enumerate(targets)
    ]
    return NightCurves(
        instants=instants,
        curves=tuple(curves),
        moon_deg=np.asarray(grid.moon_altitude_deg),
        dark_start=night.dark_start,
        dark_end=night.dark_end,
        now=now,
    )
