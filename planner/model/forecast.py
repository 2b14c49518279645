"""What a forecast says of the nights to come: how clear, how steady, how damp."""

from __future__ import annotations

from datetime import datetime

import numpy as np

from targets.arrays import Floats
from targets.frozen import frozen

# A forecast of cloud is worth its word for a day, and tells little more than the season does
# after a week (common practice): the share that counts, linear between [h], 0 .. 1.
TRUST_HOURS, TRUST = (24.0, 168.0), (1.0, 0.2)
# What is taken where a forecast is not trusted: as likely clear as not.
UNKNOWN_SHARE = 0.5
# A chance to see below this is none (our choice).
LEAST_CLEAR_SHARE = 0.05
# A session is judged at steps of so many seconds.
STEP_S = 600.0
# Dew is likely from this risk on.
DEW_LIKELY = 0.5


@frozen(eq=False)
class Forecast:
    """A forecast by the hour; H times in order.

    Parameters
    ----------
    source : str
        The name of its file.
    unix_s : ndarray
        Seconds since 1970-01-01 UTC, (H,).
    clear_share, dew_risk : ndarray
        Part of the sky that is clear, and how likely dew is, 0 .. 1, (H,); NaN where not said.
    seeing : tuple of int or None
        Step of the Antoniadi scale, 1 (steady) .. 5, H of them.
    issued : datetime or None
        When it was made; None where it does not say.
    """

    source: str
    unix_s: Floats
    clear_share: Floats
    dew_risk: Floats
    seeing: tuple[int | None, ...]
    issued: datetime | None = None

    def trust_at(self, unix_s: Floats) -> Floats:
        """Return how much the forecast counts at some times, 0 .. 1; 1 where it has no date."""
        if self.issued is None:
            return np.ones(np.shape(unix_s))
        lead_h = (np.asarray(unix_s) - self.issued.timestamp()) / 3600.0
        return np.asarray(np.interp(lead_h, TRUST_HOURS, TRUST))

    def clear_at(self, unix_s: Floats) -> Floats:
        """Return the chance to see at some times, 0 .. 1.

        Linear between the hours of the forecast, and drawn to `UNKNOWN_SHARE` as far as it is not
        trusted; 1 where it says nothing.
        """
        share = self._between(self.clear_share, unix_s)
        trust = self.trust_at(unix_s)
        drawn = trust * share + (1.0 - trust) * UNKNOWN_SHARE
        return np.where(np.isnan(share), 1.0, drawn)

    def dew_at(self, unix_s: Floats) -> Floats:
        """Return the risk of dew at some times, 0 .. 1; NaN where nothing is said."""
        return self._between(self.dew_risk, unix_s)

    def seeing_between(self, start: datetime, end: datetime) -> int | None:
        """Return the middle one of the seeing of some hours; None where nothing is said."""
        inside = (self.unix_s >= start.timestamp()) & (self.unix_s <= end.timestamp())
        known = sorted(
            step for step, k in zip(self.seeing, inside, strict=True) if k and step is not None
        )
        return known[len(known) // 2] if known else None

    def covers(self, start: datetime, end: datetime) -> bool:
        """Whether it says something of the sky in a session."""
        return bool((~np.isnan(self._between(self.clear_share, session_steps(start, end)))).any())

    def mean_share(self, start: datetime, end: datetime) -> float:
        """Return the chance to see, on average over a session, 0 .. 1."""
        return float(self.clear_at(session_steps(start, end)).mean())

    def _between(self, values: Floats, unix_s: Floats) -> Floats:
        known = ~np.isnan(values)
        if not known.any():
            return np.full(np.shape(unix_s), np.nan)
        times = self.unix_s[known]
        found = np.interp(unix_s, times, values[known], left=np.nan, right=np.nan)
        return np.asarray(found)


def session_steps(start: datetime, end: datetime) -> Floats:
    """Return the times by which a session is judged, in seconds since 1970-01-01 UTC."""
    return np.arange(start.timestamp(), end.timestamp() + 1.0, STEP_S)
