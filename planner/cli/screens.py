"""Opens the screens from the command line, without the planner knowing any of them."""

from __future__ import annotations

import importlib
from dataclasses import replace
from typing import Any

from planner.cli.bars import stop_watching
from planner.cli.options import PlanOptions, ScreenOptions
from planner.cli.result import Result, say
from planner.request.options import Surroundings

# By name only: screens know the planner, and the planner knows no screen.
SCREENS = "tui.start"


def open_screens(asked: ScreenOptions, surroundings: Surroundings) -> Result:
    """Open the night at the telescope; where a terminal cannot show it, plan it as text.

    Raises UserError or NothingToPlanError when there is nothing that could be opened.
    """
    if asked.data is not None:
        surroundings = replace(surroundings, data=asked.data)
    screens: Any = importlib.import_module(SCREENS)
    reason = screens.why_not_here()
    if reason is not None:
        return _plain(reason, asked, surroundings)
    stop_watching()
    request = screens.Request(
        surroundings, asked.config, asked.site, asked.telescope, asked.evening
    )
    screens.open_screens(request, plain=asked.plain)
    return Result("")


def _plain(reason: str, asked: ScreenOptions, surroundings: Surroundings) -> Result:
    """Say why there are no screens, and give the plan as text."""
    from planner.cli.plan import plan_command  # noqa: PLC0415  # slow to load

    say(f"{reason} Here is the plan as text.")
    named = () if asked.telescope is None else (asked.telescope,)
    wanted = PlanOptions(
        config=asked.config, site=asked.site, telescopes=named, evening=asked.evening
    )
    return plan_command(wanted, surroundings)
