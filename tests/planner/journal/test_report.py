"""What the report says follows from the looks; every figure here was counted by hand."""

from __future__ import annotations

import json
import unicodedata
from dataclasses import astuple, replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.cli.main import main
from planner.journal.records import (
    JournalEntry,
    JournalSession,
    LoggedTarget,
    LoggedTrain,
    Outcome,
)
from planner.journal.report import COLUMNS, JournalReport, journal_report
from planner.journal.store.journal import journal_path, open_journal
from planner.journal.store.rows import ENTRY_COLUMNS, entry_row
from planner.output.contracts.journal_report import report_json
from planner.output.text.journal_report import report_text, runs, short_name
from planner.request.options import Surroundings
from planner.text import cell_width

PAGE_LINES = 60
DUSK = datetime(2026, 3, 14, 20, 0, tzinfo=UTC)
M13 = LoggedTarget("NGC6205", "M13 Great Hercules Cluster", "globular cluster", magnitude=5.8)
M3 = LoggedTarget("NGC5272", "M3", "globular cluster", magnitude=6.2)
M101 = LoggedTarget("NGC5457", "M101 Pinwheel Galaxy", "galaxy", magnitude=7.9)
FUZZ = LoggedTarget("", "Fuzz", "")
LISTED = [("NGC6205", M13.name), ("NGC5272", M3.name), ("NGC5457", M101.name), ("M45", "M45")]


def session(number: int, **others: Any) -> JournalSession:
    """Make an evening, so many nights after the first."""
    start = DUSK + timedelta(days=number)
    names = {"site": "Garden", "timezone": "Europe/London", "observer": "Ann"} | others
    return JournalSession(f"{number:032x}", start.date(), start=start, **names)


def train(eyepiece: str, pupil_mm: float | None = None, amplifier: str = "") -> LoggedTrain:
    """Make a train."""
    return LoggedTrain("200 mm", 200.0, 1200.0, eyepiece, amplifier=amplifier,
                       exit_pupil_mm=pupil_mm)  # fmt: skip


def look(
    number: int, night: int, minutes: int, target: LoggedTarget, used: LoggedTrain,
    outcome: Outcome = Outcome.SEEN, **others: Any,
) -> JournalEntry:  # fmt: skip
    """Make a look, so many minutes after the start of a night."""
    at = DUSK + timedelta(days=night, minutes=minutes)
    return JournalEntry(
        f"{number + 4096:032x}", f"{night:032x}", at, target, used, outcome, **others
    )


SESSIONS = (
    session(0, end=DUSK + timedelta(hours=2), faintest_star_mag=5.8),
    session(1, faintest_star_mag=6.1, site="Hill"),  # no end: to the last look, after 30 minutes
    session(2, end=DUSK + timedelta(days=2, minutes=30)),  # nothing was seen that night
)
ENTRIES = (
    look(1, 0, 10, M13, train("12 mm", 2.0), rating=5, planned_train="12 mm",
         planned_at=DUSK + timedelta(minutes=4)),
    look(2, 0, 20, M13, train("12 mm", 1.0, "2x"), rating=4, planned_train="12 mm + 2x",
         planned_at=DUSK + timedelta(minutes=20)),
    look(3, 0, 30, M3, train("8 mm", 1.3), rating=3, planned_train="12 mm",
         planned_at=DUSK + timedelta(minutes=20)),
    look(4, 0, 40, M101, train("30 mm", 5.0), Outcome.NOT_SEEN, planned_train="18 mm"),
    look(5, 0, 50, M101, train("30 mm"), Outcome.SKIPPED, why_skipped="cloud", planned_train="x"),
    look(6, 1, 10, M13, train("8 mm", 1.3), planned_train="12 mm", rating=4),
    look(7, 1, 20, M101, train("30 mm", 5.0), Outcome.SUSPECTED),
    look(8, 1, 30, FUZZ, train("")),
)  # fmt: skip


def rows_of(entries: tuple[JournalEntry, ...]) -> list[tuple[Any, ...]]:
    """Return the columns of a report as the journal keeps them."""
    places = [ENTRY_COLUMNS.index(name) for name in COLUMNS]
    return [tuple(entry_row(entry)[place] for place in places) for entry in entries]


@pytest.fixture(scope="module")
def report() -> JournalReport:
    """Return the report of the looks above."""
    return journal_report(rows_of(ENTRIES), SESSIONS, list_name="Some", listed=LISTED)


