"""The text sheets: 80 columns, plain ASCII, and nothing on them that is no answer."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from planner.model.plan import Grade, Plan
from planner.model.site import Site
from planner.output.night_words import grade_word
from planner.output.text.plan import plan_text
from planner.output.words import arc, clock, compass, double_date
from planner.text import cell_width

SITES = {
    "north": (69.6, 18.9, "Europe/Oslo"),
    "far north": (78.2, 15.6, "Arctic/Longyearbyen"),
    "south pole": (-90.0, 0.0, "Etc/UTC"),
    "equator": (0.0, -78.5, "America/Guayaquil"),
    "south": (-41.3, 174.8, "Pacific/Auckland"),
    "half hours": (-34.9, 138.6, "Australia/Adelaide"),
}
# Each site on two dates, and each date at two sites: solstices, the equinox, and evenings before
# the clocks change in Europe or in New Zealand and Australia.
EVENINGS = (
    ("far north", "2026-06-21"),
    ("south pole", "2026-06-21"),
    ("far north", "2026-12-21"),
    ("half hours", "2026-12-21"),
    ("south pole", "2026-03-20"),
    ("equator", "2026-03-20"),
    ("north", "2026-03-28"),
    ("equator", "2026-03-28"),
    ("south", "2026-04-04"),
    ("half hours", "2026-04-04"),
    ("north", "2026-10-24"),
    ("south", "2026-10-24"),
)
BRAILLE = re.compile("[\u2800-\u28ff]")
NO_ANSWERS = re.compile(
    r"\b(nan|none|inf|null|true|false)\b|Grade\.|datetime|\(\)|''", re.IGNORECASE
)


def _check(text: str) -> None:
    """Check what holds for every sheet."""
    assert text.endswith("\n")
    assert BRAILLE.sub("", text).isascii()
    for line in text.splitlines():
        assert len(line) <= 80, line
        assert line == line.rstrip()
        told = line.removeprefix("Window   none: ")
        assert not NO_ANSWERS.search(told), line


@pytest.mark.parametrize(("site", "day"), EVENINGS)
def test_every_plan_fits_the_sheet(run: Any, site_file: Any, site: str, day: str) -> None:
    """Wherever and whenever: polar day and night, both hemispheres, nights of changing clocks."""
    result = run("plan", "--config", site_file(*SITES[site]), "--date", day)
    assert result.status == (0 if "kind" in result.out else 1)
    assert "Traceback" not in result.err
    _check(result.out)


@pytest.mark.parametrize("target", ["M31", "M40", "Moon", "Venus", "Saturn", "NGC 2070", "IC 434"])
@pytest.mark.parametrize("site", ["north", "south pole", "south"])
def test_every_look_fits_the_sheet(run: Any, site_file: Any, site: str, target: str) -> None:
    """Up or not, bright or unknown, by day or night."""
    for day in ("2026-06-21", "2026-12-21"):
        result = run("look", target, "--config", site_file(*SITES[site]), "--date", day)
        assert result.status in {0, 1}
        _check(result.out)


def test_long_and_wide_names_stay_inside_the_columns(
    run: Any, write: Any, example_text: str
) -> None:
    """Names of 60 cells, in letters of two cells each, and without a blank to break at."""
    wide, long = "\u661f" * 30, "x" * 60
    text = example_text.replace('name = "Garden"', f'name = "{wide}"')
    text = text.replace('name = "12 mm 60"', f'name = "{long}"')
    text = text.replace('name = "18 mm 65"', f'name = "{wide}"')
    path = write("names.toml", text)
    for command in (("plan",), ("look", "M45"), ("kit",)):
        out = (
            run(*command, "--config", path, "--date", "2026-11-25").out
            if command != ("kit",)
            else run("kit", "--config", path).out
        )
        assert all(cell_width(line) <= 80 for line in out.splitlines())
        assert wide[:10] in out


def test_what_is_left_out_is_told_by_reason_and_counted(run: Any) -> None:
    """At most a few lines for each, and the way to the rest."""
    out = run("plan").out
    count = len(run("plan", "--format", "json").json["left_out"])
    section = out.partition("\nLeft out\n")[2].partition("\n\n")[0].splitlines()
    assert section[-1] == f"{count} in all; --format json has each with its reason"
    assert sum(line.startswith("- ") for line in section) <= 10
    flat = " ".join(" ".join(section).split())
    assert re.search(
        r"- no higher than \d+ to \d+ deg [^()]*: [^()]* \(\d+\), [^()]* \(\d+\)", flat
    )


def test_a_session_that_begins_before_dark_says_that_one_waits(run: Any) -> None:
    """A gap that nobody explains looks like a mistake."""
    out = run("plan", "--kind", "galaxy").out
    assert re.search(r"^16:48-\d\d:\d\d  -- (wait: not dark|free: what)", out, re.MULTILINE)


def test_a_break_stands_between_the_looks(run: Any) -> None:
    """After an hour and a half of cold."""
    out = run("plan").out
    starts = re.findall(r"^(\d\d:\d\d)-\d\d:\d\d  ", out, re.MULTILINE)
    assert "-- break: warm up, rest the eyes --" in out
    assert starts == sorted(starts)


def test_fields_worked_out_from_the_apparent_field_are_marked(run: Any) -> None:
    """A tilde, as on the kit's sheet."""
    out = run("look", "M15", "--date", "2026-11-25").out
    assert "~36'" in out
    assert "104'" in out
    assert "~104'" not in out
    assert re.search(
        r"^.{13}\d+ mm 60 .* ~\d\d'  \w",
        run("plan", "--kind", "globular cluster").out,
        re.MULTILINE,
    )


