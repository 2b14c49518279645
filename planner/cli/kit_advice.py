"""``fieldstop kit try``, ``barrels``, ``start`` and ``kit --year``: advice from options' texts."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from planner.advice.barrels import compare_barrels
from planner.advice.candidate import try_candidate, uses_of
from planner.advice.starter_set import start_set
from planner.advice.year import Progress, year_of_looks
from planner.cli.kit_candidates import CandidateTexts, read_candidates
from planner.cli.result import Result, read_output, takes_dots
from planner.config.settings import Settings
from planner.ephemeris.kernel import Ephemeris, OutsideEphemerisError, load_ephemeris
from planner.model.errors import Faults, InputError
from planner.output.contracts.advice import barrels_json, start_json, trials_json, uses_json
from planner.output.contracts.plan import json_text
from planner.output.text.advice import (
    YearHeading,
    barrels_text,
    trials_text,
    uses_lines,
)
from planner.output.text.fields import gain_drawings
from planner.output.text.starter_set import start_text
from planner.planning.nights import showpieces
from planner.request.arguments import read_date, read_format, read_number, read_whole
from planner.request.circumstances import night_of, occasion_of
from planner.request.options import Common, Readings, Surroundings, journal_file, open_settings
from planner.request.target_selection import chosen_rows
from planner.request.user_targets import stock_for_night

MOST_EYEPIECES = 8
MOST_DRAWN = 3
BARLOW_RANGE = (1.01, 5.0)


@dataclass(frozen=True, slots=True)
class YearTexts:
    """The texts of the options that say what the year holds; None where not given."""

    list_name: str | None = None
    data: str | None = None


@dataclass(frozen=True, slots=True)
class Prepared:
    """A year for one observer, and what a sheet needs beside it."""

    settings: Settings
    frame: YearHeading
    ephemeris: Ephemeris
    talk: tuple[str, ...]


def try_command(
    common: Common,
    wanted: YearTexts,
    candidates: CandidateTexts,
    fields: str | None,
    surroundings: Surroundings,
) -> Result:
    """Judge candidates by a year.

    Raises
    ------
    InputError, SettingsError
        With a sentence for everything that is wrong with the options, or the configuration.
    NothingToPlanError
        When the year shows nothing.
    """
    faults = Faults()
    format_, output, first = _read_common(common, faults)
    drawn = faults.attempt(read_whole, "--fields", fields, low=0, high=MOST_DRAWN)
    settings, _ = open_settings(common.config, surroundings)
    parts = faults.attempt(read_candidates, candidates, settings.kit)
    faults.check()
    prepared = prepare(common, wanted, first, surroundings)
    frame = prepared.frame
    trials = sorted(
        (try_candidate(frame.year, frame.circumstances, settings.kit, part) for part in parts),
        key=lambda trial: -trial.gain_share,
    )
    if format_ == "json":
        return Result(json_text(trials_json(trials, frame)), output, prepared.talk)
    drawings = gain_drawings(
        trials[0].gains[: MOST_DRAWN if drawn is None else drawn],
        frame.circumstances,
        prepared.ephemeris,
        frame.site,
        unicode=takes_dots(output),
    )
    return Result(trials_text(trials, frame, drawings), output, prepared.talk)


def barrels_command(common: Common, wanted: YearTexts, surroundings: Surroundings) -> Result:
    """Compare the barrels; faults as in `try_command`."""
    faults = Faults()
    format_, output, first = _read_common(common, faults)
    faults.check()
    prepared = prepare(common, wanted, first, surroundings)
    frame = prepared.frame
    barrels = compare_barrels(frame.year, frame.circumstances, prepared.settings.kit)
    if format_ == "json":
        return Result(json_text(barrels_json(barrels, frame)), output, prepared.talk)
    return Result(barrels_text(barrels, frame), output, prepared.talk)


def start_command(
    common: Common,
    wanted: YearTexts,
    count: str | None,
    barlow: str | None,
    surroundings: Surroundings,
) -> Result:
    """Choose a set from nothing; faults as in `try_command`."""
    faults = Faults()
    format_, output, first = _read_common(common, faults)
    number = faults.attempt(read_whole, "--count", count, low=1, high=MOST_EYEPIECES)
    low, high = BARLOW_RANGE
    factor = faults.attempt(read_number, "--barlow", barlow, low=low, high=high)
    faults.check()
    prepared = prepare(common, wanted, first, surroundings)
    frame = prepared.frame
    start = start_set(
        frame.year,
        frame.circumstances,
        prepared.settings.kit,
        count=3 if number is None else number,
        barlow=factor,
    )
    if format_ == "json":
        text = json_text(start_json(start, frame, barlow=factor))
    else:
        text = start_text(start, frame, barlow=factor)
    return Result(text, output, prepared.talk)


def year_of_uses(common: Common, surroundings: Surroundings) -> tuple[list[str], dict[str, Any]]:
    """Say what each eyepiece of the kit is for in a year, as lines and as JSON."""
    prepared = prepare(common, YearTexts(), None, surroundings)
    frame = prepared.frame
    uses = uses_of(frame.year, frame.circumstances, prepared.settings.kit)
    return uses_lines(uses, frame), uses_json(uses, frame)


def prepare(
    common: Common, wanted: YearTexts, first: date | None, surroundings: Surroundings
) -> Prepared:
    """Gather the year of looks, with a bar on standard error where somebody sees it."""
    settings, talk = open_settings(common.config, surroundings)
    occasion = occasion_of(
        settings, site=common.site, telescope=common.telescope, readings=Readings()
    )
    ephemeris, site = load_ephemeris(), occasion.site
    data = journal_file(wanted.data, surroundings).parent
    night = night_of(ephemeris, site, evening=first, now=surroundings.now)
    stock = stock_for_night(
        data, ephemeris=ephemeris, site=site, instant=night.start, list_name=wanted.list_name
    )
    rows = chosen_rows(stock.catalogue, list_name=wanted.list_name, own_rows=stock.rows)
    try:
        year = year_of_looks(
            stock.catalogue,
            ephemeris,
            site,
            occasion.circumstances,
            rows=showpieces(stock.catalogue) if rows is None else rows,
            first=night.date,
            progress=progress_bar(),
        )
    except OutsideEphemerisError as error:
        raise InputError([f"{error} Give an earlier --date; a year must fit."]) from None
    frame = YearHeading(site, occasion.circumstances, year, night.date)
    return Prepared(settings, frame, ephemeris, (*talk, *stock.remarks))


def progress_bar() -> Progress | None:
    """Return what draws a bar on standard error; None where that is no terminal."""
    if not sys.stderr.isatty():
        return None

    def draw(done: int, whole: int) -> None:
        filled = 40 * done // whole
        end = "\r" + " " * 60 + "\r" if done == whole else ""
        sys.stderr.write(f"\rA year of nights [{'#' * filled}{'.' * (40 - filled)}]{end}")
        sys.stderr.flush()

    return draw


def _read_common(common: Common, faults: Faults) -> tuple[str, Path | None, date | None]:
    return (
        faults.attempt(read_format, common.format),
        faults.attempt(read_output, common.output),
        faults.attempt(read_date, common.date),
    )
