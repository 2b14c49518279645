"""A binoviewer: its numbers by hand, the pairs that it needs, and what two eyes see."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from planner.config.preferences import default_preferences
from planner.config.settings import SettingsError, read_settings
from planner.matcher.lens import Moment, lens_of
from planner.matcher.target_classes import target_table_of
from planner.matcher.train_table import tabulate_trains
from planner.matcher.trains import make_trains
from planner.matcher.visibility import margins_dex
from planner.model.kit import Train
from targets.model import Kind, Target

BINOVIEWER = """
[[amplifier]]
name = "Two eyes"
kind = "binoviewer"
factor = 1.25
barrel = "1.25in"
clear_aperture_mm = 18
mass_g = 500
"""


@pytest.fixture(scope="module")
def kit(example_text: str, today: Any) -> Any:
    """Return the example with a binoviewer and two of one eyepiece."""
    text = example_text.replace('name = "18 mm 65"', 'name = "18 mm 65"\ncount = 2')
    return read_settings(text + BINOVIEWER, source="kit", today=today)


@pytest.fixture(scope="module")
def trains(kit: Any) -> dict[str, Train]:
    """Return the trains with the binoviewer and without amplifier, by eyepiece and what is in."""
    found = make_trains(kit.telescope(), kit.kit, with_filters=False)
    return {
        f"{train.eyepiece.name}{' x2' if train.eyes == 2 else ''}": train
        for train in found
        if train.amplifier is None or train.eyes == 2
    }


def test_power_field_pupil_and_mass_are_those_by_hand(trains: dict[str, Train]) -> None:
    """1200 mm x 1.25 / 18 mm = 83x; 200 / 83.3 = 2.4 mm; 18 mm / 1.25 / 1200 mm = 41.3 arcmin."""
    pair, single = trains["18 mm 65 x2"], trains["18 mm 65"]
    assert pair.usable
    assert pair.magnification == pytest.approx(83.33, abs=0.01)
    assert pair.exit_pupil_mm == pytest.approx(2.4, abs=0.001)
    assert pair.true_field_arcmin == pytest.approx(41.25, abs=0.05)
    assert single.mass_g is not None
    assert pair.mass_g == pytest.approx(2 * single.mass_g + 500)


def test_one_eyepiece_is_not_enough(trains: dict[str, Train]) -> None:
    """It says what is missing; a barrel that is too wide does not go in either way."""
    lonely = trains["12 mm 60 x2"]
    assert not lonely.usable
    assert any("needs two of 12 mm 60" in fault for fault in lonely.faults)
    assert any("does not go into" in fault for fault in trains["30 mm 70 x2"].faults)


def margin_dex(train: Train, target: Target, sky_cd_m2: float = 2e-4) -> float:
    """Return the margin of one target in one train, at the zenith of a dark sky."""
    table = tabulate_trains([train])
    moment = Moment(
        altitude_deg=np.array([[80.0]]),
        sky_cd_m2=np.array([[sky_cd_m2]]),
        loss_mag=np.array([[0.2]]),
        seeing_step=3,
    )
    preferences = default_preferences()
    targets = target_table_of([target], preferences)
    lens = lens_of(table, train.telescope, 6.0)
    return float(margins_dex(targets, moment, lens, preferences)[0, 0])


STAR = Target("S", "S", Kind.STAR, magnitude=11.0)
GLOW = Target("G", "G", Kind.GALAXY, major_arcmin=10.0, minor_arcmin=8.0, magnitude=10.0)


@pytest.mark.parametrize("target", [STAR, GLOW])
def test_two_eyes_gain_a_root_of_two_and_lose_half_the_light(
    trains: dict[str, Train], target: Target
) -> None:
    """Against one eye at the same power and brightness 0.15 dex; with the light halved a loss.

    Campbell and Green 1965, Nature 208, 191.
    """
    pair = trains["18 mm 65 x2"]
    one_eye = replace(pair, amplifier=replace(pair.amplifier, kind="barlow"))
    half = replace(pair.telescope, transmission=pair.telescope.transmission / 2.0)
    dim = replace(one_eye, telescope=half)
    gain = margin_dex(pair, target) - margin_dex(dim, target)
    assert gain == pytest.approx(0.5 * np.log10(2.0), abs=0.002)
    assert margin_dex(dim, target) < margin_dex(one_eye, target)


def test_the_table_of_a_binoviewer_is_checked(example_text: str, today: Any) -> None:
    """A clear aperture of nothing is named with what is allowed."""
    text = example_text + BINOVIEWER.replace("= 18", "= 0")
    with pytest.raises(SettingsError) as caught:
        read_settings(text, source="kit", today=today)
    assert "clear_aperture_mm" in " ".join(caught.value.faults)
