"""Says what a forecast makes of a session."""

from __future__ import annotations

from datetime import UTC, datetime

import numpy as np

from planner.model.forecast import DEW_LIKELY, LEAST_CLEAR_SHARE, Forecast, session_steps
from planner.model.site import Site
from planner.output.words import clock
from targets.arrays import Flags, Floats, runs_of

FULL_TRUST = 0.995


def forecast_words(forecast: Forecast, start: datetime, end: datetime, site: Site) -> str:
    """Say how much of a session a forecast has clear, when dew comes, and how far it is trusted.

    Returns
    -------
    str
        A sentence or two.
    """
    times = session_steps(start, end)
    if not forecast.covers(start, end):
        return f"The forecast ({forecast.source}) says nothing of the sky in this session."
    words = f"Forecast ({forecast.source}): clear for {forecast.mean_share(start, end):.0%}"
    shut = _spans(forecast.clear_at(times) < LEAST_CLEAR_SHARE, times, site)
    words += f" of the session, cloud {shut}" if shut else " of the session"
    dew = np.flatnonzero(np.nan_to_num(forecast.dew_at(times)) >= DEW_LIKELY)
    if dew.size:
        words += f"; dew likely from {clock(_instant(times[dew[0]]), site)}"
    return f"{words}. {_trust_words(forecast, times)}"


def _trust_words(forecast: Forecast, times: Floats) -> str:
    if forecast.issued is None:
        return "It does not say when it was made, and is taken at its word."
    trust = float(forecast.trust_at(times).mean())
    lead_h = max((times.mean() - forecast.issued.timestamp()) / 3600.0, 0.0)
    made = f"Made {lead_h:.0f} h before, it counts"
    if trust >= FULL_TRUST:
        return f"{made} in full."
    return f"{made} for {trust:.0%}; the rest is taken as even odds."


def _spans(flags: Flags, times: Floats, site: Site) -> str:
    return ", ".join(
        f"{clock(_instant(times[first]), site)}-{clock(_instant(times[last - 1]), site)}"
        for first, last in runs_of(flags)
    )


def _instant(unix_s: float) -> datetime:
    return datetime.fromtimestamp(float(unix_s), UTC)
