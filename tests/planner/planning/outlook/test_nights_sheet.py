"""The coming nights on a screen of 80 by 24, and as JSON."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date, time
from typing import Any

import pytest

from planner.model.plan import Grade
from planner.output.contracts.nights import nights_json
from planner.output.text.nights import nights_text
from planner.planning.outlook.coming_nights import NightsAsked
from planner.text import cell_width

WIDTH = 80
# A screen of 24 lines, less the one on which the shell then waits.
SCREEN_LINES = 23
NO_NUMBERS = re.compile(r"\b(nan|none|inf|null)\b", re.IGNORECASE)

# Ordinary places, clock changes in both hemispheres, polar day and night.
PLACES = [
    ("Garden", "2026-10-10"),
    ("Garden", "2026-06-10"),
    ("Tromso", "2026-05-10"),
    ("Tromso", "2026-12-10"),
    ("Svalbard", "2026-06-10"),
    ("Svalbard", "2026-12-10"),
    ("Pole", "2026-06-10"),
    ("Pole", "2026-12-10"),
    ("Quito", "2026-03-10"),
    ("Sydney", "2026-09-25"),
]


def text_of(circumstances: Any, outlooks: Any, **asked: Any) -> str:
    """Write nights that were asked for as said."""
    return nights_text(
        outlooks,
        NightsAsked(outlooks[0].night.date, **asked),
        telescope=circumstances.telescope,
        wishes="showpieces",
    )


@pytest.mark.parametrize("target", [None, "M42", "Jupiter"])
@pytest.mark.parametrize(("site", "first"), PLACES)
def test_every_line_fits_and_is_ascii(
    look_ahead: Any, circumstances: Any, catalogue: Any, site: str, first: str, target: str | None
) -> None:
    """Anywhere at any time of year lines have at most 80 ASCII cells and only real numbers."""
    outlooks = look_ahead(site, first, 4, wishes=["M31", "M42", "NGC 104"], target=target)
    asked = None if target is None else catalogue.find(target)
    text = text_of(circumstances, outlooks, target=asked)
    assert text.isascii()
    assert max(map(len, text.splitlines())) <= WIDTH
    assert not any(line.endswith(" ") for line in text.splitlines())
    assert not NO_NUMBERS.search(text)


@pytest.mark.parametrize("target", [None, "M42", "NGC 104"])
def test_a_month_fits_the_screen(
    look_ahead: Any, circumstances: Any, catalogue: Any, target: str | None
) -> None:
    """Thirty nights leave room for the prompt on a screen of 24 lines, and each is there once."""
    outlooks = look_ahead("Garden", "2026-11-25", 30, wishes=["M31", "M42"], target=target)
    text = text_of(circumstances, outlooks, target=target and catalogue.find(target))
    assert len(text.splitlines()) <= SCREEN_LINES
    table = "\n".join(text.splitlines()[1:17])
    for outlook in outlooks:
        day = f"{outlook.night.date:%a} {outlook.night.date.day:2d} {outlook.night.date:%b}"
        assert table.count(day) == 1


def test_a_list_row_tells_the_night(look_ahead: Any, circumstances: Any) -> None:
    """A row holds darkness, its moonless part, the lit Moon with its rising, and the count."""
    outlooks = look_ahead("Garden", "2026-12-01", 2, wishes=["M31", "M42"])
    text = text_of(circumstances, outlooks)
    first = outlooks[0]
    row = text.splitlines()[2]
    assert row[1:].split() == [
        "Tue", "1", "Dec", f"{first.dark_hours:.1f}", f"{first.dark_moonless_hours:.1f}",
        f"{first.night.moon_illuminated:.0%}", "r00:33", "1",
    ]  # fmt: skip
    assert "1 of 2 well placed" in text
    assert "first of all M31 Andromeda Galaxy" in text


def test_the_best_night_is_marked_once(look_ahead: Any, circumstances: Any, catalogue: Any) -> None:
    """The asterisk stands at the night that the last lines name."""
    outlooks = look_ahead("Garden", "2026-11-25", 12, wishes=["M31"], target="M42")
    text = text_of(circumstances, outlooks, target=catalogue.find("M42"))
    (marked,) = re.findall(r"^\*(\w{3} +\d+ \w{3})", text, re.MULTILINE)
    best = f"M42 Orion Nebula (from dusk to dawn): {marked}, highest"
    assert " ".join(best.split()) in " ".join(text.split())


def test_a_night_without_window_has_dashes_and_a_reason(
    look_ahead: Any, circumstances: Any, catalogue: Any
) -> None:
    """What cannot be seen is a row of dashes, and the last line says why."""
    outlooks = look_ahead("Garden", "2026-12-01", 2, wishes=["M31"], target="NGC 104")
    text = text_of(circumstances, outlooks, target=catalogue.find("NGC 104"))
    assert text.splitlines()[2].split()[-4:] == ["-", "-", "-", "-"]
    assert "no night has a window for it" in text
    assert "*" not in text
    assert "below the horizon" in text


def test_polar_day_is_told_once(look_ahead: Any, circumstances: Any) -> None:
    """Nights without a session are counted, the first one with its reason."""
    outlooks = look_ahead("Tromso", "2026-06-20", 5, wishes=["M31"])
    text = " ".join(text_of(circumstances, outlooks).split())
    assert "5 nights have no session. Sat 20 Jun: The Sun does not set: polar day." in text
    assert "nothing is well placed on any night" in text


def test_the_hours_that_were_asked_for_are_told(
    look_ahead: Any, circumstances: Any, catalogue: Any
) -> None:
    """The sheet says for which hours list and target are judged."""
    hours = {"begin": time(22), "until": time(1, 30)}
    outlooks = look_ahead("Garden", "2026-12-01", 1, wishes=["M31"], target="M42", **hours)
    text = " ".join(text_of(circumstances, outlooks, target=catalogue.find("M42"), **hours).split())
    assert "List (showpieces, from 22:00 to 01:30):" in text
    assert "M42 Orion Nebula (from 22:00 to 01:30):" in text
    assert text.startswith("1 night, Tue 1 Dec 2026, Garden (Europe/London), ")


def test_long_and_wide_names_are_cut_to_the_line(look_ahead: Any, circumstances: Any) -> None:
    """A site's name of 60 wide characters does not break the lines."""
    (outlook,) = look_ahead("Garden", "2026-12-01", 1, wishes=["M31"])
    site = replace(outlook.night.site, name="\u5929" * 30 + "x" * 30)
    odd = replace(outlook, night=replace(outlook.night, site=site))
    assert max(map(cell_width, text_of(circumstances, [odd]).splitlines())) <= WIDTH


