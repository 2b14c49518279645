"""The time zone of a place."""

from __future__ import annotations

from zoneinfo import ZoneInfo, ZoneInfoNotFoundError


def zone_at(latitude_deg: float, longitude_deg: float) -> str:
    """Name the time zone in force at a place.

    Parameters
    ----------
    latitude_deg, longitude_deg : float
        Geodetic [deg]; north and east are positive.

    Returns
    -------
    str
        A name that `zoneinfo` knows, such as ``Europe/London``. At sea and where no zone is
        drawn, the nautical zone of the longitude; its names count the other way round, so that
        ``Etc/GMT-1`` is an hour ahead of Greenwich.

    Raises
    ------
    ValueError
        If the place is not on the globe.
    """
    if not -90.0 <= latitude_deg <= 90.0:
        raise ValueError(f"The latitude is {latitude_deg}; allowed is -90 to 90 degrees.")
    if not -180.0 <= longitude_deg <= 180.0:
        raise ValueError(
            f"The longitude is {longitude_deg}; allowed is -180 to 180 degrees, east positive."
        )
    from tzfpy import get_tz  # noqa: PLC0415  # 30 MB of outlines, wanted only here

    name = get_tz(longitude_deg, latitude_deg)
    return name if _is_known(name) else _nautical_zone(longitude_deg)


def _is_known(name: str) -> bool:
    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError):
        return False
    return True


def _nautical_zone(longitude_deg: float) -> str:
    hours_east = round(longitude_deg / 15.0)
    return f"Etc/GMT{-hours_east:+d}" if hours_east else "Etc/GMT"
