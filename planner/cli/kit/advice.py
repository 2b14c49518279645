"""``fieldstop kit try``, ``barrels``, ``start`` and ``kit --year``: advice on buying."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from planner.advice.barrels import compare_barrels
from planner.advice.candidate import try_candidate, uses_of
from planner.advice.starter_set import start_set
from planner.advice.year import year_of_looks
from planner.advice.year_targets import targets_of_year
from planner.cli.kit.candidates import read_candidates
from planner.cli.kit.options import (
    BarrelsOptions,
    KitOptions,
    StartOptions,
    TryOptions,
    YearOptions,
)
from planner.cli.result import Result, takes_dots
from planner.config.settings import Settings
from planner.ephemeris.kernel import Ephemeris, OutsideEphemerisError, load_ephemeris
from planner.model.errors import Faults, InputError
from planner.output.contracts.advice import barrels_json, start_json, trials_json, uses_json
from planner.output.contracts.writing import json_text
from planner.output.text.advice import (
    YearHeading,
    barrels_text,
    trials_text,
    uses_lines,
)
from planner.output.text.fields import gain_drawings
from planner.output.text.starter_set import start_text
from planner.request.circumstances import night_of, occasion_of
from planner.request.options import Readings, Surroundings, journal_file, open_settings
from planner.request.target_selection import chosen_rows
from planner.request.user_targets import stock_for_night


@dataclass(frozen=True, slots=True)
class Prepared:
    """A year for one observer, and what a sheet needs beside it."""

    settings: Settings
    frame: YearHeading
    ephemeris: Ephemeris
    talk: tuple[str, ...]


def try_command(asked: TryOptions, surroundings: Surroundings, faults: Faults) -> Result:
    """Judge candidates by a year.

    Raises
    ------
    UserError
        With a sentence for everything that is wrong.
    NothingToPlanError
        When the year shows nothing.
    """
    wanted = asked.year
    settings, _ = open_settings(wanted.config, surroundings)
    parts = faults.attempt(read_candidates, asked.candidates, settings.kit)
    faults.check()
    prepared = prepare(wanted, surroundings)
    frame = prepared.frame
    trials = sorted(
        (try_candidate(frame.year, frame.circumstances, settings.kit, part) for part in parts),
        key=lambda trial: -trial.gain_share,
    )
    if wanted.format == "json":
        return Result(json_text(trials_json(trials, frame)), wanted.output, prepared.talk)
    if wanted.format == "html":
        from planner.output.pages.advice import trials_html  # noqa: PLC0415  # slow to load

        text = trials_html(trials, frame, settings.kit, prepared.ephemeris, views=asked.fields)
        return Result(text, wanted.output, prepared.talk)
    drawings = gain_drawings(
        trials[0].gains[: asked.fields],
        frame.circumstances,
        prepared.ephemeris,
        frame.site,
        unicode=takes_dots(wanted.output, has_dots=surroundings.has_dots),
    )
    return Result(trials_text(trials, frame, drawings), wanted.output, prepared.talk)


def barrels_command(asked: BarrelsOptions, surroundings: Surroundings) -> Result:
    """Compare the barrels; faults as in `try_command`."""
    wanted = asked.year
    prepared = prepare(wanted, surroundings)
    frame = prepared.frame
    barrels = compare_barrels(frame.year, frame.circumstances, prepared.settings.kit)
    if wanted.format == "json":
        return Result(json_text(barrels_json(barrels, frame)), wanted.output, prepared.talk)
    if wanted.format == "html":
        from planner.output.pages.advice import barrels_html  # noqa: PLC0415  # slow to load

        return Result(barrels_html(barrels, frame), wanted.output, prepared.talk)
    return Result(barrels_text(barrels, frame), wanted.output, prepared.talk)


def start_command(asked: StartOptions, surroundings: Surroundings) -> Result:
    """Choose a set from nothing; faults as in `try_command`."""
    wanted = asked.year
    prepared = prepare(wanted, surroundings)
    frame = prepared.frame
    start = start_set(
        frame.year,
        frame.circumstances,
        prepared.settings.kit,
        count=asked.count,
        barlow=asked.barlow,
    )
    if wanted.format == "json":
        text = json_text(start_json(start, frame, barlow=asked.barlow))
    else:
        text = start_text(start, frame, barlow=asked.barlow)
    return Result(text, wanted.output, prepared.talk)


def year_of_uses(asked: KitOptions, surroundings: Surroundings) -> tuple[list[str], dict[str, Any]]:
    """Say what each eyepiece of the kit is for in a year, as lines and as JSON."""
    wanted = YearOptions(config=asked.config, site=asked.site, telescope=asked.telescope)
    prepared = prepare(wanted, surroundings)
    frame = prepared.frame
    uses = uses_of(frame.year, frame.circumstances, prepared.settings.kit)
    return uses_lines(uses, frame), uses_json(uses, frame)


def prepare(wanted: YearOptions, surroundings: Surroundings) -> Prepared:
    """Gather the year of looks."""
    settings, talk = open_settings(wanted.config, surroundings)
    occasion = occasion_of(
        settings, site=wanted.site, telescope=wanted.telescope, readings=Readings()
    )
    ephemeris, site = load_ephemeris(), occasion.site
    data = journal_file(wanted.data, surroundings).parent
    night = night_of(ephemeris, site, evening=wanted.first, now=surroundings.now)
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
            rows=(
                targets_of_year(stock.catalogue, site, occasion.circumstances)
                if rows is None
                else rows
            ),
            first=night.date,
        )
    except OutsideEphemerisError as error:
        raise InputError([f"{error} Give an earlier --date; a year must fit."]) from None
    frame = YearHeading(site, occasion.circumstances, year, night.date)
    return Prepared(settings, frame, ephemeris, (*talk, *stock.remarks))
