"""``fieldstop nights --finish``: the fewest nights that finish a list."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np

from planner.cli.options import NightsOptions
from planner.cli.result import Result
from planner.ephemeris.kernel import OutsideEphemerisError, load_ephemeris
from planner.model.errors import InputError
from planner.model.site import Site
from planner.output.contracts.programme import programme_json
from planner.output.contracts.writing import json_text
from planner.output.text.programme import programme_text
from planner.planning.circumstances import Circumstances
from planner.planning.outlook.coming_nights import NightsAsked
from planner.planning.outlook.programme import NightsToFinish, finish_list
from planner.request.journal_use import unseen_rows
from planner.request.options import JournalWishes, Surroundings
from targets.catalogue.catalogue import Catalogue
from targets.model import Target

# Nights that are looked at without --count: a year has the season of every target.
A_YEAR = 366


def programme_result(
    asked: NightsOptions,
    search: NightsAsked,
    catalogue: Catalogue,
    site: Site,
    circumstances: Circumstances,
    surroundings: Surroundings,
) -> Result:
    """Plan how to finish a list.

    Raises
    ------
    NothingToPlanError
        When all of the list has been seen, or it is too long.
    """
    if search.rows is None or asked.list_name is None:
        raise ValueError("without a list there is nothing to finish")
    use = JournalWishes(asked.data, leaning=False, own_eye=False, not_seen=True)
    rows, _ = unseen_rows(catalogue, search.rows, use, surroundings)
    left = search.rows if rows is None else rows
    seen = tuple(catalogue.target(int(row)) for row in np.setdiff1d(search.rows, left))
    count = A_YEAR if asked.count is None else asked.count
    try:
        programme = finish_list(
            catalogue,
            load_ephemeris(),
            site,
            circumstances,
            replace(search, rows=left, count=count),
        )
    except OutsideEphemerisError as error:
        raise InputError([f"{error} Give an earlier --date, or a smaller --count."]) from None
    text = _written(programme, asked, site, seen, surroundings)
    talk = () if programme.nights else ("No night shows any target of the list.",)
    return Result(text, asked.output, talk, 0 if programme.nights else 1)


def _written(
    programme: NightsToFinish,
    asked: NightsOptions,
    site: Site,
    seen: tuple[Target, ...],
    surroundings: Surroundings,
) -> str:
    title = Path(str(asked.list_name)).name
    clear_share = None if asked.clear_percent is None else asked.clear_percent / 100.0
    if asked.format == "json":
        return json_text(
            programme_json(
                programme, title=title, site=site, seen=len(seen), clear_share=clear_share
            )
        )
    if asked.format == "ics":
        from planner.output.pages.ics import programme_ics  # noqa: PLC0415

        return programme_ics(programme, title=title, site=site, now=surroundings.now)
    if asked.format == "html":
        from planner.output.pages.programme import programme_html  # noqa: PLC0415

        return programme_html(programme, title=title, site=site, seen=seen, clear_share=clear_share)
    return programme_text(
        programme, title=title, site=site, seen=len(seen), clear_share=clear_share
    )