@pytest.mark.parametrize("grade", Grade)
def test_the_longest_word_fits_the_line_of_two_nights(
    look_ahead: Any, circumstances: Any, catalogue: Any, grade: Grade
) -> None:
    """Whatever is expected of the view."""
    (outlook,) = look_ahead("Garden", "2026-12-08", 1, wishes=["M31"], target="M42")
    seen = replace(outlook.target, best=replace(outlook.target.best, grade=grade))
    outlooks = [replace(outlook, target=seen)] * 40
    text = text_of(circumstances, outlooks, target=catalogue.find("M42"))
    assert max(map(cell_width, text.splitlines())) <= 80


def test_json_has_the_keys_and_types_of_the_contract(
    look_ahead: Any, circumstances: Any, catalogue: Any
) -> None:
    """Keys, types and units are as documented; times carry the site's offset."""
    outlooks = look_ahead("Garden", "2026-06-21", 2, wishes=["M13", "M42"], target="M13")
    found = nights_json(
        outlooks,
        NightsAsked(date(2026, 6, 21), target=catalogue.find("M13")),
        telescope=circumstances.telescope,
        wishes="my list",
    )
    assert set(found) == {
        "schema", "site", "timezone", "telescope", "wish_list", "target", "nights",
    }  # fmt: skip
    assert found["schema"] == "fieldstop.nights/1"
    assert found["wish_list"] == {"name": "my list", "count": 2, "best_night": "2026-06-21"}
    assert found["target"]["id"] == "NGC6205"
    assert found["target"]["best_night"] == "2026-06-21"
    night = found["nights"][0]
    assert night["date"] == "2026-06-21"
    assert night["dark_start"] is None
    assert (night["dark_hours"], night["dark_moonless_hours"]) == (0.0, 0.0)
    assert night["window_start"].endswith("+01:00")
    assert night["well_placed"] == 1
    assert night["best"] == [{"id": "NGC6205", "name": "M13 Great Hercules Cluster"}]
    assert night["no_session"] is None
    assert "No astronomical darkness" in night["note"]
    target = night["target"]
    assert target["grade"] == "easy"
    assert target["hindrance"] is None
    assert target["at"].endswith("+01:00")
    assert isinstance(target["moon_is_up"], bool)
    assert {type(target[key]) for key in ("altitude_deg", "window_minutes")} == {float}
    assert target["window_minutes"] > 60.0
    assert set(target["windows"][0]) == {"start", "end"}


def test_json_says_null_for_what_is_not_known(
    look_ahead: Any, circumstances: Any, catalogue: Any
) -> None:
    """Polar day: no session, so nothing is counted; no window, so no moment; never a zero."""
    outlooks = look_ahead("Svalbard", "2026-06-20", 1, wishes=["M13"], target="M13")
    found = nights_json(
        outlooks,
        NightsAsked(date(2026, 6, 20), target=catalogue.find("M13")),
        telescope=circumstances.telescope,
        wishes="my list",
    )
    (night,) = found["nights"]
    for key in ("window_start", "window_end", "well_placed", "sunset", "dark_start"):
        assert night[key] is None
    for key in ("at", "altitude_deg", "moon_separation_deg", "moon_is_up", "grade"):
        assert night["target"][key] is None
    assert night["target"]["windows"] == []
    assert "does not set" in night["no_session"]
    assert found["wish_list"]["best_night"] is found["target"]["best_night"] is None
    assert found["target"]["reason"] is None
