"""The drawings as text and as vector graphics."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from defusedxml.ElementTree import fromstring
from hypothesis import given
from hypothesis import strategies as st

from planner.output.drawing.canvas import Canvas
from planner.output.drawing.curves import Curve, NightCurves, curve_cells, curves_svg
from planner.output.drawing.marks import Disc, FieldDrawing, Label, Outline, Ring, Star
from planner.output.drawing.svg import field_svg
from planner.output.drawing.terminal import field_cells, length_words, scale_words
from planner.text import cell_width

SVG = "{http://www.w3.org/2000/svg}"
FIELD = FieldDrawing(
    span_arcmin=60.0,
    field_arcmin=60.0,
    stars=(Star(10.0, 20.0, 1.0), Star(-25.0, 0.0, 0.0)),
    outlines=(Outline(0.0, 0.0, 20.0, 5.0, 30.0),),
    discs=(Disc(0.0, 0.0, 4.0, 3.0, 10.0, 0.4, 0.0),),
    scale_arcmin=10.0,
)


@given(st.integers(4, 90), st.integers(3, 45), st.booleans())
def test_text_has_exactly_the_size_asked_for(columns: int, rows: int, unicode: bool) -> None:
    """Every line is so many cells, every cell is drawable; ASCII is ASCII."""
    lines = field_cells(FIELD, columns=columns, rows=rows, unicode=unicode)
    assert [cell_width(line) for line in lines] == [columns] * rows
    assert unicode or all(line.isascii() for line in lines)


def test_dots_stand_where_they_belong() -> None:
    """Unicode numbers the dots of a Braille cell 1-2-3-7 and 4-5-6-8 down its two columns."""
    canvas = Canvas(1, 1)
    names = {(0, 0): 1, (0, 1): 2, (0, 2): 3, (1, 0): 4, (1, 1): 5, (1, 2): 6, (0, 3): 7, (1, 3): 8}
    for (x, y), number in names.items():
        canvas = Canvas(1, 1)
        canvas.dot(x, y)
        assert ord(canvas.lines()[0]) == 0x2800 + 2 ** (number - 1)


def test_a_star_above_right_is_drawn_above_right() -> None:
    """The middle of the text is the middle of the field."""
    drawing = FieldDrawing(60.0, 60.0, stars=(Star(15.0, 15.0, 1.0),))
    blank = FieldDrawing(60.0, 60.0)
    with_star = field_cells(drawing, columns=40, rows=20)
    without = field_cells(blank, columns=40, rows=20)
    changed = [
        (row, column)
        for row, (a, b) in enumerate(zip(with_star, without, strict=True))
        for column in range(40)
        if a[column] != b[column]
    ]
    assert changed
    assert all(4 <= row <= 5 and 29 <= column <= 31 for row, column in changed)


RINGED = Disc(0.0, 0.0, 8.0, 7.0, ring=Ring(20.0, 6.0, 0.6, 0.0, near_is_across=False))


def test_rings_pass_before_the_globe_and_behind_it() -> None:
    """In dots: below the middle a dark line crosses the lit globe, above it none does."""
    lines = field_cells(FieldDrawing(60.0, 60.0, discs=(RINGED,)), columns=60, rows=30)
    middle = [line[27:33] for line in lines[11:19]]
    full = chr(0x28FF) * 6
    assert all(line == full for line in middle[1:4])
    assert any(line != full for line in middle[4:7])


def test_svg_draws_far_half_globe_near_half_in_this_order() -> None:
    """What comes later covers what came before; the near half bulges down where it is below."""
    root = fromstring(field_svg(FieldDrawing(60.0, 60.0, discs=(RINGED,)), title=""))
    marks = [e for e in root.iter() if e.get("class") in {"ring", "lit"}]
    assert [mark.get("class") for mark in marks] == ["ring", "lit", "ring"]
    # From the right end to the left one against the clock (sweep 0) an arc passes above.
    sweeps = [re.findall(r"A [0-9.]+ [0-9.]+ 0 0 ([01])", m.get("d", "")) for m in marks[::2]]
    assert sweeps == [["0", "1"], ["1", "0"]]


def test_an_outline_shows_on_what_is_lit_and_on_the_dark() -> None:
    """A crater across the terminator: cleared dots on the lit side, set ones on the other."""
    moon = Disc(0.0, 0.0, 25.0, 25.0, lit=0.5, sunward_deg=0.0)
    crater = Outline(0.0, 0.0, 10.0, 10.0)
    plain = field_cells(FieldDrawing(60.0, 60.0, discs=(moon,)), columns=60, rows=30)
    marked = field_cells(
        FieldDrawing(60.0, 60.0, discs=(moon,), outlines=(crater,)), columns=60, rows=30
    )
    left, right = plain[15][15:28], plain[15][33:45]
    assert left.strip() == ""
    assert set(right) == {chr(0x28FF)}
    assert marked[15][15:28] != left
    assert marked[15][33:45] != right


def _found(lines: list[str], word: str) -> tuple[int, int]:
    (place,) = ((row, line.index(word)) for row, line in enumerate(lines) if word in line)
    return place


def test_the_arrow_of_drift_is_turned_against_the_clock() -> None:
    """It points right, and SVG turns with the clock."""
    root = fromstring(field_svg(FieldDrawing(60.0, 60.0, drift_deg=120.0), title=""))
    (arrow,) = (e for e in root.iter(f"{SVG}path") if e.get("class") == "drift")
    assert arrow.get("transform") == "rotate(-120.0)"


@pytest.mark.parametrize("lit", [0.05, 0.3, 0.5, 0.7, 0.95])
def test_svg_fills_the_lit_part_of_a_disc(lit: float) -> None:
    """The path's two half ellipses enclose that part of the circle, on the sunward side.

    An arc that goes down with sweep 1, or up with sweep 0, passes on the right (SVG 1.1, 8.3.8).
    """
    disc = Disc(0.0, 0.0, 15.0, 15.0, lit=lit, sunward_deg=30.0)
    root = fromstring(field_svg(FieldDrawing(60.0, 60.0, discs=(disc,)), title=""))
    (path,) = (e for e in root.iter(f"{SVG}path") if e.get("class") == "lit")
    assert "rotate(-30.00)" in path.get("transform", "")
    arcs = re.findall(r"A ([0-9.]+) ([0-9.]+) 0 0 ([01]) 0 (-?[0-9.]+)", path.get("d", ""))
    (edge, _, edge_sweep, edge_end), (terminator, across, sweep, end) = arcs
    assert (edge_sweep, float(edge_end), float(end)) == ("1", 50.0, -50.0)
    # pi times both half axes, halved, for each half ellipse; in parts of the whole circle.
    side = -1.0 if sweep == "0" else 1.0
    area = (float(edge) + side * float(terminator)) * float(across) / 2.0
    assert area / 50.0**2 == pytest.approx(lit, abs=0.001)


def test_words_stand_beside_their_marks_away_from_the_middle() -> None:
    """Right of a mark on the right, left of one on the left; in SVG the same."""
    labels = (Label(15.0, 15.0, "Io"), Label(-15.0, -15.0, "Titan"))
    drawing = FieldDrawing(60.0, 60.0, labels=labels)
    lines = field_cells(drawing, columns=40, rows=20)
    # The middle is between cells 19 and 20 and rows 9 and 10; a quarter of the field is 10 and 5.
    places = {word: _found(lines, word) for word in ("Io", "Titan")}
    assert places["Io"] == (5, 30)
    assert places["Titan"] in {(14, 5), (15, 5)}
    texts = {e.text: e for e in fromstring(field_svg(drawing, title="")).iter(f"{SVG}text")}
    assert texts["Io"].get("text-anchor") == "start"
    assert float(texts["Io"].get("x", "")) > 50.0
    assert float(texts["Io"].get("y", "")) < -50.0
    assert texts["Titan"].get("text-anchor") == "end"
    assert float(texts["Titan"].get("x", "")) < -50.0
    assert float(texts["Titan"].get("y", "")) > 50.0


def test_scale_bars_have_their_length() -> None:
    """10 of 60 arcmin on 60 cells are 10 cells."""
    assert scale_words(FIELD, columns=60).split()[0] == "|--------|"
    assert [length_words(a) for a in (120.0, 20.0, 1.0, 0.5)] == ["2 deg", "20'", "1'", '30"']


def test_svg_is_xml_with_the_marks_at_their_places() -> None:
    """100 units are half the width, y runs down."""
    root = fromstring(field_svg(FIELD, title="M31"))
    stars = [e for e in root.iter(f"{SVG}circle") if e.get("class") == "star"]
    places = sorted((float(s.get("cx", "")), float(s.get("cy", ""))) for s in stars)
    assert places == [pytest.approx((-83.3, 0.0), abs=0.1), pytest.approx((33.3, -66.7), abs=0.1)]
    (ellipse,) = (e for e in root.iter(f"{SVG}ellipse") if e.get("class") == "outline")
    assert float(ellipse.get("rx", "")) == pytest.approx(66.67, abs=0.01)
    assert "rotate(-30.00)" in ellipse.get("transform", "")


@pytest.mark.parametrize(
    "name", ["</svg><script>alert(1)</script>", '"><img src=x>', "&amp; & <b>", "\u202e\U0001f30c"]
)
def test_no_name_breaks_out_of_svg(name: str) -> None:
    """A hostile title or label stays text."""
    drawing = FieldDrawing(60.0, 60.0, labels=(Label(1.0, 1.0, name),))
    curves = _curves()
    for text in (
        field_svg(drawing, title=name),
        curves_svg(curves, clock=lambda _: name, title=name),
    ):
        root = fromstring(text)
        assert {re.sub("{.*}", "", e.tag) for e in root.iter()} <= {
            "svg", "title", "clipPath", "circle", "g", "text", "path", "polyline", "rect"
        }  # fmt: skip
        assert root.findtext(f"{SVG}title") == name


def test_a_close_up_has_no_round_edge() -> None:
    """The edge of the field is outside: the enlarged part is square."""
    close = FieldDrawing(span_arcmin=4.0, field_arcmin=60.0)
    assert "<rect" in field_svg(close, title="")
    assert set("".join(field_cells(close, columns=20, rows=10))) <= {" ", "N", "E"}


def _curves(now: datetime | None = None) -> NightCurves:
    start = datetime(2026, 12, 8, 16, 20, tzinfo=UTC)
    instants = tuple(start + timedelta(minutes=10 * k) for k in range(73))
    altitude = np.linspace(-20.0, 80.0, 73)
    look = (start + timedelta(hours=6), start + timedelta(hours=7))
    return NightCurves(
        instants=instants,
        curves=(Curve(altitude, np.full(73, 10.0), *look),),
        moon_deg=np.full(73, -5.0),
        dark_start=start + timedelta(hours=2),
        dark_end=start + timedelta(hours=10),
        now=now,
    )


@pytest.mark.parametrize("unicode", [True, False])
def test_curves_have_their_size_and_full_hours(unicode: bool) -> None:
    """Axes included; clocks stand at full hours, darkness covers its part."""
    lines = curve_cells(
        _curves(), columns=76, rows=12, clock=lambda t: f"{t:%H:%M}", unicode=unicode
    )
    assert [cell_width(line) for line in lines] == [76] * 12
    assert re.findall(r"[0-9:]+", lines[-1])[0] == "17:00"
    assert set(re.findall(r":([0-9]+)", lines[-1])) == {"00"}
    assert lines[-2].count("#") == pytest.approx(72 * 8 / 12, abs=1)


def test_clocks_stand_evenly() -> None:
    """On 24 hours each third hour is written, and none is left out in between."""
    start = datetime(2026, 12, 8, 12, 0, tzinfo=UTC)
    day = tuple(start + timedelta(minutes=10 * k) for k in range(145))
    curves = NightCurves(day, (), np.full(145, -5.0))
    lines = curve_cells(curves, columns=76, rows=12, clock=lambda t: f"{t:%H:%M}")
    hours = [int(hour) for hour in re.findall(r"([0-9]+):00", lines[-1])]
    assert hours == [12, 15, 18, 21, 0, 3, 6, 9]


def test_a_rising_target_climbs_to_the_right() -> None:
    """It is drawn from the horizon to 80 degrees; below the horizon there is nothing."""
    alone = replace(_curves().curves[0], skyline_deg=None)
    curves = NightCurves(_curves().instants, (alone,), np.full(73, -5.0))
    lines = curve_cells(curves, columns=76, rows=12, clock=lambda _: "")
    cells = [(row, line[4:].rstrip()) for row, line in enumerate(lines[:10]) if line[4:].strip()]
    assert cells[0][0] == 1
    assert len(cells[0][1]) == 72
    assert len(lines[9][4:]) - len(lines[9][4:].lstrip()) >= 13


def test_now_is_marked_inside_the_night_only() -> None:
    """A bar through all rows at 22:20, none a day later."""
    inside = _curves(now=datetime(2026, 12, 8, 22, 20, tzinfo=UTC))
    outside = _curves(now=datetime(2026, 12, 9, 22, 20, tzinfo=UTC))
    plain = curve_cells(_curves(), columns=76, rows=12, clock=lambda _: "")
    assert curve_cells(outside, columns=76, rows=12, clock=lambda _: "") == plain
    marked = curve_cells(inside, columns=76, rows=12, clock=lambda _: "")
    assert all(a[39:41] != b[39:41] for a, b in zip(marked[:8], plain[:8], strict=True))


def _drawn(curves: NightCurves) -> dict[str, list[list[tuple[float, float]]]]:
    """Return the lines of a page's curves by their class."""
    root = fromstring(curves_svg(curves, clock=lambda t: f"{t:%H:%M}", title=""))
    lines: dict[str, list[list[tuple[float, float]]]] = {}
    for element in root.iter(f"{SVG}polyline"):
        pairs = [pair.split(",") for pair in element.get("points", "").split()]
        lines.setdefault(element.get("class", ""), []).append(
            [(float(a), float(b)) for a, b in pairs]
        )
    return lines


