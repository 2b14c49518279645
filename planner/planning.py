"""Plans the night: what is up, which of it is worth a look, in what order, with which train."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from planner.ephemeris import Ephemeris, unix_seconds
from planner.field import Field, survey_field
from planner.kit import Mount
from planner.matcher import Ratings, rate_trains
from planner.night import Night
from planner.omissions import COOLING_MIN, HIGH_POWER_PUPIL_MM, omissions, plan_notes
from planner.ordering import Candidates, Order, Session, Slot, order_looks, play
from planner.preferences import Preferences
from planner.reasons import Case
from planner.shortlist import shortlist
from planner.subjects import Subjects, subjects_of
from planner.survey import Circumstances, body_at, follow, moment_at, sky_behind
from planner.tracks import track_instants
from planner.view import Look, Plan
from planner.views import view_through
from planner.visibility import Moment, lens_of, margins_dex
from planner.worth import LEAST_WORTH, look_worth
from targets.catalogue import Catalogue
from targets.model import Kind

Floats = NDArray[np.float64]
Codes = NDArray[np.intp]

STEP_MIN = 5.0
# What asks for a Sun as low as this asks for a dark-adapted eye too.
FAINT_BELOW_SUN_DEG = -13.0


@dataclass(frozen=True, slots=True)
class Wishes:
    """What the observer asks of the plan.

    Parameters
    ----------
    rows : ndarray of int or None
        Rows of the catalogue to choose from; None for all.
    by_name : bool
        The rows are a list of the observer's own: each gets a reason when it is left out.
    count : int or None
        Most looks; None for as many as fit.
    min_altitude_deg : float or None
        Floor instead of each class's own [deg].
    """

    rows: Codes | None = None
    by_name: bool = False
    count: int | None = None
    min_altitude_deg: float | None = None


def plan_night(
    catalogue: Catalogue,
    ephemeris: Ephemeris,
    night: Night,
    *,
    start: datetime,
    end: datetime,
    circumstances: Circumstances,
    wishes: Wishes,
) -> Plan:
    """Plan a session.

    Parameters
    ----------
    catalogue, ephemeris
        What there is to look at, and where it is.
    night : Night
        Which night, where.
    start, end : datetime
        Of the session, aware, inside the night.
    circumstances : Circumstances
        Who looks, through what, under what sky.
    wishes : Wishes
        What to choose from, and how much.

    Returns
    -------
    Plan
        Without looks when nothing can be seen, or when no eyepiece fits the telescope; ``notes``
        and ``left_out`` then say why.

    Raises
    ------
    ValueError
        If the session does not end after it starts, or is not inside the night.
    """
    start_s, end_s = unix_seconds([start, end])
    if not start_s < end_s:
        raise ValueError(f"The session must end after its start, {start:%Y-%m-%d %H:%M %Z}.")
    start, end = start.astimezone(UTC), end.astimezone(UTC)
    steps = int((end - start) / timedelta(minutes=STEP_MIN)) + 1
    instants = [start + k * timedelta(minutes=STEP_MIN) for k in range(steps)]
    grid = track_instants(ephemeris, night, instants)
    rows = shortlist(catalogue, grid, circumstances, rows=wishes.rows, keep_all=wishes.by_name)
    field = survey_field(
        catalogue,
        ephemeris,
        grid,
        rows,
        circumstances,
        min_altitude_deg=wishes.min_altitude_deg,
    )
    session = Session(
        length_min=(end - start).total_seconds() / 60.0,
        step_min=STEP_MIN,
        driven=circumstances.telescope.driven,
        balance_g=circumstances.telescope.balance_g,
        most_looks=wishes.count,
        cooled_min=_cooling_min(night, start),
        # An equatorial mount is taken for a German one, the usual kind (common practice).
        flips=circumstances.telescope.mount is Mount.EQUATORIAL,
    )
    order, candidates, looks = Order((), (), 0.0), None, tuple[Look, ...]()
    if len(circumstances.table):
        order, candidates, columns = _order(field, circumstances, session)
        looks = _looks(ephemeris, field, order.slots, columns, circumstances, start)
    return Plan(
        night=night,
        start=start,
        end=end,
        looks=looks,
        breaks=tuple(
            (start + timedelta(minutes=begin), start + timedelta(minutes=finish))
            for begin, finish in order.breaks
        ),
        left_out=omissions(field, candidates, session, order.slots, by_name=wishes.by_name),
        notes=plan_notes(field, circumstances, looks, start),
    )


def _cooling_min(night: Night, start: datetime) -> float:
    """Give how long after its start a session has no high power: the telescope is out at sunset."""
    if night.sunset is None:
        return 0.0
    return max(COOLING_MIN - max((start - night.sunset) / timedelta(minutes=1), 0.0), 0.0)


def _order(
    field: Field, circumstances: Circumstances, session: Session
) -> tuple[Order, Candidates, Codes]:
    """Order the looks, each with the train for its best moment; then take that of its own time."""
    open_altitude = np.where(field.windows.open, field.tracks.altitude_deg, -90.0)
    every = np.arange(len(field.targets))
    columns, share = _best_trains(field, circumstances, every, np.argmax(open_altitude, axis=1))
    order = order_looks(_candidates(field, circumstances, columns, share), session)
    rows = np.array([slot.row for slot in order.slots], dtype=np.intp)
    middle = [round((s.start_min + s.end_min) / 2.0 / session.step_min) for s in order.slots]
    columns[rows], share[rows] = _best_trains(
        field, circumstances, rows, np.array(middle, dtype=np.intp)
    )
    candidates = _candidates(field, circumstances, columns, share)
    return play(candidates, session, rows), candidates, columns


def _best_trains(
    field: Field, circumstances: Circumstances, rows: Codes, step: Codes
) -> tuple[Codes, Floats]:
    """Give the column of the best train at a step, and its score but for the visibility."""
    moment = moment_at(field.moments.of_rows(rows), step)
    ratings = _rate(field.subjects.of_rows(rows), moment, circumstances)
    columns = np.argmax(ratings.score, axis=1)
    own = np.arange(len(rows))
    seen = np.maximum(ratings.parts["visibility"][own, columns], 1e-6)
    return columns, np.asarray(ratings.score[own, columns] / seen)


def _rate(subjects: Subjects, moment: Moment, circumstances: Circumstances) -> Ratings:
    return rate_trains(
        subjects,
        moment,
        circumstances.table,
        telescope=circumstances.telescope,
        observer=circumstances.observer,
        conditions=circumstances.conditions,
        preferences=circumstances.preferences,
    )


def _candidates(
    field: Field, circumstances: Circumstances, columns: Codes, share: Floats
) -> Candidates:
    table, preferences = circumstances.table, circumstances.preferences
    lens = lens_of(table, circumstances.telescope, circumstances.conditions.pupil_mm)
    quality = look_worth(
        field.wanted[:, None],
        margin_dex=margins_dex(field.subjects, field.moments, lens.for_each(columns), preferences),
        altitude_deg=field.tracks.altitude_deg,
        train_share=share[:, None],
    )
    trains = [table.trains[column] for column in columns]
    dwell = np.array([c.dwell_minutes for c in preferences.classes])
    return Candidates(
        quality=quality,
        open=field.windows.open & (quality >= LEAST_WORTH),
        dwell_min=dwell[field.subjects.class_code],
        altitude_deg=field.tracks.altitude_deg,
        azimuth_deg=field.tracks.azimuth_deg,
        kind=_codes([target.kind for target in field.targets]),
        dazzling=np.array([target.kind == Kind.MOON for target in field.targets], dtype=bool),
        faint=_sun_limits(field, preferences) <= FAINT_BELOW_SUN_DEG,
        eyepiece=_codes([train.eyepiece.name for train in trains]),
        barrel=_codes([train.eyepiece.barrel for train in trains]),
        amplifier=_codes([train.amplifier.name if train.amplifier else "" for train in trains]),
        filter=_codes([train.filter.name if train.filter else "" for train in trains]),
        mass_g=np.array([train.mass_g or np.nan for train in trains]),
        high_power=np.array([t.exit_pupil_mm < HIGH_POWER_PUPIL_MM for t in trains], dtype=bool),
    )


def _sun_limits(field: Field, preferences: Preferences) -> Floats:
    """Give how far down each target wants the Sun [deg]."""
    limits = np.array([c.sun_altitude_max_deg for c in preferences.classes])
    return np.asarray(limits[field.subjects.class_code])


def _codes(names: Sequence[str]) -> Codes:
    return np.unique(np.array(names, dtype=np.str_), return_inverse=True)[1]


def _looks(
    ephemeris: Ephemeris,
    field: Field,
    slots: Sequence[Slot],
    columns: Codes,
    circumstances: Circumstances,
    start: datetime,
) -> tuple[Look, ...]:
    """Turn slots into looks, each rated anew at its own middle."""
    if not slots:
        return ()
    middles = [start + timedelta(minutes=(s.start_min + s.end_min) / 2.0) for s in slots]
    grid = track_instants(ephemeris, field.grid.night, middles)
    targets = [
        body_at(field.targets[slot.row], ephemeris, grid, middle)
        for slot, middle in zip(slots, middles, strict=True)
    ]
    tracks = follow(targets, ephemeris, grid)
    own = np.arange(len(slots))
    moment = moment_at(sky_behind(targets, tracks, grid, circumstances.conditions), own)
    ratings = _rate(subjects_of(targets, circumstances.preferences), moment, circumstances)
    looks = []
    for row, (slot, target) in enumerate(zip(slots, targets, strict=True)):
        altitude = float(tracks.altitude_deg[row, row])
        case = Case(
            target=target,
            row=row,
            ratings=ratings,
            table=circumstances.table,
            observer=circumstances.observer,
            pupil_mm=circumstances.conditions.pupil_mm,
            altitude_deg=altitude,
        )
        looks.append(
            Look(
                target=target,
                view=view_through(case, int(columns[slot.row])),
                start=start + timedelta(minutes=slot.start_min),
                end=start + timedelta(minutes=slot.end_min),
                altitude_deg=altitude,
                azimuth_deg=float(tracks.azimuth_deg[row, row]),
            )
        )
    return tuple(looks)
