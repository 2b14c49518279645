"""What a kit would gain in a year by a usual eyepiece more, and lose without one of its parts."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from planner.advice.market import market
from planner.advice.rating import Rated, rate_year
from planner.advice.year import Year
from planner.matcher.trains import make_trains
from planner.model.kit import Amplifier, Eyepiece, Filter, Kit, Telescope, Train
from planner.planning.circumstances import Circumstances
from targets.arrays import Floats
from targets.frozen import frozen

# What no usual eyepiece exceeds leaves nothing to note (a look in fifty).
WORTH_NOTING_SHARE = 0.02


@frozen
class Addition:
    """A usual eyepiece, alone in the telescope, and what it would add to a kit.

    ``share`` is of what the kit is worth in a year; ``target`` names what it would gain most for.
    """

    train: Train
    share: float
    target: str

    @property
    def words(self) -> str:
        """A clause: ``9 mm 60 deg 1.25in (133x) would add 4.1 percent in a year, most for M57``."""
        return (
            f"{self.train.eyepiece.name} ({self.train.magnification:.0f}x) would add "
            f"{100.0 * self.share:.1f} percent in a year, most for {self.target}"
        )


@frozen(eq=False)
class Gains:
    """A kit beside the table of usual pairs; N looks, C pairs that fit the telescope.

    Parameters
    ----------
    rated : Rated
        The kit's own trains over the year.
    trains : tuple of Train
        Each pair alone in the telescope.
    score : ndarray
        The best of each look in each pair, with the kit's amplifiers and filters, (N, C).
    shares : ndarray
        What each would add, as a share of what the kit is worth, (C,).
    """

    rated: Rated
    trains: tuple[Train, ...]
    score: Floats
    shares: Floats

    def best(self, suits: Callable[[Train], bool] = lambda _: True) -> Addition | None:
        """Return which of those that suit adds most; None where none does."""
        found = [k for k, train in enumerate(self.trains) if suits(train) and self.shares[k] > 0.0]
        if not found:
            return None
        most = max(found, key=lambda k: (self.shares[k], -k))
        gained = self.rated.weight * np.maximum(self.score[:, most] - self.rated.best(), 0.0)
        names = np.array([target.name for target in self.rated.year.targets])
        distinct, place = np.unique(names, return_inverse=True)
        target = distinct[int(np.argmax(np.bincount(place.ravel(), gained)))]
        return Addition(self.trains[most], float(self.shares[most]), str(target))

    def lost_without(self, part: Eyepiece | Amplifier | Filter) -> float:
        """Return what the kit would lose without one of its parts, 0 .. 1."""
        rest = [
            k
            for k, t in enumerate(self.rated.trains)
            if part not in (t.eyepiece, t.amplifier, t.filter)
        ]
        weight, now = self.rated.weight, self.rated.best()
        left = self.rated.best(rest)
        worth = float(weight @ now)
        return float(weight @ (now - left)) / worth if worth > 0.0 else 0.0


def gains_of(year: Year, circumstances: Circumstances, kit: Kit) -> Gains:
    """Set a kit beside the table of usual pairs.

    Parameters
    ----------
    year, circumstances
        The looks; who looks, through which telescope.

    Notes
    -----
    A pair is rated as `planner.advice.candidate.try_candidate` rates it: with every amplifier and
    filter of the kit.
    """
    telescope = circumstances.telescope
    offers = market(telescope, spectacles=circumstances.observer.spectacles)
    rated = rate_year(year, circumstances, make_trains(telescope, kit))
    beside = rate_year(year, circumstances, make_trains(telescope, replace(kit, eyepieces=offers)))
    bare = {t.eyepiece: t for t in beside.trains if t.is_bare}
    score = beside.of_eyepieces(tuple(bare))
    now = rated.best()
    worth = float(rated.weight @ now)
    gained = rated.weight @ np.maximum(score - now[:, None], 0.0)
    shares = gained / worth if worth > 0.0 else np.where(gained > 0.0, np.inf, 0.0)
    return Gains(rated, tuple(bare.values()), score, np.asarray(shares))


def gain_by_adapters(year: Year, circumstances: Circumstances, kit: Kit) -> float:
    """Return what every smaller barrel in the focuser would add, as a share."""
    telescope = circumstances.telescope
    worths = [
        _worth(year, circumstances, make_trains(each, kit))
        for each in (telescope, _with_adapters(telescope))
    ]
    return worths[1] / worths[0] - 1.0 if worths[0] > 0.0 else np.inf


def _with_adapters(telescope: Telescope) -> Telescope:
    smaller = tuple(b for b in type(telescope.focuser) if b.inches < telescope.focuser.inches)
    return replace(telescope, adapters=smaller)


def _worth(year: Year, circumstances: Circumstances, trains: tuple[Train, ...]) -> float:
    rated = rate_year(year, circumstances, trains)
    return float(rated.weight @ rated.best())
