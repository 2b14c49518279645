"""``fieldstop nights``: from the texts behind its options to the coming nights."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, time
from pathlib import Path

from planner.cli.result import Result, read_output
from planner.ephemeris.kernel import OutsideEphemerisError, load_ephemeris
from planner.model.errors import Faults, InputError
from planner.output.contracts.plan import json_text
from planner.output.text.nights import nights_json, nights_text
from planner.planning.best_night import NightOutlook, best_night, night_for_the_list
from planner.planning.nights import USUAL_COUNT, NightsAsked, coming_nights
from planner.request.arguments import read_clock, read_date, read_format, read_whole
from planner.request.circumstances import check_kit, night_of, occasion_of
from planner.request.options import (
    Common,
    Readings,
    Surroundings,
    Tonight,
    doubt_remarks,
    journal_file,
    open_settings,
    read_tonight,
)
from planner.request.target_selection import chosen_rows, target_called
from planner.request.user_targets import stock_for_night
from targets.catalogue.catalogue import load_catalogue
from targets.catalogue.joining import with_targets
from targets.model import Target

MOST_NIGHTS = 366


@dataclass(frozen=True, slots=True)
class NightsTexts:
    """The texts of ``nights`` alone; None where an option is not given."""

    target: str | None = None
    count: str | None = None
    begin: str | None = None
    until: str | None = None
    list_name: str | None = None
    data: str | None = None


@dataclass(frozen=True, slots=True)
class _Read:
    format: str
    output: Path | None
    evening: date | None
    readings: Readings
    begin: time | None
    until: time | None
    count: int | None
    target: Target | None


def nights_command(
    common: Common, texts: NightsTexts, tonight: Tonight, surroundings: Surroundings
) -> Result:
    """Look ahead through the coming nights.

    Raises
    ------
    InputError, SettingsError
        With a sentence for everything that is wrong with the options, or the configuration.
    NothingToPlanError
        When no eyepiece can be used, or the wish list is empty.
    """
    data = journal_file(texts.data, surroundings).parent
    read = _read(common, texts, tonight, data)
    settings, talk = open_settings(common.config, surroundings)
    occasion = occasion_of(
        settings, site=common.site, telescope=common.telescope, readings=read.readings
    )
    check_kit(occasion)
    ephemeris, site = load_ephemeris(), occasion.site
    first = night_of(ephemeris, site, evening=read.evening, now=surroundings.now)
    stock = stock_for_night(
        data,
        ephemeris=ephemeris,
        site=site,
        instant=first.start,
        list_name=texts.list_name,
    )
    catalogue = stock.catalogue
    if read.target is not None:
        catalogue = with_targets(catalogue, [read.target])
    asked = NightsAsked(
        first=first.date,
        count=USUAL_COUNT if read.count is None else read.count,
        rows=chosen_rows(catalogue, list_name=texts.list_name, own_rows=stock.rows),
        target=read.target,
        begin=read.begin,
        until=read.until,
        now=surroundings.now if read.evening is None else None,
    )
    try:
        outlooks = coming_nights(catalogue, ephemeris, site, occasion.circumstances, asked)
    except OutsideEphemerisError as error:
        raise InputError([f"{error} Give an earlier --date, or a smaller --count."]) from None
    telescope = occasion.circumstances.telescope
    wishes = "showpieces" if texts.list_name is None else Path(texts.list_name).name
    if read.format == "json":
        text = json_text(nights_json(outlooks, asked, telescope=telescope, wishes=wishes))
    else:
        text = nights_text(outlooks, asked, telescope=telescope, wishes=wishes)
    talk += (*doubt_remarks(settings), *stock.remarks)
    why = _why_nothing(outlooks, asked)
    return Result(text, read.output, talk if why is None else (*talk, why), 0 if why is None else 1)


def _read(common: Common, texts: NightsTexts, tonight: Tonight, data: Path) -> _Read:
    faults = Faults()
    read = _Read(
        format=faults.attempt(read_format, common.format),
        output=faults.attempt(read_output, common.output),
        evening=faults.attempt(read_date, common.date),
        readings=faults.attempt(read_tonight, tonight),
        begin=faults.attempt(read_clock, "--from", texts.begin),
        until=faults.attempt(read_clock, "--until", texts.until),
        count=faults.attempt(read_whole, "--count", texts.count, low=1, high=MOST_NIGHTS),
        target=faults.attempt(_target_asked, texts.target, data),
    )
    faults.check()
    return read


def _target_asked(name: str | None, data: Path) -> Target | None:
    return None if name is None else target_called(load_catalogue(), name, data=data)


def _why_nothing(outlooks: Sequence[NightOutlook], asked: NightsAsked) -> str | None:
    """Say why no night serves what was asked for; None when one does."""
    first = outlooks[0]
    if asked.target is not None and best_night(outlooks) is None:
        why = first.target.hindrance if first.target else None
        return f"No night has a window for {asked.target.name}; on the first: {why}."
    if asked.target is not None or night_for_the_list(outlooks) is not None:
        return None
    return f"No night places any target of the list well. {first.no_session or ''}".rstrip()
