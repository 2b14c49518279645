"""Which of two telescopes shows a target better, and where comparing them teaches something."""

from __future__ import annotations

from enum import IntEnum

import numpy as np

from planner.formulas.visibility_limit import GRADE_BOUNDS_DEX
from planner.matcher.globular_stars import stars_shown
from planner.matcher.lens import Moment, star_limits_mag
from planner.matcher.rating import Ratings
from planner.planning.circumstances import Circumstances
from targets.arrays import Codes, Flags, Floats
from targets.frozen import frozen
from targets.model import Kind, Target

# Margins that differ by less are alike [dex], and so are fields that cut a target, and powers, by
# this share (our choice).
ALIKE_DEX, ALIKE_SHARE = 0.1, 0.1
# What a look counts in the telescope that shows its target worse (our choice).
WORSE_COUNTS = 0.8
# An exit pupil smaller than this shows no fainter stars (common practice) [mm].
LEAST_STAR_PUPIL_MM = 0.8
# Two telescopes teach by their fields where one holds a target and the other most of it, so many
# times larger; and by their light where they are so far apart in margin [dex] (our choice).
MOST_FILL, LARGER_BY, BRIGHTER_DEX = 1.6, 1.4, 0.25
VERY_HARD, HARD, FAIR, EASY = GRADE_BOUNDS_DEX


class Lesson(IntEnum):
    """What the same target teaches through two telescopes."""

    NONE = 0
    FIELD = 1
    PAIR = 2
    STARS = 3
    LIGHT = 4


# How much of each is worth going to and fro for (our choice).
STRENGTH = np.array([0.0, 1.0, 0.9, 0.9, 0.4])


@frozen
class Showing:
    """How N targets show in the best train of a telescope, each at its own moment; shape (N,).

    ``margin_dex`` over the eye's threshold, ``fill`` of the field and how much of it may be filled,
    power, and the faintest star.
    """

    margin_dex: Floats
    fill: Floats
    most_fill: Floats
    power: Floats
    star_limit_mag: Floats

    @property
    def holds(self) -> Flags:
        """Whether the whole target fits; what has no known size does."""
        return ~(self.fill > np.where(np.isnan(self.most_fill), 1.0, self.most_fill))


def showing_of(
    circumstances: Circumstances, moment: Moment, ratings: Ratings, columns: Codes
) -> Showing:
    """Gather how targets show in their trains.

    Parameters
    ----------
    circumstances : Circumstances
    moment : Moment
        Of each, arrays of shape (N, 1).
    ratings : Ratings
        Of all trains at that moment.
    columns : ndarray of int
        The train of each, (N,).
    """
    own, table = np.arange(len(columns)), circumstances.table
    limit_mag = star_limits_mag(circumstances.lens, moment)
    sharp = (table.filter_code == 0) & (table.exit_pupil_mm >= LEAST_STAR_PUPIL_MM)
    return Showing(
        margin_dex=ratings.margin_dex[own, columns],
        fill=ratings.fill[own, columns],
        most_fill=ratings.fill_max,
        power=table.magnification[columns],
        star_limit_mag=np.where(sharp, limit_mag, -np.inf).max(axis=1, initial=-np.inf),
    )


def better_by(one: Showing, other: Showing) -> Codes:
    """Tell which of two telescopes shows N targets better: 1 the other, -1 the one, 0 neither.

    That which holds the whole target and shows it; where no field does, the wider field; else that
    in which it stands out more, or which shows it larger where it stands out alike.
    """
    frames = [s.holds & ~(s.margin_dex < VERY_HARD) for s in (one, other)]
    by_frame = frames[1].astype(int) - frames[0].astype(int)
    wider = np.log(_known(one.fill) / _known(other.fill))
    by_field = np.where(np.abs(wider) < ALIKE_SHARE, 0, np.sign(wider))
    gain_dex = np.nan_to_num(other.margin_dex - one.margin_dex)
    larger = np.log(other.power / one.power)
    by_size = np.where(np.abs(larger) < ALIKE_SHARE, 0, np.sign(larger))
    by_light = np.where(np.abs(gain_dex) < ALIKE_DEX, by_size, np.sign(gain_dex))
    neither = ~one.holds & ~other.holds
    found = np.where(neither, by_field, np.where(by_frame != 0, by_frame, by_light))
    return np.asarray(found.astype(np.intp))


def _known(fill: Floats) -> Floats:
    """Return how much of the field is filled, above 0; 1 where no size is known."""
    return np.maximum(np.nan_to_num(fill, nan=1.0), 1e-6)


def lessons_of(targets: tuple[Target, ...], one: Showing, other: Showing) -> tuple[Codes, Codes]:
    """Tell what N targets teach in two telescopes.

    Returns
    -------
    lesson : ndarray of int
        `Lesson`, (N,).
    shown_by : ndarray of int
        The telescope that holds it, splits it, resolves it or shows it better: 0 or 1, (N,).
    """
    kind = np.array([str(target.kind) for target in targets])
    magnitude = np.array([target.magnitude for target in targets], dtype=float)
    lesson, shown_by = np.zeros(len(targets), np.intp), np.zeros(len(targets), np.intp)
    for code, taught in (
        (Lesson.LIGHT, _by_light),
        (Lesson.STARS, lambda a, b: _by_stars(a, b, kind, magnitude)),
        (Lesson.PAIR, lambda a, b: _by_pair(a, b, kind)),
        (Lesson.FIELD, _by_field),
    ):
        for which, (better, worse) in enumerate(((one, other), (other, one))):
            rows = taught(better, worse)
            if code is Lesson.LIGHT:
                rows &= kind != str(Kind.DOUBLE_STAR)
            lesson[rows], shown_by[rows] = code, which
    return lesson, shown_by


def _by_field(better: Showing, worse: Showing) -> Flags:
    """One field holds the whole, and the other shows most of it larger."""
    larger = worse.power >= LARGER_BY * better.power
    seen = (better.margin_dex >= HARD) & (worse.margin_dex >= HARD)
    return np.asarray(better.holds & ~worse.holds & (worse.fill <= MOST_FILL) & larger & seen)


def _by_pair(better: Showing, worse: Showing, kind: Codes) -> Flags:
    """One splits a pair, and the other does not, or hardly."""
    is_pair = kind == str(Kind.DOUBLE_STAR)
    return np.asarray(is_pair & (better.margin_dex >= FAIR) & (worse.margin_dex < HARD))


def _by_stars(better: Showing, worse: Showing, kind: Codes, magnitude: Floats) -> Flags:
    """One shows the stars of a globular cluster, and the other a glow."""
    resolves = stars_shown(magnitude, better.star_limit_mag) > 0
    glows = (stars_shown(magnitude, worse.star_limit_mag) < 0) & (worse.margin_dex >= HARD)
    return np.asarray((kind == str(Kind.GLOBULAR_CLUSTER)) & resolves & glows)


def _by_light(better: Showing, worse: Showing) -> Flags:
    """One shows a glow easily that the other shows less than easily."""
    gain = better.margin_dex - worse.margin_dex >= BRIGHTER_DEX
    shown = (better.margin_dex >= EASY) & (worse.margin_dex >= HARD) & (worse.margin_dex < EASY)
    return np.asarray(gain & shown)
