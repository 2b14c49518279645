"""The matcher against the practice of the trade: which eyepiece of a kit for which target.

``tests/references/matcher_practice.csv`` has two kinds of range for the exit pupil. For every
target there is one from common practice: for most of them the very range that
``preferences.toml`` holds, so that it proves only that the matcher does what it is told. For about
two thirds a source that can be named states another, which knows nothing of the preferences ("about
2 mm" stands there as half a step of eyepieces to either side); how far the matcher agrees with
those is printed, and has a floor. With either, and with the share of the field that a target may
fill, a kit leaves a few of its trains:

1. those that the air bears: 220 times in average seeing (III) at the zenith, less with
   (sin altitude)^0.6, and never above twice the aperture in mm (common practice);
2. of these, those whose field holds the target; when none does, those with the widest field;
3. of these, those with an exit pupil in the range; when there is none, the nearest to it.

The winner must be one of them, with whatever filter.
"""

from __future__ import annotations

import csv
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest

PRACTICE = Path(__file__).parents[2] / "references" / "matcher_practice.csv"
# Sky & Telescope, May 1991: eyepieces stand a factor of 1.4 apart; within half a step of the range
# no other eyepiece is nearer.
HALF_A_STEP = math.sqrt(1.4)
# Two fields this alike are the same width.
SAME_FIELD = 0.97
POWER_IN_AVERAGE_AIR = 220.0
# In 80 mm five globular clusters take more power than the ranges have, as they are to be resolved.
LEAST_SHARE = 0.92
# The named sources differ among themselves by as much: for planets 0.7 mm, 1 mm and 2 mm are all
# recommended, and "about 2 mm" is a rule of thumb by its author's own words; at 80 mm it leaves
# globular clusters at 40 times, where nothing resolves.
LEAST_SHARE_OF_SOURCES = 0.75


def read_practice() -> list[dict[str, str]]:
    """Read the table."""
    with PRACTICE.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def trains_of_practice(
    table: Any, line: dict[str, str], size_arcmin: np.ndarray | None, *, column: str = "exit_pupil"
) -> np.ndarray:
    """Tell which trains practice, or a named source, would take; flags of shape (K,)."""
    aperture_mm = table.trains[0].telescope.aperture_mm
    cap = min(POWER_IN_AVERAGE_AIR * math.sin(math.radians(60.0)) ** 0.6, 2.0 * aperture_mm)
    left = table.magnification <= cap
    if line["fill_max"] and size_arcmin is not None:
        holds = size_arcmin / table.true_field_arcmin <= float(line["fill_max"])
        widest = table.true_field_arcmin >= SAME_FIELD * table.true_field_arcmin.max()
        left &= holds if (left & holds).any() else widest
    low, high = float(line[f"{column}_low_mm"]), float(line[f"{column}_high_mm"])
    outside = np.maximum(low / table.exit_pupil_mm, table.exit_pupil_mm / high)
    nearest = outside[left].min()
    return np.asarray(left & (outside <= max(HALF_A_STEP, nearest)))


def seen_arcmin(rated: Any, row: int) -> np.ndarray | None:
    """Return how large a target is seen in each train, (K,); None where its size is not known."""
    size_arcmin = rated.targets[row].major_arcmin
    return None if size_arcmin is None else size_arcmin * rated.ratings.seen_share[row]


def test_the_table_holds_every_kind_and_no_target_twice(sky: Any) -> None:
    """At least 45 targets, from both hemispheres, each with a source and a rising range."""
    lines = read_practice()
    targets = [sky.target(line["target"]) for line in lines]
    assert len({target.id for target in targets}) == len(targets) >= 45
    assert {str(target.kind) for target in targets} >= {
        "open cluster", "globular cluster", "galaxy", "planetary nebula", "emission nebula",
        "reflection nebula", "dark nebula", "supernova remnant", "star cloud", "asterism",
        "double star", "star", "planet", "Moon",
    }  # fmt: skip
    assert sum((target.dec_deg or 0.0) < -20.0 for target in targets) >= 8
    for line in lines:
        assert line["source"]
        assert 0.0 < float(line["exit_pupil_low_mm"]) < float(line["exit_pupil_high_mm"])


@pytest.mark.parametrize("telescope", ["80", "200", "400"])
def test_the_matcher_does_as_practice_does(telescope: str, benches: Any, sky: Any) -> None:
    """In nine cases of ten and more; each miss is explained in the table, and no hit is."""
    lines = read_practice()
    rated = benches[telescope].rate([sky.target(line["target"]) for line in lines])
    misses = {}
    for row, line in enumerate(lines):
        winner = rated.best(row)
        right = trains_of_practice(rated.table, line, seen_arcmin(rated, row))
        if not right[winner]:
            misses[line["target"]] = line[f"explained_{telescope}"]
    share = 1.0 - len(misses) / len(lines)
    print(f"\n{telescope} mm: {share:.0%} of {len(lines)} as practice has it")  # noqa: T201  # asked for
    for name, why in misses.items():
        print(f"    {name}: {why or 'NOT EXPLAINED'}")  # noqa: T201
    assert share >= LEAST_SHARE
    explained = {line["target"] for line in lines if line[f"explained_{telescope}"]}
    assert set(misses) == explained


@pytest.mark.parametrize("telescope", ["80", "200", "400"])
def test_the_matcher_agrees_with_sources_of_another_hand(
    telescope: str, benches: Any, sky: Any
) -> None:
    """Exit pupils that a named article or test states, not those of the preferences."""
    lines = [line for line in read_practice() if line["named_source"]]
    assert len(lines) >= 40
    rated = benches[telescope].rate([sky.target(line["target"]) for line in lines])
    apart = {}
    for row, line in enumerate(lines):
        right = trains_of_practice(rated.table, line, seen_arcmin(rated, row), column="named")
        if not right[rated.best(row)]:
            apart[line["target"]] = float(rated.table.exit_pupil_mm[rated.best(row)])
    share = 1.0 - len(apart) / len(lines)
    print(f"\n{telescope} mm: {share:.0%} of {len(lines)} as named sources have it")  # noqa: T201  # asked for
    for name, size_mm in apart.items():
        print(f"    {name}: {size_mm:.1f} mm")  # noqa: T201
    assert share >= LEAST_SHARE_OF_SOURCES
