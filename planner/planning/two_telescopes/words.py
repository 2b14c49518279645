"""What a look through one of two telescopes has to do with the other one, in words."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

from planner.matcher.globular_stars import stars_shown
from planner.model.plan import Look, Together
from planner.planning.two_telescopes.arrangement import Arrangement, Entry
from planner.planning.two_telescopes.parts_in_use import things_of
from planner.planning.two_telescopes.showing import Lesson

Made = Sequence[tuple[Entry, Look]]


def told_of(arranged: Arrangement, made: Made) -> list[Together]:
    """Say of each look what it shares with the other telescope.

    Parameters
    ----------
    arranged : Arrangement
    made : sequence of (Entry, Look)
        All looks in order of time.
    """
    return [
        Together(
            compares=_compares(arranged, entry, look, made),
            found_in=_found_in(entry, made),
            elsewhere=_elsewhere(arranged, entry, made),
            brought=_brought(arranged, entry, look, made),
        )
        for entry, look in made
    ]


def _partner(entry: Entry, made: Made) -> tuple[Entry, Look] | None:
    """Return the look at the same target through the other telescope."""
    if not entry.compared:
        return None
    return next(
        (pair for pair in made if pair[0].slot.row == entry.slot.row and pair[0] is not entry), None
    )


def _compares(arranged: Arrangement, entry: Entry, look: Look, made: Made) -> str:
    """Say what the same target teaches through both."""
    partner = _partner(entry, made)
    if partner is None:
        return ""
    stations = arranged.stations
    looks = {entry.station: look, partner[0].station: partner[1]}
    shown_by = int(stations.shown_by[entry.slot.row])
    better, worse = looks[shown_by].view, looks[1 - shown_by].view
    names = better.train.telescope.name, worse.train.telescope.name
    larger = worse.train.magnification / better.train.magnification
    lesson = Lesson(int(stations.lesson[entry.slot.row]))
    if lesson is Lesson.FIELD and larger > 1.0:
        whole = "whole" if better.fits and worse.fits is False else "more around it"
        return f"{whole} in {names[0]}, {larger:.1f} times larger in {names[1]}"
    if lesson is Lesson.PAIR:
        return f"split in {names[0]}, not or hardly in {names[1]}"
    if lesson is Lesson.STARS:
        # 1 where a globular cluster shows its stars, -1 where it stays a glow.
        glows = stars_shown(look.target.magnitude or 0.0, worse.star_limit_mag or 0.0) < 0
        less = f"a glow in {names[1]}" if glows else f"fewer of them in {names[1]}"
        return f"its stars show in {names[0]}, {less}"
    if better.grade is not worse.grade:
        return f"{better.grade} in {names[0]}, {worse.grade} in {names[1]}"
    return f"brighter in {names[0]}"


def _found_in(entry: Entry, made: Made) -> str:
    """Name the telescope in which the target was found before."""
    partner = _partner(entry, made)
    if partner is None or partner[0].slot.start_min > entry.slot.start_min:
        return ""
    if partner[0].slot.start_min == entry.slot.start_min and partner[0].station > entry.station:
        return ""
    return partner[1].view.train.telescope.name


def _elsewhere(
    arranged: Arrangement, entry: Entry, made: Made
) -> tuple[tuple[str, str, datetime], ...]:
    """Return what this look would have taken, where that is, and until when."""
    first, look = made[0]
    origin = look.start - timedelta(minutes=first.slot.start_min)
    found = dict[str, tuple[str, str, datetime]]()
    for other in arranged.beside(entry):
        train = arranged.train(other)
        names = {name for _, name in things_of(train)}
        for name in arranged.barred.get(entry.place, ()):
            if name in names:
                until = origin + timedelta(minutes=other.held[1])
                found[name] = name, train.telescope.name, until
    return tuple(found.values())


def _brought(
    arranged: Arrangement, entry: Entry, look: Look, made: Made
) -> tuple[tuple[str, str], ...]:
    """Return what has to be taken over from the other telescope, which had it last."""
    wanted = things_of(look.view.train)
    mine = [e for e, _ in made if e.station == entry.station and e.held[1] <= entry.held[0]]
    theirs = [
        (e, one) for e, one in made if e.station != entry.station and e.held[1] <= entry.held[0]
    ]
    if not theirs:
        return ()
    last_look = theirs[-1][1]
    here = things_of(arranged.train(mine[-1])) if mine else {}
    after = [turn.view.train for turn in last_look.views] or [last_look.view.train]
    there = things_of(after[-1])
    return tuple(
        (name, last_look.view.train.telescope.name)
        for kind, name in wanted
        if there[kind, name] and not here.get((kind, name))
    )
