"""Turns site times into instants of a night, and finds when a session begins and ends."""

from __future__ import annotations

import math
from datetime import UTC, datetime, time, timedelta
from enum import StrEnum

from planner.ephemeris.almanac import evening_date
from planner.model.errors import InputError, NothingToPlanError
from planner.model.night import Night
from planner.model.site import Site
from targets.frozen import frozen

USUAL_LENGTH = timedelta(hours=4)
LEAST_LENGTH = timedelta(minutes=15)
# Where it is dark at noon already, nobody starts then: a usual hour for an evening.
USUAL_HOUR = time(18)
ROUND_TO_S = 300
NOON = time(12)
# A time so little outside the night, from noon to noon, is a wish for the night's edge (our
# choice).
JUST_OUTSIDE = timedelta(hours=2)


class Event(StrEnum):
    """What a session can begin or end with instead of a time."""

    SUNSET = "sunset"
    DUSK = "dusk"
    DARK = "dark"
    MOONRISE = "moonrise"
    MOONSET = "moonset"
    DAWN = "dawn"
    SUNRISE = "sunrise"


When = time | Event


@frozen
class SessionTimes:
    """When the session begins and ends (UTC), and a clause that says how that was found.

    ``remarks`` are sentences on times that were asked for and could not be kept.
    """

    start: datetime
    end: datetime
    words: str
    remarks: tuple[str, ...] = ()


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


def clock_remark(night: Night, clock: When) -> str | None:
    """Say which instant is meant when a time of day comes twice that night, or not at all."""
    if isinstance(clock, Event):
        return None
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
    begin: When | None = None,
    until: When | None = None,
    now: datetime | None = None,
) -> SessionTimes:
    """Find when the session begins and ends.

    Parameters
    ----------
    begin, until : datetime.time, Event or None
        Site time as the observer gives it, or what it waits for; without it the session begins at
        dusk, and ends after four hours or at dawn. A time up to two hours outside the night is
        brought to its edge.
    now : datetime or None
        Given when the night is tonight: the session does not begin earlier.

    Raises
    ------
    InputError
        When the times asked for are in the wrong order, or less than 15 minutes apart, or when
        what is waited for does not happen that night.
    NothingToPlanError
        When the Sun does not go down, what is left of the night is too short, or nothing is left
        of it at the time asked for.
    """
    span = dusk_and_dawn(night)
    if span is None:
        raise NothingToPlanError(night.note or "The Sun does not set.")
    begin, until, remarks = _within_the_night(night, begin, until)
    start, origin = _start(night, span, begin, now)
    if until is not None:
        end = _instant(night, span, until, "--until", after=start)
    else:
        end = min(start + USUAL_LENGTH, span[1])
    _check(night, start, end, begin, until)
    return SessionTimes(start, end, _words(origin, start, end, until), remarks)


def _within_the_night(
    night: Night, begin: When | None, until: When | None
) -> tuple[When | None, When | None, tuple[str, ...]]:
    """Bring times just outside the night to its edge, with a sentence for each."""
    edge = "the night, which runs from noon to noon; the session"
    first = local_instant(night, begin) if isinstance(begin, time) else None
    last = local_instant(night, until) if isinstance(until, time) and until != NOON else None
    early = first is not None and night.end - first < JUST_OUTSIDE
    if early and (until is None or (first and last and last < first)):
        return None, until, (f"--from {begin:%H:%M} is before {edge} begins at dusk.",)
    if last is not None and last - night.start <= JUST_OUTSIDE and (first is None or first > last):
        return begin, NOON, (f"--until {until:%H:%M} is after {edge} ends at noon.",)
    return begin, until, ()


def _instant(
    night: Night,
    span: tuple[datetime, datetime],
    when: When,
    option: str,
    *,
    after: datetime | None = None,
) -> datetime:
    """Return the instant (UTC) of a time or an event; ``after`` is the start, for an end."""
    if isinstance(when, time):
        return local_instant(night, when, at_end=after is not None)
    found = {
        Event.SUNSET: night.sunset,
        Event.DUSK: span[0],
        Event.DARK: night.dark_start,
        Event.MOONRISE: night.moonrise,
        Event.MOONSET: night.moonset,
        Event.DAWN: span[1],
        Event.SUNRISE: night.sunrise,
    }[when]
    if found is None or (after is not None and found <= after):
        past = f" after {after.astimezone(night.site.zone):%H:%M}" if found and after else ""
        raise InputError([f"{option} {when}: {_ABSENT[when]} in that night{past}."])
    return found


_ABSENT = {
    Event.SUNSET: "the Sun does not set",
    Event.DUSK: "there is no dusk",
    Event.DARK: "the Sun does not sink to 18 deg below the horizon",
    Event.MOONRISE: "the Moon does not rise",
    Event.MOONSET: "the Moon does not set",
    Event.DAWN: "there is no dawn",
    Event.SUNRISE: "the Sun does not rise",
}


def _start(
    night: Night, span: tuple[datetime, datetime], begin: When | None, now: datetime | None
) -> tuple[datetime, str]:
    if begin is not None:
        instant = _instant(night, span, begin, "--from")
        return _rounded_up(instant, to_s=60), _shown(night, begin, instant)
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


def _shown(night: Night, when: When, instant: datetime) -> str:
    if isinstance(when, time):
        return f"{when:%H:%M}"
    return f"{when} at {instant.astimezone(night.site.zone):%H:%M}"


def _check(
    night: Night, start: datetime, end: datetime, begin: When | None, until: When | None
) -> None:
    if end - start >= LEAST_LENGTH:
        return
    first, last = (f"{instant.astimezone(night.site.zone):%H:%M}" for instant in (start, end))
    if begin is None and until is None:
        reason = f" {night.note}" if night.note else ""
        raise NothingToPlanError(
            f"The night is too short for a session, {first} to {last}.{reason}"
        )
    if until is None:
        raise NothingToPlanError(
            f"--from {first} leaves no quarter of an hour before dawn at {last}; "
            "give an earlier time, or --until as well."
        )
    if begin is None:
        raise NothingToPlanError(
            f"--until {last} leaves no quarter of an hour from {first}, when the session begins; "
            "give a later time, or --from as well."
        )
    backwards = (
        f"The session would run backwards, {first} to {last}: --from must come before --until. "
        "Times after midnight belong to the same night, which runs from noon to noon."
    )
    short = f"The session is too short, {first} to {last}; allowed is 15 minutes or more."
    raise InputError([backwards if start >= end else short])


def _words(origin: str, start: datetime, end: datetime, until: When | None) -> str:
    if until is not None:
        return f"from {origin} until {until if isinstance(until, Event) else f'{until:%H:%M}'}"
    if end - start < USUAL_LENGTH:
        return f"from {origin} to dawn; --from and --until change it"
    return f"4 hours from {origin}; --from and --until change it"
