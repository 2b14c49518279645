"""The night as a value: when the Sun and Moon come and go, and when it is dark."""

from __future__ import annotations

from datetime import date, datetime

from planner.model.site import Site
from targets.frozen import frozen


@frozen
class Night:
    """One night from noon to noon by the site's clock; times are aware UTC, None for no such event.

    Parameters
    ----------
    date : date
        Of the evening.
    start, end : datetime
        The two noons.
    sunset, sunrise : datetime or None
        Upper limb on the sea-level horizon, with refraction.
    civil_dusk, civil_dawn, nautical_dusk, nautical_dawn, dark_start, dark_end : datetime or None
        Between which the Sun's centre is 6, 12 and 18 degrees below the horizon; ``start`` or
        ``end`` where it is that dark at noon, None where it never gets that dark.
    moonrise, moonset : datetime or None
        Upper limb, within the night.
    moon_illuminated : float
        Lit fraction of the Moon's disc at local midnight, 0 .. 1.
    note : str or None
        A plain sentence where the night is unusual: no darkness, polar day, polar night.
    moon_starts_up : bool or None
        Whether the Moon is up at ``start``; where it neither rises nor sets, it stays so.
    dusk, dawn : datetime or None
        Between which a session lies: civil twilight, or less where the Sun goes little lower, and
        never with any of the Sun in sight; ``start`` or ``end`` where it is that dark at noon, None
        where it never is.
    """

    date: date
    site: Site
    start: datetime
    end: datetime
    sunset: datetime | None
    sunrise: datetime | None
    civil_dusk: datetime | None
    civil_dawn: datetime | None
    nautical_dusk: datetime | None
    nautical_dawn: datetime | None
    dark_start: datetime | None
    dark_end: datetime | None
    moonrise: datetime | None
    moonset: datetime | None
    moon_illuminated: float
    note: str | None = None
    moon_starts_up: bool | None = None
    dusk: datetime | None = None
    dawn: datetime | None = None
