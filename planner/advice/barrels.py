"""What each barrel can hold for a telescope, and whether the observer's year asks for more."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from planner.advice.market import barrels_of, market
from planner.advice.results import number_of_targets
from planner.advice.starter_set import set_of, weigh_offers
from planner.advice.year import Year
from planner.formulas.optics import (
    LARGEST_FIELD_STOP_MM,
    longest_useful_focal_length_mm,
    true_field_from_stop_deg,
)
from planner.model.kit import Barrel, Kit
from planner.planning.circumstances import Circumstances
from targets.frozen import frozen
from targets.model import Target

# So many eyepieces serve nearly as well as all that can be had: what limits such a set is the
# barrel and not the number.
AMPLE_SET = 4


@frozen
class BarrelReport:
    """One barrel that the telescope takes.

    Parameters
    ----------
    stop_mm : float
        The largest field stop that it holds [mm].
    field_deg : float
        The largest true field [deg].
    apparent_field_deg : float
        At the longest useful focal length, the apparent field that fills the barrel [deg].
    too_large : tuple of Target
        Targets of the year that its field does not hold, those wanted most first.
    worth : float
        Of the best four eyepieces in barrels up to this one, the share of a year of perfect looks.
    """

    barrel: Barrel
    stop_mm: float
    field_deg: float
    apparent_field_deg: float
    too_large: tuple[Target, ...]
    worth: float


@frozen
class Barrels:
    """What barrels mean for a telescope and an observer.

    Parameters
    ----------
    reports : tuple of BarrelReport
        The smallest first.
    longest_mm : float
        The longest eyepiece that wastes no light [mm].
    masses_g : dict of Barrel to (float, float)
        Lightest and heaviest of the eyepieces that are owned and whose mass is stated [g].
    targets : int
        That the year shows.
    """

    reports: tuple[BarrelReport, ...]
    longest_mm: float
    masses_g: dict[Barrel, tuple[float, float]]
    targets: int


def compare_barrels(year: Year, circumstances: Circumstances, kit: Kit) -> Barrels:
    """Compare the barrels that a telescope takes.

    Parameters
    ----------
    year, circumstances
        The looks; who looks, through which telescope.
    kit : Kit
        Its filters serve, and its masses are told.
    """
    telescope = circumstances.telescope
    longest_mm = float(
        longest_useful_focal_length_mm(telescope.focal_ratio, circumstances.conditions.pupil_mm)
    )
    spectacles = circumstances.observer.spectacles
    offers = weigh_offers(year, circumstances, kit, market(telescope, spectacles=spectacles))
    inches = np.array([eyepiece.barrel.inches for eyepiece in offers.eyepieces])
    reports = []
    for barrel in barrels_of(telescope):
        stop_mm = LARGEST_FIELD_STOP_MM[barrel]
        field_deg = float(true_field_from_stop_deg(stop_mm, telescope.focal_length_mm))
        rungs = replace(offers.rungs, useful=offers.rungs.useful & (inches <= barrel.inches))
        reports.append(
            BarrelReport(
                barrel=barrel,
                stop_mm=stop_mm,
                field_deg=field_deg,
                apparent_field_deg=float(np.degrees(stop_mm / longest_mm)),
                too_large=_too_large(year, circumstances, 60.0 * field_deg),
                worth=rungs.value(set_of(rungs, AMPLE_SET)) / offers.whole,
            )
        )
    return Barrels(
        reports=tuple(reports),
        longest_mm=longest_mm,
        masses_g=_masses(kit),
        targets=number_of_targets(year),
    )


def _too_large(year: Year, circumstances: Circumstances, field_arcmin: float) -> tuple[Target, ...]:
    """Return the targets that fill more of a field than their class bears."""
    most = year.target_table.preferred("fill_max", circumstances.preferences, np.inf)
    fill = year.target_table.major_arcmin / field_arcmin
    rows = np.flatnonzero(fill > most)
    ranked = rows[np.argsort(-year.weight[rows], kind="stable")]
    return tuple({year.targets[row].id: year.targets[row] for row in ranked}.values())


def _masses(kit: Kit) -> dict[Barrel, tuple[float, float]]:
    masses: dict[Barrel, list[float]] = {}
    for eyepiece in kit.eyepieces:
        if eyepiece.mass_g is not None:
            masses.setdefault(eyepiece.barrel, []).append(eyepiece.mass_g)
    return {barrel: (min(found), max(found)) for barrel, found in masses.items()}
