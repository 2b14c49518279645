"""Packed designations and dates against the examples of the Minor Planet Center."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from targets.elements import julian_date
from targets.naming.packed import day_jd, unpack_date_jd, unpack_designation

# Minor Planet Center, "Packed Provisional and Permanent Designations",
# https://www.minorplanetcenter.net/iau/info/PackedDes.html (from memory).
DESIGNATIONS = (
    ("J95X00A", "1995 XA"),
    ("J95X01L", "1995 XL1"),
    ("J95F13B", "1995 FB13"),
    ("J98SA8Q", "1998 SQ108"),
    ("J98SC7V", "1998 SV127"),
    ("J98SG2S", "1998 SS162"),
    ("K99AJ3Z", "2099 AZ193"),
    ("K08Aa0A", "2008 AA360"),
    ("K07Tf8A", "2007 TA418"),
    ("PLS2040", "2040 P-L"),
    ("T1S3138", "3138 T-1"),
    ("03202", "(3202)"),
    ("50000", "(50000)"),
    ("A0345", "(100345)"),
    ("a0017", "(360017)"),
    ("K3289", "(203289)"),
    ("~0000", "(620000)"),
    ("~000z", "(620061)"),
    ("~AZaz", "(3140113)"),
    ("~zzzz", "(15396335)"),
)
# "Packed Dates", https://www.minorplanetcenter.net/iau/info/PackedDates.html (from memory).
DATES = (
    ("J9611", 1996, 1, 1),
    ("J961A", 1996, 1, 10),
    ("J969U", 1996, 9, 30),
    ("J96A1", 1996, 10, 1),
    ("K01AM", 2001, 10, 22),
)


@pytest.mark.parametrize(("packed", "written"), DESIGNATIONS)
def test_designations(packed: str, written: str) -> None:
    """Each as the centre writes it out."""
    assert unpack_designation(packed) == written


@pytest.mark.parametrize("packed", ["", "K", "K23!01A", "J95I00A", "1234", "~00", "J95X0AA"])
def test_what_is_no_designation(packed: str) -> None:
    """The letter I and lower case at the end are never used."""
    assert unpack_designation(packed) is None


@pytest.mark.parametrize(("packed", "year", "month", "day"), DATES)
def test_dates(packed: str, year: int, month: int, day: int) -> None:
    """At 0 h of the day."""
    assert unpack_date_jd(packed) == day_jd(year, month, day)


@pytest.mark.parametrize("packed", ["", "K23D1", "K232V", "L2311", "K2310"])
def test_what_is_no_date(packed: str) -> None:
    """A thirteenth month, 31 February, another century, day 0."""
    assert unpack_date_jd(packed) is None


def test_julian_dates() -> None:
    """Meeus 1998, "Astronomical Algorithms", ch. 7: 1957 October 4.81 and 2000 January 1.5."""
    assert day_jd(1957, 10, 4.81) == pytest.approx(2436116.31)
    assert day_jd(2000, 1, 1.5) == 2451545.0
    assert day_jd(2023, 2, 29) is None
    assert julian_date(datetime(2017, 1, 1, 11, 58, 50, 816_000, tzinfo=UTC)) == pytest.approx(
        2457755.0, abs=1e-6
    )  # Terrestrial Time is then 69.184 s ahead