def test_nights_hours_and_the_faintest_star(report: JournalReport) -> None:
    """2 h, half an hour to the last look, half an hour of nothing; the Hill showed most."""
    assert (report.nights, report.hours) == (3, 3.0)
    assert (report.first, report.last) == (date(2026, 3, 14), date(2026, 3, 16))
    assert report.sites == (("Garden", 2), ("Hill", 1))
    assert (report.faintest_star_mag, report.faintest_star_on) == (6.1, date(2026, 3, 15))
    assert report.looks == 8
    assert report.outcomes == {"seen": 5, "suspected": 1, "not-seen": 1, "skipped": 1}


def test_two_sessions_at_once_count_once() -> None:
    """Two observers of one evening did not have twice the night."""
    other = replace(SESSIONS[0], id="f" * 32, observer="Bo", start=DUSK + timedelta(hours=1))
    both = (replace(other, end=DUSK + timedelta(hours=3)), SESSIONS[0])
    assert journal_report([], both).hours == 3.0


def test_eyepieces(report: JournalReport) -> None:
    """Looks, nights, exit pupils, ratings and kinds of each; what was skipped is no use of it."""
    assert [use.name for use in report.eyepieces] == ["12 mm", "30 mm", "8 mm"]
    twelve, thirty, eight = report.eyepieces
    assert (twelve.looks, twelve.nights, twelve.rating, twelve.rated) == (2, 1, 4.5, 2)
    assert (twelve.pupil_low_mm, twelve.pupil_median_mm, twelve.pupil_high_mm) == (1.0, 1.5, 2.0)
    assert (thirty.looks, thirty.nights, thirty.rating) == (2, 2, None)
    assert thirty.kinds == (("galaxy", 2),)
    assert (eight.looks, eight.nights, eight.rating) == (2, 2, 3.5)
    assert report.without_eyepiece == 1


def test_kinds_and_the_faintest_seen(report: JournalReport) -> None:
    """What was only suspected is not the faintest seen."""
    by_kind = {use.kind: use for use in report.kinds}
    clusters = by_kind["globular cluster"]
    assert (clusters.looks, clusters.targets, clusters.seen) == (4, 2, 2)
    assert (clusters.faintest, clusters.faintest_mag) == ("M3", 6.2)
    assert (by_kind["galaxy"].seen, by_kind["galaxy"].faintest_mag) == (0, None)


def test_plan_against_practice(report: JournalReport) -> None:
    """Of five planned looks two went as planned; the 12 mm gave way to the 8 mm twice."""
    plan = report.plan
    assert (plan.planned, plan.followed) == (5, 2)
    assert [astuple(change)[:3] for change in plan.overrulings] == [
        ("12 mm", "8 mm", 2), ("18 mm", "30 mm", 1),
    ]  # fmt: skip
    assert (plan.rating_followed, plan.rating_overruled) == (4.5, 3.5)
    assert plan.delay_min == 6.0  # of 6, 0 and 10 minutes
    assert plan.skipped == (("cloud", 1),)


@pytest.mark.parametrize(
    ("planned", "amplifier", "filter_", "followed"),
    [
        ("12 mm", "", "", 1),
        (" 12  MM", "", "", 1),
        ("12 mm", "", "O III", 1),
        ("12 mm + O III", "", "O III", 1),
        ("12 mm", "2x", "", 0),
        ("12 mm + 2x", "2x", "O III", 1),
        ("12 mm + O III", "", "", 0),
        ("8 mm", "", "", 0),
    ],
)
def test_what_follows_a_plan(planned: str, amplifier: str, filter_: str, followed: int) -> None:
    """A filter may be added to the plan's glass; other glass, or no filter, is another choice."""
    used = LoggedTrain("200 mm", eyepiece="12 mm", amplifier=amplifier, filter=filter_)
    entries = (look(1, 0, 5, M13, used, planned_train=planned),)
    assert journal_report(rows_of(entries), SESSIONS[:1]).plan.followed == followed


def test_targets_and_the_list(report: JournalReport) -> None:
    """Each target with what it was seen in; the list falls into seen, looked for and not yet."""
    by_name = {use.name: use for use in report.targets}
    assert by_name[M13.name].eyepieces == (("12 mm", 2), ("8 mm", 1))
    assert (by_name[M101.name].looks, by_name[M101.name].seen) == (2, 0)
    assert report.list is not None
    assert [id_ for id_, _ in report.list.seen] == ["NGC6205", "NGC5272"]
    assert [id_ for id_, _ in report.list.sought] == ["NGC5457"]
    assert [id_ for id_, _ in report.list.not_yet] == ["M45"]


