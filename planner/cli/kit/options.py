"""The options of ``fieldstop kit`` and of the commands under it."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from planner.cli.declared import Option, flag, given, group_of, repeated
from planner.cli.options import (
    CONFIG,
    DATA,
    FORMAT,
    OUTPUT,
    PAGE_FORMAT,
    SITE,
    TELESCOPE,
    WISH_LIST,
)
from planner.request.arguments import as_text, number, one_word, read_date, whole
from targets.frozen import frozen

FIRST = Option("--date", "YYYY-MM-DD", "First night of the year; else tonight.", read_date)
BARLOW_FACTOR = number(1.01, 5.0)


@frozen(kw_only=True)
class KitOptions:
    """The options of ``kit`` itself."""

    year: bool = flag("--year", "Say what each eyepiece is for in a year of nights.")
    config: str | None = given(CONFIG)
    site: str | None = given(SITE)
    telescope: str | None = given(TELESCOPE)
    format: str = given(PAGE_FORMAT, "text")
    output: Path | None = given(OUTPUT)


@frozen(kw_only=True)
class YearOptions:
    """The options that say what a year holds, and where the advice goes."""

    list_name: str | None = given(WISH_LIST)
    config: str | None = given(CONFIG)
    site: str | None = given(SITE)
    telescope: str | None = given(TELESCOPE)
    first: date | None = given(FIRST)
    data: Path | None = given(DATA)
    format: str = given(FORMAT, "text")
    output: Path | None = given(OUTPUT)


@frozen(kw_only=True)
class PageYearOptions(YearOptions):
    """The same where there is a page too."""

    format: str = given(PAGE_FORMAT, "text")


@frozen(kw_only=True)
class CandidateOptions:
    """The options that describe candidates; the configuration's own reader judges the texts."""

    focal_length: str | None = given(
        Option("--focal-length", "MM", "Of an eyepiece; zoom: 8-20.", as_text)
    )
    apparent_field: str | None = given(
        Option("--apparent-field", "DEG", "Of it; zoom: 62-46.", as_text)
    )
    barrel: str | None = given(Option("--barrel", "SIZE", "0.965in, 1.25in, 2in or 3in.", as_text))
    field_stop: str | None = given(Option("--field-stop", "MM", "If it is known.", as_text))
    eye_relief: str | None = given(Option("--eye-relief", "MM", "If it is known.", as_text))
    mass: str | None = given(Option("--mass", "G", "If it is known.", as_text))
    name: str | None = given(Option("--name", "NAME", "To call it by.", as_text))
    barlow: str | None = given(Option("--barlow", "FACTOR", "Try a Barlow, such as 2.", as_text))
    reducer: str | None = given(
        Option("--reducer", "FACTOR", "Try a reducer, such as 0.5.", as_text)
    )
    corrector: str | None = given(
        Option("--corrector", "FACTOR", "Try a coma corrector, such as 1.1.", as_text)
    )
    filter: str | None = given(Option("--filter", "KIND", "Try a filter, such as oiii.", as_text))
    candidates: tuple[str, ...] = repeated(
        Option("--candidate", "TEXT", '"17 72 1.25in"; may be repeated.', as_text)
    )
    file: str | None = given(Option("--file", "FILE", "TOML with [[eyepiece]] and so on.", as_text))


@frozen(kw_only=True)
class TryOptions:
    """The options of ``kit try``."""

    candidates: CandidateOptions = group_of(CandidateOptions)
    fields: int = given(
        Option("--fields", "0..3", "How many targets to draw; else 3.", whole(0, 3)), 3
    )
    year: PageYearOptions = group_of(PageYearOptions)


@frozen(kw_only=True)
class BarrelsOptions:
    """The options of ``kit barrels``."""

    year: PageYearOptions = group_of(PageYearOptions)


@frozen(kw_only=True)
class StartOptions:
    """The options of ``kit start``."""

    count: int | None = given(
        Option("--count", "1..8", "How many eyepieces; else as many as it takes.", whole(1, 8))
    )
    barlow: float | None = given(
        Option("--barlow", "FACTOR", "With a Barlow, such as 2.", BARLOW_FACTOR)
    )
    have: tuple[str, ...] = repeated(
        Option("--have", "TEXT", 'What is there: "25 52"; may be repeated.', as_text)
    )
    barrel: str | None = given(
        Option("--barrel", "SIZE", "Buy in this size alone.", one_word("0.965in", "1.25in", "2in"))
    )
    file: str | None = given(
        Option("--file", "FILE", "TOML: choose among these, each with its cost.", as_text)
    )
    budget: float | None = given(
        Option("--budget", "SUM", "Spend no more than this on those of --file.", number(0.0, 1e9))
    )
    year: YearOptions = group_of(YearOptions)
