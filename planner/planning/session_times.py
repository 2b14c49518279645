"""Turns site times into instants of a night, and finds when a session begins and ends."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta

from planner.ephemeris.almanac import evening_date
from planner.model.errors import Faults, InputError, NothingToPlanError
from planner.model.night import Night
from planner.model.site import Site

USUAL_LENGTH = timedelta(hours=4)
LEAST_LENGTH = timedelta(minutes=15)
# Where it is dark at noon already, nobody starts then: a usual hour for an evening.
USUAL_HOUR = time(18)
ROUND_TO_S = 300
NOON = time(12)


@dataclass(frozen=True, slots=True)
class SessionTimes:
    """When the session begins and ends (UTC), and a clause that says how that was found."""

    start: datetime
    end: datetime
    words: str


def dusk_and_dawn(night: Night) -> tuple[datetime, datetime] | None:
    """Return when one can begin and has to stop (UTC); None where the Sun does not go down."""
    return (night.dusk, night.dawn) if night.dusk and night.dawn else None


def is_over(night: Night, now: datetime) -> bool:
    """Whether too little of a night is left for a session."""
    span = dusk_and_dawn(night)
    return span is not None and span[1] - _rounded_up(now) < LEAST_LENGTH


def local_instant(night: Night, clock: time, *, at_end: bool = False) -> datetime:
    """Return the instant (UTC) at which the site's clocks show a time, from noon to noon.

    Parameters
    ----------
    night : Night
    clock : datetime.time
        After midnight it belongs to the same night.
    at_end : bool
        Whether noon means the one at which the night ends.

    Returns
    -------
    datetime
        Of a time that comes twice as the clocks go back, the first; a time that the clocks leave
        out is counted on from before the change, and so comes out that much later.
    """
    if clock == NOON and night.start.astimezone(night.site.zone).time() == NOON:
        return night.end if at_end else night.start
    days = (night.date + timedelta(days=number) for number in (-1, 0, 1))
    shown = [datetime.combine(day, clock, tzinfo=night.site.zone).astimezone(UTC) for day in days]
    return next((instant for instant in shown if instant >= night.start), shown[-1])


def clock_remark(night: Night, clock: time) -> str | None:
    """Say which instant is meant when a time of day comes twice that night, or not at all."""
    zone, instant = night.site.zone, local_instant(night, clock)
    shown = instant.astimezone(zone)
    if shown.time() != clock:
        return f"{clock:%H:%M} is left out by the clocks that night; {shown:%H:%M} is taken."
    if shown.utcoffset() != shown.replace(fold=1).utcoffset():
        return f"{clock:%H:%M} comes twice as the clocks go back that night; the first is taken."
    return None


def instant_of(moment: datetime, site: Site) -> datetime:
    """Return the instant (UTC) of a time with an offset, or without one in site time."""
    try:
        local = moment if moment.tzinfo else moment.replace(tzinfo=site.zone)
        evening_date(local, site)
        return local.astimezone(UTC)
    except (OverflowError, ValueError):
        raise InputError([f"--at {moment.isoformat()} is beyond the calendar."]) from None


def session_times(
    night: Night,
    *,
    begin: time | None = None,
    until: time | None = None,
    now: datetime | None = None,
) -> SessionTimes:
    """Find when the session begins and ends.

    Parameters
    ----------
    night : Night
    begin, until : datetime.time or None
        Site time as the observer gives it; without it the session begins at dusk, and ends after
        four hours or at dawn.
    now : datetime or None
        Given when the night is tonight: the session does not begin earlier.

    Raises
    ------
    InputError
        When the times asked for are in the wrong order, or less than 15 minutes apart.
    NothingToPlanError
        When the Sun does not go down, or what is left of the night is too short.
    """
    span = dusk_and_dawn(night)
    if span is None:
        raise NothingToPlanError(night.note or "The Sun does not set.")
    start, origin = _start(night, span, begin, now)
    if until is not None:
        end = local_instant(night, until, at_end=True)
    else:
        end = min(start + USUAL_LENGTH, span[1])
    _check(night, start, end, begin, until)
    return SessionTimes(start, end, _words(origin, start, end, until))


def _start(
    night: Night, span: tuple[datetime, datetime], begin: time | None, now: datetime | None
) -> tuple[datetime, str]:
    if begin is not None:
        return local_instant(night, begin), f"{begin:%H:%M}"
    dusk, dawn = span
    if dusk == night.start:
        evening = local_instant(night, USUAL_HOUR)
        dusk, name = (evening, "18:00") if evening < dawn else (dusk, "noon")
    else:
        name = "dusk"
    if now is not None and _rounded_up(now) > dusk:
        return _rounded_up(now), "now"
    return _rounded_up(dusk, to_s=60), name


def _rounded_up(instant: datetime, *, to_s: int = ROUND_TO_S) -> datetime:
    return datetime.fromtimestamp(math.ceil(instant.timestamp() / to_s) * to_s, UTC)


def _check(
    night: Night, start: datetime, end: datetime, begin: time | None, until: time | None
) -> None:
    if begin is None and until is None and end - start < LEAST_LENGTH:
        raise NothingToPlanError(_too_short(night, start, end))
    faults = Faults()
    zone = night.site.zone
    shown = f"{start.astimezone(zone):%H:%M} to {end.astimezone(zone):%H:%M}"
    if start >= end and until is None and begin is not None:
        faults.found.append(
            f"--from {begin:%H:%M} is not before dawn at {end.astimezone(zone):%H:%M}; "
            "give an earlier time, or --until as well."
        )
    elif start >= end:
        faults.found.append(
            f"The session would run backwards, {shown}: --from must come before --until. "
            "Times after midnight belong to the same night, which runs from noon to noon."
        )
    elif end - start < LEAST_LENGTH:
        faults.found.append(f"The session is too short, {shown}; allowed is 15 minutes or more.")
    faults.check()


def _too_short(night: Night, start: datetime, end: datetime) -> str:
    zone = night.site.zone
    dusk, dawn = f"{start.astimezone(zone):%H:%M}", f"{end.astimezone(zone):%H:%M}"
    reason = f" {night.note}" if night.note else ""
    return f"The night is too short for a session, {dusk} to {dawn}.{reason}"


def _words(origin: str, start: datetime, end: datetime, until: time | None) -> str:
    if until is not None:
        return f"from {origin} until {until:%H:%M}"
    if end - start < USUAL_LENGTH:
        return f"from {origin} to dawn; --from and --until change it"
    return f"4 hours from {origin}; --from and --until change it"
