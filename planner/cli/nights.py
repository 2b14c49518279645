"""``fieldstop nights``: from its options to the coming nights."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from planner.cli.options import NightsOptions
from planner.cli.result import Result
from planner.ephemeris.kernel import OutsideEphemerisError, load_ephemeris
from planner.model.errors import Faults, InputError
from planner.output.contracts.nights import nights_json
from planner.output.contracts.writing import json_text
from planner.output.text.nights import nights_text
from planner.planning.outlook.best_night import NightOutlook, best_night, night_for_the_list
from planner.planning.outlook.coming_nights import USUAL_COUNT, NightsAsked, coming_nights
from planner.request.circumstances import check_kit, circumstances_of, night_of, with_forecast
from planner.request.options import Surroundings, journal_file, open_settings
from planner.request.target_selection import chosen_rows, target_called
from planner.request.user_targets import stock_for_night
from targets.catalogue.catalogue import load_catalogue
from targets.catalogue.joining import with_targets
from targets.model import Target


def nights_command(asked: NightsOptions, surroundings: Surroundings, faults: Faults) -> Result:
    """Look ahead through the coming nights.

    Raises
    ------
    NothingToPlanError
        When no eyepiece can be used, or the wish list is empty.
    """
    data = journal_file(asked.data, surroundings).parent
    target = faults.attempt(_target_asked, asked.target, data)
    faults.attempt(_check_finish, asked)
    faults.check()
    settings, talk = open_settings(asked.config, surroundings)
    site, circumstances = circumstances_of(
        settings, site=asked.site, telescope=asked.telescope, readings=asked.tonight
    )
    check_kit(circumstances)
    ephemeris = load_ephemeris()
    first = night_of(ephemeris, site, evening=asked.evening, now=surroundings.now)
    span = (first.start, first.end)
    circumstances, remarks = with_forecast(
        circumstances, asked.forecast, settings, site=site, span=span, seeing_given=True
    )
    talk += remarks
    stock = stock_for_night(
        data, ephemeris=ephemeris, site=site, instant=first.start, list_name=asked.list_name
    )
    catalogue = stock.catalogue
    if target is not None:
        catalogue = with_targets(catalogue, [target])
    search = NightsAsked(
        first=first.date,
        count=USUAL_COUNT if asked.count is None else asked.count,
        rows=chosen_rows(catalogue, list_name=asked.list_name, own_rows=stock.rows),
        target=target,
        begin=asked.begin,
        until=asked.until,
        now=surroundings.now if asked.evening is None else None,
        not_on=frozenset(asked.not_on),
    )
    if asked.finish:
        from planner.cli.programme import programme_result  # noqa: PLC0415  # only when asked for

        done = programme_result(asked, search, catalogue, site, circumstances, surroundings)
        return replace(done, talk=(*talk, *stock.remarks, *done.talk))
    try:
        outlooks = coming_nights(catalogue, ephemeris, site, circumstances, search)
    except OutsideEphemerisError as error:
        raise InputError([f"{error} Give an earlier --date, or a smaller --count."]) from None
    telescope = circumstances.telescope
    wishes = "showpieces" if asked.list_name is None else Path(asked.list_name).name
    if asked.format == "json":
        text = json_text(nights_json(outlooks, search, telescope=telescope, wishes=wishes))
    else:
        text = nights_text(outlooks, search, telescope=telescope, wishes=wishes)
    talk += stock.remarks
    why = _why_nothing(outlooks, search)
    return Result(
        text, asked.output, talk if why is None else (*talk, why), 0 if why is None else 1
    )


def _check_finish(asked: NightsOptions) -> None:
    """Refuse what only a programme can do, and what it cannot."""
    if asked.finish:
        if asked.list_name is None:
            raise InputError(["--finish needs --list: a programme, a list of yours, or a file."])
        if asked.target is not None:
            raise InputError(["--finish is for a list; leave the target out."])
    elif asked.format in {"html", "ics"} or asked.not_on or asked.clear_percent is not None:
        raise InputError(["--format html and ics, --not-on and --clear-chance need --finish."])


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