@pytest.mark.parametrize("grade", Grade)
def test_every_grade_fits_its_column(
    run: Any, monkeypatch: pytest.MonkeyPatch, grade: Grade
) -> None:
    """Whatever tonight's targets happen to be graded."""

    def regraded(plan: Plan, **named: Any) -> str:
        looks = tuple(replace(look, view=replace(look.view, grade=grade)) for look in plan.looks)
        return plan_text(replace(plan, looks=looks), **named)

    monkeypatch.setattr("planner.cli.plan_steps.plan_text", regraded)
    out = run("plan", "--count", "2").out
    assert len(re.findall(rf"  {grade_word(grade)}$", out, re.MULTILINE)) == 2
    _check(out)


@pytest.mark.parametrize(
    ("azimuth_deg", "words"),
    [
        (0.0, "N 000"), (11.2, "N 011"), (11.3, "N 011"), (12.0, "NNE 012"), (90.0, "E 090"),
        (180.0, "S 180"), (225.0, "SW 225"), (348.7, "N 349"), (359.6, "N 000"),
    ],
)  # fmt: skip
def test_directions_have_sixteen_points(azimuth_deg: float, words: str) -> None:
    """Each is 22.5 degrees wide, north around zero; the point goes with the degrees shown."""
    assert compass(azimuth_deg) == words


@pytest.mark.parametrize(
    ("evening", "words"),
    [
        (date(2026, 11, 25), "Wed 25 / Thu 26 Nov 2026"),
        (date(2026, 4, 30), "Thu 30 Apr / Fri 1 May 2026"),
        (date(2026, 12, 31), "Thu 31 Dec 2026 / Fri 1 Jan 2027"),
        (date(2028, 2, 28), "Mon 28 / Tue 29 Feb 2028"),
    ],
)
def test_a_night_has_two_dates(evening: date, words: str) -> None:
    """So that nobody turns up a day late (weekdays: any calendar)."""
    assert double_date(evening) == words


def test_times_are_rounded_to_the_nearest_minute() -> None:
    """And a time that does not exist is a dash."""
    site = Site("Garden", 51.2, -2.4, timezone="Europe/London")
    zone = ZoneInfo("Europe/London")
    start = datetime(2026, 11, 25, 23, 59, 29, tzinfo=zone)
    assert clock(start, site) == "23:59"
    assert clock(start + timedelta(seconds=1), site) == "00:00"
    assert clock(None, site) == "-"


@pytest.mark.parametrize(
    ("arcmin", "words"),
    [(0.05, '3.0"'), (0.7, '42"'), (0.999, '60"'), (1.0, "1.0'"), (9.94, "9.9'"), (104.2, "104'")],
)
def test_sizes_take_the_unit_that_suits_them(arcmin: float, words: str) -> None:
    """Arcseconds below one arcminute, no needless decimals above ten."""
    assert arc(arcmin) == words
