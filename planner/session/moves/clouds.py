"""The moves of a session that tell of cloud."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from planner.output.words import clock
from planner.session.cloud_sectors import ALL_SKY, find_sector, part_words, without_sector
from planner.session.moves.moving import Acted, Moved, moved
from planner.session.night import SurveyedNight
from planner.session.state import Closure, CloudKind, SessionState
from planner.session.words import cloud_words

# What is lost behind thin cloud and behind haze [mag] when the observer names no other figure
# (common practice).
LOSS_MAG = {CloudKind.SOLID: 0.0, CloudKind.THIN: 1.0, CloudKind.HAZE: 0.4}
MOST_LOSS_MAG = 6.0


def cloud_here(
    night: SurveyedNight,
    state: SessionState,
    now: datetime,
    *,
    direction: str = ALL_SKY,
    band: str = ALL_SKY,
    kind: CloudKind = CloudKind.SOLID,
    until: datetime | None = None,
    loss_mag: float | None = None,
) -> Moved:
    """Close a part of the sky, or dim it.

    Parameters
    ----------
    direction, band : str
        Names in ``planner.session.cloud_sectors``; all of the sky when not given.
    kind : CloudKind
        Solid cloud closes; thin cloud and haze dim.
    until : datetime, optional
        Aware; until further notice when not given.
    loss_mag : float, optional
        What thin cloud or haze takes [mag].
    """

    def act(state: SessionState) -> Acted:
        loss = LOSS_MAG[kind] if loss_mag is None else loss_mag
        sector = find_sector(direction, band)
        if isinstance(sector, str):
            return None, (sector,)
        if not 0.0 <= loss <= MOST_LOSS_MAG:
            return None, (f"A loss of {loss:g} mag cannot be; allowed is 0 to {MOST_LOSS_MAG:g}.",)
        if until is not None and until <= state.clock:
            site = night.night.site
            at = f"{clock(until, site)}: it is {clock(state.clock, site)} already"
            return None, (f"The cloud cannot go at {at}.",)
        closure = Closure(*sector, kind=kind, loss_mag=loss, since=state.clock, until=until)
        # The same part told of again: what is known now counts.
        kept = tuple(old for old in state.closures if not _same(old, closure))
        words = f"{kind.value.capitalize()} cloud: {cloud_words(night, closure)}"
        words = words.replace("Haze cloud", "Haze")
        return replace(state, closures=(*kept, closure)), (words,)

    return moved(night, state, now, act)


def cleared(
    night: SurveyedNight,
    state: SessionState,
    now: datetime,
    *,
    direction: str = ALL_SKY,
    band: str = ALL_SKY,
) -> Moved:
    """Open a part of the sky that cloud had closed or dimmed; all of it when none is named."""

    def act(state: SessionState) -> Acted:
        sector = find_sector(direction, band)
        if isinstance(sector, str):
            return None, (sector,)
        parts = [without_sector(old, sector) for old in state.closures]
        kept = tuple(part for of_one in parts for part in of_one)
        if kept == state.closures:
            standing = "; ".join(cloud_words(night, old) for old in state.closures)
            return None, (f"No cloud is known there. Known: {standing or 'none'}.",)
        told = "" if direction == band == ALL_SKY else f": {part_words(sector)}"
        return replace(state, closures=kept), (f"Cleared{told}",)

    return moved(night, state, now, act)


def _part(closure: Closure) -> tuple[float, float, float, float]:
    return (
        closure.azimuth_from_deg,
        closure.azimuth_to_deg,
        closure.altitude_low_deg,
        closure.altitude_high_deg,
    )


def _same(old: Closure, new: Closure) -> bool:
    return _part(old) == _part(new)
