"""All sequences of looks through a session, as a network.

A node is a target that has just been looked at, when that look ended, and when the observer last
rested; an arc is the next look, as early as `planner.planning.scheduling.pace.Pace` lets it be.
Windows, ways, changes and breaks are exact, because the arcs have them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from planner.planning.scheduling.pace import (
    BREAK_AFTER_MIN,
    BREAK_BEFORE_END_MIN,
    BREAK_MIN,
    Looks,
    Pace,
)
from targets.arrays import Codes, Flags, Floats


@dataclass(frozen=True, slots=True)
class Network:
    """M nodes, the first is the beginning; N arcs leave each, -1 where a look does not fit.

    ``row`` (M,) is the target of each node, ``edges`` the limits of nodes with one end of the
    look, in time order. ``head`` and ``worth`` have shape (M, N).
    """

    row: Codes
    edges: list[int]
    head: NDArray[np.int32]
    worth: Floats


def build_network(pace: Pace) -> Network:
    """Follow every sequence through the session; those that meet in a node go on as one.

    Looks end on whole minutes, if they last whole minutes.
    """
    count, late = len(pace.candidates), math.ceil(pace.session.length_min)
    first = math.ceil(pace.beginning.minute)
    reached = np.zeros((late + 1, count, late + 1), dtype=bool)
    times = np.full(1, pace.beginning.minute)
    looks = _looks(pace, np.array([pace.last]), times, np.full(1, pace.beginning.rested_min))
    rows, edges = [np.array([pace.last])], [0, 1]
    codes, heads, worths = [np.array([-1])], [_heads(pace, looks, reached)], [looks.worth]
    for now in range(first + 1, late + 1):
        row, rested = np.nonzero(reached[now])
        if row.size:
            times = np.full(len(row), float(now))
            looks = _looks(pace, row, times, rested.astype(float))
            codes.append(np.ravel_multi_index((np.full(len(row), now), row, rested), reached.shape))
            heads.append(_heads(pace, looks, reached))
            worths.append(looks.worth)
            rows.append(row)
            edges.append(edges[-1] + len(row))
    code, head = np.concatenate(codes), np.concatenate(heads)
    place = np.searchsorted(code, head)
    return Network(
        row=np.concatenate(rows),
        edges=edges,
        head=np.where(head < 0, -1, place).astype(np.int32),
        worth=np.concatenate(worths),
    )


def _looks(pace: Pace, last: Codes, now_min: Floats, rested_min: Floats) -> Looks:
    """Return every look that may follow each of some looks; its worth is less the way there."""
    every = np.arange(len(pace.candidates))
    ways = pace.way_min(last[:, None], now_min[:, None], every)
    looks = pace.follow(now_min[:, None], rested_min[:, None], ways, every)
    allowed = looks.fits & ~np.isin(every, pace.done) & (last[:, None] != every)
    return replace(looks, worth=looks.worth - looks.way_worth, fits=allowed)


def _heads(pace: Pace, looks: Looks, reached: Flags) -> Codes:
    """Mark the nodes that looks lead to, and give their codes; -1 where they do not fit."""
    end = np.where(looks.fits, looks.end_min, 0.0).astype(int)
    # No break can follow any more: when the last one was does not matter.
    latest = pace.session.length_min - BREAK_MIN - BREAK_BEFORE_END_MIN
    over = looks.rested_min + BREAK_AFTER_MIN >= latest
    rested = np.where(over, pace.session.length_min, looks.rested_min).astype(int)
    node = np.broadcast_arrays(end, np.arange(end.shape[1]), rested)
    reached[tuple(part[looks.fits] for part in node)] = True
    return np.where(looks.fits, np.ravel_multi_index(node, reached.shape), -1)