def test_a_page_s_curves_end_at_the_horizon() -> None:
    """20 below rising to 80 in 12 hours: up after a fifth; 640 units wide, 90 degrees 180 high."""
    lines = _drawn(_curves())
    (course,) = lines["course"]
    assert course[0] == pytest.approx((128.0, 180.0), abs=3.0)
    assert course[-1] == pytest.approx((640.0, 20.0))
    assert "moon" not in lines


def test_a_page_shows_the_skyline_below_one_target_and_below_each_look_of_several() -> None:
    """10 degrees are 20 units; from 22:20 to 23:20, the half of the night and an hour more."""
    curves = _curves()
    (filled,) = _drawn(curves)["skyline"]
    assert filled[0] == (0.0, 180.0)
    assert {y for _, y in filled[1:-1]} == {160.0}
    several = _drawn(replace(curves, curves=curves.curves * 2))
    assert "skyline" not in several
    assert [line[0] for line in several["skyline-there"]] == [pytest.approx((320.0, 160.0))] * 2
    assert [line[-1][0] for line in several["look"]] == [pytest.approx(640.0 * 7 / 12, abs=0.1)] * 2


def test_a_page_marks_the_moment_and_some_full_hours() -> None:
    """At 22:20 half of the night is over; of twelve hours each second is written."""
    inside = curves_svg(
        _curves(now=datetime(2026, 12, 8, 22, 20, tzinfo=UTC)),
        clock=lambda t: f"{t:%H:%M}",
        title="",
    )
    assert 'class="now" d="M 320.0 0' in inside
    assert 'class="now"' not in curves_svg(_curves(), clock=lambda _: "", title="")
    assert re.findall(r">([0-9:]{5})<", inside) == [
        "17:00", "19:00", "21:00", "23:00", "01:00", "03:00",
    ]  # fmt: skip
