"""Stars and glows, and telescopes, with shifts of their own where there are looks enough."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from planner.journal.eye_grids import JudgedLooks
from planner.journal.own_eye import EyeFit, fit_eye
from targets.arrays import Floats

SCATTER_MAG = 0.3
OBSERVERS = 10
SLOPE = 0.6  # of a star's margin with the light [mag per mag]; about Crumey's under a dark sky


def looks(
    rng: np.random.Generator,
    *,
    at_stars_mag: float,
    at_glows_mag: float,
    stars: int,
    glows: int,
    glass_mag: tuple[float, ...] = (0.0,),
) -> JudgedLooks:
    """Return the looks of an observer through telescopes that pass so much more than stated."""
    count = stars + glows
    by_stars = np.arange(count) < stars
    telescope = rng.integers(len(glass_mag), size=count)
    margin = rng.uniform(-1.5, 2.0, count)
    depth: Floats = np.where(by_stars, at_stars_mag, at_glows_mag)
    depth = depth + SLOPE * np.array(glass_mag)[telescope]
    seen = margin + depth + rng.normal(0.0, SCATTER_MAG, count) > 0.0
    return JudgedLooks(
        margin,
        seen.astype(float),
        [f"target {number}" for number in range(count)],
        by_stars,
        [f"telescope {number}" for number in telescope],
        np.full(count, SLOPE),
    )


def fits(**truth: object) -> list[EyeFit]:
    """Return the fits of some observers of one kind."""
    rng = np.random.default_rng(21)
    return [fit_eye(looks(rng, **truth)) for _ in range(OBSERVERS)]  # type: ignore[arg-type]


def test_stars_and_glows_are_told_apart() -> None:
    """An eye that is half a magnitude better at stars is found so, and its interval is honest."""
    found = fits(at_stars_mag=0.6, at_glows_mag=0.1, stars=150, glows=150)
    for part, truth in (("stars", 0.6), ("glows", 0.1)):
        parts = [getattr(fit, part) for fit in found]
        means = np.array([one.mean_mag for one in parts])
        assert_allclose(means.mean(), truth, atol=0.06)
        holds = np.abs(means - truth) <= [one.sd_mag for one in parts]
        assert 0.4 <= holds.mean() <= 0.95
        assert {one.looks for one in parts} == {150}
    assert_allclose(np.mean([fit.mean_mag for fit in found]), 0.35, atol=0.05)


def test_a_few_stars_follow_the_glows() -> None:
    """Of fewer than ten stars nothing is told apart; of some more, they stay near the glows."""
    (few, *_) = fits(at_stars_mag=0.9, at_glows_mag=0.1, stars=8, glows=200)
    assert few.stars is None
    some = fits(at_stars_mag=0.9, at_glows_mag=0.1, stars=14, glows=200)
    means = [fit.stars.mean_mag for fit in some if fit.stars]
    assert 0.1 < np.mean(means) < 0.9
    many = fits(at_stars_mag=0.9, at_glows_mag=0.1, stars=200, glows=200)
    assert np.mean(means) < np.mean([fit.stars.mean_mag for fit in many if fit.stars])


def test_telescopes_are_told_apart() -> None:
    """A telescope that passes half a magnitude less than another is found to pass less.

    Only their difference can be found, and it is shrunk: a mean eye with a mean telescope fits as
    well as a deep one with two dull ones.
    """
    found = fits(at_stars_mag=0.2, at_glows_mag=0.2, stars=150, glows=150, glass_mag=(0.25, -0.25))
    apart = [fit.glass["telescope 0"].mean_mag - fit.glass["telescope 1"].mean_mag for fit in found]
    assert 0.25 < np.mean(apart) < 0.5
    assert abs(np.mean([fit.mean_mag for fit in found]) - 0.2) < 0.06
    alike = fits(at_stars_mag=0.2, at_glows_mag=0.2, stars=150, glows=150, glass_mag=(0.0, 0.0))
    none = [fit.glass["telescope 0"].mean_mag for fit in alike]
    assert_allclose(np.mean(none), 0.0, atol=0.05)


@pytest.mark.parametrize("glass_mag", [(-0.4,), (-0.4, 0.0)])
def test_one_telescope_is_no_measure(glass_mag: tuple[float, ...]) -> None:
    """What one telescope passes cannot be told from the eye; nor that of one hardly used."""
    rng = np.random.default_rng(5)
    many = looks(
        rng, at_stars_mag=0.0, at_glows_mag=0.0, stars=0, glows=100, glass_mag=glass_mag[:1]
    )
    few = looks(rng, at_stars_mag=0.0, at_glows_mag=0.0, stars=0, glows=8, glass_mag=glass_mag[-1:])
    both = JudgedLooks(
        np.concatenate([many.margin_mag, few.margin_mag]),
        np.concatenate([many.seen, few.seen]),
        [*many.targets, *few.targets],
        np.zeros(108, dtype=bool),
        [*many.telescopes, *["another"] * 8],
        np.full(108, SLOPE),
    )
    assert not fit_eye(both).glass


@pytest.mark.parametrize("share", [0.2, 0.5, 0.8])
def test_outcomes_by_chance_set_nothing_apart(share: float) -> None:
    """Where outcomes have nothing to do with margins, stars and glows stay what was thought."""
    rng = np.random.default_rng(7)
    for _ in range(5):
        by_chance = looks(
            rng, at_stars_mag=0.0, at_glows_mag=0.0, stars=100, glows=100, glass_mag=(0.0, 0.0)
        )
        by_chance.seen[:] = rng.random(200) < share
        fit = fit_eye(by_chance)
        assert fit.trust < 0.5
        assert fit.stars is not None
        assert abs(fit.stars.mean_mag) < 0.25