def test_the_page_says_so(report: JournalReport) -> None:
    """The figures stand on a page that fits a sheet."""
    text = report_text(report)
    for words in (
        "The journal of Ann", "3.0 hours", "stars to 6.1 at best, on 15 Mar 2026",
        "2 of 5 planned looks as planned; rated 4.5, the others 3.5; 6 min late",
        "8 mm for 12 mm: 2 times; globular cluster 2", "Skipped   cloud (1)",
        "Some: 2 of 4 seen", "12 mm: M13", "8 mm: M13, M3", "Looked for: M101", "Not yet: M45",
    ):  # fmt: skip
        assert words in text
    assert len(text.splitlines()) <= PAGE_LINES
    assert max(map(cell_width, text.splitlines())) <= 80


def test_json_holds_no_nan(report: JournalReport) -> None:
    """The object is JSON, with null where nothing is known."""
    again = json.loads(json.dumps(report_json(report), allow_nan=False))
    assert again["schema"] == "fieldstop.journal-report/1"
    assert again["eyepieces"][1]["rating"] is None
    assert again["first"] == "2026-03-14"
    assert again["list"]["not_yet"] == [{"id": "M45", "name": "M45"}]


def test_an_empty_journal_has_a_report() -> None:
    """Nothing is said in a sentence, and nothing breaks."""
    report = journal_report([], [], list_name="Some", listed=LISTED)
    assert report_text(report) == "The journal has no looks yet.\n"
    assert json.loads(json.dumps(report_json(report), allow_nan=False))["looks"] == 0
    idle = journal_report([], SESSIONS)
    assert (idle.nights, idle.looks) == (3, 0)


def test_neighbours_are_one_run() -> None:
    """Three or more neighbours become one; two stay, and a gap parts them."""
    names = ["M1", "M2", "M3", "M5", "M6", "NGC7", "NGC8", "NGC9", "Fuzz", "M7"]
    assert runs(names) == ["M1-M3", "M5", "M6", "NGC7-NGC9", "Fuzz", "M7"]
    assert short_name("M31 Andromeda Galaxy") == "M31"
    assert short_name("NGC 7000 North America Nebula") == "NGC7000"
    assert short_name("Mel 111 Coma") == "Mel111"
    assert short_name("Moon") == "Moon"


@given(
    words=st.lists(
        st.text(max_size=100) | st.text("\u202e\x1b界a", min_size=60), min_size=6, max_size=6
    ),
    magnitude=st.none() | st.floats(-30.0, 40.0),
)
def test_any_text_keeps_to_the_page(words: list[str], magnitude: float | None) -> None:
    """Control characters, wide ones and right-to-left marks break no line and steer no terminal."""
    name, eyepiece, why, planned, site, observer = words
    target = LoggedTarget("", name or "M1", "galaxy", magnitude=magnitude)
    entries = (
        look(1, 0, 5, target, train(eyepiece, 1.0), planned_train=planned),
        look(2, 0, 6, target, train(eyepiece), Outcome.SKIPPED, why_skipped=why),
    )
    sessions = (session(0, site=site, observer=observer),)
    listed = [("", name), ("M1", why)]
    text = report_text(journal_report(rows_of(entries), sessions, list_name=site, listed=listed))
    assert max(map(cell_width, text.split("\n"))) <= 80
    assert not [ch for ch in text if unicodedata.category(ch) in {"Cc", "Cs"} and ch != "\n"]
    assert "\u202e" not in text


def test_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Text and JSON come from the journal on disk; without one there is a sentence."""
    around = Surroundings(DUSK, tmp_path / "none.toml", tmp_path / "data")
    assert main(["journal", "report"], surroundings=around) == 1
    assert "no journal" in capsys.readouterr().err
    with open_journal(journal_path(tmp_path / "data")) as journal:
        journal.add_all(SESSIONS, ENTRIES)
    assert main(["journal", "report"], surroundings=around) == 0
    out = capsys.readouterr().out
    assert "Messier: 2 of 110 seen" in out
    assert "Not yet: M1, M2, M4-M12, M14-M100, M102-M110" in out
    arguments = ["journal", "report", "--format", "json", "--list", "caldwell"]
    assert main(arguments, surroundings=around) == 0
    not_yet = json.loads(capsys.readouterr().out)["list"]["not_yet"]
    assert len(not_yet) == 109
    assert [item["name"] for item in not_yet[:2]] == ["C1 NGC 188", "C2 NGC 40 Bow-Tie Nebula"]
    assert main(["journal", "report", "--list", "gone.txt"], surroundings=around) == 2
    assert "no such file" in capsys.readouterr().err
