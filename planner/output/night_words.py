"""What the text sheets say of a night, of a look's views, and of how long it can wait."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

from planner.formulas.visibility_limit import naked_eye_limit_mag
from planner.model.kit import Pointing, Telescope, train_words
from planner.model.night import Night
from planner.model.plan import Grade, Look, LookView, Note, Slack, ViewRole
from planner.model.site import Site
from planner.output.words import clock, clock_and_day, double_date, item
from planner.planning.circumstances import Circumstances


def note_words(notes: Sequence[Note], site: Site) -> str:
    """Write what is on a target during a look: ``Io's shadow leaves 21:14``; empty for nothing."""
    return "; ".join(
        note.words if note.at is None else f"{note.words} {clock(note.at, site)}" for note in notes
    )


def grade_word(grade: Grade) -> str:
    """Write a grade in at most nine letters."""
    return "unknown" if grade is Grade.UNKNOWN else grade.value


def heading(night: Night, circumstances: Circumstances) -> list[str]:
    """Write the lines about night, place, eye, Sun, Moon and sky."""
    facts = heading_facts(night, circumstances)
    return [double_date(night.date), *(line for name, text in facts for line in item(name, text))]


def heading_facts(night: Night, circumstances: Circumstances) -> list[tuple[str, str]]:
    """Return the same as names and texts, without the date."""
    site, observer = night.site, circumstances.observer
    pupil = f"{circumstances.conditions.pupil_mm:.1f} mm ({observer.pupil_source})"
    facts = [
        ("Site", f"{site.name}, {_coordinates(site)}; times are {zone_words(night)}"),
        ("With", f"{telescope_words(circumstances.telescope)}; the observer's pupil is {pupil}"),
        ("Sun", _sun(night)),
        ("Moon", _moon(night)),
        ("Sky", _sky(site, circumstances)),
    ]
    if circumstances.eye is not None:
        facts.append(("Eye", circumstances.eye.words))
    return [*facts, ("Note", night.note)] if night.note else facts


def _coordinates(site: Site) -> str:
    north = "N" if site.latitude_deg >= 0.0 else "S"
    east = "E" if site.longitude_deg >= 0.0 else "W"
    return f"{abs(site.latitude_deg):.2f} {north} {abs(site.longitude_deg):.2f} {east}"


def zone_words(night: Night) -> str:
    """Name the site's zone and its offset from UTC, both offsets when the clocks change."""
    zone = night.site.zone
    evening, morning = (_offset(instant.astimezone(zone)) for instant in (night.start, night.end))
    if evening == morning:
        return f"{night.site.timezone}, {evening}"
    return f"{night.site.timezone}, {evening} in the evening, {morning} in the morning"


def _offset(local: datetime) -> str:
    minutes = round((local.utcoffset() or timedelta()).total_seconds() / 60.0)
    hours, rest = divmod(abs(minutes), 60)
    return f"UTC{'-' if minutes < 0 else '+'}{hours}" + (f":{rest:02d}" if rest else "")


def telescope_words(telescope: Telescope) -> str:
    """Name a telescope, its mount and how it is aimed."""
    driven = "driven" if telescope.driven else "moved by hand"
    aimed = {Pointing.CIRCLES: ", with setting circles", Pointing.GOTO: ", motors find the targets"}
    return f"{telescope.name}, {telescope.mount.value}, {driven}{aimed.get(telescope.pointing, '')}"


def _sun(night: Night) -> str:
    site = night.site
    steps = [
        (night.sunset, "sets"),
        (night.civil_dusk, "civil dusk"),
        (night.nautical_dusk, "nautical dusk"),
        (night.dark_start, "dark from"),
        (night.dark_end, "until"),
        (night.sunrise, "rises"),
    ]
    told = [
        f"{words} {clock(instant, site)}"
        for instant, words in steps
        if instant is not None and night.start < instant < night.end
    ]
    return ", ".join(told).replace(", until", " until") or "neither sets nor rises"


