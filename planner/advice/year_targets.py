"""Chooses the targets of a year: those that plans from this site, under this sky, would hold."""

from __future__ import annotations

import numpy as np

from planner.formulas.refraction import apparent_altitude_deg
from planner.matcher.lens import Moment, moment_under
from planner.matcher.train_table import FILTER_CODES
from planner.model.site import Site
from planner.planning.circumstances import Circumstances
from planner.planning.season import culmination_deg
from planner.planning.shortlist import best_margin_dex, table_of_rows
from planner.planning.windows import LOWEST_FLOOR_DEG
from planner.planning.worth import STARS, look_worth, wanted_before
from targets.arrays import Codes, Floats
from targets.catalogue.catalogue import Catalogue
from targets.model import Kind

# So many fixed targets make the year, and so many of them may be pairs, stars and asterisms, which
# are many and alike (our choice: a plan's shortlist has the same proportions).
TARGETS, MOST_STARS = 360, 90
# The Sun and the Moon are out of the way [deg].
FAR_DOWN_DEG = -30.0


def targets_of_year(catalogue: Catalogue, site: Site, circumstances: Circumstances) -> Codes:
    """Return the rows of the catalogue that promise most at a site in a year.

    Parameters
    ----------
    catalogue, site
        What there is, and from where it is seen.
    circumstances : Circumstances
        Who looks through which telescope under what sky; its trains play no part, and any filter
        may be had.

    Returns
    -------
    ndarray of int
        Fixed targets by what a look at their culmination is worth on a moonless night, and the
        Moon and planets. Comets and minor planets pass: they count where a list asks for them.
    """
    rows = np.flatnonzero(~catalogue.moves & ~catalogue.of_kind(Kind.LUNAR_FEATURE))
    culmination = culmination_deg(catalogue.dec_deg[rows], site.latitude_deg)
    rises = culmination >= LOWEST_FLOOR_DEG
    rows, culmination = rows[rises], culmination[rises]
    wanted = wanted_before(catalogue, rows)
    moment = _dark_moment(culmination, site, circumstances)
    promise = look_worth(
        wanted,
        margin_dex=best_margin_dex(
            table_of_rows(catalogue, circumstances, rows),
            moment,
            circumstances,
            np.arange(len(FILTER_CODES)),
        ),
        altitude_deg=moment.altitude_deg[:, 0],
        train_share=np.ones(len(rows)),
    )
    ranked = rows[np.argsort(-promise, kind="stable")]
    is_star = catalogue.of_kind(*STARS)[ranked]
    best = ranked[~is_star | (np.cumsum(is_star) <= MOST_STARS)][:TARGETS]
    return np.union1d(best, np.flatnonzero(catalogue.of_kind(Kind.MOON, Kind.PLANET)))


def _dark_moment(culmination: Floats, site: Site, circumstances: Circumstances) -> Moment:
    """Return the sky behind targets at their culmination [deg] on a moonless night, (N, 1)."""
    altitude = np.asarray(apparent_altitude_deg(culmination, elevation_m=site.elevation_m))[:, None]
    return moment_under(
        circumstances.conditions,
        altitude_deg=altitude,
        sun_altitude_deg=FAR_DOWN_DEG,
        sun_separation_deg=180.0,
        moon_altitude_deg=FAR_DOWN_DEG,
        moon_separation_deg=180.0,
        moon_phase_angle_deg=180.0,
    )
