"""A year of an observer's own nights as a fixed table of looks, by which trains are judged.

One night a week stands for the year: 7 days do not divide a month, so that every phase of the Moon
comes up in every season. On each of these nights every wanted target that has a window counts once,
at its best instant of the session. The table does not depend on what the observer owns.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields
from datetime import date, datetime, timedelta

import numpy as np

from planner.ephemeris.almanac import find_night
from planner.ephemeris.kernel import Ephemeris
from planner.ephemeris.sky_grid import SkyGrid
from planner.ephemeris.tracks import track_night
from planner.matcher.scoring import seen_well
from planner.matcher.target_classes import TargetTable, target_table_of
from planner.matcher.train_table import FILTER_CODES
from planner.matcher.visibility import Lens, Moment, margins_dex, plain_lens
from planner.model.errors import NothingToPlanError
from planner.model.night import Night
from planner.model.site import Site
from planner.planning.circumstances import Circumstances
from planner.planning.outlook.coverage import Followed, Wanted, follow_wanted, wanted_rows
from planner.planning.session_times import session_times
from planner.planning.survey import moment_at
from planner.planning.worth import air_share, look_worth, wanted_under
from targets.arrays import Codes, Floats
from targets.catalogue.catalogue import Catalogue
from targets.model import Target

Progress = Callable[[int, int], None]

DAYS_IN_YEAR = 365
EVERY_DAYS = 7
STEP_MIN = 15.0
# Exit pupils that stand for "any eyepiece" [mm], beside the eye's own.
ANY_EXIT_PUPILS_MM = np.array([1.0, 2.0, 4.0])
# A target is followed through the night with this one, which serves most (common practice).
USUAL_EXIT_PUPIL_MM = 2.0
# What no eyepiece and no filter shows better than this is no look: suspected at best.
LEAST_SEEN = 0.1
# Looks at the same target are the same look when they differ by no more than these.
SKY_STEP_DEX, LOSS_STEP_MAG, SIZE_STEP_DEX = 0.1, 0.1, 0.04


@dataclass(frozen=True, slots=True)
class Year:
    """N looks that differ; arrays of shape (N,).

    Parameters
    ----------
    targets : tuple of Target
        What is looked at, bodies as they are that night.
    instants : tuple of datetime
        When (UTC).
    target_table, moment
        The same as the matcher sees them.
    weight : ndarray
        How much a look counts: how much its target is wanted, times what the air leaves of it.
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


@dataclass(frozen=True, slots=True)
class _Evening:
    """The looks of one night."""

    targets: tuple[Target, ...]
    instants: tuple[datetime, ...]
    target_table: TargetTable
    moment: Moment
    weight: Floats
    reference_dex: Floats


def year_of_looks(
    catalogue: Catalogue,
    ephemeris: Ephemeris,
    site: Site,
    circumstances: Circumstances,
    *,
    rows: Codes,
    first: date,
    every_days: int = EVERY_DAYS,
    progress: Progress | None = None,
) -> Year:
    """Gather the looks of a year.

    Parameters
    ----------
    catalogue, ephemeris, site
        What there is, where it stands, and from where it is seen.
    circumstances : Circumstances
        Who looks through which telescope under what sky; its trains play no part.
    rows : ndarray of int
        Rows of the catalogue that are wanted.
    first : datetime.date
        Evening of the first night.
    every_days : int
        From one night that is taken to the next [days].
    progress : callable, optional
        Told after each night how many are done, and of how many.

    Raises
    ------
    NothingToPlanError
        When no night shows any of the targets.
    OutsideEphemerisError
        If there are no positions for one of the dates.
    """
    wanted = wanted_rows(catalogue, rows, circumstances.preferences)
    days = range(0, DAYS_IN_YEAR, every_days)
    for day in (days[0], days[-1]):  # before the work of the nights between
        ephemeris.check_night(first + timedelta(days=day))
    evenings: list[_Evening] = []
    why_none = None
    for number, day in enumerate(days, 1):
        night = find_night(ephemeris, site, first + timedelta(days=day))
        evening = None
        try:
            evening = _evening(wanted, ephemeris, night, circumstances)
        except NothingToPlanError as error:
            why_none = str(error)
        if evening is not None and evening.targets:
            evenings.append(evening)
        if progress is not None:
            progress(number, len(days))
    if not evenings:
        sentence = f"No night of the year shows any of these targets from {site.name}."
        raise NothingToPlanError(f"{sentence} {why_none or ''}".rstrip())
    return _folded(evenings, circumstances, len(days), why_none)


def _evening(
    wanted: Wanted, ephemeris: Ephemeris, night: Night, circumstances: Circumstances
) -> _Evening | None:
    """Return the looks that the usual session of a night offers; None where there are none."""
    session = session_times(night, begin=None, until=None, now=None)
    grid = track_night(ephemeris, night, STEP_MIN).between(session.start, session.end)
    middle = session.start + (session.end - session.start) / 2
    seen = follow_wanted(wanted, ephemeris, grid, circumstances, middle)
    if not seen.rows.size:
        return None
    return _best_looks(seen, wanted.wanted[seen.rows], grid, circumstances)


