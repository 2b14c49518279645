"""Says in words what a move has changed."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta

from planner.model.site import Site
from planner.output.words import clock
from planner.session.night import key_words
from planner.session.state import SessionLook, SessionState, Status

# A shift that is smaller than this is not worth a word.
TOLD_SHIFT = timedelta(minutes=3)
# More looks than this are told together.
MOST_NAMES = 3


def change_words(before: SessionState, after: SessionState, site: Site) -> tuple[str, ...]:
    """Compare two states: what is lost, what is new, what moves, what is under way.

    Parameters
    ----------
    before, after : SessionState
    site : Site
        Whose clocks are meant.

    Returns
    -------
    tuple of str
        Sentences, the losses first; empty when nothing changed for the observer.
    """
    was = {look.target_id: look for look in before.looks}
    lost, new, moved, back, put_off, cut = [], [], [], [], [], []
    for look in after.looks:
        old = was.get(look.target_id)
        if look.status is Status.LOST and (old is None or old.status is not Status.LOST):
            lost.append(look)
        elif look.status is Status.DONE and look.reason and old and not old.reason:
            cut.append(look)
        elif look.status is Status.WAITING and old is None:
            new.append(look)
        elif look.status is Status.WAITING and old and old.status is Status.NOW:
            put_off.append(look)
        elif look.status is Status.WAITING and old and old.status is not Status.WAITING:
            back.append(look)
        elif look.status is Status.WAITING and old and abs(look.start - old.start) >= TOLD_SHIFT:
            moved.append(look)
    return (
        *(f"{look.name} {look.reason}, counted as done" for look in cut),
        *_lost(lost),
        *_come(new, "new", site),
        *_come(back, "back", site),
        *_come(put_off, "put off, to be begun anew", site),
        *_moved(moved, was, site),
        *_under_way(before, after, site),
    )


def _lost(looks: Sequence[SessionLook]) -> list[str]:
    """Tell the losses, those with one reason together."""
    by_reason: dict[str, list[SessionLook]] = {}
    for look in looks:
        by_reason.setdefault(look.reason, []).append(look)
    return [f"{names_of(group)} lost: {reason}" for reason, group in by_reason.items()]


def names_of(looks: Sequence[SessionLook]) -> str:
    """Name some looks: ``M31, M33, M45 and 5 more``."""
    shown = ", ".join(look.name for look in looks[:MOST_NAMES])
    rest = len(looks) - MOST_NAMES
    return f"{shown} and {rest} more" if rest > 0 else shown


def _come(looks: Sequence[SessionLook], word: str, site: Site) -> list[str]:
    if len(looks) > MOST_NAMES:
        return [f"{names_of(looks)} {word}, the first at {clock(looks[0].start, site)}"]
    return [
        f"{look.name} {word} at {clock(look.start, site)} in the {key_words(look.train)}"
        for look in looks
    ]


def _moved(looks: Sequence[SessionLook], was: dict[str, SessionLook], site: Site) -> list[str]:
    if len(looks) > MOST_NAMES:
        first = looks[0]
        return [f"{len(looks)} looks move, the first, {first.name}, to {clock(first.start, site)}"]
    return [
        f"{look.name} moves from {clock(was[look.target_id].start, site)} to "
        f"{clock(look.start, site)}"
        for look in looks
    ]


def _under_way(before: SessionState, after: SessionState, site: Site) -> list[str]:
    look = after.now
    if look is None or (before.now and before.now.target_id == look.target_id):
        return []
    words = f"now {look.name} in the {key_words(look.train)}, until {clock(look.end, site)}"
    return [words[0].upper() + words[1:]]
