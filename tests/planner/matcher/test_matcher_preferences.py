"""A user's own ranges under ``[match.CLASS]``: they act, and wrong ones are all named at once."""

from __future__ import annotations

from dataclasses import fields
from typing import Any

import pytest

from planner.config.preferences import (
    Preference,
    PreferenceError,
    Weights,
    default_preferences,
    preferences_with,
)
from planner.matcher.views import best_view


def faults_of(changes: dict[str, Any]) -> tuple[str, ...]:
    """Return the faults of wrong changes."""
    with pytest.raises(PreferenceError) as caught:
        preferences_with(changes)
    assert str(caught.value) == "\n".join(caught.value.faults)
    return caught.value.faults


def test_the_default_table_is_sound() -> None:
    """Every class passes the checks that a user's values pass, model and order included."""
    default = default_preferences()
    changes = {
        preference.name: {
            item.name: list(value) if isinstance(value, tuple) else value
            for item in fields(Preference)
            if item.name not in {"name", "words", "own_power", "model"}
            and (value := getattr(preference, item.name)) is not None
        }
        for preference in default.classes
    }
    assert preferences_with(changes) == default
    assert {preference.model for preference in default.classes} <= {
        "surface", "stars", "disc", "point",
    }  # fmt: skip
    assert {preference.own_power for preference in default.classes} == {"disc", "split", None}
    assert preferences_with({}) == default


def test_a_changed_range_changes_the_answer(bench: Any, sky: Any) -> None:
    """Globular clusters at 4 mm instead of at 1.2 to 2.2 mm."""
    changed = preferences_with(
        {"globular_cluster": {"exit_pupil_ideal_mm": [4.0, 5.0], "exit_pupil_ok_mm": [3.5, 6.0]}}
    )
    before, after = (
        best_view(bench.but(preferences=preferences).rate(sky.targets("M13")).case())
        for preferences in (default_preferences(), changed)
    )
    assert before.train.exit_pupil_mm < 2.3
    assert 4.0 <= after.train.exit_pupil_mm <= 5.0
    assert any("(4.0 to 5.0 mm suits it)" in reason for reason in after.reasons)


def test_a_changed_fill_changes_the_answer(bench: Any, sky: Any) -> None:
    """An observer who wants M51 small in the field gets a wider one."""
    changed = preferences_with({"galaxy": {"fill_ideal": [0.1, 0.15], "fill_max": 0.17}})
    before, after = (
        best_view(bench.but(preferences=preferences).rate(sky.targets("M51")).case())
        for preferences in (default_preferences(), changed)
    )
    assert before.framing is not None
    assert after.framing is not None
    assert after.framing <= 0.17 < before.framing


def test_a_range_for_a_filter_changes_the_answer(bench: Any, sky: Any) -> None:
    """O III at 2 to 3 mm on large nebulae."""
    changed = preferences_with({"emission_nebula_large": {"oiii": [2.0, 3.0, 1.8, 3.2]}})
    rated = bench.but(preferences=changed).rate(sky.targets("NGC6992"))
    o_iii = [bool(t.filter and t.filter.name == "O III") for t in rated.table.trains]
    part = rated.ratings.parts["exit pupil"][0, o_iii]
    assert 2.0 <= rated.table.exit_pupil_mm[o_iii][part.argmax()] <= 3.0


def test_a_weight_of_nothing_takes_a_part_out(bench: Any, sky: Any) -> None:
    """Without the weight of the exit pupil it costs nothing."""
    changed = preferences_with({"weights": {"exit_pupil": 0.0}})
    ratings = bench.but(preferences=changed).rate(sky.targets("M13")).ratings
    product = 1.0
    for name, part in ratings.parts.items():
        if name != "exit pupil":
            product = product * part
    assert ratings.score == pytest.approx(product, rel=1e-12)


def test_every_fault_is_named_at_once() -> None:
    """With place, what was found, what is allowed, and the nearest known name."""
    faults = faults_of(
        {
            "globular": {"fill_max": 0.5},
            "galaxy": {"fill_mx": 0.5, "fill_max": 7, "wide_field_pays": "yes"},
            "moon": 3,
            "mars": {"exit_pupil_ideal_mm": [0.5], "dwell_minutes": float("nan")},
            "weights": {"comfrt": 1.0, "power": -1},
            "jupiter": {"model": "star"},
        }
    )
    expected = [
        ("match.globular: no such class;", '"globular_cluster"'),
        ('match.galaxy, "fill_mx": no such key;', '"fill_max"'),
        ('match.galaxy, "fill_max": found 7;', "a number from 0.05 to 1"),
        ('match.galaxy, "wide_field_pays": found "yes";', "true or false"),
        ("match.moon: found 3;", "a table of keys and values"),
        ('match.mars, "exit_pupil_ideal_mm": found [0.5];', "a list of 2 numbers"),
        ('match.mars, "dwell_minutes": found nan;', "a number from 1 to 120"),
        ('match.weights, "comfrt": no such key;', '"comfort"'),
        ('match.weights, "power": found -1;', "a number from 0 to 10"),
        ('match.jupiter, "model": no such key;', "known are"),
    ]
    assert len(faults) == len(expected)
    for start, rest in expected:
        (fault,) = [fault for fault in faults if fault.startswith(start)]
        assert rest in fault, fault


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"exit_pupil_ideal_mm": [3.0, 2.0]}, "must rise and lie within exit_pupil_ok_mm"),
        ({"exit_pupil_ideal_mm": [0.5, 2.0]}, "must rise and lie within exit_pupil_ok_mm"),
        ({"exit_pupil_ok_mm": [0.0, 4.0]}, "must rise and lie within exit_pupil_ok_mm"),
        ({"fill_ideal": [0.2, 0.9]}, "must rise and stay within fill_max"),
        ({"oiii": [2.0, 4.0, 3.0, 6.0]}, "must be ideal low, ideal high, ok low, ok high"),
        ({"altitude_min_deg": 70}, "a number from 0 to 60"),
        ({"sun_altitude_max_deg": 5}, "a number from -18 to -0.8333"),
        ({"fill_ideal": [0.2, True]}, "a list of 2 numbers"),
        ({"exit_pupil_ok_mm": "wide"}, "a list of 2 numbers"),
    ],
)
def test_a_range_must_make_sense(changes: dict[str, Any], said: str) -> None:
    """One fault, and it names the class."""
    (fault,) = faults_of({"galaxy": changes})
    assert fault.startswith("match.galaxy")
    assert said in fault


def test_weights_have_the_parts_of_a_score(bench: Any, sky: Any) -> None:
    """Each part but the vetoes has its exponent."""
    parts = set(bench.rate(sky.targets("M13")).ratings.parts) - {"fit", "sight"}
    weights = {item.name.replace("_", " ") for item in fields(Weights)}
    assert weights - {"margin given up dex"} == parts
