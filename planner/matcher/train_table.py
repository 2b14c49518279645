"""Trains as the matcher sees them: arrays, one entry a train."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from planner.model.kit import FilterKind, Train
from targets.arrays import Floats
from targets.frozen import frozen

# Code 0 is "no filter".
FILTER_CODES: tuple[FilterKind | None, ...] = (None, *FilterKind)
# Light that a Barlow, reducer or corrector passes (common practice: it costs about 3 percent).
AMPLIFIER_TRANSMISSION = 0.97


@frozen
class TrainTable:
    """K usable trains of one telescope; every array has shape (K,).

    Parameters
    ----------
    trains : tuple of Train
        What the columns stand for.
    magnification, true_field_arcmin, exit_pupil_mm, apparent_field_deg : ndarray
        As in ``Train``.
    eye_relief_mm : ndarray
        NaN when not stated.
    transmission : ndarray
        Telescope and amplifier, without the filter, to each eye.
    eyes : ndarray of int
        How many eyes look at once.
    amplified : ndarray of bool
        Holds a Barlow, reducer or corrector: more glass for one eye.
    filter_code : ndarray of int
        Index into ``FILTER_CODES``.
    unfiltered : ndarray of int
        Column of the same train without its filter; its own column when there is none.
    eyepiece, barrel, amplifier, filter : ndarray of int
        What is in the focuser, as codes: trains with the same code share the part.
    mass_g : ndarray
        On the focuser; NaN when not stated.
    """

    trains: tuple[Train, ...]
    magnification: Floats
    true_field_arcmin: Floats
    exit_pupil_mm: Floats
    apparent_field_deg: Floats
    eye_relief_mm: Floats
    transmission: Floats
    amplified: NDArray[np.bool_]
    filter_code: NDArray[np.intp]
    unfiltered: NDArray[np.intp]
    eyepiece: NDArray[np.intp]
    barrel: NDArray[np.intp]
    amplifier: NDArray[np.intp]
    filter: NDArray[np.intp]
    mass_g: Floats
    eyes: NDArray[np.intp]

    def __len__(self) -> int:
        """Count the trains."""
        return len(self.trains)


def tabulate_trains(trains: Sequence[Train]) -> TrainTable:
    """Turn trains of one telescope into arrays; those that do not fit together are left out.

    The columns have an order of their own, plain trains first, so that a tie does not depend on
    the order of the kit.
    """
    usable = tuple(sorted((train for train in trains if train.usable), key=_plainest_first))

    def column(values: Sequence[float]) -> Floats:
        return np.array(values, dtype=float)

    plain = {_without_filter(t): k for k, t in enumerate(usable) if t.filter is None}
    return TrainTable(
        trains=usable,
        magnification=column([t.magnification for t in usable]),
        true_field_arcmin=column([t.true_field_arcmin for t in usable]),
        exit_pupil_mm=column([t.exit_pupil_mm for t in usable]),
        apparent_field_deg=column([t.apparent_field_deg for t in usable]),
        eye_relief_mm=column([t.eyepiece.eye_relief_mm or np.nan for t in usable]),
        transmission=column(
            [
                t.telescope.transmission * (AMPLIFIER_TRANSMISSION if t.amplifier else 1.0) / t.eyes
                for t in usable
            ]
        ),
        amplified=np.array([t.amplifier is not None and t.eyes == 1 for t in usable], dtype=bool),
        filter_code=np.array(
            [FILTER_CODES.index(t.filter.kind if t.filter else None) for t in usable], dtype=np.intp
        ),
        unfiltered=np.array(
            [plain.get(_without_filter(t), k) for k, t in enumerate(usable)], dtype=np.intp
        ),
        eyepiece=_codes([t.eyepiece.name for t in usable]),
        barrel=_codes([t.eyepiece.barrel for t in usable]),
        amplifier=_codes([t.amplifier.name if t.amplifier else "" for t in usable]),
        filter=_codes([t.filter.name if t.filter else "" for t in usable]),
        mass_g=column([t.mass_g or np.nan for t in usable]),
        eyes=np.array([t.eyes for t in usable], dtype=np.intp),
    )


def _codes(names: Sequence[str]) -> NDArray[np.intp]:
    return np.unique(np.array(names, dtype=np.str_), return_inverse=True)[1]


def _plainest_first(train: Train) -> tuple[bool, bool, float, str, str, str]:
    return (
        train.amplifier is not None,
        train.filter is not None,
        train.focal_length_mm,
        train.eyepiece.name,
        train.amplifier.name if train.amplifier else "",
        train.filter.name if train.filter else "",
    )


def _without_filter(train: Train) -> tuple[str, str, float]:
    amplifier = train.amplifier.name if train.amplifier else ""
    return train.eyepiece.name, amplifier, train.focal_length_mm
