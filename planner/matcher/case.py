"""One target in all trains, and what is needed to talk about it."""

from __future__ import annotations

from planner.matcher.rating import Ratings
from planner.matcher.train_table import TrainTable
from planner.model.kit import Observer
from targets.arrays import Flags, Floats
from targets.frozen import frozen
from targets.model import Target


@frozen
class Case:
    """One row of the ratings: a target in all trains, and what is needed to talk about it.

    ``free`` tells which of the trains can be had just then, (K,); None for all of them.
    ``star_limit_mag`` is the faintest star in each, (K,) [mag]; None where that was not asked.
    """

    target: Target
    row: int
    ratings: Ratings
    table: TrainTable
    observer: Observer
    pupil_mm: float
    altitude_deg: float
    free: Flags | None = None
    star_limit_mag: Floats | None = None

    def value(self, part: str, column: int) -> float:
        """Return a part of the score; those alike for all targets are stored once."""
        array = self.ratings.parts[part]
        return float(array[self.row if len(array) > 1 else 0, column])

    def seen_arcmin(self, column: int) -> tuple[float, float] | None:
        """Return the axes of what is made out of a glow that fades outward; None for all else."""
        major, share = self.target.major_arcmin, float(self.ratings.seen_share[self.row, column])
        if major is None or not self.ratings.fades[self.row]:
            return None
        return major * share, (self.target.minor_arcmin or major) * share

    def margin_dex(self, column: int) -> float:
        """Return the margin over the eye's threshold [dex]; NaN when unknown."""
        return float(self.ratings.margin_dex[self.row, column])
