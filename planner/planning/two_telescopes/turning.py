"""One observer who turns from one telescope to the other: looks alternate, none at a time."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from planner.planning.scheduling.candidates import Candidates, Order, Session, Slot
from planner.planning.scheduling.pace import SHOWN_SHARE, TURN_MIN
from planner.planning.scheduling.scheduler import order_looks, play
from planner.planning.two_telescopes.arrangement import Arrangement, Entry, entry_of, settled, timed
from planner.planning.two_telescopes.comparing import (
    COMPARING_GAIN,
    LEAST_OF_PLAIN,
    chosen_to_compare,
)
from planner.planning.two_telescopes.parts_in_use import Things
from planner.planning.two_telescopes.station import Station, Stations
from targets.arrays import Codes
from targets.frozen import frozen

# The second of two looks at one target is so long against the usual one (our choice).
COMPARED_SHARE = 0.6
# A target goes to the other telescope where its look is worth so many times as much there: turning
# takes time, so that fewer turns may be better. Both are tried.
LEAST_GAINS = (1.0, 1.15)


@frozen
class Comparison:
    """A target that is looked at in one telescope and then in the other: minutes of each part."""

    first: int
    first_min: float
    between_min: float
    second_min: float

    @property
    def minutes(self) -> float:
        """All of it, with the way back to the first telescope."""
        return self.first_min + self.between_min + self.second_min + TURN_MIN


def turn_between(stations: Stations, owned: Things) -> Arrangement:
    """Put the looks of one observer in order, each in the telescope that shows its target better.

    Parameters
    ----------
    stations : Stations
    owned : Things
        What is in the box.

    Returns
    -------
    Arrangement
        Worth no less than the better of the two telescopes alone.
    """
    count = len(stations.lesson)
    alone = [_arranged(stations, np.full(count, which, dtype=np.intp), owned) for which in (0, 1)]
    base = max((0, 1), key=lambda which: alone[which].found.worth)
    most = alone[base]
    here, there = stations.each[base].best, stations.each[1 - base].best
    mixed = [
        _arranged(stations, np.where(there > least * here, 1 - base, base), owned)
        for least in LEAST_GAINS
    ]
    best = max(mixed, key=lambda one: one.found.worth)
    with_both = _with_comparisons(best, owned)
    if with_both.worth >= max(most.found.worth, LEAST_OF_PLAIN * best.found.worth):
        return with_both
    return max(most, best, key=lambda one: one.found.worth).found


@frozen
class _Divided:
    """Looks at targets of which each has its telescope, by ``which``; ``order`` as first found."""

    which: Codes
    stations: Stations
    order: Order
    found: Arrangement


def _arranged(stations: Stations, which: Codes, owned: Things) -> _Divided:
    session = _session(stations)
    rows = order_looks(_joint(stations, which, {}), session).rows
    played = play(_joint(stations, which, {}), session, rows)
    for number, station in enumerate(stations.each):
        slots = [slot for slot in played.slots if which[slot.row] == number]
        stations = stations.with_station(number, station.for_slots(slots))
    candidates = _joint(stations, which, {})
    kept, anew = play(candidates, session, rows), order_looks(candidates, session)
    best = kept if kept.worth >= anew.worth else anew
    found = settled(_Player(which, best.rows, {}), stations, owned)
    return _Divided(which, stations, best, found)


def _with_comparisons(divided: _Divided, owned: Things) -> Arrangement:
    """Put looks through both telescopes into a plan; the same where none teaches."""
    stations, which = divided.stations, divided.which
    compared = _comparisons(stations, which, divided.order, owned)
    if not compared:
        return divided.found
    session = _session(stations)
    limit = session.most_looks
    fewer = session if limit is None else replace(session, most_looks=limit - len(compared))
    rows = order_looks(_joint(stations, which, compared), fewer).rows
    compared = {row: one for row, one in compared.items() if row in rows}
    if not compared:
        return divided.found
    return settled(_Player(which, rows, compared), stations, owned)


@frozen
class _Player:
    """Plays a sequence of looks through both telescopes; see `arrangement.Player`."""

    which: Codes
    rows: Codes
    compared: Mapping[int, Comparison]

    def __call__(self, stations: Stations, dropped: frozenset[tuple[int, int]]) -> Arrangement:
        # Of what is compared, the look at one telescope may go; of all else, the whole look.
        compared = {
            row: one for row, one in self.compared.items() if not dropped & {(0, row), (1, row)}
        }
        rows = [
            row
            for row in self.rows.tolist()
            if row in self.compared or (int(self.which[row]), row) not in dropped
        ]
        candidates = _joint(stations, self.which, compared)
        order = timed(candidates, _session(stations), np.array(rows, dtype=np.intp))
        entries: list[Entry] = []
        for slot in order.slots:
            entries += _split(slot, compared.get(slot.row), int(self.which[slot.row]))
        breaks = tuple((-1, start, end) for start, end in order.breaks)
        return Arrangement(stations, tuple(entries), breaks, order.worth)


def _split(slot: Slot, comparison: Comparison | None, which: int) -> list[Entry]:
    """Return the looks of a slot; those of a comparison hold their things to its end."""
    if comparison is None:
        return [entry_of(which, slot)]
    first = replace(slot, end_min=slot.start_min + comparison.first_min)
    begin = first.end_min + comparison.between_min
    second = Slot(slot.row, begin, begin + comparison.second_min, comparison.between_min)
    held = slot.start_min, slot.end_min
    return [
        Entry(comparison.first, first, held, compared=True),
        Entry(1 - comparison.first, second, held, compared=True),
    ]


def _comparisons(
    stations: Stations, which: Codes, order: Order, owned: Things
) -> dict[int, Comparison]:
    """Choose what to look at through both, the one with the wider field first: it finds."""
    fields = [one.circumstances.table.true_field_arcmin.max() for one in stations.each]
    first = int(np.argmax(fields))
    entries = [entry_of(int(which[slot.row]), slot) for slot in order.slots]
    limit = stations.each[0].session.most_looks
    found = {}
    for row in chosen_to_compare(stations, entries, owned):
        dwell_min = float(stations.each[first].candidates.dwell_min[row])
        second = stations.each[1 - first]
        finding_min = float(second.candidates.finding_min[row])
        if math.isnan(finding_min):
            finding_min = float(second.session.finding_min or 0.0)
        between = TURN_MIN + max(SHOWN_SHARE * finding_min, min(finding_min, 1.0))
        found[row] = Comparison(
            first, dwell_min, float(math.ceil(between)), float(round(COMPARED_SHARE * dwell_min))
        )
    return found if limit is None else dict(list(found.items())[: limit // 2])


def _session(stations: Stations) -> Session:
    one, other = stations.each
    return replace(one.session, beside=(other.session,))


def _joint(stations: Stations, which: Codes, compared: Mapping[int, Comparison]) -> Candidates:
    """Return the targets, each in its telescope, as candidates for one observer."""
    one, other = stations.each
    which = which.copy()
    which[list(compared)] = [comparison.first for comparison in compared.values()]
    rows = np.flatnonzero(which == 1)
    joint = one.candidates.with_rows(rows, other.candidates.of_rows(rows))
    joint = _with_codes(joint, stations.each, which)
    quality, is_open = joint.quality.copy(), joint.open.copy()
    dwell_min, high_power = joint.dwell_min.copy(), joint.high_power.copy()
    for row, comparison in compared.items():
        quality[row] = COMPARING_GAIN * np.maximum(
            *(s.candidates.quality[row] for s in stations.each)
        )
        is_open[row] = np.logical_and(*(s.candidates.open[row] for s in stations.each))
        high_power[row] = any(s.candidates.high_power[row] for s in stations.each)
        dwell_min[row] = comparison.minutes
    return replace(joint, quality=quality, open=is_open, dwell_min=dwell_min, high_power=high_power)


def _with_codes(joint: Candidates, each: tuple[Station, Station], which: Codes) -> Candidates:
    """Say in which telescope each is, and what is in the focuser in codes that hold for both.

    An eyepiece always counts as changed when the observer turns: it has to be carried over, or
    another one is looked through.
    """
    trains = [
        each[number].circumstances.table.trains[int(each[number].columns[row])]
        for row, number in enumerate(which.tolist())
    ]
    eyepieces = [
        f"{number} {train.eyepiece.name}"
        for number, train in zip(which.tolist(), trains, strict=True)
    ]
    return replace(
        joint,
        telescope=which,
        eyepiece=_coded(eyepieces),
        barrel=_coded([train.eyepiece.barrel for train in trains]),
        amplifier=_coded([train.amplifier.name if train.amplifier else "" for train in trains]),
        filter=_coded([train.filter.name if train.filter else "" for train in trains]),
    )


def _coded(names: Sequence[str]) -> Codes:
    return np.unique(np.array(names, dtype=np.str_), return_inverse=True)[1]
