"""The options of the commands under ``fieldstop journal``."""

from __future__ import annotations

from datetime import date, datetime, time
from pathlib import Path
from typing import TYPE_CHECKING

from planner.cli.declared import Option, argument, flag, given, group_of, repeated, words
from planner.cli.journal.readers import (
    TakenOut,
    read_antoniadi,
    read_one_kind,
    read_outcome,
    read_scale,
    read_sky,
    read_words,
)
from planner.cli.options import (
    CONFIG,
    DATA,
    DATE,
    FORMAT,
    OUTPUT,
    SITE,
    TARGET_HELP,
    TELESCOPE,
    format_of,
)
from planner.request.arguments import (
    as_text,
    number,
    one_word,
    read_clock,
    read_date,
    read_moment,
    whole,
)
from targets.frozen import frozen

if TYPE_CHECKING:
    from planner.journal.records import Outcome
    from targets.model import Kind

FORMS = ("oal", "csv", "json")
ID_HELP = "The first digits of it, as list shows them."
FORM = Option("--format", "oal|csv|json", "oal is OpenAstronomyLog 2.1 (XML).", one_word(*FORMS))
SEEING = Option("--seeing", "I..V", "Antoniadi: I is steady.", read_antoniadi)
TRANSPARENCY = Option("--transparency", "1..5", "1 thick haze, 5 clear.", read_scale)
PART = "If one was in."
SUCH_AS = Option("--target", "TARGET", "Such as M31, ring nebula, Saturn.", as_text)
AS_KIND = Option("--as", "KIND", "For a target that the catalogue does not know.", read_one_kind)


@frozen(kw_only=True)
class TrainOptions:
    """What was looked through, by the names of the configuration."""

    eyepiece: str | None = given(
        Option("--eyepiece", "NAME", 'A zoom with its setting: "Zoom at 12 mm".', as_text)
    )
    telescope: str | None = given(TELESCOPE)
    amplifier: str | None = given(Option("--amplifier", "NAME", PART, as_text))
    filter: str | None = given(Option("--filter", "NAME", PART, as_text))

    @property
    def is_given(self) -> bool:
        """Whether any of them is."""
        return any((self.telescope, self.eyepiece, self.amplifier, self.filter))


@frozen(kw_only=True)
class ResultOptions:
    """What came of a look, by the names of the fields of an entry."""

    outcome: Outcome | None = given(
        Option(
            "--outcome", "WORD", "seen, the default, suspected, not-seen or skipped.", read_outcome
        )
    )
    rating: int | TakenOut | None = given(
        Option("--rating", "1..5", "1 not worth it, 5 unforgettable.", read_scale)
    )
    note: str | None = given(Option("--note", "TEXT", "What you saw.", read_words))
    why_skipped: str | None = given(
        Option("--why", "TEXT", "Why it was skipped: cloud, dew, ...", read_words)
    )
    seeing: str | TakenOut | None = given(SEEING)
    transparency: int | TakenOut | None = given(TRANSPARENCY)
    planned_train: str | None = given(
        Option("--planned", "NAME", "The eyepiece that the plan had.", read_words)
    )
    planned_at: time | None = given(
        Option("--planned-at", "HH:MM", "When the plan had it.", read_clock)
    )
    sketch: str | None = given(Option("--sketch", "FILE", "Where the sketch is.", read_words))


@frozen(kw_only=True)
class AddOptions:
    """The options of ``journal add``."""

    target: str = words("TARGET", TARGET_HELP)
    train: TrainOptions = group_of(TrainOptions)
    at: time | datetime | None = given(
        Option("--at", "TIME", "HH:MM or ISO 8601; else now.", read_moment)
    )
    results: ResultOptions = group_of(ResultOptions)
    kind: Kind | None = given(AS_KIND)
    site: str | None = given(SITE)
    evening: date | None = given(DATE)
    config: str | None = given(CONFIG)
    data: Path | None = given(DATA)


