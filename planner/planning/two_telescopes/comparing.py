"""Which targets are looked at through both telescopes: few, and where it teaches."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

import numpy as np

from planner.planning.two_telescopes.arrangement import Entry
from planner.planning.two_telescopes.parts_in_use import Things, free_columns, things_left
from planner.planning.two_telescopes.station import Stations

# Comparisons a night, and those that teach the same (our choice).
MOST_COMPARED, MOST_ALIKE = 3, 2
# What a look through both is worth against one through the better; and what a plan with comparisons
# has to be worth against one without, for comparing is what one takes two telescopes out for (our
# choice).
COMPARING_GAIN, LEAST_OF_PLAIN = 1.2, 0.92


def chosen_to_compare(stations: Stations, entries: Sequence[Entry], owned: Things) -> list[int]:
    """Choose looks whose targets are worth seeing through the other telescope too.

    Parameters
    ----------
    stations : Stations
    entries : sequence of Entry
        The looks of a plan without comparisons.
    owned : Things
        What is in the box: both telescopes need a train at the same time.

    Returns
    -------
    list of int
        Rows of targets, those that teach most first.
    """
    able = [
        entry
        for entry in entries
        if stations.teaches[entry.slot.row] > 0.0 and _is_possible(stations, entry, owned)
    ]
    able.sort(key=lambda entry: -stations.teaches[entry.slot.row])
    rows: list[int] = []
    alike = Counter[int]()
    for entry in able:
        row = entry.slot.row
        lesson = int(stations.lesson[row])
        if len(rows) < MOST_COMPARED and alike[lesson] < MOST_ALIKE:
            rows.append(row)
            alike[lesson] += 1
    return rows


def _is_possible(stations: Stations, entry: Entry, owned: Things) -> bool:
    """Whether the other telescope can be pointed there in that hour, with a train of its own."""
    station, other = stations.each[entry.station], stations.each[1 - entry.station]
    row, step_min = entry.slot.row, station.session.step_min
    steps = slice(
        int(entry.slot.start_min // step_min), int(np.ceil(entry.slot.end_min / step_min)) + 1
    )
    if not other.candidates.open[row, steps].all():
        return False
    train = station.circumstances.table.trains[int(station.columns[row])]
    return bool(free_columns(other.circumstances.table, things_left(owned, [train])).any())
