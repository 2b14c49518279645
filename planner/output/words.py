"""What the text sheets share: times, directions, sizes, and the lines about a night."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta

from planner.formulas.visibility_limit import naked_eye_limit_mag
from planner.model.kit import Pointing, Telescope, train_words
from planner.model.night import Night
from planner.model.plan import Grade, LookView, Note, Slack, ViewRole
from planner.model.site import Site
from planner.planning.circumstances import Circumstances
from planner.text import fit, wrap

WIDTH = 80
LABEL_WIDTH = 9
NOT_THERE = "-"
# Between these hours of the day a reader asks which of the two days of a night is meant.
NOON_FROM_H, NOON_UNTIL_H = 10, 14
WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
POINTS = (
    "N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE",
    "S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW",
)  # fmt: skip
SUN_CAUTION = (
    "Caution: never point a telescope or finder at the Sun or near it without a filter made for "
    "that over the front; keep both capped while it is up. This is customary advice: the rules "
    "of your place come first."
)


def compass(azimuth_deg: float) -> str:
    """Write an azimuth [deg] as one of 16 points and whole degrees: ``NNW 334``."""
    degrees = round(azimuth_deg) % 360
    return f"{POINTS[round(degrees / 22.5) % 16]} {degrees:03d}"


def clock(instant: datetime | None, site: Site) -> str:
    """Write an instant as the site's time to the minute: ``21:05``; ``-`` for none.

    While the clocks show an hour twice, the zone's letters tell which: ``01:05 GMT``.
    """
    if instant is None:
        return NOT_THERE
    # Rounded before it is turned into site time: a local time does not count across a change.
    return clock_of((instant.astimezone(UTC) + timedelta(seconds=30)).astimezone(site.zone))


def clock_of(local: datetime) -> str:
    """Write a local time: ``21:05``, with its zone where that time comes twice: ``01:05 GMT``."""
    first, second = (local.replace(fold=fold).utcoffset() for fold in (0, 1))
    # In an hour that the clocks leave out these two differ as well, but the other way round.
    comes_twice = first is not None and second is not None and first > second
    return f"{local:%H:%M %Z}" if comes_twice else f"{local:%H:%M}"


def clock_and_day(instant: datetime, site: Site) -> str:
    """Write the same with the weekday where, around noon, either day of a night can be meant."""
    local = instant.astimezone(site.zone)
    if not NOON_FROM_H <= local.hour < NOON_UNTIL_H:
        return clock(instant, site)
    return f"{clock(instant, site)} {WEEKDAYS[local.weekday()]}"


def span(start: datetime, end: datetime, site: Site) -> str:
    """Write a start and an end: ``21:05-21:15``."""
    return f"{clock(start, site)}-{clock(end, site)}"


def note_words(notes: Sequence[Note], site: Site) -> str:
    """Write what is on a target during a look: ``Io's shadow leaves 21:14``; empty for nothing."""
    return "; ".join(
        note.words if note.at is None else f"{note.words} {clock(note.at, site)}" for note in notes
    )


def double_date(evening: date) -> str:
    """Write both dates of a night: ``Wed 25 / Thu 26 Nov 2026``."""
    morning = evening + timedelta(days=1)
    first = f"{WEEKDAYS[evening.weekday()]} {evening.day}"
    if evening.month != morning.month:
        first += f" {MONTHS[evening.month - 1]}"
    if evening.year != morning.year:
        first += f" {evening.year}"
    last = f"{WEEKDAYS[morning.weekday()]} {morning.day} {MONTHS[morning.month - 1]}"
    return f"{first} / {last} {morning.year}"


def arc(arcmin: float) -> str:
    """Write a size [arcmin] in the unit that suits it: ``42"``, ``9.5'``, ``104'``."""
    if arcmin < 1.0:
        return f'{arcmin * 60.0:.0f}"' if arcmin * 60.0 >= 9.95 else f'{arcmin * 60.0:.1f}"'
    return f"{arcmin:.1f}'" if arcmin < 9.95 else f"{arcmin:.0f}'"


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
        ("With", f"{_telescope(circumstances.telescope)}; the observer's pupil is {pupil}"),
        ("Sun", _sun(night)),
        ("Moon", _moon(night)),
        ("Sky", _sky(site, circumstances)),
    ]
    if circumstances.eye is not None:
        facts.append(("Eye", circumstances.eye.words))
    return [*facts, ("Note", night.note)] if night.note else facts


def item(name: str, text: str) -> list[str]:
    """Write a line of the heading, its name in a column of its own."""
    return wrap(text, width=WIDTH, first=fit(name, LABEL_WIDTH), rest=" " * LABEL_WIDTH)


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


def _telescope(telescope: Telescope) -> str:
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


def slack_words(slack: Slack, site: Site, start: datetime) -> str:
    """Return a clause: ``now or never: sinks below 20 deg at 19:12``; ``can wait until 20:37``.

    What comes back in the same session is not the last chance: ``nears the zenith at 17:52, back
    at 19:15``.

    Parameters
    ----------
    slack : Slack
        Of the look.
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
