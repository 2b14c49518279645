"""``fieldstop kit try``, ``barrels``, ``start`` and ``kit --year``: advice on buying."""

from __future__ import annotations

from typing import Any

from planner.advice.audit import KitReport
from planner.advice.barrels import compare_barrels
from planner.advice.candidate import try_candidate, uses_in
from planner.advice.duel import duel
from planner.advice.gains import Addition, gains_of
from planner.advice.market import as_usual
from planner.advice.results import JudgedCandidates, Part, YearHeading
from planner.advice.starter_set import Priced, start_set
from planner.advice.year import EVERY_DAYS, year_of_looks
from planner.advice.year_audit import most_words, year_faults
from planner.advice.year_targets import targets_of_year
from planner.cli.kit.candidates import read_candidates, read_owned
from planner.cli.kit.options import (
    BarrelsOptions,
    CandidateOptions,
    KitOptions,
    StartOptions,
    TryOptions,
    YearOptions,
)
from planner.cli.result import Result, takes_dots
from planner.config.settings import Settings
from planner.ephemeris.kernel import Ephemeris, OutsideEphemerisError, load_ephemeris
from planner.model.errors import Faults, InputError
from planner.model.kit import Barrel, Eyepiece
from planner.output.contracts.advice import barrels_json, start_json, trials_json, uses_json
from planner.output.contracts.writing import json_text
from planner.output.text.advice import barrels_text, trials_text, uses_lines
from planner.output.text.fields import gain_drawings
from planner.output.text.starter_set import start_text
from planner.request.circumstances import circumstances_of, night_of
from planner.request.journal_use import with_journal
from planner.request.options import (
    JournalWishes,
    Readings,
    Surroundings,
    journal_file,
    open_settings,
)
from planner.request.target_selection import chosen_rows
from planner.request.user_targets import stock_for_night
from targets.frozen import frozen


@frozen
class Prepared:
    """A year for one observer, and what a sheet needs beside it."""

    settings: Settings
    heading: YearHeading
    ephemeris: Ephemeris
    talk: tuple[str, ...]


def try_command(asked: TryOptions, surroundings: Surroundings, faults: Faults) -> Result:
    """Judge candidates by a year.

    Raises
    ------
    NothingToPlanError
        When the year shows nothing.
    """
    wanted = asked.year
    settings, _ = open_settings(wanted.config, surroundings)
    candidates = faults.attempt(read_candidates, asked.candidates, settings.kit)
    faults.check()
    prepared = prepare(wanted, surroundings)
    heading = prepared.heading
    spectacles = settings.observer.spectacles

    def usual(part: Part) -> Part:
        return as_usual(part, spectacles=spectacles) if isinstance(part, Eyepiece) else part

    trials = sorted(
        (
            try_candidate(heading.year, heading.circumstances, settings.kit, part)
            for part in map(usual, candidates.parts)
        ),
        key=lambda trial: -trial.gain_share,
    )
    pair = [trial.part for trial in trials if not trial.misfits]
    against = (
        duel(heading.year, heading.circumstances, settings.kit, *pair) if len(pair) == 2 else None
    )
    judged = JudgedCandidates(tuple(trials), candidates.costs, against)
    if wanted.format == "json":
        return Result(json_text(trials_json(judged, heading)), wanted.output, prepared.talk)
    if wanted.format == "html":
        from planner.output.pages.advice import trials_html  # noqa: PLC0415  # slow to load

        text = trials_html(judged, heading, settings.kit, prepared.ephemeris, views=asked.fields)
        return Result(text, wanted.output, prepared.talk)
    drawings = gain_drawings(
        trials[0].gains[: asked.fields],
        heading.circumstances,
        prepared.ephemeris,
        heading.site,
        unicode=takes_dots(wanted.output, has_dots=surroundings.has_dots),
    )
    return Result(trials_text(judged, heading, drawings), wanted.output, prepared.talk)


def barrels_command(asked: BarrelsOptions, surroundings: Surroundings) -> Result:
    """Compare the barrels; faults as in `try_command`."""
    wanted = asked.year
    prepared = prepare(wanted, surroundings)
    heading = prepared.heading
    barrels = compare_barrels(heading.year, heading.circumstances, prepared.settings.kit)
    if wanted.format == "json":
        return Result(json_text(barrels_json(barrels, heading)), wanted.output, prepared.talk)
    if wanted.format == "html":
        from planner.output.pages.advice import barrels_html  # noqa: PLC0415  # slow to load

        return Result(barrels_html(barrels, heading), wanted.output, prepared.talk)
    return Result(barrels_text(barrels, heading), wanted.output, prepared.talk)


