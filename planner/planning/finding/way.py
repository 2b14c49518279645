"""Finds the way to a goal under the sky of a moment."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from planner.model.finding import Finding, FoundBy, Step
from planner.planning.finding.goal import Goal, Place, Sky, StartingPoint
from planner.planning.finding.instruments import Instrument
from planner.planning.finding.moves import (
    LEAST_ALONE_DEG,
    aiming_min,
    last_move_min,
    move_costs_min,
    moving_min,
)
from planner.planning.finding.nodes import (
    SAME_DEG,
    START_ALONE_DEG,
    Nodes,
    nodes_around,
    stars_to_aim_at,
)
from planner.planning.finding.pointers import Pointers, best_pointers
from planner.planning.finding.shortest_path import cheapest_way
from planner.planning.finding.words import degrees_words, direction_words, end_words, length_words
from targets.arrays import Codes, Floats
from targets.frozen import frozen
from targets.sphere import angle_deg, position_angle_deg

# Stars this far from a goal are tried, and farther ones where no way begins among them [deg].
REACHES_DEG = (12.0, 30.0)
# Two bright stars that point to a goal stand no farther from it than this, and are no fainter (our
# choice).
POINTERS_REACH_DEG, FAINTEST_POINTER_MAG = 25.0, 4.5
# Minutes for what needs no hops, and to make sure of what is reached by them (our choice).
PLAIN_MIN, GOTO_MIN, CIRCLES_MIN, SURE_MIN = 1.0, 1.0, 1.5, 0.5


def find_way(goal: Goal, sky: Sky, origins: Sequence[StartingPoint] = ()) -> Finding | None:
    """Return the cheapest way to a goal; None where neither a star nor two lead there.

    Parameters
    ----------
    goal : Goal
        Above the horizon.
    origins : sequence of StartingPoint
        Targets that were looked at before.

    Notes
    -----
    A goal that is plain to the eye needs no way; nor does one that is plain in the finder together
    with a star at which one can aim. For others the cheapest sequence of moves counts, or two
    stars that point there, if that is cheaper still. `planner.planning.finding.moves` has the
    costs.
    """
    apart_deg = sky.apart_deg(goal.direction)
    if goal.plain[0] and _stands_out(goal, sky, apart_deg, START_ALONE_DEG):
        return _needs_no_way(goal, sky, FoundBy.EYE, "Plain to the naked eye.")
    line = _pointers(goal, sky, apart_deg)
    for reach_deg in REACHES_DEG:
        nodes = nodes_around(goal, sky, origins, apart_deg, reach_deg)
        if goal.plain[1] and _stands_out(goal, sky, apart_deg, LEAST_ALONE_DEG):
            beside = _beside_a_start(goal, sky, nodes)
            if beside is not None:
                return beside
        hops = _hops(goal, sky, nodes)
        if line is not None and (hops is None or line[1].minutes <= hops.minutes):
            return _by_pointers(goal, sky, *line)
        if hops is not None:
            return _by_hops(goal, nodes, hops)
    return None


def by_coordinates(goal: Goal, sky: Sky, by: FoundBy, text: str) -> Finding:
    """Return the way by coordinates: where the goal stands at the moment."""
    minutes = GOTO_MIN if by is FoundBy.GOTO else CIRCLES_MIN
    of_date_deg = sky.moment.of_date_deg(goal.direction)
    return Finding(by, None, (), *sky.stands(goal.direction), minutes, text, of_date_deg)


def _stands_out(goal: Goal, sky: Sky, apart_deg: Floats, alone_deg: float) -> bool:
    """Tell whether a goal that is a star can be told from others beside it."""
    own = int(np.argmin(apart_deg))
    if not goal.is_star or apart_deg[own] > SAME_DEG:
        return True
    return bool(sky.stars.alone_deg[own] >= alone_deg)


def _needs_no_way(goal: Goal, sky: Sky, by: FoundBy, text: str) -> Finding:
    return Finding(by, goal.point, (), *sky.stands(goal.direction), PLAIN_MIN, text)


def _beside_a_start(goal: Goal, sky: Sky, nodes: Nodes) -> Finding | None:
    """Return the way to what the finder shows plainly in one field with a star to aim at."""
    finder = sky.instruments.finder
    apart_deg = angle_deg(nodes.directions, goal.direction)
    in_view = (apart_deg <= finder.field_deg / 2.0) & (apart_deg > 0.0)
    minutes = np.where(in_view, nodes.starts_min + moving_min(apart_deg, finder), np.inf)
    if finder.magnification <= 1.0 or not np.isfinite(minutes).any():
        return None
    star = nodes.place(int(np.argmin(minutes)))
    move = _step(star, goal, sky, finder)
    text = (
        f"Plain in the {finder.name}, {degrees_words(move.separation_deg)} {move.direction} from "
        f"{star.point.name}."
    )
    return _needs_no_way(goal, sky, FoundBy.FINDER, text)


@frozen
class _Hops:
    """A way by hops: what it takes [min], its nodes, and the instrument of each move."""

    minutes: float
    nodes: tuple[int, ...]
    guides: tuple[Instrument, ...]


def _hops(goal: Goal, sky: Sky, nodes: Nodes) -> _Hops | None:
    """Return the cheapest way by hops; None where there is none."""
    if not np.isfinite(nodes.starts_min).any():
        return None
    guides, directions = sky.instruments.guides, nodes.directions
    begin, end, length_deg = _pairs_within(directions, max(guide.longest_deg for guide in guides))
    at_goal = end == len(directions) - 1
    costs = []
    for guide, spare_mag, is_plain in zip(guides, nodes.spare_mag[1:], goal.plain[1:], strict=True):
        cost = move_costs_min(length_deg, nodes.alone_deg[end], spare_mag[end], guide)
        cost[at_goal] = last_move_min(
            length_deg[at_goal],
            guide,
            is_plain=is_plain,
            field_deg=sky.instruments.eyepiece.field_deg,
        )
        costs.append(cost)
    # Who looks at a target in the eyepiece nudges there to what stands in the same field.
    is_near = length_deg <= sky.instruments.eyepiece.field_deg
    is_nudge = (begin >= len(nodes.rows)) & is_near & np.isfinite(costs[1])
    by_eyepiece = is_nudge | (costs[1] < costs[0])
    minutes, way = cheapest_way(nodes.starts_min, begin, end, np.minimum(*costs))
    if not way:
        return None
    return _Hops(
        minutes=minutes,
        nodes=(int(begin[way[0]]), *(int(end[move]) for move in way)),
        guides=tuple(guides[int(by_eyepiece[move])] for move in way),
    )


def _pairs_within(directions: Floats, longest_deg: float) -> tuple[Codes, Codes, Floats]:
    """Return from where and to where moves lead, and how long they are [deg], ``(E,)`` each."""
    near = directions @ directions.T >= np.cos(np.radians(longest_deg))
    np.fill_diagonal(near, val=False)
    begin, end = np.nonzero(near)
    return begin, end, angle_deg(directions[begin], directions[end])


def _by_hops(goal: Goal, nodes: Nodes, hops: _Hops) -> Finding:
    places = [*(nodes.place(node) for node in hops.nodes[:-1]), goal]
    steps: list[Step] = []
    for (begin, end), guide in zip(pairwise(places), hops.guides, strict=True):
        lead = "From there" if steps else f"From {begin.point.name}"
        steps.append(_step(begin, end, nodes.sky, guide, lead=lead))
    return _from(places[0], tuple(steps), nodes.sky, hops.minutes)


def _from(start: Place, steps: tuple[Step, ...], sky: Sky, minutes: float) -> Finding:
    text = f"From {start.point.name}."
    place = sky.stands(start.direction)
    return Finding(FoundBy.HOPS, start.point, steps, *place, minutes + SURE_MIN, text)


def _step(start: Place, end: Place, sky: Sky, guide: Instrument, *, lead: str = "") -> Step:
    """Return one move, in words too, which begin with ``lead``."""
    apart_deg = float(angle_deg(start.direction, end.direction))
    angle_from_north = float(position_angle_deg(end.direction, start.direction))
    turned_deg = sky.turned_deg(angle_from_north, start.direction)
    direction = direction_words(turned_deg, equatorial=sky.equatorial)
    to = end.point.name if isinstance(end, Goal) else end_words(end.point)
    text = f"{lead} {length_words(apart_deg, guide)} {direction} to {to}."
    return Step(start.point, end.point, apart_deg, angle_from_north, direction, guide.name, text)


def _pointers(goal: Goal, sky: Sky, apart_deg: Floats) -> tuple[Codes, Pointers] | None:
    """Return the rows of the stars that can point, and the best two among them."""
    among = (apart_deg <= POINTERS_REACH_DEG) & (apart_deg > SAME_DEG)
    among &= (sky.stars.alone_deg >= START_ALONE_DEG) & (
        sky.stars.magnitude <= FAINTEST_POINTER_MAG
    )
    rows, spare_mag = stars_to_aim_at(sky, among)
    finder, eyepiece = sky.instruments.guides
    best = best_pointers(
        sky.directions[rows],
        aiming_min(spare_mag, sky.stars.magnitude[rows]),
        goal.direction,
        field_deg=finder.field_deg if goal.plain[1] else eyepiece.field_deg,
    )
    return None if best is None else (rows, best)


def _by_pointers(goal: Goal, sky: Sky, rows: Codes, line: Pointers) -> Finding:
    first, second, start = (
        sky.star(int(rows[node])) for node in (line.first, line.second, line.origin)
    )
    lead = (
        f"Between {first.point.name} and {second.point.name}, {line.words}:"
        if line.is_between
        else f"On the line from {first.point.name} to {second.point.name}, {line.words}:"
    )
    step = _step(start, goal, sky, sky.instruments.finder, lead=lead)
    return _from(start, (step,), sky, line.minutes)
