"""Where Jupiter's Great Red Spot was, as the observer's configuration says: it drifts."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta

from targets.frozen import frozen

DAYS_PER_MONTH = 365.25 / 12.0


@frozen
class RedSpot:
    """A dated longitude.

    Parameters
    ----------
    longitude_deg : float
        System II [deg].
    on : date
        When that was measured.
    drift_deg_per_month : float
        How the longitude grows [deg per month].
    """

    longitude_deg: float
    on: date
    drift_deg_per_month: float = 0.0

    def longitude_at(self, instant: datetime) -> float:
        """Return the longitude it should have at an instant (aware) [deg], 0 .. 360."""
        return (self.longitude_deg + self.drift_deg_per_month * self.age_months(instant)) % 360.0

    def age_months(self, instant: datetime) -> float:
        """Return how long ago it was measured [months]."""
        measured = datetime.combine(self.on, time(), tzinfo=UTC)
        return (instant - measured) / timedelta(days=DAYS_PER_MONTH)
