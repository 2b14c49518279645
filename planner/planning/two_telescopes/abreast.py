"""Two people, each at a telescope: looks run side by side, and no target comes twice.

What both look at, to compare, is found once: the one who has it tells the other.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from planner.planning.scheduling.candidates import Candidates, Order
from planner.planning.scheduling.pace import FINDING_NEAR_MIN, SHOWN_SHARE
from planner.planning.scheduling.scheduler import order_looks
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

# The one who is told begins while the other one looks, or so soon after it that both still talk of
# it (our choice) [min].
AFTER_MIN = 5.0
# The gaps of looks that had to go are filled so often.
REFILLS = 3

Orders = tuple[Order, Order]


def look_abreast(stations: Stations, owned: Things) -> Arrangement:
    """Put the looks of two observers in order.

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
    orders = _best_orders(stations)
    for number, order in enumerate(orders):
        station = stations.each[number]
        stations = stations.with_station(number, station.for_slots(order.slots))
    sequences = orders[0].rows, orders[1].rows
    plain = settled(_Player(sequences, -1, ()), stations, owned)
    for _ in range(REFILLS):
        if not plain.dropped:
            break
        filled = _refilled(plain, owned)
        if filled.worth <= plain.worth:
            break
        plain = filled
    stations = plain.stations
    sequences = _sequence(plain, 0), _sequence(plain, 1)
    alone = [_alone(stations, number, owned) for number in (0, 1)]
    most = max([plain, *alone], key=lambda one: one.worth)
    with_both = _with_comparisons(stations, sequences, plain, owned)
    least = max(LEAST_OF_PLAIN * plain.worth, *(one.worth for one in alone))
    return with_both if with_both.worth >= least else most


def _refilled(found: Arrangement, owned: Things) -> Arrangement:
    """Put the looks in order anew without those for which there was no train."""
    stations, sequences = found.stations, [_sequence(found, 0), _sequence(found, 1)]
    for number, station in enumerate(stations.each):
        gone = [row for which, row in found.dropped if which == number]
        if gone:
            taken = stations.each[1 - number].taken_by(sequences[1 - number])
            order = _order(station, np.append(taken, gone).astype(np.intp))
            stations = stations.with_station(number, station.for_slots(order.slots))
            sequences[number] = order.rows
    filled = settled(_Player((sequences[0], sequences[1]), -1, ()), stations, owned)
    return replace(filled, dropped=filled.dropped | found.dropped)


def _sequence(found: Arrangement, which: int) -> Codes:
    return np.array([entry.slot.row for entry in found.of_station(which)], dtype=np.intp)


def _alone(stations: Stations, which: int, owned: Things) -> Arrangement:
    """Return what one of the telescopes shows while the other one is not used."""
    order = order_looks(stations.each[which].candidates, stations.each[which].session)
    sequences = [np.zeros(0, dtype=np.intp), np.zeros(0, dtype=np.intp)]
    sequences[which] = order.rows
    return settled(_Player((sequences[0], sequences[1]), -1, ()), stations, owned)


def _with_comparisons(
    stations: Stations, sequences: tuple[Codes, Codes], plain: Arrangement, owned: Things
) -> Arrangement:
    """Let one observer share looks of the other; the same where none teaches."""
    lead, compared = _comparisons(stations, plain, owned)
    if not compared:
        return plain
    told, rows = 1 - lead, [*sequences]
    free = _but_for(stations.each[told], stations.each[lead].taken_by(rows[lead]))
    free = _with_compared(stations, free, lead, compared, plain)
    rows[told] = order_looks(free, stations.each[told].session).rows
    return settled(_Player((rows[0], rows[1]), lead, compared), stations, owned)


def _best_orders(stations: Stations) -> Orders:
    """Divide the targets: each telescope takes its own first, or one chooses before the other."""
    one, other = stations.each
    mine = np.flatnonzero(one.best >= other.best)
    theirs = np.flatnonzero(one.best < other.best)
    divided = _order(one, theirs), _order(other, mine)
    tried = [_in_turn(stations, divided, 0), _in_turn(stations, divided, 1)]
    for first in (0, 1):
        free = _order(stations.each[first], np.zeros(0, dtype=np.intp))
        nothing = Order((), (), 0.0)
        begun = (free, nothing) if first == 0 else (nothing, free)
        tried.append(_in_turn(stations, begun, 1 - first))
    return max(tried, key=lambda orders: orders[0].worth + orders[1].worth)


