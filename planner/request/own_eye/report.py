"""What the journal tells of the observer's eye, and how well it holds."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from planner.journal.own_eye import EyeFit, Judged, fit_eye, seen_chance
from planner.model.own_eye import Band, EyeReport, OwnEye, Surprise
from planner.request.own_eye.learned import LEAST_TRUST
from planner.request.own_eye.looks import EyeLooks
from targets.arrays import Flags, Floats

# Bounds of the bands of a calibration, by the share that should be seen.
BAND_BOUNDS = (0.0, 0.1, 0.3, 0.5, 0.7, 0.9, 1.0)
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
    count = len(looks.ids)
    if fit.trust < LEAST_TRUST:
        return EyeReport(count, looks.left_out)
    chance = seen_chance(looks.judged.margin_mag + fit.mean_mag, fit.width_mag)
    return EyeReport(
        looks=count,
        left_out=looks.left_out,
        eye=_eye(fit, count, stated_mag),
        parts=tuple(_parts(looks, stated_mag)),
        bands=tuple(_bands(chance, looks.judged.seen)),
        surprises=(*looks.odd, *_surprises(looks, chance)),
    )


def _eye(fit: EyeFit, looks: int, stated_mag: float) -> OwnEye:
    return OwnEye(fit.mean_mag, fit.sd_mag, looks, stated_mag)


def _parts(looks: EyeLooks, stated_mag: float) -> Iterator[tuple[str, OwnEye]]:
    """Fit parts of the looks, where there are enough of them and others too."""
    for name, rows in _groups(looks):
        chosen = np.flatnonzero(rows).tolist()
        judged = looks.judged
        part = Judged(
            judged.margin_mag[rows], judged.seen[rows], [judged.targets[row] for row in chosen]
        )
        fit = fit_eye(part, stated_mag=stated_mag)
        if fit.trust >= LEAST_TRUST and len(chosen) < len(looks.ids):
            yield name, _eye(fit, len(chosen), stated_mag)


def _groups(looks: EyeLooks) -> Iterator[tuple[str, Flags]]:
    yield "stars", looks.by_stars
    yield "glows", ~looks.by_stars
    for name in dict.fromkeys(looks.telescopes):
        if name:
            yield name, np.array([telescope == name for telescope in looks.telescopes])
    quarters = [f"{at[:4]}, quarter {(int(at[5:7]) + 2) // 3}" for at in looks.at]
    for name in dict.fromkeys(quarters):
        yield name, np.array([quarter == name for quarter in quarters])


def _bands(chance: Floats, seen: Floats) -> Iterator[Band]:
    band = np.clip(np.searchsorted(BAND_BOUNDS, chance, side="right") - 1, 0, len(BAND_BOUNDS) - 2)
    for number in np.unique(band):
        rows = band == number
        yield Band(int(rows.sum()), float(chance[rows].mean()), float(seen[rows].mean()))


def _surprises(looks: EyeLooks, chance: Floats) -> Iterator[Surprise]:
    seen = looks.judged.seen
    of_outcome = np.where(seen == 1.0, chance, np.where(seen == 0.0, 1.0 - chance, 1.0))
    for row in np.argsort(of_outcome, kind="stable").tolist():
        if of_outcome[row] >= SURPRISING:
            return
        yield Surprise(
            looks.ids[row], looks.names[row], looks.at[row], bool(seen[row]), float(chance[row])
        )
