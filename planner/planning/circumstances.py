"""Who looks, through what, and under what sky."""

from __future__ import annotations

from dataclasses import dataclass

from planner.config.conditions import Conditions
from planner.config.preferences import Preferences
from planner.matcher.rating import Ratings, rate_trains
from planner.matcher.target_classes import TargetTable
from planner.matcher.train_table import TrainTable
from planner.matcher.visibility import Moment
from planner.model.kit import USUAL_FINDER, Finder, Observer, Telescope
from planner.model.leaning import Leaning
from planner.model.own_eye import OwnEye
from planner.model.pace import USUAL_PACE, ObservingPace
from planner.model.red_spot import RedSpot


@dataclass(frozen=True, slots=True)
class Circumstances:
    """Who looks, through what, under what sky, and what he or she prefers by experience.

    ``eye`` is what the journal tells of the eye that the conditions are for; None where the stated
    experience has to do.
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
