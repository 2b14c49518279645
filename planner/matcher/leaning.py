"""Lets the matcher lean toward what the observer prefers by experience."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from planner.config.preferences import Preferences, class_words
from planner.matcher.target_classes import TargetTable
from planner.matcher.train_table import TrainTable
from planner.model.leaning import Leaning
from targets.arrays import Codes, Floats

NO_LEANING = -1


def leaning_codes(
    target_table: TargetTable,
    table: TrainTable,
    leanings: Sequence[Leaning],
    preferences: Preferences,
) -> Codes:
    """Tell which leaning concerns each target in each train.

    Parameters
    ----------
    target_table, table
        N targets and K trains.
    preferences : Preferences
        Names the classes.

    Returns
    -------
    ndarray of int
        Index into the leanings, ``NO_LEANING`` where there is none; shape (N, K).
    """
    codes = np.full((len(target_table), len(table)), NO_LEANING, dtype=np.intp)
    classes = {preference.name: code for code, preference in enumerate(preferences.classes)}
    glass = [(t.eyepiece.name, t.amplifier.name if t.amplifier else "") for t in table.trains]
    for number, leaning in enumerate(leanings):
        rows = target_table.class_code == classes.get(leaning.target_class, NO_LEANING)
        columns = np.array([g == (leaning.eyepiece, leaning.amplifier) for g in glass], dtype=bool)
        codes[np.ix_(rows, columns)] = number
    return codes


def leaning_part(codes: Codes, leanings: Sequence[Leaning]) -> Floats:
    """Return what each score is multiplied by, 1 where there is no leaning; shape (N, K)."""
    factors = np.array([*(leaning.factor for leaning in leanings), 1.0])
    return np.asarray(factors[codes])  # the last one is what NO_LEANING points to


def leaning_clause(leaning: Leaning) -> str:
    """Return a clause: ``you preferred the 12 mm 60 on small galaxies, 7 of 9 times``."""
    glass = " + ".join(filter(None, (leaning.eyepiece, leaning.amplifier)))
    return f"you {leaning.did} the {glass} on {class_words(leaning.target_class)}, {leaning.count}"
