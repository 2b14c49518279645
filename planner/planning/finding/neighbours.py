"""What else is one nudge away from a target, and worth it."""

from __future__ import annotations

import numpy as np

from planner.ephemeris.kernel import Ephemeris
from planner.ephemeris.tracks import track_instants
from planner.matcher.lens import lens_of
from planner.matcher.target_classes import target_table_of
from planner.matcher.visibility import margins_dex
from planner.model.finding import Neighbour
from planner.model.kit import Mount
from planner.planning.circumstances import Circumstances
from planner.planning.finding.star_sky import MomentSky
from planner.planning.finding.words import direction_words
from planner.planning.look import LookReport
from planner.planning.scheduling.pace import NEAR_DEG
from targets.catalogue.catalogue import Catalogue
from targets.model import Target
from targets.sphere import angle_deg, position_angle_deg, unit_vectors

# Worth a nudge is what the authors rate plain or better, and what some eyepiece of the kit shows
# with some care (our choice).
LEAST_RATING, LEAST_DEX = 3.0, 0.4
MOST = 6


def neighbours_of(
    report: LookReport, catalogue: Catalogue, ephemeris: Ephemeris, circumstances: Circumstances
) -> tuple[Neighbour, ...]:
    """Return what is worth a look within two degrees of a target, the best first.

    Parameters
    ----------
    report : LookReport
        Of the target, at its moment; one without views has no neighbours.
    catalogue, ephemeris, circumstances
        What there is, and under what it is looked at. Bodies that move are left out.
    """
    target = report.target
    if not report.views or target.ra_deg is None or target.dec_deg is None:
        return ()
    here = unit_vectors(target.ra_deg, target.dec_deg)
    apart_deg = angle_deg(unit_vectors(catalogue.ra_deg, catalogue.dec_deg), here)
    near = (apart_deg <= NEAR_DEG) & (catalogue.visual_rating >= LEAST_RATING)
    others = [catalogue.target(int(row)) for row in np.flatnonzero(near)]
    others = [other for other in others if other.id != target.id]
    if not others:
        return ()
    grid = track_instants(ephemeris, report.night, [report.at])
    sky = MomentSky(grid, 0, circumstances.conditions)
    margin = _best_margin_dex(others, sky, circumstances)
    order = sorted(
        (row for row in range(len(others)) if margin[row] >= LEAST_DEX),
        key=lambda row: (-(others[row].visual_rating or 0), -margin[row]),
    )
    equatorial = circumstances.telescope.mount is Mount.EQUATORIAL
    return tuple(
        _neighbour(target, others[row], sky, equatorial=equatorial) for row in order[:MOST]
    )


def _best_margin_dex(
    targets: list[Target], sky: MomentSky, circumstances: Circumstances
) -> list[float]:
    """Return how far each target stands above the threshold in the train that shows it best."""
    places = np.array([(target.ra_deg, target.dec_deg) for target in targets], dtype=float)
    table, pupil_mm = circumstances.table, circumstances.conditions.pupil_mm
    margin = margins_dex(
        target_table_of(targets, circumstances.preferences),
        sky.behind(unit_vectors(*places.T)),
        lens_of(table, circumstances.telescope, pupil_mm),
        circumstances.preferences,
    )
    return [float(best) for best in np.nan_to_num(margin, nan=-np.inf).max(axis=1)]


def _neighbour(target: Target, other: Target, sky: MomentSky, *, equatorial: bool) -> Neighbour:
    here, there = (unit_vectors(one.ra_deg or 0.0, one.dec_deg or 0.0) for one in (target, other))
    angle = float(position_angle_deg(there, here))
    turned = angle if equatorial else sky.zenith_angle_deg(here) - angle
    return Neighbour(
        target=other,
        separation_deg=float(angle_deg(here, there)),
        position_angle_deg=angle,
        direction=direction_words(turned, equatorial=equatorial),
    )