def _best_looks(
    seen: Followed, wanted: Floats, grid: SkyGrid, circumstances: Circumstances
) -> _Evening:
    """Take each target at the instant that is worth most, and leave out what nothing shows."""
    targets, moments = seen.targets, seen.moments
    target_table = target_table_of(targets, circumstances.preferences)
    weight = wanted_under(wanted, target_table.kinds, moments.sky_cd_m2, rating=target_table.rating)
    lens = _usual_lens(len(targets), circumstances)
    worth = look_worth(
        weight,
        margin_dex=margins_dex(target_table, moments, lens, circumstances.preferences),
        altitude_deg=moments.altitude_deg,
        train_share=np.ones((len(targets), 1)),
    )
    step = np.argmax(np.where(seen.open, worth, -1.0), axis=1)
    moment = moment_at(moments, step)
    reference, how_well = _best_margins(target_table, moment, circumstances)
    kept = np.flatnonzero(how_well >= LEAST_SEEN)
    wanted_then = weight[np.arange(len(targets)), step]
    return _Evening(
        targets=tuple(targets[k] for k in kept),
        instants=tuple(grid.instant(int(step[k])) for k in kept),
        target_table=target_table.of_rows(kept),
        moment=moment.of_rows(kept),
        weight=(wanted_then * air_share(moment.altitude_deg[:, 0]))[kept],
        reference_dex=reference[kept],
    )


def _usual_lens(count: int, circumstances: Circumstances) -> Lens:
    pupil_mm = circumstances.conditions.pupil_mm
    lens = plain_lens(
        circumstances.telescope,
        exit_pupil_mm=np.array([min(USUAL_EXIT_PUPIL_MM, pupil_mm)]),
        pupil_mm=pupil_mm,
    )
    return lens.for_each(np.zeros(count, dtype=np.intp))


def _best_margins(
    target_table: TargetTable, moment: Moment, circumstances: Circumstances
) -> tuple[Floats, Floats]:
    """Return the best margin without a filter [dex], and how well anything shows the target."""
    pupil_mm = circumstances.conditions.pupil_mm
    pupils_mm = np.append(ANY_EXIT_PUPILS_MM[pupil_mm > ANY_EXIT_PUPILS_MM], pupil_mm)
    best = []
    for code in range(len(FILTER_CODES)):
        lens = plain_lens(
            circumstances.telescope, exit_pupil_mm=pupils_mm, pupil_mm=pupil_mm, filter_code=code
        )
        margins = margins_dex(target_table, moment, lens, circumstances.preferences)
        best.append(np.fmax.reduce(margins, axis=1))
    return best[0], np.asarray(seen_well(np.fmax.reduce(best)))


def _folded(
    evenings: list[_Evening], circumstances: Circumstances, nights: int, why_none: str | None
) -> Year:
    """Put the nights together, and count looks that are alike as one."""
    target_table = TargetTable(
        *(
            np.concatenate([getattr(evening.target_table, item.name) for evening in evenings])
            for item in fields(TargetTable)
        )
    )
    altitude, sky, loss = (
        np.concatenate([getattr(evening.moment, name) for evening in evenings])
        for name in ("altitude_deg", "sky_cd_m2", "loss_mag")
    )
    weight = np.concatenate([evening.weight for evening in evenings])
    heaviest = np.argsort(-weight, kind="stable")
    keys = np.stack(_alike(target_table, sky, loss), axis=1)[heaviest]
    _, first, counts = np.unique(keys, axis=0, return_index=True, return_counts=True)
    order = np.argsort(heaviest[first], kind="stable")
    rows, counts = heaviest[first][order], counts[order]
    targets = [target for evening in evenings for target in evening.targets]
    instants = [instant for evening in evenings for instant in evening.instants]
    conditions = circumstances.conditions
    return Year(
        targets=tuple(targets[row] for row in rows),
        instants=tuple(instants[row] for row in rows),
        target_table=target_table.of_rows(rows),
        moment=Moment(
            altitude[rows],
            sky[rows],
            loss[rows],
            conditions.seeing_step,
            conditions.eye_mag,
        ),
        weight=weight[rows],
        count=counts.astype(float),
        reference_dex=np.concatenate([evening.reference_dex for evening in evenings])[rows],
        nights=nights,
        nights_used=len(evenings),
        why_none=why_none,
    )


def _alike(target_table: TargetTable, sky_cd_m2: Floats, loss_mag: Floats) -> list[Floats]:
    """Return the columns by which looks are told apart."""
    ids = np.unique(target_table.ids, return_inverse=True)[1].astype(float)
    with np.errstate(divide="ignore"):
        size = np.nan_to_num(np.log10(target_table.major_arcmin), nan=-9.0, neginf=-9.0)
    return [
        ids,
        np.round(np.log10(sky_cd_m2[:, 0]) / SKY_STEP_DEX),
        np.round(loss_mag[:, 0] / LOSS_STEP_MAG),
        np.round(size / SIZE_STEP_DEX),
    ]
