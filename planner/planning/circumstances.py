"""Who looks, through what, and under what sky; and what is asked of a plan."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from typing import Any

from planner.config.conditions import Conditions
from planner.config.preferences import Preferences
from planner.formulas.seeing import seeing_power_cap
from planner.matcher.case import Case
from planner.matcher.lens import Lens, Moment, lens_of
from planner.matcher.rating import Ratings, rate_trains
from planner.matcher.target_classes import TargetTable
from planner.matcher.train_table import TrainTable
from planner.model.forecast import Forecast
from planner.model.kit import USUAL_FINDER, Finder, Observer, Telescope, Train
from planner.model.leaning import Leaning
from planner.model.own_eye import OwnEye
from planner.model.pace import USUAL_PACE, ObservingPace
from planner.model.red_spot import RedSpot
from targets.arrays import Codes, Floats
from targets.frozen import frozen
from targets.model import Target

# The step of time that all of planning takes [min].
STEP_MIN = 5.0


@frozen
class Circumstances:
    """Who looks, through what, under what sky, and what he or she prefers by experience.

    ``eye`` is what the journal tells of the eye that the conditions are for; None where the stated
    experience has to do. ``last_seen`` is when the observer saw each target last (UTC), by its id;
    None where no journal tells. ``misfits`` are the telescope's trains that do not go together.
    """

    observer: Observer
    telescope: Telescope
    table: TrainTable
    conditions: Conditions
    preferences: Preferences
    leanings: tuple[Leaning, ...] = ()
    eye: OwnEye | None = None
    red_spot: RedSpot | None = None
    pace: ObservingPace = USUAL_PACE
    finders: tuple[Finder, ...] = (USUAL_FINDER,)
    forecast: Forecast | None = None
    last_seen: Mapping[str, datetime] | None = None
    misfits: tuple[Train, ...] = ()

    def clear_share(self, unix_s: Floats) -> Floats | None:
        """The chance to see at some times by the forecast, 0 .. 1; None without one."""
        return None if self.forecast is None else self.forecast.clear_at(unix_s)

    def with_eye(self, eye: OwnEye) -> Circumstances:
        """Return the same for an eye that was learned, and for what the telescope passes by it."""
        return self._seen_by(
            eye,
            eye_mag=eye.at_stars_mag,
            glow_mag=eye.at_glows_mag - eye.at_stars_mag,
            factor=self._glass_factor(eye),
        )

    def by_stated_eye(self) -> Circumstances:
        """Return the same for the eye that the stated experience makes of the ordinary one."""
        if self.eye is None:
            return self
        return self._seen_by(
            None,
            eye_mag=self.eye.stated_mag,
            glow_mag=0.0,
            factor=1.0 / self._glass_factor(self.eye),
        )

    def _glass_factor(self, eye: OwnEye) -> float:
        """Return how much of the stated light comes through; no telescope passes more than all."""
        learned = eye.glass_factor(self.telescope.name)
        return min(learned, 1.0 / self.telescope.transmission)

    def _seen_by(
        self, eye: OwnEye | None, *, eye_mag: float, glow_mag: float, factor: float
    ) -> Circumstances:
        conditions = replace(self.conditions, eye_mag=eye_mag, glow_mag=glow_mag)
        table = self.table
        if factor != 1.0:
            table = replace(table, transmission=table.transmission * factor)
        return replace(self, conditions=conditions, table=table, eye=eye)

    @property
    def lens(self) -> Lens:
        """What the light passes in each train."""
        return lens_of(self.table, self.telescope, self.conditions.pupil_mm)

    @property
    def highest_power(self) -> float:
        """What the aperture and the air bear overhead."""
        aperture_mm, step = self.telescope.aperture_mm, self.conditions.seeing_step
        return float(seeing_power_cap(step, altitude_deg=90.0, aperture_mm=aperture_mm))

    def case(
        self, target: Target, row: int, ratings: Ratings, altitude_deg: float, **more: Any
    ) -> Case:
        """Return a row of ratings with what is needed to talk about it; ``more`` as for `Case`."""
        table, pupil_mm = self.table, self.conditions.pupil_mm
        return Case(target, row, ratings, table, self.observer, pupil_mm, altitude_deg, **more)

    def rate(self, target_table: TargetTable, moment: Moment) -> Ratings:
        """Rate all trains for N targets at one moment each, as `rate_trains` does."""
        return rate_trains(
            target_table,
            moment,
            self.table,
            telescope=self.telescope,
            observer=self.observer,
            conditions=self.conditions,
            preferences=self.preferences,
            leanings=self.leanings,
        )


@frozen
class Wishes:
    """What the observer asks of the plan.

    Parameters
    ----------
    rows : ndarray of int or None
        Rows of the catalogue to choose from; None for all.
    by_name : bool
        The rows are a list of the observer's own: each gets a reason when it is left out.
    count : int or None
        Most looks; None for as many as fit.
    min_altitude_deg : float or None
        Floor instead of each class's own [deg].
    teach : bool
        Whether two of the looks are such as tell most about the observer's eye.
    """

    rows: Codes | None = None
    by_name: bool = False
    count: int | None = None
    min_altitude_deg: float | None = None
    teach: bool = False
