"""Finds what the journal says is preferred among the trains of a telescope."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from itertools import pairwise

import numpy as np

from planner.formulas.visibility_limit import (
    ellipse_area_arcmin2,
    mean_surface_brightness_mag_arcsec2,
)
from planner.journal.leaning import Glass, GlassChoice, find_leanings
from planner.journal.store.journal import Journal
from planner.matcher.target_classes import class_names
from planner.model.kit import Train, train_words
from planner.model.leaning import Leaning
from planner.model.pace import LONGEST_GAP_MIN
from targets.model import Kind

# So many of the latest looks tell the pace; what is entered within a minute was entered afterwards.
MOST_TIMES = 200
SHORTEST_GAP_MIN = 1.0

TARGET_COLUMNS = (
    "target_id",
    "target_kind",
    "target_major_arcmin",
    "target_minor_arcmin",
    "target_magnitude",
)
USE_COLUMNS = ("train_eyepiece", "train_amplifier", "planned_train", "rating")
PLANETS = ("Mercury", "Venus", "Mars", "Jupiter", "Saturn", "Uranus", "Neptune")

Logged = tuple[str, str, float | None, float | None, float | None]


def gaps_between_looks_min(times: Sequence[tuple[str, str]]) -> list[float]:
    """Return the minutes between looks of one evening that follow each other, breaks left out.

    ``times`` are sessions and instants (ISO 8601), the latest first.
    """
    gaps_min = []
    for (evening, later), (other, earlier) in pairwise(times):
        if evening == other:
            gap = datetime.fromisoformat(later) - datetime.fromisoformat(earlier)
            gaps_min.append(gap / timedelta(minutes=1))
    return [gap for gap in gaps_min if SHORTEST_GAP_MIN <= gap <= LONGEST_GAP_MIN]


def leanings_for(journal: Journal, trains: tuple[Train, ...]) -> tuple[Leaning, ...]:
    """Find what is preferred among the trains of one telescope.

    Parameters
    ----------
    trains : tuple of Train
        All usable ones of the telescope.
    """
    if not trains:
        return ()
    return find_leanings(_uses(journal, trains))


def _uses(journal: Journal, trains: tuple[Train, ...]) -> Iterator[GlassChoice]:
    telescope = trains[0].telescope.name
    glass = {train_words(train): _glass(train) for train in trains}
    glass |= {train.eyepiece.name: (train.eyepiece.name, "") for train in trains}
    rows = journal.opinions(telescope, *TARGET_COLUMNS, *USE_COLUMNS)
    classes = _classes(list({row[: len(TARGET_COLUMNS)] for row in rows}))
    for row in rows:
        target_class = classes.get(row[: len(TARGET_COLUMNS)])
        eyepiece, amplifier, planned, rating = row[len(TARGET_COLUMNS) :]
        if target_class is not None:
            yield GlassChoice(target_class, (eyepiece, amplifier), glass.get(planned), rating)


def _glass(train: Train) -> Glass:
    return train.eyepiece.name, train.amplifier.name if train.amplifier else ""


def _classes(logged: list[Logged]) -> dict[Logged, str]:
    """Name the class of each target as it was logged, if there is one for it."""
    logged = [target for target in logged if _has_class(*target[:2])]
    if not logged:
        return {}
    ids, kinds, *numbers = zip(*logged, strict=True)
    major, minor, magnitude = np.array(numbers, dtype=float)  # None becomes NaN
    major = np.where(major > 0.0, major, np.nan)
    area = ellipse_area_arcmin2(
        major_arcmin=major, minor_arcmin=np.where(minor > 0.0, minor, major)
    )
    brightness = mean_surface_brightness_mag_arcsec2(
        magnitude=magnitude, area_arcmin2=np.asarray(area)
    )
    names = class_names(
        ids=np.array(ids, dtype=np.str_),
        kinds=np.array(kinds, dtype=np.str_),
        major_arcmin=major,
        brightness=np.asarray(brightness),
    )
    return dict(zip(logged, map(str, names), strict=True))


def _has_class(target_id: str, kind: str) -> bool:
    return kind in list(Kind) and (kind != Kind.PLANET or target_id in PLANETS)
