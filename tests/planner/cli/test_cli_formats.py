"""The formats of a plan beside text and JSON, as they are asked for."""

from __future__ import annotations

from html import unescape
from pathlib import Path
from typing import Any

import pytest

BEGINNINGS = {
    "html": "<!DOCTYPE html>",
    "csv": "start,end,target_id",
    "ecsv": "# %ECSV 1.0",
    "ics": "BEGIN:VCALENDAR\r\n",
}


@pytest.mark.parametrize(("form", "beginning"), BEGINNINGS.items())
def test_a_plan_comes_in_each_format(run: Any, form: str, beginning: str) -> None:
    """Each is what its name says, and nothing else is on standard output."""
    result = run("plan", "--date", "2026-12-08", "--count", "2", "--format", form)
    assert result.status == 0
    assert result.out.startswith(beginning)


def test_a_calendar_in_a_file_keeps_its_line_ends(run: Any, tmp_path: Path) -> None:
    """CRLF on every system, and no CR twice."""
    path = tmp_path / "night.ics"
    run("plan", "--date", "2026-12-08", "--count", "2", "--format", "ics", "--output", str(path))
    assert path.read_bytes().startswith(b"BEGIN:VCALENDAR\r\nVERSION")
    assert b"\r\r" not in path.read_bytes()


@pytest.mark.parametrize("form", BEGINNINGS)
def test_a_night_without_looks_says_why_in_each_format(run: Any, tmp_path: Path, form: str) -> None:
    """The Moon sets before sunset: the exit status is 1, the reason is on standard error."""
    wishes = tmp_path / "moon.txt"
    wishes.write_text("Moon\n", "utf-8")
    result = run("plan", "--date", "2026-12-08", "--list", str(wishes), "--format", form)
    assert result.status == 1
    assert result.err
    if form in {"csv", "ics"}:
        assert len(result.out.splitlines()) <= 1


def test_an_unknown_format_is_told_which_there_are(run: Any) -> None:
    """The sentence names all of them."""
    result = run("plan", "--format", "pdf")
    assert result.status == 2
    assert all(form in result.err for form in ("text", "json", *BEGINNINGS))


def test_pages_say_what_to_look_for(run: Any) -> None:
    """The same facts as in JSON: of each look of a plan, and of a target."""
    asked = ("plan", "--date", "2026-12-08", "--count", "2")
    told = [
        fact for look in run(*asked, "--format", "json").json["looks"] for fact in look["look_for"]
    ]
    page = unescape(run(*asked, "--format", "html").out)
    assert told
    assert all(fact in page for fact in told)
    target = ("look", "M13", "--date", "2026-09-08")
    told = run(*target, "--format", "json").json["look_for"]
    assert told[0] == "splits into stars"
    assert ", ".join(told) in unescape(run(*target, "--format", "html").out)
