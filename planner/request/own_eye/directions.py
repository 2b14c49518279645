"""How bright the sky of a site is toward each side, as looks near the threshold tell it.

Where less is seen than the plan's sky and the observer's own eye would have it, the sky is brighter
there than the plan takes it, and the other way round.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from planner.config.preferences import Preferences
from planner.formulas.photometry import light_ratio
from planner.journal.own_eye import fit_eye
from planner.journal.site_sky import half_year
from planner.model.own_eye import OwnEye, SkyToward
from planner.request.own_eye.learned import LEAST_TRUST
from planner.request.own_eye.looks import EyeLooks
from planner.request.own_eye.report import depths_mag

SIDES = ("N", "E", "S", "W")
# What a town does to one side of the sky [mag/arcsec2]: one standard deviation, our choice.
SIDES_SD_MAG = 0.5
LEAST_OF_A_SIDE = 12
# For the slope of the margins with the sky [mag/arcsec2].
SKY_STEP_MAG = 0.2


def skies_toward(looks: EyeLooks, eye: OwnEye, preferences: Preferences) -> Iterator[SkyToward]:
    """Return the skies of each site, side and half of the year of which looks enough tell.

    Parameters
    ----------
    looks : EyeLooks
        Of the journal.
    eye : OwnEye
        What it tells of the eye.
    preferences : Preferences
        Tells by which model each class of target is seen.
    """
    scene = looks.scene
    if scene is None:
        return
    darker = replace(scene.moment, sky_cd_m2=scene.moment.sky_cd_m2 * light_ratio(SKY_STEP_MAG))
    margin = looks.judged.margin_mag
    slope = (replace(scene, moment=darker).margin_mag(preferences) - margin) / SKY_STEP_MAG
    whole = replace(
        looks.judged, margin_mag=margin + depths_mag(looks, eye), by_stars=None, glass_slope=None
    )
    side = np.rint(scene.azimuth_deg / 90.0).astype(int) % len(SIDES)
    keys = [
        (record.site, half_year(int(at[5:7])), SIDES[one])
        for record, at, one in zip(scene.records, looks.at, side.tolist(), strict=True)
    ]
    for key in dict.fromkeys(keys):
        rows = np.array([row for row, one in enumerate(keys) if one == key], dtype=np.intp)
        part, steep = whole.of_rows(rows), float(slope[rows].mean())
        if len(set(part.targets)) < LEAST_OF_A_SIDE or steep <= 0.0:
            continue
        fit = fit_eye(part, sd_mag=SIDES_SD_MAG * steep, is_part=True)
        site, months, toward = key
        if fit.trust >= LEAST_TRUST:
            sky_mag = float(np.mean([scene.records[row].sky_mag_arcsec2 for row in rows.tolist()]))
            yield SkyToward(
                site=site.name,
                months=months,
                toward=toward,
                sky_mag_arcsec2=sky_mag + fit.mean_mag / steep,
                darker_mag=fit.mean_mag / steep,
                sd_mag=fit.sd_mag / steep,
                looks=int(rows.size),
            )