def _priced(asked: StartOptions, settings: Settings) -> Priced | None:
    """Read what may be bought for the budget.

    Raises InputError when one of file and budget is missing, or an eyepiece has no cost.
    """
    if asked.file is None and asked.budget is None:
        return None
    if asked.file is None or asked.budget is None:
        together = (
            "--budget and --file go together: a file with [[eyepiece]] tables, each with its cost, "
            "from which to choose. Prices are yours alone; none are known here."
        )
        raise InputError([together])
    found = read_candidates(CandidateOptions(file=asked.file), settings.kit)
    eyepieces = tuple(part for part in found.parts if isinstance(part, Eyepiece))
    missing = [
        f'--file "{asked.file}": {eyepiece.name} has no cost; give cost = ..., in any currency.'
        for eyepiece in eyepieces
        if eyepiece.name not in found.costs
    ]
    if missing:
        raise InputError(missing)
    costs = tuple(found.costs[eyepiece.name] for eyepiece in eyepieces)
    return Priced(eyepieces, costs, asked.budget)


def start_command(asked: StartOptions, surroundings: Surroundings, faults: Faults) -> Result:
    """Choose a set from nothing, or beside what is there; faults as in `try_command`."""
    wanted = asked.year
    have = faults.attempt(read_owned, asked.have) if asked.have else ()
    settings, _ = open_settings(wanted.config, surroundings)
    priced = faults.attempt(_priced, asked, settings)
    telescope = faults.attempt(settings.telescope, wanted.telescope)
    faults.check()
    barrel = None if asked.barrel is None else Barrel(asked.barrel)
    for what, size in [("--barrel", barrel), *((e.name, e.barrel) for e in have)]:
        if size is not None and size not in (telescope.focuser, *telescope.adapters):
            faults.found.append(f"{what}: {telescope.name} takes no barrel of {size}.")
    if asked.count is not None and asked.count < len(have):
        faults.found.append(f"--count {asked.count} is fewer than --have names.")
    faults.check()
    prepared = prepare(wanted, surroundings)
    heading = prepared.heading
    start = start_set(
        heading.year,
        heading.circumstances,
        prepared.settings.kit,
        count=asked.count,
        barlow=asked.barlow,
        have=have,
        barrel=barrel,
        priced=priced,
    )
    if wanted.format == "json":
        text = json_text(start_json(start, heading, barlow=asked.barlow, priced=priced))
    else:
        text = start_text(start, heading, barlow=asked.barlow, priced=priced)
    return Result(text, wanted.output, prepared.talk)


@frozen
class YearOfKit:
    """What a year says of a kit: what it lacks, the most that a usual eyepiece would add, uses."""

    faults: tuple[str, ...]
    best: Addition | None
    most: str
    uses: list[str]
    content: dict[str, Any]


def year_of_kit(report: KitReport, asked: KitOptions, surroundings: Surroundings) -> YearOfKit:
    """Look over a kit by a year of looks; raises NothingToPlanError when the year shows nothing."""
    wanted = YearOptions(config=asked.config, site=asked.site, telescope=asked.telescope)
    prepared = prepare(wanted, surroundings)
    heading, kit = prepared.heading, prepared.settings.kit
    gains = gains_of(heading.year, heading.circumstances, kit)
    uses = uses_in(gains.rated, kit)
    return YearOfKit(
        faults=year_faults(report, gains, heading.circumstances, kit),
        best=gains.best(),
        most=most_words(gains),
        uses=uses_lines(uses, heading),
        content=uses_json(uses, heading),
    )


def prepare(wanted: YearOptions, surroundings: Surroundings) -> Prepared:
    """Gather the year of looks."""
    settings, talk = open_settings(wanted.config, surroundings)
    site, circumstances = circumstances_of(
        settings, site=wanted.site, telescope=wanted.telescope, readings=Readings()
    )
    circumstances, lessons = with_journal(
        circumstances, JournalWishes(wanted.data), surroundings, settings
    )
    talk += lessons
    ephemeris = load_ephemeris()
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
            circumstances,
            rows=targets_of_year(stock.catalogue, site, circumstances) if rows is None else rows,
            first=night.date,
            every_days=EVERY_DAYS,
        )
    except OutsideEphemerisError as error:
        raise InputError([f"{error} Give an earlier --date; a year must fit."]) from None
    heading = YearHeading(site, circumstances, year, night.date)
    return Prepared(settings, heading, ephemeris, (*talk, *stock.remarks))