def _in_turn(stations: Stations, orders: Orders, first: int) -> Orders:
    """Let each put its looks in order anew, with all that the other one leaves."""
    found = [*orders]
    for which in (first, 1 - first):
        other = stations.each[1 - which]
        anew = _order(stations.each[which], other.taken_by(found[1 - which].rows))
        if anew.worth > found[which].worth:
            found[which] = anew
    return found[0], found[1]


def _order(station: Station, taken: Codes) -> Order:
    return order_looks(_but_for(station, taken), station.session)


def _but_for(station: Station, taken: Codes) -> Candidates:
    """Return the candidates of a station, closed where the other one looks."""
    is_open = station.candidates.open.copy()
    is_open[taken] = False
    return replace(station.candidates, open=is_open)


def _comparisons(
    stations: Stations, found: Arrangement, owned: Things
) -> tuple[int, tuple[int, ...]]:
    """Choose whose looks the other one shares, and which of them."""
    chosen = [chosen_to_compare(stations, found.of_station(number), owned) for number in (0, 1)]
    lead = max((0, 1), key=lambda number: float(stations.teaches[chosen[number]].sum()))
    return lead, tuple(chosen[lead])


def _with_compared(
    stations: Stations,
    candidates: Candidates,
    lead: int,
    compared: tuple[int, ...],
    found: Arrangement,
) -> Candidates:
    """Open to the one who is told the looks that the other one shares, in their time alone."""
    station, other = stations.each[lead], stations.each[1 - lead]
    quality, is_open = candidates.quality.copy(), candidates.open.copy()
    finding_min = candidates.finding_min.copy()
    usual_min = other.session.finding_min or 0.0
    minutes = np.arange(is_open.shape[1]) * other.session.step_min
    spans = {entry.slot.row: entry for entry in found.of_station(lead)}
    for row in compared:
        if row not in spans:
            is_open[row] = False
            continue
        slot = spans[row].slot
        dwell_min = float(candidates.dwell_min[row])
        until = slot.start_min + AFTER_MIN + dwell_min + other.session.step_min
        near = (minutes >= slot.start_min) & (minutes <= until)
        is_open[row] = other.candidates.open[row] & near
        quality[row] = COMPARING_GAIN * np.maximum(
            station.candidates.quality[row], other.candidates.quality[row]
        )
        alone_min = finding_min[row] if np.isfinite(finding_min[row]) else usual_min
        finding_min[row] = max(SHOWN_SHARE * alone_min, min(alone_min, FINDING_NEAR_MIN))
    return replace(candidates, quality=quality, open=is_open, finding_min=finding_min)


@frozen
class _Player:
    """Plays two sequences of looks side by side; see `arrangement.Player`.

    ``lead`` is the telescope whose looks at ``compared`` rows the other one shares.
    """

    sequences: tuple[Codes, Codes]
    lead: int
    compared: tuple[int, ...]

    def __call__(self, stations: Stations, dropped: frozenset[tuple[int, int]]) -> Arrangement:
        found = Arrangement(stations, (), (), 0.0)
        first = max(self.lead, 0)
        for number in (first, 1 - first):
            station = stations.each[number]
            candidates = station.candidates
            if number != self.lead and self.compared:
                candidates = _with_compared(stations, candidates, self.lead, self.compared, found)
            own = [r for r in self.sequences[number].tolist() if (number, r) not in dropped]
            rows = np.array(own, dtype=np.intp)
            found = _joined(found, number, timed(candidates, station.session, rows))
        both = {e.slot.row for e in found.of_station(0)} & {e.slot.row for e in found.of_station(1)}
        entries = [replace(e, compared=e.slot.row in both) for e in found.entries]
        entries.sort(key=lambda entry: (entry.slot.start_min, entry.station))
        return replace(found, entries=tuple(entries))


def _joined(found: Arrangement, number: int, order: Order) -> Arrangement:
    entries: list[Entry] = [entry_of(number, slot) for slot in order.slots]
    breaks = [(number, start, end) for start, end in order.breaks]
    return replace(
        found,
        entries=(*found.entries, *entries),
        breaks=(*found.breaks, *breaks),
        worth=found.worth + order.worth,
    )
