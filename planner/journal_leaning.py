"""Takes what the journal teaches into a plan: what is preferred, and what has been seen."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from pathlib import Path

import numpy as np

from planner.eye import ellipse_area_arcmin2, mean_surface_brightness_mag_arcsec2
from planner.faults import InputError
from planner.journal.leaning import Glass, Use, find_leanings
from planner.journal.records import Outcome
from planner.journal.store import Journal, open_journal
from planner.kit import Train, train_words
from planner.leaning import Leaning
from planner.occasion import Occasion
from planner.subjects import class_names
from targets.model import Kind

COLUMNS = (
    "target_id",
    "target_kind",
    "target_major_arcmin",
    "target_minor_arcmin",
    "target_magnitude",
    "train_telescope",
    "train_eyepiece",
    "train_amplifier",
    "planned_train",
    "outcome",
    "rating",
)
PLANETS = ("Mercury", "Venus", "Mars", "Jupiter", "Saturn", "Uranus", "Neptune")
SAW_SOMETHING = (Outcome.SEEN, Outcome.SUSPECTED)


def leaned(occasion: Occasion, path: Path) -> tuple[Occasion, tuple[str, ...]]:
    """Let an occasion's circumstances lean toward what the journal says is preferred.

    Returns
    -------
    occasion : Occasion
        As it was where the journal teaches nothing, or cannot be read.
    remarks : tuple of str
        Sentences for the observer.
    """
    try:
        with open_journal(path) as journal:
            leanings = leanings_for(journal, occasion.circumstances.table.trains)
            remarks = journal.remarks
    except InputError as error:
        return occasion, (*error.faults, "The plan leans on no experience.")
    circumstances = replace(occasion.circumstances, leanings=leanings)
    return replace(occasion, circumstances=circumstances), remarks


def leanings_for(journal: Journal, trains: tuple[Train, ...]) -> tuple[Leaning, ...]:
    """Find what is preferred among the trains of one telescope.

    Parameters
    ----------
    journal : Journal
    trains : tuple of Train
        All usable ones of the telescope.
    """
    if not trains:
        return ()
    return find_leanings(_uses(journal, trains))


def _uses(journal: Journal, trains: tuple[Train, ...]) -> Iterator[Use]:
    telescope = trains[0].telescope.name
    names = {train_words(train): _glass(train) for train in trains}
    names |= {train.eyepiece.name: (train.eyepiece.name, "") for train in trains}
    rows = [
        dict(zip(COLUMNS, row, strict=True))
        for row in journal.columns(*COLUMNS)
        if row[COLUMNS.index("train_telescope")] == telescope
        and row[COLUMNS.index("outcome")] in SAW_SOMETHING
    ]
    rows = [row for row in rows if row["train_eyepiece"] and _has_class(row)]
    for row, target_class in zip(rows, _classes(rows), strict=True):
        used = (row["train_eyepiece"], row["train_amplifier"])
        yield Use(target_class, used, names.get(row["planned_train"]), row["rating"])


def _glass(train: Train) -> Glass:
    return train.eyepiece.name, train.amplifier.name if train.amplifier else ""


def _has_class(row: Mapping[str, object]) -> bool:
    kind = row["target_kind"]
    return kind in list(Kind) and (kind != Kind.PLANET or row["target_id"] in PLANETS)


def _classes(rows: list[dict[str, object]]) -> list[str]:
    """Name the class of each target as it was logged."""
    if not rows:
        return []

    def numbers(name: str) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
        return np.array([np.nan if row[name] is None else row[name] for row in rows], dtype=float)

    major, minor = numbers("target_major_arcmin"), numbers("target_minor_arcmin")
    major = np.where(major > 0.0, major, np.nan)
    area = ellipse_area_arcmin2(
        major_arcmin=major, minor_arcmin=np.where(minor > 0.0, minor, major)
    )
    brightness = mean_surface_brightness_mag_arcsec2(
        magnitude=numbers("target_magnitude"), area_arcmin2=np.asarray(area)
    )
    names = class_names(
        ids=np.array([row["target_id"] for row in rows], dtype=np.str_),
        kinds=np.array([row["target_kind"] for row in rows], dtype=np.str_),
        major_arcmin=major,
        brightness=np.asarray(brightness),
    )
    return [str(name) for name in names]