@frozen(kw_only=True)
class ListOptions:
    """The options of ``journal list``."""

    since: date | None = given(Option("--since", "YYYY-MM-DD", "From that evening on.", read_date))
    target: str | None = given(SUCH_AS)
    eyepiece: str | None = given(
        Option("--eyepiece", "NAME", "Only looks with this eyepiece.", as_text)
    )
    count: int | None = given(
        Option("--count", "N", "The latest so many; else 40.", whole(1, 1_000_000))
    )
    removed: bool = flag("--removed", "Those that were removed, and when.")
    config: str | None = given(CONFIG)
    format: str = given(FORMAT, "text")
    output: Path | None = given(OUTPUT)
    data: Path | None = given(DATA)


@frozen(kw_only=True)
class ShowOptions:
    """The options of ``journal show``."""

    entry_id: str = argument("ID", ID_HELP)
    format: str = given(FORMAT, "text")
    output: Path | None = given(OUTPUT)
    data: Path | None = given(DATA)


@frozen(kw_only=True)
class EditOptions:
    """The options of ``journal edit``."""

    entry_id: str = argument("ID", ID_HELP)
    target: str | None = given(SUCH_AS)
    train: TrainOptions = group_of(TrainOptions)
    at: time | datetime | None = given(
        Option("--at", "TIME", "Another time of the same night.", read_moment)
    )
    results: ResultOptions = group_of(ResultOptions)
    kind: Kind | None = given(AS_KIND)
    config: str | None = given(CONFIG)
    data: Path | None = given(DATA)


@frozen(kw_only=True)
class EntryOptions:
    """The options of ``journal remove`` and ``restore``."""

    entry_id: str = argument("ID", ID_HELP)
    data: Path | None = given(DATA)


@frozen(kw_only=True)
class SessionOptions:
    """What holds for a whole session, by the names of its fields."""

    seeing: str | TakenOut | None = given(SEEING)
    transparency: int | TakenOut | None = given(TRANSPARENCY)
    sky_mag_arcsec2: float | None = given(
        Option("--sky", "MAG", "Zenith tonight, no Moon, mag/arcsec2.", read_sky)
    )
    faintest_star_mag: float | None = given(
        Option("--faintest", "MAG", "Faintest star seen by eye.", number(0.0, 9.0, "mag"))
    )
    weather: str | None = given(
        Option("--weather", "TEXT", "Wind, dew, temperature, cloud.", read_words)
    )
    companions: tuple[str, ...] = repeated(
        Option("--with", "NAME", "Who was there; may be repeated.", as_text)
    )
    comments: str | None = given(
        Option("--comments", "TEXT", "About the whole session.", read_words)
    )


@frozen(kw_only=True)
class NightOptions:
    """The options of ``journal night``."""

    begin: time | None = given(Option("--from", "HH:MM", "When it began, site time.", read_clock))
    until: time | None = given(Option("--until", "HH:MM", "When it ended, site time.", read_clock))
    session: SessionOptions = group_of(SessionOptions)
    site: str | None = given(SITE)
    evening: date | None = given(DATE)
    config: str | None = given(CONFIG)
    data: Path | None = given(DATA)


@frozen(kw_only=True)
class ExportOptions:
    """The options of ``journal export``."""

    form: str | None = given(FORM)
    output: Path | None = given(OUTPUT)
    data: Path | None = given(DATA)


@frozen(kw_only=True)
class ImportOptions:
    """The options of ``journal import``."""

    file: str = argument("FILE", "OpenAstronomyLog, CSV or JSON.")
    form: str | None = given(FORM)
    keep_good: bool = flag("--keep-good", "Take the good ones though others are refused.")
    data: Path | None = given(DATA)


@frozen(kw_only=True)
class ReportOptions:
    """The options of ``journal report``."""

    list_name: str = given(
        Option("--list", "NAME|FILE", "The list whose state is told; else messier.", as_text),
        "messier",
    )
    config: str | None = given(CONFIG)
    format: str = given(
        format_of("text, json, or svg: charts of your eye.", "text", "json", "svg"), "text"
    )
    output: Path | None = given(OUTPUT)
    data: Path | None = given(DATA)
