"""A year of an observer's own nights as a fixed table of looks, by which trains are judged.

One night a week stands for the year: 7 days do not divide a month, so that every phase of the Moon
comes up in every season. On each of these nights every target of the year that has a window counts
once, at its best instant of the session. The table does not depend on what the observer owns.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime

import numpy as np

from planner.advice.year_sky import STEPS, YearSky, sky_of_year
from planner.ephemeris.bodies import observe_body
from planner.ephemeris.kernel import Ephemeris
from planner.matcher.lens import Moment, plain_lens
from planner.matcher.scoring import seen_well
from planner.matcher.target_classes import TargetTable, target_table_of
from planner.matcher.train_table import FILTER_CODES
from planner.matcher.visibility import margins_dex
from planner.model.errors import NothingToPlanError
from planner.model.site import Site
from planner.planning.circumstances import Circumstances
from planner.planning.season import culminations_deg, height_share
from planner.planning.shortlist import may_help
from planner.planning.survey import body_at, follow, orbits_among, planet_as_seen, sky_behind
from planner.planning.windows import SkyTracks, find_windows
from planner.planning.worth import HEIGHT_COUNTS, air_share, wanted_before, wanted_under
from targets.arrays import Codes, Flags, Floats
from targets.catalogue.catalogue import Catalogue
from targets.double_stars.doubles import julian_year, star_at
from targets.frozen import frozen
from targets.model import Target

DAYS_IN_YEAR = 365
EVERY_DAYS = 7
# Exit pupils that stand for "any eyepiece" [mm], beside the eye's own.
ANY_EXIT_PUPILS_MM = np.array([1.0, 2.0, 4.0])
# What no eyepiece and no filter shows better than this is no look: suspected at best.
LEAST_SEEN = 0.1
# Looks at the same target are the same look when they differ by no more than these.
SKY_STEP_DEX, LOSS_STEP_MAG, SIZE_STEP_DEX = 0.3, 0.3, 0.06
# A sky brighter by one dex costs half a dex of contrast, more or less (our choice): that, the light
# lost and the air tell which instant of a session is the best for a target.
SKY_COSTS = 0.5


@frozen
class Year:
    """N looks that differ; arrays of shape (N,).

    Parameters
    ----------
    targets : tuple of Target
        What is looked at, bodies as they are that night.
    instants : tuple of datetime
        When (UTC), on the night on which it counts most.
    target_table, moment
        The same as the matcher sees them.
    weight : ndarray
        How much a look counts: how much its target is wanted under that sky, times what air and
        height leave of it.
    count : ndarray
        On how many of the nights there is such a look.
    reference_dex : ndarray
        Margin over the eye's threshold in the best of the usual exit pupils, without a filter.
    nights, nights_used : int
        How many nights were taken, and on how many of these something can be seen.
    why_none : str or None
        Why the last of the others shows nothing.
    """

    targets: tuple[Target, ...]
    instants: tuple[datetime, ...]
    target_table: TargetTable
    moment: Moment
    weight: Floats
    count: Floats
    reference_dex: Floats
    nights: int
    nights_used: int
    why_none: str | None

    @property
    def looks(self) -> int:
        """Number of looks on all the nights together."""
        return int(self.count.sum())

    def of_rows(self, rows: Codes) -> Year:
        """Return some of the looks."""
        return replace(
            self,
            targets=tuple(self.targets[row] for row in rows),
            instants=tuple(self.instants[row] for row in rows),
            target_table=self.target_table.of_rows(rows),
            moment=self.moment.of_rows(rows),
            weight=self.weight[rows],
            count=self.count[rows],
            reference_dex=self.reference_dex[rows],
        )


@frozen
class _Looks:
    """Looks one by one, on night ``night`` at step ``step`` of all steps; arrays of shape (L,)."""

    row: Codes
    night: Codes
    step: Codes
    altitude_deg: Floats
    sky_cd_m2: Floats
    loss_mag: Floats
    height: Floats


def year_of_looks(
    catalogue: Catalogue,
    ephemeris: Ephemeris,
    site: Site,
    circumstances: Circumstances,
    *,
    rows: Codes,
    first: date,
    every_days: int = EVERY_DAYS,
) -> Year:
    """Gather the looks of a year.

    Parameters
    ----------
    catalogue, ephemeris, site
        What there is, where it stands, and from where it is seen.
    circumstances : Circumstances
        Who looks through which telescope under what sky; its trains play no part.
    rows : ndarray of int
        Rows of the catalogue that are wanted, as from `targets_of_year`.
    first : datetime.date
        Evening of the first night.
    every_days : int
        From one night that is taken to the next [days].

    Raises
    ------
    NothingToPlanError
        When no night shows any of the targets.
    OutsideEphemerisError
        If there are no positions for one of the dates.
    """
    targets = tuple(catalogue.target(int(row)) for row in rows)
    wanted = wanted_before(catalogue, rows)
    sky = sky_of_year(
        ephemeris,
        site,
        first=first,
        days=range(0, DAYS_IN_YEAR, every_days),
        orbits=orbits_among(targets),
    )
    year = None
    if sky is not None:
        looks = _looks(targets, ephemeris, site, circumstances, sky)
        year = _folded(looks, targets, wanted, ephemeris, circumstances, sky)
    if year is None:
        sentence = f"No night of the year shows any of these targets from {site.name}."
        raise NothingToPlanError(f"{sentence} {sky.why_none or '' if sky else ''}".rstrip())
    return year


def _looks(
    targets: Sequence[Target],
    ephemeris: Ephemeris,
    site: Site,
    circumstances: Circumstances,
    sky: YearSky,
) -> _Looks:
    """Find on which nights each target has a window, and the best step of it."""
    tracks = follow(targets, ephemeris, sky.grid, sky.tracked)
    culmination = culminations_deg(targets, site)
    windows = find_windows(
        tracks,
        target_table_of(targets, circumstances.preferences).class_code,
        preferences=circumstances.preferences,
        site=site,
        telescope=circumstances.telescope,
        moon_illuminated=sky.moon_illuminated,
        culmination=culmination,
    )
    moments = sky_behind(targets, tracks, sky.grid, circumstances.conditions)
    height = height_share(tracks.altitude_deg, _reach_deg(culmination, tracks, windows.open))
    with np.errstate(divide="ignore"):
        quality = (
            np.log10(air_share(moments.altitude_deg) * height**HEIGHT_COUNTS)
            - 0.4 * moments.loss_mag
            - SKY_COSTS * np.log10(moments.sky_cd_m2)
        )
    by_night = (len(targets), len(sky.nights), STEPS)
    is_open = windows.open.reshape(by_night)
    best = np.argmax(np.where(is_open, quality.reshape(by_night), -np.inf), axis=2)
    row, night = np.nonzero(is_open.any(axis=2))
    step = night * STEPS + best[row, night]
    return _Looks(
        row=row,
        night=night,
        step=step,
        altitude_deg=moments.altitude_deg[row, step],
        sky_cd_m2=moments.sky_cd_m2[row, step],
        loss_mag=moments.loss_mag[row, step],
        height=height[row, step],
    )


def _reach_deg(culmination: Floats, tracks: SkyTracks, is_open: Flags) -> Floats:
    """Return how high each can get, (N, 1) [deg]; what moves, as high as it is seen that year."""
    seen = np.max(np.where(is_open, tracks.altitude_deg, -90.0), axis=1)
    return np.where(np.isnan(culmination), seen, culmination)[:, None]


def _as_seen(
    looks: _Looks, targets: Sequence[Target], ephemeris: Ephemeris, sky: YearSky
) -> tuple[list[Target], Codes]:
    """Return the targets as they are that year, bodies once a night; and which one each look has.

    Bodies have the place, size and brightness of the middle of their night's session.
    """
    middle = [sky.instant(n * STEPS + STEPS // 2) for n in range(len(sky.nights))]
    year = julian_year(middle[len(middle) // 2])
    forms = [target if target.moves else star_at(target, year) for target in targets]
    form = looks.row.copy()
    for row in np.unique(looks.row):
        target, own = targets[row], np.flatnonzero(looks.row == row)
        if not target.moves:
            continue
        instants = [middle[night] for night in looks.night[own]]
        form[own] = len(forms) + np.arange(len(own))
        if target.lunar is None and target.elements is None:
            seen = observe_body(ephemeris, sky.grid.night.site, target.id, instants)
            forms += [planet_as_seen(target, seen, index) for index in range(len(own))]
        else:
            forms += [body_at(target, ephemeris, sky.grid, instant) for instant in instants]
    return forms, form


def _folded(
    looks: _Looks,
    targets: Sequence[Target],
    wanted: Floats,
    ephemeris: Ephemeris,
    circumstances: Circumstances,
    sky: YearSky,
) -> Year | None:
    """Count looks that are alike as one under their mean sky, and leave out what nothing shows."""
    forms, form = _as_seen(looks, targets, ephemeris, sky)
    table = target_table_of(forms, circumstances.preferences)
    weight = _weights(looks, wanted[looks.row], table.of_rows(form))
    heaviest = np.argsort(-weight, kind="stable")
    keys = np.stack(_alike(looks, table.major_arcmin[form]), axis=1)[heaviest]
    _, first, group = np.unique(keys, axis=0, return_index=True, return_inverse=True)
    group, weight = group.ravel(), weight[heaviest]
    count, whole = np.bincount(group), np.bincount(group, weight)

    def mean(values: Floats) -> Floats:
        return np.asarray(np.bincount(group, weight * values[heaviest]) / whole)[:, None]

    conditions = circumstances.conditions
    moment = Moment(
        mean(looks.altitude_deg),
        10.0 ** mean(np.log10(looks.sky_cd_m2)),
        mean(looks.loss_mag),
        conditions.seeing_step,
        conditions.eye_mag,
        conditions.glow_mag,
    )
    chosen = heaviest[first]
    target_table = table.of_rows(form[chosen])
    reference, how_well = _best_margins(target_table, moment, circumstances)
    kept = np.flatnonzero(how_well >= LEAST_SEEN)
    kept = kept[np.argsort(-(whole / count)[kept], kind="stable")]
    if not kept.size:
        return None
    nights = {int(night) for g in kept for night in looks.night[heaviest[group == g]]}
    return Year(
        targets=tuple(forms[form[chosen[k]]] for k in kept),
        instants=tuple(sky.instant(int(looks.step[chosen[k]])) for k in kept),
        target_table=target_table.of_rows(kept),
        moment=moment.of_rows(kept),
        weight=(whole / count)[kept],
        count=count[kept].astype(float),
        reference_dex=reference[kept],
        nights=sky.all_nights,
        nights_used=len(nights),
        why_none=sky.why_none,
    )


def _weights(looks: _Looks, wanted: Floats, target_table: TargetTable) -> Floats:
    """Return the worth of each look, but for the train and for what it shows, (L,)."""
    under_sky = wanted_under(
        wanted, target_table.kinds, looks.sky_cd_m2[:, None], rating=target_table.rating
    )[:, 0]
    return np.asarray(under_sky * air_share(looks.altitude_deg) * looks.height**HEIGHT_COUNTS)


def _alike(looks: _Looks, major_arcmin: Floats) -> list[Floats]:
    """Return the columns by which looks are told apart."""
    with np.errstate(divide="ignore"):
        size = np.nan_to_num(np.log10(major_arcmin), nan=-9.0, neginf=-9.0)
    return [
        looks.row.astype(float),
        np.round(np.log10(looks.sky_cd_m2) / SKY_STEP_DEX),
        np.round(looks.loss_mag / LOSS_STEP_MAG),
        np.round(size / SIZE_STEP_DEX),
    ]


def _best_margins(
    target_table: TargetTable, moment: Moment, circumstances: Circumstances
) -> tuple[Floats, Floats]:
    """Return the best margin without a filter [dex], and how well anything shows the target."""
    pupil_mm = circumstances.conditions.pupil_mm
    pupils_mm = np.append(ANY_EXIT_PUPILS_MM[pupil_mm > ANY_EXIT_PUPILS_MM], pupil_mm)
    best = np.full((len(FILTER_CODES), len(target_table)), np.nan)
    for code in range(len(FILTER_CODES)):
        rows = np.flatnonzero(may_help(code)[target_table.spectrum_code])
        lens = plain_lens(
            circumstances.telescope, exit_pupil_mm=pupils_mm, pupil_mm=pupil_mm, filter_code=code
        )
        margins = margins_dex(
            target_table.of_rows(rows), moment.of_rows(rows), lens, circumstances.preferences
        )
        best[code, rows] = np.fmax.reduce(margins, axis=1)
    return best[0], np.asarray(seen_well(np.fmax.reduce(best)))
