"""Plans a session with two telescopes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime

import numpy as np

from planner.ephemeris.kernel import Ephemeris
from planner.model.kit import Train, train_words
from planner.model.night import Night
from planner.model.plan import LeftOut, Look, Plan
from planner.planning.candidates import session_of
from planner.planning.circumstances import Circumstances, Wishes
from planner.planning.finding.of_targets import with_ways
from planner.planning.left_out import omissions, plan_notes
from planner.planning.plan import Ordered, looks_of, session_plan, sifting_note, with_body_notes
from planner.planning.roster import session_grid
from planner.planning.scheduling.candidates import Order
from planner.planning.shortlist import shortlist
from planner.planning.slack import with_slack
from planner.planning.two_telescopes.abreast import look_abreast
from planner.planning.two_telescopes.arrangement import Arrangement, Entry
from planner.planning.two_telescopes.parts_in_use import Things, free_columns, things_left
from planner.planning.two_telescopes.station import set_up
from planner.planning.two_telescopes.turning import turn_between
from planner.planning.two_telescopes.words import told_of
from targets.arrays import Flags
from targets.catalogue.catalogue import Catalogue
from targets.frozen import frozen


@frozen
class TwoTelescopes:
    """Who looks through which two telescopes.

    Parameters
    ----------
    circumstances : (Circumstances, Circumstances)
        Of each telescope; each has a train at least.
    observers : int
        One, who turns from one to the other, or two.
    owned : Things
        What is in the box, for both.
    """

    circumstances: tuple[Circumstances, Circumstances]
    observers: int
    owned: Things


def plan_both(
    catalogue: Catalogue,
    ephemeris: Ephemeris,
    night: Night,
    *,
    start: datetime,
    end: datetime,
    two: TwoTelescopes,
    wishes: Wishes,
) -> Plan:
    """Plan a session with two telescopes.

    Parameters
    ----------
    catalogue, ephemeris, night, start, end, wishes
        As for `planner.planning.plan.plan_night`; the count of looks is for both together.
    two : TwoTelescopes

    Returns
    -------
    Plan
        Its looks in order of time, each with the telescope in its view's train; those of two
        observers overlap.
    """
    start, end = start.astimezone(UTC), end.astimezone(UTC)
    circumstances, observers, owned = two.circumstances, two.observers, two.owned
    grid = session_grid(ephemeris, night, start, end)
    rows = np.union1d(
        *(
            shortlist(catalogue, grid, one, rows=wishes.rows, keep_all=wishes.by_name)
            for one in circumstances
        )
    )
    counts = _counts(wishes.count, observers)
    sessions = tuple(
        session_of(one, night, start, end, most_looks=count)
        for one, count in zip(circumstances, counts, strict=True)
    )
    stations = set_up(
        catalogue, ephemeris, grid, rows, circumstances, (sessions[0], sessions[1]), wishes
    )
    arranged = (turn_between if observers == 1 else look_abreast)(stations, owned)
    looks = _looks(arranged, catalogue, ephemeris, night, start, owned, wishes)
    return session_plan(
        grid,
        start,
        end,
        circumstances[0],
        breaks_min=[(begin, finish) for _, begin, finish in arranged.breaks],
        looks=looks,
        left_out=_left_out(arranged, by_name=wishes.by_name),
        notes=_notes(arranged, looks, start, observers) + sifting_note(wishes, rows),
        telescopes=tuple(one.telescope for one in circumstances),
        observers=observers,
        break_of=tuple(which for which, _, _ in arranged.breaks),
    )


def _counts(count: int | None, observers: int) -> tuple[int | None, int | None]:
    """Divide the most looks between two observers; a single one has all of them."""
    if count is None or observers == 1:
        return count, count
    return (count + 1) // 2, count // 2


def _looks(
    arranged: Arrangement,
    catalogue: Catalogue,
    ephemeris: Ephemeris,
    night: Night,
    start: datetime,
    owned: Things,
    wishes: Wishes,
) -> tuple[Look, ...]:
    """Make the looks of each telescope; what is over goes to the first one first."""
    found = list[tuple[Entry, Look]]()
    for number, station in enumerate(arranged.stations.each):
        entries = arranged.of_station(number)
        if not entries:
            continue
        free = [free_trains(arranged, entry, found, owned, entry.held) for entry in entries]
        slots = tuple(entry.slot for entry in entries)
        ordered = Ordered(
            station.roster,
            station.candidates,
            Order(slots, (), 0.0),
            station.columns,
            np.zeros(0, dtype=np.intp),
            station.seconds,
            tuple(free),
        )
        one = station.circumstances
        looks = looks_of(ephemeris, ordered, one, start)
        looks = with_slack(
            looks, station.roster, station.candidates, station.session, slots, one, wishes
        )
        looks = with_body_notes(looks, catalogue, ephemeris, night, one)
        ways = [
            free_trains(arranged, entry, found, owned, (_leaves_min(entry), entry.slot.start_min))
            for entry in entries
        ]
        looks = with_ways(looks, ephemeris, night, one, free=ways)
        found += zip(entries, looks, strict=True)
    found.sort(key=lambda pair: (pair[0].slot.start_min, pair[0].station))
    return tuple(
        replace(look, together=told)
        for (_, look), told in zip(found, told_of(arranged, found), strict=True)
    )


def _leaves_min(entry: Entry) -> float:
    """When its observer sets out to find it [min]."""
    return min(entry.held[0], entry.slot.start_min - entry.slot.way_min)


def free_trains(
    arranged: Arrangement,
    entry: Entry,
    made: Sequence[tuple[Entry, Look]],
    owned: Things,
    span: tuple[float, float],
) -> Flags:
    """Tell which trains can be had in a span [min] beside what the other telescope takes, (K,).

    That is what its looks are planned with, and for those that are made already all of their
    views, and the eyepiece by which they are found.
    """
    station = arranged.stations.each[entry.station]
    looks = {other.place: look for other, look in made}
    taken = list[Train]()
    for other in arranged.beside(entry, span):
        taken.append(arranged.train(other))
        if other.place in looks:
            taken += [turn.view.train for turn in looks[other.place].views]
    for other, look in made:
        if other.station == entry.station or look.finding is None:
            continue
        if _leaves_min(other) < span[1] and span[0] < other.slot.start_min:
            by = {step.instrument for step in look.finding.steps}
            table = arranged.stations.each[other.station].circumstances.table
            taken += [t for t in table.trains if t.filter is None and train_words(t) in by]
    table, column = station.circumstances.table, int(station.columns[entry.slot.row])
    free = free_columns(table, things_left(owned, taken))
    free[column] = True
    if not free[table.filter_code == 0].any():
        free[table.unfiltered[column]] = True  # it comes when the other one is done with it
    return free


def _left_out(arranged: Arrangement, *, by_name: bool) -> tuple[LeftOut, ...]:
    """Say of each target why it is in neither column, by the telescope that promises more."""
    slots = tuple(entry.slot for entry in arranged.entries)
    reasons = list[dict[str, LeftOut]]()
    for number, station in enumerate(arranged.stations.each):
        seen_with = {
            second: first
            for first, second in station.seconds.items()
            if any(entry.slot.row == first for entry in arranged.of_station(number))
        }
        told = omissions(
            station.roster,
            station.candidates,
            station.session,
            slots,
            seen_with=seen_with,
            by_name=by_name,
        )
        reasons.append({left.target.id: left for left in told})
    one, other = arranged.stations.each
    first = {
        target.id: 1 if other.best[row] > one.best[row] else 0
        for row, target in enumerate(one.roster.targets)
    }
    return tuple(
        reasons[first[name]].get(name, reasons[0].get(name, reasons[1].get(name)))  # type: ignore[misc]
        for name in dict.fromkeys([*reasons[0], *reasons[1]])
    )


def _notes(
    arranged: Arrangement, looks: Sequence[Look], start: datetime, observers: int
) -> tuple[str, ...]:
    """Say what is to be said of each telescope, or of the one observer's session."""
    notes = list[str]()
    for station in arranged.stations.each:
        name = station.circumstances.telescope.name
        own = [look for look in looks if look.view.train.telescope.name == name]
        if not own and looks:
            notes.append(
                f"{name} has no look in this plan: time and eyepieces are better spent at the "
                "other telescope."
            )
            continue
        told = plan_notes(
            station.roster,
            station.circumstances,
            looks if observers == 1 else own,
            station.session,
            start,
        )
        notes += [note if observers == 1 else f"{name}: {note}" for note in told]
    return tuple(dict.fromkeys(notes))
