"""Rows that are read many at once say and give what they do one by one."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from astropy import units
from astropy.coordinates import Angle
from hypothesis import example, given
from hypothesis import strategies as st
from numpy.testing import assert_array_equal

import targets.files
from targets.catalogue.catalogue import load_catalogue
from targets.userlists.alike import Fields
from targets.userlists.bulk import Bulk, Rows
from targets.userlists.cells import plain_angle_deg, plain_number, size_arcmin
from targets.userlists.reading import read_table
from targets.userlists.records import ListError, OwnList
from targets.userlists.store import LONG, keep_list, read_list

NAMES = (
    "Spot",
    "spot ",
    "Spot 2",
    "Sp\u00f6t",
    "M31",
    "m 31",
    "ngc0224",
    "the Sun",
    "-",
    "",
    "x" * 81,
)
PLACES = (
    "10", "10.5",  " 83.8 ", "-5.4", "361", "91", "05:35:17.3", "-05 23 28", "5h35m17s", "24:00:00",
    "12h", "10:60:00", "nan", "", "--", "abc", "1e2", "1_0", "05h 35.3m", "-05\u00b0 23'",
    "\u221205 23.5", "22\u00b001\u203212\u2033", "+4.", "\u22125", "5,5", "1" * 61,
)  # fmt: skip
KINDS = ("galaxy", "Gx", "OC", "ds", "comet", "thing", "", "planetary nebula")
SIZES = (
    "5",
    "0",
    "-1",
    "12x8",
    "8 x 12",
    "1x20000",
    '40"',
    "1,5x2",
    "12' x 90\"",
    "",
    "n/a",
    "big",
    "99999",
    "3x",
)
NUMBERS = ("9.5", "31", "-30", "", "?", "ten", "1e1", "359.9", "370")
HEADERS = ("name", "ra", "dec", "type", "size", "minor axis", "sep", "mag", "pa", "notes")
UNITS = {"ra": ("", " (deg)", " (h)"), "dec": ("", " (deg)", " (arcmin)")}


@st.composite
def tables(draw: st.DrawFn) -> str:
    """A table with much that is wrong, and a few rows that are right."""
    kept = draw(st.lists(st.sampled_from(HEADERS), min_size=1, max_size=10, unique=True))
    headers = [name + draw(st.sampled_from(UNITS.get(name, ("",)))) for name in kept]
    of_column: dict[str, Any] = {
        "name": NAMES, "ra": PLACES, "dec": PLACES, "type": KINDS, "size": SIZES,
        "minor axis": SIZES, "sep": SIZES, "mag": NUMBERS, "pa": NUMBERS,
        "notes": ("", "faint", "?"),
    }  # fmt: skip
    row = st.tuples(*(st.sampled_from(of_column[name]) for name in kept))
    rows = draw(st.lists(row, max_size=12))
    between = draw(st.sampled_from(";\t"))
    return "\n".join(between.join(cells) for cells in [headers, *rows]) + "\n"


class _OneByOne(Bulk):
    """Finds no row plain."""

    def read(self, rows: slice) -> Rows:
        found = super().read(rows)
        found.names[:] = ["" if n else s for s, n in zip(found.names, found.nameless, strict=True)]
        found.ids[:] = ["" if n else s for s, n in zip(found.ids, found.nameless, strict=True)]
        return replace(found, plain=np.zeros(len(found.ids), dtype=bool))


def told(text: str) -> Any:
    """Return all that reading a table comes to."""
    try:
        reading = read_table(text.encode(), load_catalogue(), lambda _ra_deg, _dec_deg: "Ori")
    except ListError as error:
        return error.faults
    return [
        list(part)
        for part in (
            reading.entries, reading.read, reading.passed_over, reading.refused, reading.guessed,
        )
    ]  # fmt: skip


@example("name;ra;dec;type\nA;10;5;galaxy\nB;5h0m0s;5;thing\nC;11;-5;thing\nA;10;5;galaxy\n")
@example("ra;dec\n10;5\n10;5\n10.0;5,0\nabc;5\n")
@given(tables())
def test_many_rows_at_once_are_as_one_by_one(text: str) -> None:
    """Targets, notes, and every sentence in its order; also with arrays for each shape."""
    together = told(text)
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr("targets.userlists.alike.FEW", 1)
        assert told(text) == together
        patched.setattr("targets.userlists.reading.Bulk", _OneByOne)
        assert told(text) == together


@example(["10:60:00", "1:2:60", "24:00:00", "5h60m", "1 60"], False, True)  # noqa: FBT003
@given(
    st.lists(
        st.from_regex(r"[+-]?[0-9]{0,3}([.,][0-9]{0,20})?([eE][0-9])?| ?", fullmatch=True)
        | st.sampled_from(PLACES + SIZES + NUMBERS),
        min_size=1,
    ),
    st.booleans(),
    st.booleans(),
)
def test_columns_agree_with_single_fields(cells: list[str], comma: bool, hours: bool) -> None:
    """Numbers, angles and sizes, to the last digit."""

    def size(cell: str) -> tuple[float, float]:
        try:
            longer, shorter = size_arcmin(cell, "size", unit_arcmin=1.0, comma=comma)
        except ListError:
            return np.inf, np.nan
        return longer, np.nan if shorter is None else shorter

    with pytest.MonkeyPatch.context() as patched:
        patched.setattr("targets.userlists.alike.FEW", 1)
        fields = Fields(cells, comma=comma)
        numbers = fields.numbers()
        odd = np.isinf(numbers)
        assert_array_equal(numbers, [plain_number(cell, comma=comma) for cell in cells])
        one_by_one = [plain_angle_deg(cell, hours=hours, comma=comma) for cell in cells]
        assert_array_equal(fields.angles_deg(odd, hours=hours)[odd], np.array(one_by_one)[odd])
        one_by_one = [size(cell) for cell in cells]
        assert_array_equal(
            np.transpose(fields.axes_arcmin(odd, 1.0))[odd], np.array(one_by_one)[odd]
        )


@given(
    st.sampled_from(
        (
            "{}:{:02}:{}", "{} {} {}", "{}h{:02}m{}s", "{}d{:02}m{}s", "-{}:{:02}:{}",
            "{}\u00b0{:02}\u2032{}\u2033", "-{}\u00b0 {}' {}\"", "{} {}", "{}h {:02}",
            "{}h{:02}.5m",
        )
    ),
    st.integers(0, 359), st.integers(0, 61), st.floats(0.0, 60.5).map(lambda s: f"{s:.2f}"),
    st.booleans(),
)  # fmt: skip
@pytest.mark.filterwarnings("error")
def test_usual_angles_agree_with_a_library(
    form: str, whole: int, minutes: int, seconds: str, hours: bool
) -> None:
    """What is read is what astropy reads, to a billionth of a degree; it refuses no less."""
    text = form.format(whole, minutes, seconds)
    found = plain_angle_deg(text, hours=hours)
    try:
        theirs = float(Angle(text, unit=units.hourangle if hours else units.deg).deg)
    except Exception:  # noqa: BLE001  # whatever it says against it
        theirs = np.inf
    assert np.isinf(found) or found == pytest.approx(theirs, abs=1e-9)


def test_a_long_list_is_kept_as_a_short_one(tmp_path: Path, monkeypatch: Any) -> None:
    """By columns, in several blocks, and all of it comes back."""
    lines = [f"X{n},{n % 360},{n % 80},galaxy,{n % 9 + 1},{n % 7}th" for n in range(40)]
    lines += ["M31,,,,,big", "Y 1,1,2,dark nebula,,"]
    text = "name,ra,dec,type,size,notes\n" + "\n".join(lines)
    reading = read_table(text.encode(), load_catalogue(), lambda _ra, _dec: "Ori")
    short = read_list(keep_list(tmp_path, OwnList("short", "x.csv", reading.entries)))
    monkeypatch.setattr("targets.userlists.store.LONG_COUNT", 10)
    monkeypatch.setattr(targets.files, "ROWS_AT_ONCE", 7)
    path = keep_list(tmp_path, OwnList("long", "x.csv", reading.entries))
    assert path.name == f"long{LONG}"
    assert list(read_list(path).entries) == list(short.entries) == list(reading.entries)
    assert len(short.entries) == 42


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('"count": 3', '"count": 4'), ("list/2", "list/9"), ("10.0", "400.0"), ("10.0", "null"),
        ('"galaxy"', '"planet"'), ('"Ori"', "5"), ('"A"', "[]"), ('"own"', '"../own"'),
        ("\n{", "\n"),
        ("10.0, ", ""), ("5.0", "NaN"),
    ],
)  # fmt: skip
def test_a_spoilt_long_list_is_told(tmp_path: Path, monkeypatch: Any, old: str, new: str) -> None:
    """By its path, whatever has been done to it."""
    text = b"name,ra,dec,type\nA,10,5,galaxy\nB,20,5,galaxy\nC,30,5,galaxy\n"
    reading = read_table(text, load_catalogue(), lambda _ra_deg, _dec_deg: "Ori")
    monkeypatch.setattr("targets.userlists.store.LONG_COUNT", 2)
    path = keep_list(tmp_path, OwnList("own", "x.csv", reading.entries))
    whole = path.read_text("utf-8")
    assert old in whole
    path.write_text(whole.replace(old, new, 1), "utf-8")
    with pytest.raises(ListError, match="is damaged"):
        read_list(path)
