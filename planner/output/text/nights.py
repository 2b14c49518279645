"""Writes the coming nights as text."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from planner.model.kit import Telescope
from planner.model.night import Night
from planner.model.plan import Grade
from planner.output.night_words import grade_word
from planner.output.words import MONTHS, NOT_THERE, SUN_CAUTION, WEEKDAYS, clock
from planner.planning.outlook.best_night import (
    BestNight,
    NightOutlook,
    best_night,
    night_for_the_list,
)
from planner.planning.outlook.coming_nights import NightsAsked
from planner.planning.session_times import dusk_and_dawn
from planner.text import WIDTH, fit, text_of, wrap

COLUMN_WIDTH = 39
# Nights in the left half before the right one is begun: a screen of 24 lines then holds a month.
LEFT_NIGHTS = 15
# Within this of the greatest height on any night, the target is as high as it gets.
AS_HIGH_DEG = 1.0
# Nearer to the Moon's centre than this there is only the Moon.
THE_MOON_ITSELF_DEG = 0.1
# A column of the table has room for seven letters.
SHORT_GRADES = {Grade.VERY_HARD: "v. hard", Grade.UNLIKELY: "unlik."}

LIST_HEAD = " night      dark free Moon        list"
LIST_LEGEND = (
    "dark: hours with the Sun below -18 deg. free: those with the Moon down. Moon: lit part, r "
    "rises, s sets between dusk and dawn. list: how many are well placed for a look "
    "in the session, the Moon not up yet or not in their way."
)
TARGET_HEAD = " night      Moon alt    at  for seen"
TARGET_LEGEND = (
    "Moon: lit part. alt, at: height in degrees and time at the target's best. for: hours of "
    "window."
)


def nights_text(
    outlooks: Sequence[NightOutlook], asked: NightsAsked, *, telescope: Telescope, wishes: str
) -> str:
    """Write the coming nights, two to a line.

    Parameters
    ----------
    outlooks : sequence of NightOutlook
        One at least.
    asked : NightsAsked
        For which they were found.
    telescope : Telescope
        With which one looks.
    wishes : str
        What the wish list is called.

    Returns
    -------
    str
        Lines of at most 80 cells; 30 nights fit a screen of 24 lines as a rule. Apart from the
        user's own names plain ASCII.
    """
    night = outlooks[0].night
    count = "1 night," if len(outlooks) == 1 else f"{len(outlooks)} nights from"
    place = f"{night.site.name} ({night.site.timezone}), {telescope.name}"
    lines = [
        fit(f"{count} {_day(night.date)} {night.date.year}, {place}", WIDTH),
        *_table(outlooks, asked),
        *_no_session_lines(outlooks),
        *_forecast_lines(outlooks),
        *wrap(_list_words(outlooks, asked, wishes)),
    ]
    if asked.target is not None:
        lines += wrap(_target_words(outlooks, asked, asked.target.name))
        # The inner planets are looked at in twilight, and tempt by day.
        if asked.target.id in {"Mercury", "Venus"}:
            lines += wrap(SUN_CAUTION)
    return text_of(lines)


def _table(outlooks: Sequence[NightOutlook], asked: NightsAsked) -> list[str]:
    """Write a line a night, the later half of a long list beside the earlier one."""
    best = best_night(outlooks)
    marked = best.outlook if best else None
    row, head, legend = _target_row, TARGET_HEAD, TARGET_LEGEND
    if asked.target is None:
        marked = night_for_the_list(outlooks)
        row, head, legend = _list_row, LIST_HEAD, LIST_LEGEND
    rows = [("*" if outlook is marked else " ") + row(outlook) for outlook in outlooks]
    asterisk = "* best night. " if marked else ""
    return [*_two_columns(head, rows), *wrap(asterisk + legend)]


def _two_columns(head: str, rows: Sequence[str]) -> list[str]:
    height = max((len(rows) + 1) // 2, min(len(rows), LEFT_NIGHTS))
    left, right = [head, *rows[:height]], [head, *rows[height:]] if rows[height:] else []
    right += [""] * (len(left) - len(right))
    gap = WIDTH - 2 * COLUMN_WIDTH
    return [fit(one, COLUMN_WIDTH + gap) + other for one, other in zip(left, right, strict=True)]


def _list_row(outlook: NightOutlook) -> str:
    placed = str(outlook.well_placed) if outlook.session else NOT_THERE
    return (
        f"{_day(outlook.night.date):10} {outlook.dark_hours:4.1f} "
        f"{outlook.dark_moonless_hours:4.1f} {_lit(outlook.night)} {_moon_event(outlook.night):>6} "
        f"{placed:>4}"
    )


def _target_row(outlook: NightOutlook) -> str:
    target = outlook.target
    best = target.best if target else None
    if target is None or best is None:
        words = f"{NOT_THERE:>3} {NOT_THERE:>5} {NOT_THERE:>4} {NOT_THERE}"
    else:
        words = (
            f"{best.altitude_deg:3.0f} {clock(best.at, outlook.night.site)} "
            f"{target.window_minutes / 60.0:4.1f} "
            f"{SHORT_GRADES.get(best.grade, grade_word(best.grade))}"
        )
    return f"{_day(outlook.night.date):10} {_lit(outlook.night)} {words}"


def _day(evening: date) -> str:
    return f"{WEEKDAYS[evening.weekday()]} {evening.day:2d} {MONTHS[evening.month - 1]}"


def _lit(night: Night) -> str:
    return f"{night.moon_illuminated:4.0%}"


def _moon_event(night: Night) -> str:
    """Write the first rising or setting of the Moon between dusk and dawn: ``r21:40``."""
    dusk, dawn = dusk_and_dawn(night) or (night.start, night.end)
    events = [
        (instant, letter)
        for instant, letter in ((night.moonrise, "r"), (night.moonset, "s"))
        if instant is not None and dusk <= instant <= dawn
    ]
    if not events:
        return NOT_THERE
    instant, letter = min(events)
    return letter + clock(instant, night.site)


def _no_session_lines(outlooks: Sequence[NightOutlook]) -> list[str]:
    without = [outlook for outlook in outlooks if outlook.no_session is not None]
    if not without:
        return []
    first = without[0]
    nights = "1 night has" if len(without) == 1 else f"{len(without)} nights have"
    return wrap(f"{nights} no session. {_day(first.night.date)}: {first.no_session}")


def _forecast_lines(outlooks: Sequence[NightOutlook]) -> list[str]:
    """Say how clear the nights are of which a forecast tells."""
    told = [
        f"{_day(outlook.night.date)} {outlook.clear_share:.0%}"
        for outlook in outlooks
        if outlook.clear_share is not None
    ]
    return wrap(f"Forecast, clear in the session: {', '.join(told)}.") if told else []


def _list_words(outlooks: Sequence[NightOutlook], asked: NightsAsked, wishes: str) -> str:
    """Say which night is best for the list, and what it places; briefly beside a target."""
    begin = f"{asked.begin:%H:%M}" if asked.begin else "dusk"
    until = f"to {asked.until:%H:%M}" if asked.until else "for 4 hours at most"
    hours = f"List ({wishes}, from {begin} {until})"
    richest = night_for_the_list(outlooks)
    if richest is None:
        return f"{hours}: nothing is well placed on any night."
    words = (
        f"{hours}: {_day(richest.night.date)}, {richest.well_placed} of {richest.wish_count} "
        f"well placed"
    )
    if richest.dark_moonless_hours > 0.0:
        words += f", dark without Moon for {duration(richest.dark_moonless_hours * 60.0)}"
    if asked.target is None:
        words += f"; first of all {', '.join(target.name for target in richest.best)}"
    return f"{words}."


def _target_words(outlooks: Sequence[NightOutlook], asked: NightsAsked, name: str) -> str:
    """Say which night is best for the target and why, or that none is."""
    begin = f"{asked.begin:%H:%M}" if asked.begin else "dusk"
    until = f"{asked.until:%H:%M}" if asked.until else "dawn"
    hours = f"{name} (from {begin} to {until})"
    best = best_night(outlooks)
    if best is not None:
        return f"{hours}: {_day(best.outlook.night.date)}, {reason_words(best)}."
    first = outlooks[0]
    why = first.target.hindrance if first.target else None
    return f"{hours}: no night has a window for it. {_day(first.night.date)}: {why}."


def reason_words(chosen: BestNight) -> str:
    """Say why a night is a target's best: height, Moon, window and grade, in a clause."""
    night, best = chosen.outlook.night, chosen.best
    disc = () if best.disc_arcsec is None else (f'disc {best.disc_arcsec:.1f}"',)
    reasons = (
        _height_words(best.altitude_deg, clock(best.at, night.site), chosen.highest_deg),
        *disc,
        *(() if best.is_planet else (_moon_words(chosen),)),
        f"{duration(chosen.target.window_minutes)} of window",
        best.grade.value,
    )
    return ", ".join(reasons)


def _height_words(altitude_deg: float, at: str, highest_deg: float) -> str:
    if altitude_deg >= highest_deg - AS_HIGH_DEG:
        return f"highest ({altitude_deg:.0f} deg at {at})"
    return f"{altitude_deg:.0f} deg high at {at}"


def _moon_words(chosen: BestNight) -> str:
    lit = f"{chosen.outlook.night.moon_illuminated:.0%} lit"
    if chosen.best.moon_separation_deg < THE_MOON_ITSELF_DEG:
        return lit
    if chosen.best.moon_altitude_deg < 0.0:
        return "no Moon then"
    return f"Moon {lit} and {chosen.best.moon_separation_deg:.0f} deg away"


def duration(minutes: float) -> str:
    """Write a length of time: ``3 h 10 min``, ``45 min``."""
    hours, rest = divmod(round(minutes), 60)
    return f"{hours} h {rest:02d} min" if hours else f"{rest} min"
