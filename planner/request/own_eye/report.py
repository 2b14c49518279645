"""What the journal tells of the observer's eye, and how well it holds."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from planner.journal.eye_chance import seen_chance
from planner.journal.eye_grids import KINDS_SD_MAG
from planner.journal.own_eye import fit_eye
from planner.model.own_eye import CalibrationBand, EyePart, EyeReport, OwnEye, Surprise
from planner.request.own_eye.learned import eye_of
from planner.request.own_eye.looks import EyeLooks
from targets.arrays import Floats

# Bounds of the bands of a calibration, by the share that should be seen.
BAND_BOUNDS = (0.0, 0.1, 0.3, 0.5, 0.7, 0.9, 1.0)
# Fewer looks say nothing of a quarter of a year.
LEAST_OF_A_QUARTER = 8
# Outcomes with less chance than this surprise.
SURPRISING = 0.05


def eye_report(looks: EyeLooks, *, stated_mag: float) -> EyeReport:
    """Report on the eye.

    Parameters
    ----------
    looks : EyeLooks
        Of the journal.
    stated_mag : float
        How much deeper than the ordinary one the eye is by the stated experience [mag].
    """
    fit = fit_eye(looks.judged, stated_mag=stated_mag)
    count, eye = len(looks.ids), eye_of(fit, looks, stated_mag)
    if eye is None:
        return EyeReport(count, looks.left_out)
    chance = seen_chance(looks.judged.margin_mag + depths_mag(looks, eye), fit.width_mag)
    return EyeReport(
        looks=count,
        left_out=looks.left_out,
        eye=eye,
        parts=tuple(_parts(looks, eye)),
        bands=tuple(_bands(chance, looks.judged.seen)),
        surprises=(*looks.odd, *_surprises(looks, chance)),
    )


def depths_mag(looks: EyeLooks, eye: OwnEye) -> Floats:
    """Return how much deeper than the ordinary eye this one saw at each look [mag].

    What its telescope passes is in it.
    """
    judged = looks.judged
    by_stars = judged.by_stars if judged.by_stars is not None else np.zeros(len(looks.ids), bool)
    depth = np.where(by_stars, eye.at_stars_mag, eye.at_glows_mag)
    if judged.glass_slope is not None:
        factor = np.array([eye.glass_factor(name) for name in judged.telescopes])
        depth += judged.glass_slope * 2.5 * np.log10(factor)
    return np.asarray(depth)


def _parts(looks: EyeLooks, eye: OwnEye) -> Iterator[tuple[str, EyePart]]:
    """Return what is told apart of the eye, and how it did through the year."""
    if eye.stars is not None and eye.glows is not None:
        yield "stars", eye.stars
        yield "glows", eye.glows
    quarters = np.array([f"{at[:4]}, quarter {(int(at[5:7]) + 2) // 3}" for at in looks.at])
    names = dict.fromkeys(quarters.tolist())
    for name in names if len(names) > 1 else ():
        rows = np.flatnonzero(quarters == name)
        if rows.size >= LEAST_OF_A_QUARTER:
            part = replace(looks.judged.of_rows(rows), by_stars=None, glass_slope=None)
            others_mag = depths_mag(looks, eye)[rows] - eye.deeper_mag
            part = replace(part, margin_mag=part.margin_mag + others_mag)
            fit = fit_eye(part, stated_mag=eye.deeper_mag, sd_mag=KINDS_SD_MAG, is_part=True)
            yield name, EyePart(fit.mean_mag, fit.sd_mag, int(rows.size))


def _bands(chance: Floats, seen: Floats) -> Iterator[CalibrationBand]:
    band = np.clip(np.searchsorted(BAND_BOUNDS, chance, side="right") - 1, 0, len(BAND_BOUNDS) - 2)
    for number in np.unique(band):
        rows = band == number
        yield CalibrationBand(int(rows.sum()), float(chance[rows].mean()), float(seen[rows].mean()))


def _surprises(looks: EyeLooks, chance: Floats) -> Iterator[Surprise]:
    seen = looks.judged.seen
    of_outcome = np.where(seen == 1.0, chance, np.where(seen == 0.0, 1.0 - chance, 1.0))
    for row in np.argsort(of_outcome, kind="stable").tolist():
        if of_outcome[row] >= SURPRISING:
            return
        yield Surprise(
            looks.ids[row], looks.names[row], looks.at[row], bool(seen[row]), float(chance[row])
        )
