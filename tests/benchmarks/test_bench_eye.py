"""How long the margins of a whole night take; prints, and asserts only what they are."""

from __future__ import annotations

import time

import numpy as np
import pytest
from numpy.testing import assert_allclose

from planner.formulas.visibility_limit import even_glow, light_gain

TARGETS, TRAINS = 1000, 150
SAMPLE = 2000  # cells of the loop that stands for all of them


@pytest.mark.benchmark
def test_margins_of_a_night() -> None:
    """150 000 pairs of target and train at once, and the ratio to a loop over pairs."""
    random = np.random.default_rng(7)
    brightness = random.uniform(17.0, 26.0, (TARGETS, 1))
    area = 10.0 ** random.uniform(-2.0, 4.0, (TARGETS, 1))
    sky = 10.0 ** random.uniform(-4.0, -2.0, (TARGETS, 1))
    exit_pupil = random.uniform(0.5, 8.0, (1, TRAINS))

    def margins(s: np.ndarray, a: np.ndarray, b: np.ndarray, d: np.ndarray) -> np.ndarray:
        gain = light_gain(exit_pupil_mm=d, pupil_mm=6.0, transmission=0.8, obstruction_ratio=0.2)
        return np.asarray(
            even_glow(
                surface_brightness_mag_arcsec2=s,
                area_arcmin2=a,
                sky_cd_m2=b,
                magnification=200.0 / d,
                light_gain=gain,
            ).margin_dex()
        )

    start = time.perf_counter()
    together = margins(brightness, area, sky, exit_pupil)
    array_s = time.perf_counter() - start

    rows = random.integers(0, TARGETS, SAMPLE)
    columns = random.integers(0, TRAINS, SAMPLE)
    start = time.perf_counter()
    single = [
        margins(brightness[i, 0], area[i, 0], sky[i, 0], exit_pupil[0, j])
        for i, j in zip(rows, columns, strict=True)
    ]
    loop_s = (time.perf_counter() - start) * TARGETS * TRAINS / SAMPLE

    print(
        f"\n150000 margins: {array_s * 1e3:.1f} ms; a loop takes {loop_s / array_s:.0f} times that"
    )
    assert_allclose(together[rows, columns], single, rtol=1e-12)
