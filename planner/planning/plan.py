"""Plans the night: what is up, which of it is worth a look, in what order, with which train."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np

from planner.ephemeris.kernel import Ephemeris, unix_seconds
from planner.ephemeris.sky_grid import SkyGrid
from planner.ephemeris.tracks import track_instants
from planner.matcher.lens import star_limits_mag
from planner.matcher.look_views import views_in_turn, with_second
from planner.matcher.target_classes import target_table_of
from planner.matcher.views import view_through
from planner.matcher.visibility import margins_dex
from planner.model.forecast import LEAST_CLEAR_SHARE
from planner.model.night import Night
from planner.model.plan import Look, Plan, Spare, ViewRole
from planner.planning.candidates import best_trains, candidates_of, session_of, with_companions
from planner.planning.circumstances import STEP_MIN, Circumstances, Wishes
from planner.planning.companions import in_the_field, short_name
from planner.planning.finding.of_targets import with_ways
from planner.planning.left_out import find_spares, omissions, plan_notes
from planner.planning.roster import Roster, rows_of_roster, session_grid, survey_roster
from planner.planning.scheduling.scheduler import (
    Candidates,
    Order,
    Session,
    Slot,
    let_wait,
    order_looks,
    play,
)
from planner.planning.shortlist import shortlist
from planner.planning.slack import with_slack
from planner.planning.survey import body_at, follow, moment_at, sky_behind
from planner.planning.teaching_looks import doubts, lesson_rows, marked, with_lessons
from planner.planning.worth import memory_words
from targets.arrays import Codes, Flags, Floats
from targets.catalogue.catalogue import Catalogue
from targets.frozen import frozen
from targets.model import Kind


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
    start, end : datetime
        Of the session, aware, inside the night.
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
    grid = session_grid(ephemeris, night, start, end)
    rows = shortlist(catalogue, grid, circumstances, rows=wishes.rows, keep_all=wishes.by_name)
    roster = survey_roster(
        catalogue, ephemeris, grid, rows, circumstances, min_altitude_deg=wishes.min_altitude_deg
    )
    session = session_of(circumstances, night, start, end, most_looks=wishes.count)
    order, candidates, looks = Order((), (), 0.0), None, tuple[Look, ...]()
    spares: tuple[Spare, ...] = ()
    seen_with = dict[int, int]()
    if len(circumstances.table):
        ordered = _order(roster, circumstances, session, teach=wishes.teach)
        roster, order, candidates = ordered.roster, ordered.order, ordered.candidates
        seen_with = {second: first for first, second in ordered.seconds.items()}
        looks = looks_of(ephemeris, ordered, circumstances, start)
        looks = with_slack(looks, roster, candidates, session, order.slots, circumstances, wishes)
        looks = with_body_notes(looks, catalogue, ephemeris, night, circumstances)
        looks = with_ways(looks, ephemeris, night, circumstances)
        looks = tuple(
            marked(look) if slot.row in ordered.lessons else look
            for look, slot in zip(looks, order.slots, strict=True)
        )
        planned = {slot.row for slot in order.slots}
        planned |= {ordered.seconds[row] for row in planned if row in ordered.seconds}
        spares = find_spares(roster, candidates, circumstances, ordered.columns, planned, start)
    return session_plan(
        grid,
        start,
        end,
        circumstances,
        breaks_min=order.breaks,
        looks=looks,
        left_out=omissions(
            roster, candidates, session, order.slots, seen_with=seen_with, by_name=wishes.by_name
        ),
        notes=plan_notes(roster, circumstances, looks, session, start) + sifting_note(wishes, rows),
        spares=spares,
    )


def session_plan(
    grid: SkyGrid,
    start: datetime,
    end: datetime,
    circumstances: Circumstances,
    *,
    breaks_min: Iterable[tuple[float, float]],
    **found: Any,
) -> Plan:
    """Return the plan of a session, with the hours that a forecast closes.

    ``breaks_min`` are minutes after the start; ``found`` is what else a `Plan` holds.
    """
    share = circumstances.clear_share(grid.unix_s)
    return Plan(
        night=grid.night,
        start=start,
        end=end,
        breaks=tuple(
            (start + timedelta(minutes=a), start + timedelta(minutes=b)) for a, b in breaks_min
        ),
        eye=circumstances.eye,
        clouded=() if share is None else grid.spans(share < LEAST_CLEAR_SHARE),
        **found,
    )


def sifting_note(wishes: Wishes, rows: Codes) -> tuple[str, ...]:
    """Say so where a list is too long to tell of each target why it is left out."""
    count = 0 if wishes.rows is None else np.count_nonzero(np.bincount(wishes.rows))
    if not wishes.by_name or count == len(rows):
        return ()
    told = f"The list has {count:,} targets; the {len(rows):,} that promise most in this session"
    return (f"{told} were looked at closely, and the others are left out without a reason.",)


@frozen
class Ordered:
    """An order of looks through one telescope, with all that it was made from.

    ``columns`` has the train of each target; ``lessons`` the rows of those that are to teach
    something about the eye; ``seconds`` is that of `WithCompanions`. ``free`` tells for each look
    which of K trains can be had during it, one (K,) for each; empty for all.
    """

    roster: Roster
    candidates: Candidates
    order: Order
    columns: Codes
    lessons: Codes
    seconds: dict[int, int]
    free: tuple[Flags, ...] = ()


def _order(
    roster: Roster, circumstances: Circumstances, session: Session, *, teach: bool
) -> Ordered:
    """Order the looks, each with the train for its best moment; then take that of its own time."""
    open_altitude = np.where(roster.windows.open, roster.tracks.altitude_deg, -90.0)
    every = np.arange(len(roster.targets))
    columns, share = best_trains(roster, circumstances, every, np.argmax(open_altitude, axis=1))
    candidates = candidates_of(roster, circumstances, columns, share)
    shared = with_companions(roster, candidates, circumstances)
    roster, candidates = shared.roster, shared.candidates
    doubt = doubts(roster, circumstances, columns) if teach else np.zeros((len(every), 0))
    lessons = lesson_rows(doubt, roster.wanted)
    order = order_looks(with_lessons(candidates, doubt, lessons), session)
    rows = order.rows
    middle = [round((s.start_min + s.end_min) / 2.0 / session.step_min) for s in order.slots]
    columns[rows], share[rows] = best_trains(
        roster, circumstances, rows, np.array(middle, dtype=np.intp)
    )
    candidates = candidates_of(
        roster, circumstances, columns, share, finding_min=candidates.finding_min
    )
    candidates = with_lessons(candidates, doubt, lessons)
    # Another train may take longer to change to, so that the last looks no longer fit.
    kept, anew = play(candidates, session, rows), order_looks(candidates, session)
    best = kept if kept.worth >= anew.worth else anew
    order = let_wait(candidates, session, best)
    return Ordered(roster, candidates, order, columns, lessons, shared.seconds)


def looks_of(
    ephemeris: Ephemeris, ordered: Ordered, circumstances: Circumstances, start: datetime
) -> tuple[Look, ...]:
    """Turn slots into looks, each rated anew at its own middle."""
    roster, slots, columns = ordered.roster, ordered.order.slots, ordered.columns
    if not slots:
        return ()
    beside = [ordered.seconds.get(slot.row, -1) for slot in slots]
    places = [*range(len(slots)), *(place for place, row in enumerate(beside) if row >= 0)]
    rows = [*(slot.row for slot in slots), *(row for row in beside if row >= 0)]
    middle_min = [(slots[place].start_min + slots[place].end_min) / 2.0 for place in places]
    middles = [start + timedelta(minutes=minutes) for minutes in middle_min]
    grid = track_instants(ephemeris, roster.grid.night, middles)
    targets = [
        body_at(roster.targets[row], ephemeris, grid, middle)
        for row, middle in zip(rows, middles, strict=True)
    ]
    tracks = follow(targets, ephemeris, grid)
    own = np.arange(len(rows))
    moment = moment_at(sky_behind(targets, tracks, grid, circumstances.conditions), own)
    ratings = circumstances.rate(target_table_of(targets, circumstances.preferences), moment)
    limits_mag = star_limits_mag(circumstances.lens, moment)
    cases = [
        circumstances.case(
            target,
            row,
            ratings,
            float(tracks.altitude_deg[row, row]),
            free=ordered.free[places[row]] if ordered.free else None,
            star_limit_mag=limits_mag[row],
        )
        for row, target in enumerate(targets)
    ]
    others = dict(zip(places[len(slots) :], cases[len(slots) :], strict=True))
    looks = []
    for place, slot in enumerate(slots):
        case, column = cases[place], int(columns[slot.row])
        in_field = _companions(roster, circumstances, slot, column)
        minutes = slot.end_min - slot.start_min
        views = () if circumstances.pace.guests else views_in_turn(case, column, minutes)
        other = others.get(place)
        if views and other is not None and short_name(other.target.name) not in in_field:
            views = with_second(views, other, int(columns[beside[place]]))
            if any(view.role is ViewRole.BESIDE for view in views):
                in_field = (short_name(other.target.name), *in_field)
        looks.append(
            Look(
                target=case.target,
                view=view_through(case, column),
                start=start + timedelta(minutes=slot.start_min),
                end=start + timedelta(minutes=slot.end_min),
                altitude_deg=case.altitude_deg,
                azimuth_deg=float(tracks.azimuth_deg[place, place]),
                in_field=in_field,
                views=views,
                memory=memory_words(case.target, circumstances.last_seen, middles[place]),
            )
        )
    return tuple(looks)


def with_body_notes(
    looks: Sequence[Look],
    catalogue: Catalogue,
    ephemeris: Ephemeris,
    night: Night,
    circumstances: Circumstances,
) -> tuple[Look, ...]:
    """Tell what is on the Moon and on planets while they are looked at."""
    if not any(look.target.moves for look in looks):
        return tuple(looks)
    from planner.ephemeris.solar_system.notes import look_notes  # noqa: PLC0415  # only for these

    has_moon = any(look.target.kind is Kind.MOON for look in looks)
    features = [catalogue.target(row) for row in catalogue.lunar] if has_moon else []
    return tuple(
        replace(
            look,
            notes=look_notes(
                look.target,
                ephemeris,
                night.site,
                look.start,
                look.end,
                features=features,
                red_spot=circumstances.red_spot,
            ),
        )
        if look.target.moves
        else look
        for look in looks
    )


def _companions(
    roster: Roster, circumstances: Circumstances, slot: Slot, column: int
) -> tuple[str, ...]:
    """Name what else is plainly seen in the field of a look."""
    step = round((slot.start_min + slot.end_min) / 2.0 / STEP_MIN)

    def margin_dex(rows: Codes) -> Floats:
        some, every = rows_of_roster(roster, rows), len(rows)
        moment = moment_at(some.moments, np.full(every, step))
        through = circumstances.lens.for_each(np.full(every, column))
        return margins_dex(some.target_table, moment, through, circumstances.preferences)[:, 0]

    field_arcmin = circumstances.table.trains[column].true_field_arcmin
    return in_the_field(
        roster.targets, slot.row, true_field_arcmin=field_arcmin, margin_dex=margin_dex
    )
