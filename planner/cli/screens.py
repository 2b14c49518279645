"""Opens the screens from the command line, without the planner knowing any of them."""

from __future__ import annotations

import importlib
from dataclasses import replace
from pathlib import Path
from typing import Any

from planner.cli.result import Result, say
from planner.model.errors import Faults
from planner.request.arguments import read_date
from planner.request.options import Common, Surroundings

# By name only: screens know the planner, and the planner knows no screen.
SCREENS = "tui.start"


def open_screens(common: Common, data: str | None, surroundings: Surroundings) -> Result:
    """Open the night at the telescope; where a terminal cannot show it, plan it as text.

    Parameters
    ----------
    common : Common
        Texts behind the options; format and output are of no meaning.
    data : str or None
        Another data folder.
    surroundings : Surroundings

    Raises
    ------
    InputError, SettingsError, NothingToPlanError, DatabaseError
        When an option is wrong, or there is nothing that could be opened.
    """
    faults = Faults()
    evening = faults.attempt(read_date, common.date)
    faults.check()
    if data is not None:
        surroundings = replace(surroundings, data=Path(data))
    screens: Any = importlib.import_module(SCREENS)
    reason = screens.why_not_here()
    if reason is not None:
        return _plain(reason, common, surroundings)
    request = screens.Request(surroundings, common.config, common.site, common.telescope, evening)
    screens.open_screens(request)
    return Result("")


def _plain(reason: str, common: Common, surroundings: Surroundings) -> Result:
    """Say why there are no screens, and give the plan as text."""
    from planner.cli.plan import PlanTexts, plan_command  # noqa: PLC0415  # slow to load
    from planner.request.options import Tonight  # noqa: PLC0415

    say(f"{reason} Here is the plan as text.")
    return plan_command(common, PlanTexts(), Tonight(), surroundings)
