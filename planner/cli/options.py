"""The options that several commands share, and those of ``plan``, ``look`` and ``nights``."""

from __future__ import annotations

from datetime import date, datetime, time
from pathlib import Path
from typing import TYPE_CHECKING

from planner.cli.declared import Option, flag, given, group_of, repeated, words, words_or_none
from planner.cli.result import read_output
from planner.request.arguments import (
    as_text,
    number,
    one_word,
    read_date,
    read_folder,
    read_kinds,
    read_moment,
    read_when,
    whole,
)
from planner.request.options import Readings
from targets.frozen import frozen

if TYPE_CHECKING:
    from planner.planning.session_times import When
    from targets.model import Kind

CONFIG = Option("--config", "FILE", "Configuration file (TOML).", as_text)
SITE = Option("--site", "NAME", "Site; without it, the first.", as_text)
TELESCOPE = Option(
    "--telescope",
    "NAME",
    "Telescope; else the first.",
    as_text,
    elsewhere='"fieldstop plan" plans with two at once.',
)
DATE = Option("--date", "YYYY-MM-DD", "Date of the evening; else tonight.", read_date)
DATA = Option("--data", "DIR", "Folder of journal and lists; else the usual.", read_folder)


def format_of(help_: str, *names: str) -> Option[str]:
    """Return the option for one of some formats."""
    return Option("--format", "NAME", help_, one_word(*names))


FORMAT = Option("--format", "text|json", "Text, the default, or JSON.", one_word("text", "json"))
PAGE_FORMAT = format_of("text, json or html.", "text", "json", "html")
OUTPUT = Option("--output", "FILE", "A new file instead of standard output.", read_output)
WISH_LIST = Option(
    "--list", "NAME|FILE", "The wish list, as of plan; else the showpieces.", as_text
)

BEGIN = Option(
    "--from", "HH:MM|EVENT", "Start, or dark, moonset ...; else dusk, or now.", read_when
)
UNTIL = Option("--until", "HH:MM|EVENT", "End, or dawn, moonrise ...; else 4 hours on.", read_when)

SKY = Option("--sky", "MAG", "Zenith tonight, no Moon, mag/arcsec2.", number())
# What is on the scale of the seeing, the conditions themselves know.
SEEING = Option("--seeing", "I..V", "Seeing tonight, Antoniadi: I is steady.", as_text)
TRANSPARENCY = Option("--transparency", "1..5", "Tonight: 1 thick haze, 5 clear.", whole(1, 5))
EXTINCTION = Option("--extinction", "MAG", "Per air mass on a clear night.", number())

FORECAST = Option("--forecast", "FILE", "Cloud, seeing, dew by the hour: CSV or JSON.", as_text)

TARGET_HELP = "Such as M31, ngc 7000, ring nebula, Saturn."
AVERAGE_EYE = ("--average-eye", "Not the eye that the journal tells of.")
NO_LEANING = ("--no-leaning", "Take no account of what the journal teaches.")


@frozen(kw_only=True)
class Tonight(Readings):
    """What the observer finds tonight."""

    sky_mag_arcsec2: float | None = given(SKY)
    seeing: str | None = given(SEEING)
    transparency: int | None = given(TRANSPARENCY)
    extinction_mag: float | None = given(EXTINCTION)


@frozen(kw_only=True)
class ScreenOptions:
    """The options of the program without a command."""

    config: str | None = given(CONFIG)
    site: str | None = given(SITE)
    telescope: str | None = given(TELESCOPE)
    evening: date | None = given(DATE)
    data: Path | None = given(DATA)
    plain: bool = flag("--plain", "Draw with plain letters, for terminals without dots.")


@frozen(kw_only=True)
class SetupOptions:
    """The options of ``setup``."""

    config: str | None = given(CONFIG)