def _moon(night: Night) -> str:
    events = sorted(
        (instant, words)
        for instant, words in ((night.moonrise, "rises"), (night.moonset, "sets"))
        if instant is not None
    )
    told = [f"{words} {clock_and_day(instant, night.site)}" for instant, words in events]
    course = "up all night" if night.moon_starts_up else "down all night"
    return f"{night.moon_illuminated:.0%} lit, {', '.join(told) or course}"


def _sky(site: Site, circumstances: Circumstances) -> str:
    conditions = circumstances.conditions
    by_eye = naked_eye_limit_mag(conditions.sky_mag_arcsec2, eye_mag=conditions.eye_mag)
    usual = conditions.sky_mag_arcsec2 == site.sky_mag_arcsec2
    source = site.sky_source if usual else "tonight's reading"
    return (
        f"{conditions.sky_mag_arcsec2:.1f} mag/arcsec2 at the moonless zenith ({source}), stars to "
        f"about {by_eye:.1f} by eye; "
        f"extinction {conditions.extinction_mag:.2f} mag per air mass; seeing {conditions.seeing}"
    )


# A look that cannot wait longer than this is told to be the last chance [min].
LAST_CHANCE_MIN = 15.0
# A loss in half an hour that is worth a word.
TOLD_LOSS = 0.1


def latest_start(slack: Slack, site: Site, start: datetime) -> str:
    """Return the time until which a look can wait, ``20:37``."""
    return clock(start + timedelta(minutes=round(slack.slack_min)), site)


def turn_words(views: Sequence[LookView], *, whole: bool = False) -> str:
    """Say which views of a look come after the main one, or all of them; empty for the main alone.

    Such as ``then without the filter 2 min, then 8 mm 60 (150x) 4 min for its core``.
    """
    said = [_turn(view) for view in views if whole or view.role not in _FIRST]
    return ", ".join(said) if whole or not said else f"then {', then '.join(said)}"


_FIRST = (ViewRole.FIND, ViewRole.MAIN)


def _turn(view: LookView) -> str:
    train, minutes = view.view.train, f"{view.minutes} min"
    words = f"{train_words(train)} ({train.magnification:.0f}x)"
    if view.role is ViewRole.UNFILTERED:
        return f"without the filter {minutes}"
    detail = f" for {view.detail}" if view.detail else ""
    lead = {ViewRole.FIND: "find with ", ViewRole.MAIN: "look with "}.get(view.role, "")
    return f"{lead}{words} {minutes}{detail}"


def in_field_words(look: Look) -> str:
    """Name what else a look shows: ``in the same field: M32, M110``; empty where nothing is.

    A second target of a look is in the field of the low eyepiece, if not in that of the main one.
    """
    if not look.in_field:
        return ""
    low = "low " if any(view.role is ViewRole.BESIDE for view in look.views) else ""
    return f"in the same {low}field: {', '.join(look.in_field)}"


def slack_words(slack: Slack, site: Site, start: datetime) -> str:
    """Return a clause: ``now or never: sinks below 20 deg at 19:12``; ``can wait until 20:37``.

    What comes back in the same session is not the last chance: ``nears the zenith at 17:52, back
    at 19:15``.

    Parameters
    ----------
    site : Site
        Whose clocks are meant.
    start : datetime
        When the look begins.
    """
    spare = f"can wait until {latest_start(slack, site, start)}"
    if slack.closes is not None:
        told = f"{slack.cause} at {clock(slack.closes, site)}"
        if slack.opens_again is not None:
            told += f", back at {clock(slack.opens_again, site)}"
        urgent = slack.slack_min <= LAST_CHANCE_MIN
        if urgent and slack.opens_again is not None:
            return told
        return f"{'now or never' if urgent else spare}: {told}"
    if slack.loss >= TOLD_LOSS:
        return f"{spare}, but {slack.loss:.0%} less in half an hour"
    return spare
