"""The fit of the observer's own eye: simulated observers, journals that tell nothing, a library."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from planner.journal.eye_chance import log_likelihood
from planner.journal.eye_grids import JudgedLooks
from planner.journal.own_eye import EyeFit, fit_eye
from targets.arrays import Floats

# To which margins are rounded [mag].
STEP_MAG = 0.05

EYES_MAG = (-0.8, -0.4, 0.0, 0.4, 0.8)
SCATTER_MAG = 0.3
FEW = 40
TIMES = [FEW, pytest.param(200, marks=pytest.mark.slow)]
# From bright ones to those out of reach, as a night of searching has them [mag].
MARGINS_MAG = (-1.5, 2.0)


@dataclass(frozen=True, slots=True)
class Simulated:
    """Fits of many observers, ``(E, times)``."""

    mean_mag: Floats
    sd_mag: Floats


def judged(margin_mag: Floats, seen: Floats, targets: list[str] | None = None) -> JudgedLooks:
    """Return looks, each at a target of its own unless others are named."""
    names = targets or [f"target {number}" for number in range(len(margin_mag))]
    return JudgedLooks(np.asarray(margin_mag, float), np.asarray(seen, float), names)


def looks_by(rng: np.random.Generator, eye_mag: float, count: int) -> JudgedLooks:
    """Return the looks of an observer whose eye is so deep."""
    margin = rng.uniform(*MARGINS_MAG, count)
    seen = margin + eye_mag + rng.normal(0.0, SCATTER_MAG, count) > 0.0
    return judged(margin, seen)


@cache
def simulated(count: int, times: int = FEW) -> Simulated:
    """Return the fits of so many observers of each depth with so many looks each."""
    rng = np.random.default_rng(21)
    fits = [[fit_eye(looks_by(rng, eye, count)) for _ in range(times)] for eye in EYES_MAG]
    values = np.array([[(fit.mean_mag, fit.sd_mag) for fit in row] for row in fits])
    return Simulated(values[..., 0], values[..., 1])


@pytest.mark.parametrize("times", TIMES)
def test_many_looks_find_the_eye(times: int) -> None:
    """With 300 looks the mean over observers is within 0.05 mag of the truth, for every eye."""
    fits = simulated(300, times)
    assert_allclose(fits.mean_mag.mean(axis=1), EYES_MAG, atol=0.05)


@pytest.mark.parametrize("times", TIMES)
@pytest.mark.parametrize("count", [30, 100, 300])
def test_the_interval_holds_what_it_promises(count: int, times: int) -> None:
    """One standard deviation holds the truth in 60 to 76 percent of the observers."""
    fits = simulated(count, times)
    holds = np.abs(fits.mean_mag - np.array(EYES_MAG)[:, None]) <= fits.sd_mag
    assert 0.60 <= holds.mean() <= 0.76


def test_few_looks_say_little() -> None:
    """Ten looks leave the eye where it was thought to be, twenty are believed in part."""
    assert np.abs(simulated(10).mean_mag).max() < 0.05
    part = simulated(20).mean_mag.mean(axis=1)
    assert np.all(np.abs(part) <= np.abs(EYES_MAG) + 0.02)
    assert np.all(np.diff(part) > 0.1)


@pytest.mark.parametrize("share", [0.1, 0.3, 0.5, 0.7, 0.9])
@pytest.mark.parametrize("count", [40, 300])
def test_outcomes_by_chance_do_no_harm(share: float, count: int) -> None:
    """Where outcomes have nothing to do with margins the eye stays within a quarter magnitude."""
    rng = np.random.default_rng(7)
    means = [
        fit_eye(judged(rng.uniform(*MARGINS_MAG, count), rng.random(count) < share)).mean_mag
        for _ in range(20)
    ]
    assert np.abs(np.mean(means)) < 0.25
    assert np.median(np.abs(means)) < 0.25


@pytest.mark.parametrize("outcome", [0.0, 0.5, 1.0])
def test_one_target_is_no_experience(outcome: float) -> None:
    """However often one target was looked at, it may be the catalogue that is wrong."""
    alternating = np.arange(200) % 2 if outcome == 0.5 else np.full(200, outcome)
    fit = fit_eye(judged(np.full(200, -1.0), alternating, ["M74"] * 200), stated_mag=0.2)
    assert_allclose(fit.mean_mag, 0.2, atol=1e-9)
    assert fit.trust == 0.0


@pytest.mark.parametrize("outcome", [0.0, 1.0])
def test_outcomes_that_are_all_alike_do_no_harm(outcome: float) -> None:
    """Who writes down only what was seen, or only what was missed, has no threshold."""
    margin = np.linspace(*MARGINS_MAG, 100)
    assert_allclose(fit_eye(judged(margin, np.full(100, outcome))).mean_mag, 0.0, atol=1e-9)


def test_an_empty_journal_tells_nothing() -> None:
    """The fit is then what was thought before, with the spread of observers."""
    nothing = np.empty(0)
    fit = fit_eye(JudgedLooks(nothing, nothing, ()), stated_mag=0.39)
    assert_allclose((fit.mean_mag, fit.trust), (0.39, 0.0), atol=1e-9)
    assert 0.4 < fit.sd_mag < 0.55


def test_no_eye_is_beyond_belief() -> None:
    """A journal of three magnitudes deeper is taken as one and a half deeper at most."""
    margin = np.linspace(-4.0, 2.0, 300)
    assert fit_eye(judged(margin, margin > -3.0)).mean_mag <= 1.5


def test_wrong_keys_hardly_move_the_eye() -> None:
    """Five typing errors among a hundred looks move it by less than 0.15 mag."""
    looks = looks_by(np.random.default_rng(3), 0.0, 100)
    wrong = np.argsort(-np.abs(looks.margin_mag))[:5]
    seen = looks.seen.copy()
    seen[wrong] = 1.0 - seen[wrong]
    moved = fit_eye(judged(looks.margin_mag, seen)).mean_mag - fit_eye(looks).mean_mag
    assert abs(moved) < 0.15


def test_the_likelihood_is_that_of_a_statistics_library() -> None:
    """Without lapses it is a logistic regression with a fixed slope, as statsmodels has it."""
    import statsmodels.api as sm  # noqa: PLC0415  # seconds, in whatever imports this file

    looks = looks_by(np.random.default_rng(5), 0.3, 300)
    scale_mag = SCATTER_MAG * np.sqrt(3.0) / np.pi  # the logistic's scale by its deviation
    model = sm.GLM(
        looks.seen,
        np.ones((300, 1)),
        family=sm.families.Binomial(),
        offset=looks.margin_mag / scale_mag,
    ).fit()
    eyes_mag = np.arange(-1.0, 1.0, 0.001)
    ours = log_likelihood(
        looks.margin_mag, looks.seen, 1.0 - looks.seen, eyes_mag, SCATTER_MAG, lapses=0.0
    )
    assert_allclose(eyes_mag[np.argmax(ours)], model.params[0] * scale_mag, atol=0.001)
    assert_allclose(ours.max(), model.llf, rtol=1e-6)
    bend = np.gradient(np.gradient(ours, eyes_mag), eyes_mag)[np.argmax(ours)]
    assert_allclose((-bend) ** -0.5, model.bse[0] * scale_mag, rtol=0.01)


MARGINS = st.lists(st.floats(-2.5, 2.5), min_size=20, max_size=60)


@given(margins=MARGINS, seed=st.integers(0, 1000))
def test_seen_and_not_seen_are_mirror_images(margins: list[float], seed: int) -> None:
    """An eye as much less deep as another is deeper sees what the other does not, mirrored."""
    seen = np.random.default_rng(seed).random(len(margins)) < 0.5
    one, other = fit_eye(judged(margins, seen)), fit_eye(judged(-np.array(margins), ~seen))
    assert_allclose(one.mean_mag, -other.mean_mag, atol=1e-9)
    assert_allclose(one.sd_mag, other.sd_mag, atol=1e-9)


@given(margins=MARGINS, seed=st.integers(0, 1000), by_mag=st.floats(-0.5, 0.5))
def test_what_was_thought_moves_with_the_margins(
    margins: list[float], seed: int, by_mag: float
) -> None:
    """Margins against another eye, with the same thought of this one, give the same eye."""
    seen = np.random.default_rng(seed).random(len(margins)) < 0.5
    one = fit_eye(judged(margins, seen))
    other: EyeFit = fit_eye(judged(np.array(margins) - by_mag, seen), stated_mag=by_mag)
    assert_allclose(other.mean_mag, one.mean_mag + by_mag, atol=STEP_MAG)