@frozen(kw_only=True)
class PlanOptions:
    """The options of ``plan``."""

    config: str | None = given(CONFIG)
    site: str | None = given(SITE)
    telescopes: tuple[str, ...] = repeated(
        Option("--telescope", "NAME", "Telescope; else the first. Twice: both at once.", as_text)
    )
    observers: int | None = given(
        Option("--observers", "1|2", "At two telescopes: one who turns, or two.", whole(1, 2))
    )
    evening: date | None = given(DATE)
    begin: When | None = given(BEGIN)
    until: When | None = given(UNTIL)
    count: int | None = given(
        Option("--count", "N", "Most looks; else as many as fit.", whole(1, 100))
    )
    kinds: tuple[tuple[Kind, ...], ...] = repeated(
        Option("--kind", "KIND", "Only this kind of target; may be repeated.", read_kinds)
    )
    pace: str = given(
        Option(
            "--pace",
            "calm|usual|quick",
            "How much to see tonight.",
            one_word("calm", "usual", "quick"),
        ),
        "usual",
    )
    list_name: str | None = given(
        Option("--list", "NAME|FILE", 'Only these; "targets list" names them.', as_text)
    )
    constellation: str | None = given(
        Option("--constellation", "NAME", "Only in this constellation.", as_text)
    )
    min_altitude_deg: float | None = given(
        Option("--min-altitude", "DEG", "Lowest altitude; else by kind.", number(0.0, 85.0, "deg"))
    )
    tonight: Tonight = group_of(Tonight)
    forecast: str | None = given(FORECAST)
    teach: bool = flag("--teach", "With two looks that tell most about your eye.")
    guests: int | None = given(
        Option("--guests", "N", "A sheet for so many guests, 1 to 60.", whole(1, 60))
    )
    not_seen: bool = flag("--not-seen", "Leave out what the journal has as seen.")
    no_leaning: bool = flag(*NO_LEANING)
    average_eye: bool = flag(*AVERAGE_EYE)
    data: Path | None = given(DATA)
    format: str = given(
        format_of(
            "text, json, html, csv, ecsv or ics.", "text", "json", "html", "csv", "ecsv", "ics"
        ),
        "text",
    )
    output: Path | None = given(OUTPUT)


@frozen(kw_only=True)
class LookOptions:
    """The options of ``look``."""

    target: str = words("TARGET", TARGET_HELP)
    at: time | datetime | None = given(
        Option("--at", "TIME", "HH:MM or ISO 8601; else the best moment.", read_moment)
    )
    why: str | None = given(Option("--why", "EYEPIECE", "Say why not this eyepiece.", as_text))
    how: bool = flag("--how", "Say move by move how to find it.")
    view: bool = flag("--view", "Show in shades how it will look.")
    fields: int = given(
        Option("--fields", "0..3", "How many eyepieces to draw; else 1.", whole(0, 3)), 1
    )
    config: str | None = given(CONFIG)
    site: str | None = given(SITE)
    telescope: str | None = given(TELESCOPE)
    evening: date | None = given(DATE)
    tonight: Tonight = group_of(Tonight)
    no_leaning: bool = flag(*NO_LEANING)
    average_eye: bool = flag(*AVERAGE_EYE)
    data: Path | None = given(DATA)
    format: str = given(PAGE_FORMAT, "text")
    output: Path | None = given(OUTPUT)


@frozen(kw_only=True)
class NightsOptions:
    """The options of ``nights``."""

    target: str | None = words_or_none("TARGET", "Whose best night is wanted; such as M42, Saturn.")
    count: int | None = given(
        Option("--count", "N", "How many nights, 1 to 366; else 30.", whole(1, 366))
    )
    list_name: str | None = given(WISH_LIST)
    finish: bool = flag("--finish", "The fewest nights that finish the list.")
    not_on: tuple[date, ...] = repeated(
        Option("--not-on", "YYYY-MM-DD", "Finish without this night; may be repeated.", read_date)
    )
    clear_percent: float | None = given(
        Option("--clear-chance", "PERCENT", "How often a night is clear.", number(1.0, 100.0))
    )
    begin: When | None = given(BEGIN)
    until: When | None = given(UNTIL)
    config: str | None = given(CONFIG)
    site: str | None = given(SITE)
    telescope: str | None = given(TELESCOPE)
    evening: date | None = given(DATE)
    tonight: Tonight = group_of(Tonight)
    forecast: str | None = given(FORECAST)
    data: Path | None = given(DATA)
    format: str = given(
        format_of("text or json; with --finish also html, ics.", "text", "json", "html", "ics"),
        "text",
    )
    output: Path | None = given(OUTPUT)
