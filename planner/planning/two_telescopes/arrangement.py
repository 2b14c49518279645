"""Looks through two telescopes with their times, and who gives way where both want one thing."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import field, replace
from typing import Protocol

import numpy as np

from planner.model.kit import Train
from planner.planning.candidates import best_trains
from planner.planning.scheduling.candidates import Candidates, Order, Session, Slot
from planner.planning.scheduling.scheduler import let_wait, play
from planner.planning.two_telescopes.parts_in_use import Things, free_columns, missing, things_left
from planner.planning.two_telescopes.station import Stations
from targets.arrays import Codes, Flags
from targets.frozen import frozen

# To take a thing out of one focuser, carry it over, put it in and focus (common practice) [min].
HANDOVER_MIN = 2.0
# A train so much worse than the best one, but for how well it shows, is none (our choice): nobody
# looks at a planet at low power because the other eyepiece is away. What is compared may have it.
LEAST_SHARE = 0.5
# Trains are exchanged so often at most; after that the lesser of two looks goes.
ROUNDS = 8


@frozen
class Entry:
    """A look through one of the two telescopes.

    Its things are in the focuser between ``held`` [min after the session's start]. ``compared``
    looks are at one target through both telescopes.
    """

    station: int
    slot: Slot
    held: tuple[float, float]
    compared: bool = False

    @property
    def place(self) -> tuple[int, int]:
        """Its telescope, and its target."""
        return self.station, self.slot.row

    @property
    def middle_min(self) -> float:
        """Its middle [min]."""
        return (self.slot.start_min + self.slot.end_min) / 2.0


@frozen
class Arrangement:
    """All looks in order of time, and the breaks of each observer.

    ``breaks`` are a telescope, start and end [min]; ``barred`` tells what each look would have
    taken, had it not been in the other telescope, by its place; ``dropped`` are looks for which
    there was nothing else.
    """

    stations: Stations
    entries: tuple[Entry, ...]
    breaks: tuple[tuple[int, float, float], ...]
    worth: float
    barred: dict[tuple[int, int], tuple[str, ...]] = field(default_factory=dict)
    dropped: frozenset[tuple[int, int]] = frozenset()

    def of_station(self, which: int) -> tuple[Entry, ...]:
        """Return the looks through one of the telescopes."""
        return tuple(entry for entry in self.entries if entry.station == which)

    def train(self, entry: Entry) -> Train:
        """Return the train of a look."""
        station = self.stations.each[entry.station]
        return station.circumstances.table.trains[int(station.columns[entry.slot.row])]

    def beside(self, entry: Entry, span: tuple[float, float] | None = None) -> tuple[Entry, ...]:
        """Return the looks through the other telescope that hold their things at the same time."""
        start, end = entry.held if span is None else span
        return tuple(
            other
            for other in self.entries
            if other.station != entry.station and other.held[0] < end and start < other.held[1]
        )


class Player(Protocol):
    """Keeps the time of looks that are in order, but for those that are dropped."""

    def __call__(self, stations: Stations, dropped: frozenset[tuple[int, int]]) -> Arrangement:
        """Return the looks with their times."""
        ...


def entry_of(station: int, slot: Slot, *, compared: bool = False) -> Entry:
    """Return a look whose things are put in just before it."""
    held = slot.start_min - min(HANDOVER_MIN, slot.way_min), slot.end_min
    return Entry(station, slot, held, compared)


def timed(candidates: Candidates, session: Session, rows: Codes) -> Order:
    """Return looks in a given sequence with their times; those that do not fit drop out."""
    part = candidates.of_rows(rows)
    order = let_wait(part, session, play(part, session, np.arange(len(rows))))
    slots = tuple(replace(slot, row=int(rows[slot.row])) for slot in order.slots)
    return Order(slots, order.breaks, order.worth)


def settled(player: Player, stations: Stations, owned: Things) -> Arrangement:
    """Give the next best train to looks whose things are in the other telescope.

    Of two looks that want one thing at a time, that one gives way which loses less, and of two that
    compare a target that which is not what comparing is for; the lesser of them is left out where
    neither can.

    Parameters
    ----------
    player : Player
    stations : Stations
    owned : Things
        What is in the box.
    """
    dropped, barred = set[tuple[int, int]](), dict[tuple[int, int], set[str]]()
    for turn in range(2 * ROUNDS):
        found = player(stations, frozenset(dropped))
        clashes = list(clashes_of(found, owned))
        if not clashes:
            found = _bettered(player, found, owned, barred, frozenset(dropped))
            told = {place: tuple(sorted(names)) for place, names in barred.items()}
            return replace(found, barred=told, dropped=frozenset(dropped))
        stations, lost = _gave_way(found, clashes, owned, barred, most=turn < ROUNDS)
        dropped |= lost
    # Without one of the telescopes there is nothing to share.
    dropped |= {entry.place for entry in found.of_station(1)}
    return player(stations, frozenset(dropped))


def _bettered(
    player: Player,
    found: Arrangement,
    owned: Things,
    barred: dict[tuple[int, int], set[str]],
    dropped: frozenset[tuple[int, int]],
) -> Arrangement:
    """Give looks that gave way what is free after all, now that the others have their trains."""
    stations = found.stations
    for which in (0, 1):
        entries = [entry for entry in found.of_station(which) if entry.place in barred]
        if entries:
            rows = np.array([entry.slot.row for entry in entries], dtype=np.intp)
            steps = np.array([_step(found, entry) for entry in entries], dtype=np.intp)
            free = np.stack([_loss(found, entry, owned, {})[1] for entry in entries])
            station = stations.each[which].with_trains(rows, steps, free)
            stations = stations.with_station(which, station)
    anew = player(stations, dropped)
    return anew if anew.worth >= found.worth and not list(clashes_of(anew, owned)) else found


def clashes_of(found: Arrangement, owned: Things) -> Iterable[tuple[Entry, Entry]]:
    """Return pairs of looks that want more of a thing at one time than there is."""
    for entry in found.of_station(0):
        for other in found.beside(entry):
            left = things_left(owned, [found.train(other)])
            if missing(found.train(entry), left):
                yield entry, other


def _gave_way(
    found: Arrangement,
    clashes: Sequence[tuple[Entry, Entry]],
    owned: Things,
    barred: dict[tuple[int, int], set[str]],
    *,
    most: bool,
) -> tuple[Stations, set[tuple[int, int]]]:
    """Exchange trains of one look of each pair; return what cannot be helped, too."""
    dropped = set[tuple[int, int]]()
    moved: list[dict[int, tuple[int, Flags]]] = [{}, {}]
    touched = set[tuple[int, int]]()
    for pair in clashes:
        if touched & {entry.place for entry in pair}:
            continue  # its clash may be over; if not, the next round tells
        keeps = _keeps(found, pair)
        least = LEAST_SHARE if keeps is None else 0.0
        losses = [_loss(found, entry, owned, barred, least) for entry in pair]
        cheap = min((0, 1), key=lambda k: losses[k][0])
        if keeps is not None and np.isfinite(losses[1 - keeps][0]):
            cheap = 1 - keeps
        entry, other = pair[cheap], pair[1 - cheap]
        touched |= {entry.place, other.place}
        loss, free = losses[cheap]
        if not np.isfinite(loss) or not most:
            dropped.add(min(pair, key=lambda one: _worth(found, one)).place)
            continue
        left = things_left(owned, [found.train(other)])
        barred.setdefault(entry.place, set()).update(missing(found.train(entry), left))
        moved[entry.station][entry.slot.row] = _step(found, entry), free
    stations = found.stations
    for which, changes in enumerate(moved):
        if changes:
            rows = np.array(list(changes), dtype=np.intp)
            steps = np.array([step for step, _ in changes.values()], dtype=np.intp)
            free = np.stack([flags for _, flags in changes.values()])
            stations = stations.with_station(
                which, stations.each[which].with_trains(rows, steps, free)
            )
    return stations, dropped


def _keeps(found: Arrangement, pair: tuple[Entry, Entry]) -> int | None:
    """Which of two looks at one target keeps its train: that which shows what comparing is for."""
    if not pair[0].compared or pair[0].slot.row != pair[1].slot.row:
        return None
    return int(pair[1].station == found.stations.shown_by[pair[0].slot.row])


def _loss(
    found: Arrangement,
    entry: Entry,
    owned: Things,
    barred: dict[tuple[int, int], set[str]],
    least_share: float = 0.0,
) -> tuple[float, Flags]:
    """Return what a look loses by the best train that it can have, and which it can have, (K,).

    It loses all where the best that it can have falls below the least share.
    """
    station = found.stations.each[entry.station]
    table = station.circumstances.table
    left = things_left(owned, [found.train(other) for other in found.beside(entry)])
    for name in barred.get(entry.place, ()):
        for kind in ("eyepiece", "amplifier", "filter"):
            left[kind, name] = 0
    free = free_columns(table, left)
    if not free.any():
        return np.inf, free
    # Once with every train, once with those that are free.
    row, step = np.full(2, entry.slot.row), np.full(2, _step(found, entry))
    each = np.stack([np.ones(len(table), dtype=bool), free])
    _, (best, next_best) = best_trains(station.roster, station.circumstances, row, step, free=each)
    share = float(next_best / max(best, 1e-9))
    return (_worth(found, entry) * (1.0 - share) if share >= least_share else np.inf), free


def _step(found: Arrangement, entry: Entry) -> int:
    station = found.stations.each[entry.station]
    last = int(station.candidates.open.shape[1]) - 1
    return min(round(entry.middle_min / station.session.step_min), last)


def _worth(found: Arrangement, entry: Entry) -> float:
    quality = found.stations.each[entry.station].candidates.quality
    return float(quality[entry.slot.row, _step(found, entry)])
