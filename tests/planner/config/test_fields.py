"""One engine for fields: every check says what it allows, and holds to what it says."""

from __future__ import annotations

from enum import StrEnum
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.config.fields import (
    Bounds,
    Check,
    Choice,
    Day,
    Field,
    Flag,
    Instant,
    Items,
    Name,
    ShortText,
    Text,
    UnfitError,
    Zone,
    ZoomEnds,
    note_unknown,
    numbers,
    optional,
    read_fields,
)


class Barrel(StrEnum):
    """Two words."""

    SMALL = "1.25in"
    LARGE = "2in"


ANYTHING = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(), inner, max_size=2),
    max_leaves=5,
)
CHECKS: list[Check] = [
    Bounds(0, 90, "deg"), Bounds(1, 5, whole=True), Text(), ShortText(), Name(), Choice(Barrel),
    Flag(), Instant(), Day(), Zone(), Items(Text(), 3, "a list of at most 3 texts"),
    ZoomEnds(Bounds(1, 100)),
    numbers(2, Bounds(0, 10)),
]  # fmt: skip


@given(value=ANYTHING, check=st.sampled_from(CHECKS))
def test_a_check_gives_a_value_or_says_what_is_allowed(value: Any, check: Check) -> None:
    """Never another error, whatever a file holds; what comes out is right a second time."""
    try:
        found = check.read(value)
    except UnfitError as error:
        said = str(error)
    else:
        again = {tuple: list}.get(type(found), lambda same: same)(found)
        said = check.words
        if not isinstance(check, Instant | Day | ZoomEnds):
            assert check.read(again) == found
    assert said == check.words


@pytest.mark.parametrize(
    ("check", "good", "bad", "words"),
    [
        (Bounds(0, 90, "deg"), 12, float("nan"), "a number from 0 to 90 deg"),
        (Bounds(0, 90), 0, True, "a number from 0 to 90"),
        (Bounds(1, 5, whole=True), 3, 3.5, "a whole number from 1 to 5"),
        (Choice(Barrel), "2in", "3in", '"1.25in" or "2in"'),
        (Flag(), True, 1, "true or false"),
        (Name(), " 12 mm ", "a\u202eb", "text of 1 to 60 characters on one line"),
        (Name(), "no\u00a0break", "", "without control or direction marks"),
        (Instant(), "2026-11-25T21:30:00+01:00", "2026-11-25T21:30:00", "a time with its offset"),
        (Day(), "2026-11-25", "2026-13-01", "a date of the calendar"),
        (Zone(), "Europe/London", "Europe", "IANA time zone list"),
        (ZoomEnds(Bounds(1, 100, "mm")), [24, 8], [24, 8, 3], "or for a zoom a list of two"),
        (numbers(2, Bounds(0, 10)), [1, 2], [1], "a list of 2 numbers from 0 to 10"),
    ],
)
def test_what_is_allowed_is_said(check: Check, good: object, bad: object, words: str) -> None:
    """A right value passes, a wrong one is answered in words."""
    check.read(good)
    with pytest.raises(UnfitError) as caught:
        check.read(bad)
    assert words in str(caught.value)


def test_every_fault_is_noted_and_what_is_right_is_kept() -> None:
    """Missing, wrong, left out and right, in one reading."""
    fields = (Field("a", Flag()), Field("b", Flag()), optional("c", Flag()), Field("d", Flag()))
    noted: list[tuple[str, str]] = []
    found = read_fields(fields, {"b": 3, "d": True}, lambda *fault: noted.append(fault))
    assert found == {"c": None, "d": True}
    assert noted == [
        ("a", "missing; allowed is true or false"),
        ("b", "found 3; allowed is true or false"),
    ]


def test_ten_unknown_keys_are_named_and_the_rest_is_counted() -> None:
    """With what was probably meant."""
    noted: list[tuple[str, str]] = []
    counted: list[int] = []
    keys = {f"barrl{number}": 1 for number in range(25)}
    note_unknown(["barrel"], keys, lambda *fault: noted.append(fault), counted.append)
    assert len(noted) == 10
    assert noted[0] == ("barrl0", 'no such key; did you mean "barrel"?')
    assert counted == [15]
