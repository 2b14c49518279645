"""Designations and dates of minor planets as the Minor Planet Center packs them into its files.

References
----------
Minor Planet Center, "Packed Provisional and Permanent Designations" and "Packed Dates",
https://www.minorplanetcenter.net/iau/info/PackedDes.html and PackedDates.html.
"""

from __future__ import annotations

import re
from datetime import date

from targets.elements import J2000_JD

_DIGITS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz"
_FIRST_TILDE = 620_000
_CENTURIES = {"I": 1800, "J": 1900, "K": 2000}
_J2000_DAY = date(2000, 1, 1).toordinal()


def unpack_designation(packed: str) -> str | None:
    """Write a packed designation as people do: ``(433)``, ``1995 XA``; None when it is none.

    Parameters
    ----------
    packed : str
        Five characters of a number, or seven of a provisional designation.
    """
    packed = packed.strip()
    if match := re.fullmatch(r"([0-9A-Za-z])(\d{4})", packed):
        return f"({_DIGITS.index(match[1]) * 10_000 + int(match[2])})"
    if match := re.fullmatch(r"~([0-9A-Za-z]{4})", packed):
        number = 0
        for char in match[1]:
            number = number * 62 + _DIGITS.index(char)
        return f"({_FIRST_TILDE + number})"
    if match := re.fullmatch(r"(PL|T1|T2|T3)S(\d{4})", packed):
        return f"{match[2]} {match[1][0]}-{match[1][1]}"
    if match := re.fullmatch(r"([IJK])(\d\d)([A-HJ-Y])([0-9A-Za-z])(\d)([A-HJ-Z])", packed):
        cycle = _DIGITS.index(match[4]) * 10 + int(match[5])
        year = _CENTURIES[match[1]] + int(match[2])
        return f"{year} {match[3]}{match[6]}{cycle or ''}"
    return None


def unpack_date_jd(packed: str) -> float | None:
    """Return the Julian date at 0 h of a packed date such as ``K239D``; None when it is none."""
    match = re.fullmatch(r"([IJK])(\d\d)([1-9A-C])([1-9A-V])", packed.strip())
    if match is None:
        return None
    year = _CENTURIES[match[1]] + int(match[2])
    return day_jd(year, _DIGITS.index(match[3]), _DIGITS.index(match[4]))


def day_jd(year: int, month: int, day: float) -> float | None:
    """Return the Julian date of a day and its fraction; None when the calendar has no such day."""
    try:
        ordinal = date(year, month, int(day)).toordinal()
    except ValueError:
        return None
    return ordinal - _J2000_DAY + J2000_JD - 0.5 + (day - int(day))
