"""Writes a programme: which nights finish a list."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from datetime import date

from planner.model.site import Site
from planner.output.words import MONTHS, WEEKDAYS, clock, date_words
from planner.planning.outlook.programme import (
    LeavingSoon,
    NightsToFinish,
    ProgrammeLook,
    ProgrammeNight,
)
from planner.text import counted, text_of, wrap

# A bar of the months has room for so many letters, one for each target.
BAR_WIDTH = 60
# Fewer out of reach than this are named one by one, with the reason.
MOST_REASONS = 30
# A chance above this is as good as sure.
SURE = 0.99


def programme_text(
    programme: NightsToFinish, *, title: str, site: Site, seen: int, clear_share: float | None
) -> str:
    """Write a programme in lines of at most 80 cells.

    Parameters
    ----------
    title : str
        What the list is called.
    seen : int
        How many targets of the list the journal has as seen.
    clear_share : float or None
        The chance, 0 .. 1, that a night is clear; None to leave the weather out.
    """
    lines = wrap(summary_words(programme, title=title, site=site, seen=seen))
    for number, night in enumerate(programme.nights, start=1):
        lines += ["", *wrap(night_words(number, night, clear_share))]
        lines += wrap(looks_words(night.looks, site), first="  ", rest="  ")
    if programme.nights:
        lines += ["", "Targets by month", *_bars(programme)]
    if programme.leaving:
        lines += ["", *wrap(leaving_words(programme.leaving))]
    if programme.out_of_reach:
        lines += ["", *_out_of_reach_lines(programme)]
    if programme.nights:
        lines += ["", *wrap(ADVICE)]
    return text_of(lines)


ADVICE = (
    'For each of these nights "fieldstop plan --date DATE --list LIST --not-seen" gives the '
    "eyepieces and the order in full. When a night was lost, ask again: what the journal has as "
    "seen is left out."
)


def summary_words(programme: NightsToFinish, *, title: str, site: Site, seen: int) -> str:
    """Say how many nights finish the list."""
    count = sum(len(look.targets) for look in programme.looks)
    done = f", {seen} seen already" if seen else ""
    if not programme.nights:
        return (
            f"{title}, {site.name}{done}: no night from {day(programme.first)} on shows any of it."
        )
    nights = counted(len(programme.nights), "night")
    return (
        f"{title}, {site.name}{done}: {nights} for {counted(count, 'target')}, between "
        f"{day(programme.first)} and {day(programme.last)}, in looks of "
        f"{programme.look_minutes} minutes with what it takes to find them."
    )


def night_words(number: int, night: ProgrammeNight, clear_share: float | None) -> str:
    """Say which night, for how long, under what Moon, and which others would do."""
    site = night.night.site
    hours = f"{clock(night.session.start, site)}-{clock(night.session.end, site)}"
    words = f"{number}. {day(night.night.date)}, {hours}, {_moon_words(night)}"
    if not night.stand_ins:
        words += "; no other night holds as many"
    else:
        others = counted(len(night.stand_ins), "other night")
        words += (
            f"; {others} would do, {day(night.stand_ins[0])} to {day(night.stand_ins[-1])}"
            if len(night.stand_ins) > 1
            else f"; {day(night.stand_ins[0])} would do as well"
        )
    if clear_share is not None:
        chance = night.chance(clear_share)
        share = "over 99%" if chance > SURE else f"{chance:.0%}"
        words += f"; chance that one is clear {share}"
    return words + "."


def _moon_words(night: ProgrammeNight) -> str:
    """Say how much of the Moon is lit, and when it comes or goes in the session."""
    words = f"Moon {night.night.moon_illuminated:.0%}"
    for event, instant in (("rises", night.night.moonrise), ("sets", night.night.moonset)):
        if instant is not None and night.session.start < instant < night.session.end:
            words += f", {event} {clock(instant, night.night.site)}"
    return words


def looks_words(looks: Sequence[ProgrammeLook], site: Site) -> str:
    """Write looks in order: ``17:30 M103, 17:50 M81 and M82``."""
    return ", ".join(f"{clock(look.start, site)} {look_name(look)}" for look in looks)


def look_name(look: ProgrammeLook) -> str:
    """Name what one look shows: ``M81 Bode's Galaxy and M82 Cigar Galaxy``."""
    *before, last = [target.name for target in look.targets]
    return f"{', '.join(before)} and {last}" if before else last


def leaving_words(leaving: Sequence[LeavingSoon]) -> str:
    """Say what leaves soon, and until when it is there."""
    each = "; ".join(f"{one.target.name} until {day(one.last)}" for one in leaving)
    return f"Leaving soon, and away for some time: {each}."


def _out_of_reach_lines(programme: NightsToFinish) -> list[str]:
    reasons: dict[str, list[str]] = {}
    for one in programme.out_of_reach:
        reasons.setdefault(one.why, []).append(one.target.name)
    lines = [f"Out of reach from here ({len(programme.out_of_reach)})"]
    for why, names in list(reasons.items())[:MOST_REASONS]:
        lines += wrap(f"{', '.join(names)}: {why}", first="  ", rest="    ")
    return lines


def _bars(programme: NightsToFinish) -> list[str]:
    counts = Counter(
        (night.night.date.year, night.night.date.month)
        for night in programme.nights
        for look in night.looks
        for _ in look.targets
    )
    longest = max(counts.values())
    scale = min(1.0, BAR_WIDTH / longest)
    return [
        f"  {MONTHS[month - 1]} {year}  {'#' * max(round(count * scale), 1)} {count}"
        for (year, month), count in sorted(counts.items())
    ]


def day(evening: date) -> str:
    """Write an evening: ``Mon 28 Dec 2026``."""
    return f"{WEEKDAYS[evening.weekday()]} {date_words(evening)}"
