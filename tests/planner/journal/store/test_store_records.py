"""What is kept comes back, in order, by what is asked for."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path
from typing import Any

import pytest

from planner.journal.records import JournalSession, LoggedTarget, LoggedTrain, Outcome, new_id
from planner.journal.store.errors import JournalError
from planner.journal.store.journal import Journal, journal_path, open_journal

LATER = datetime(2026, 11, 26, 9, 0, tzinfo=UTC)
HOSTILE = [
    "=1+1",
    "<b>bold</b> & <script>alert(1)</script>",
    "'; DROP TABLE entry; --",
    "quotes \" and ' and `",
    "control \x00 \x07 \x1b[31m and a\ttab\r\nline",
    "right \u202eto left, \u05e9\u05dc\u05d5\u05dd, \u0645\u0631\u062d\u0628\u0627",
    "\U0001f469\u200d\U0001f680 and e\u0301",
    "%s {0} {{x}} \\N",
]


def test_records_come_back_as_they_were(journal: Journal, session: Any, make_entry: Any) -> None:
    """Nothing is lost or changed on the way to the file and back, full or empty."""
    full = make_entry()
    bare = make_entry(
        target=LoggedTarget("", "a smudge", "galaxy"), train=LoggedTrain(), planned_at=None,
        outcome=Outcome.SKIPPED, why_skipped="cloud", rating=None, seeing=None, transparency=None,
        planned_train="", note="", sketch="",
    )  # fmt: skip
    journal.add_all([], [full, bare])
    with open_journal(journal.path) as again:
        assert again.sessions() == (session,)
        assert again.session(session.id) == session
        assert again.entries() == (full, bare)
        assert again.entry(bare.id) == bare
        assert again.remarks == ()


@pytest.mark.parametrize("text", HOSTILE)
def test_any_text_comes_back(journal: Journal, make_entry: Any, text: str) -> None:
    """Markup, formulas, control characters and any script are text, and stay as they are."""
    entry = make_entry(
        note=text,
        sketch=text,
        target=LoggedTarget("", text, text),
        train=LoggedTrain(eyepiece=text),
    )
    journal.add(entry)
    assert journal.entries(eyepiece=text) == (entry,)
    assert journal.entries(target_name=text) == (entry,)


def test_half_a_character_costs_no_entry(journal: Journal, make_entry: Any) -> None:
    """Bytes from a shell that are no text become question marks."""
    entry = make_entry(note="caf\udce9")
    journal.add(entry)
    assert journal.entry(entry.id).note == "caf?"


def test_entries_are_chosen_and_in_order(journal: Journal, make_entry: Any) -> None:
    """Time, target, eyepiece and a limit choose; the order is that of time, not of adding."""
    first, second, third = make_entry(), make_entry(), make_entry()
    other = replace(third, target=replace(third.target, id="M45"), train=LoggedTrain(eyepiece="x"))
    journal.add_all([], [other, second, first])
    assert journal.entries() == (first, second, other)
    assert journal.entries(limit=2) == (second, other)
    assert journal.entries(since=second.at) == (second, other)
    assert journal.entries(since=second.at.astimezone(timezone(timedelta(hours=9)))) == (
        second,
        other,
    )
    assert journal.entries(target_id="M45") == (other,)
    assert journal.entries(eyepiece="12 mm 60", limit=1) == (second,)
    assert journal.count(eyepiece="12 mm 60") == 2
    assert journal.entries(session_id=new_id()) == ()
    assert journal.eyepieces() == ("12 mm 60", "x")
    assert journal.columns("target_id", "rating")[-1] == ("M45", 4)


def test_only_what_was_seen_counts_as_seen(journal: Journal, make_entry: Any) -> None:
    """A suspicion, a failure or a target without an id makes nothing seen."""
    for number, outcome in enumerate(Outcome):
        journal.add(make_entry(outcome=outcome, target=LoggedTarget(f"T{number}", "t", "galaxy")))
    journal.add(make_entry(target=LoggedTarget("", "t", "galaxy")))
    assert journal.seen_ids() == {"T0"}


def test_a_correction_keeps_what_was(journal: Journal, make_entry: Any) -> None:
    """Every former state stays, with the time until which it held."""
    entry = make_entry()
    journal.add(entry)
    second = journal.amend(entry.id[:6], changed_at=LATER, note="better", rating=None)
    journal.amend(entry.id, changed_at=LATER, note="better")  # no change, so no former state
    third = journal.amend(entry.id, changed_at=LATER + timedelta(days=1), outcome=Outcome.NOT_SEEN)
    assert second == replace(entry, note="better", rating=None)
    assert journal.entry(entry.id) == third
    first, then = journal.history(entry.id)
    assert (first.record, first.changed_at) == (entry, LATER)
    assert (then.record, then.changed_at) == (second, LATER + timedelta(days=1))
    assert journal.count() == 1


def test_a_session_ends_and_keeps_what_was(journal: Journal, session: JournalSession) -> None:
    """Sessions are corrected as entries are."""
    changed = journal.change_session(session.id, changed_at=LATER, comments="", companions=("C",))
    assert journal.sessions() == (changed,)
    with closing(sqlite3.connect(journal.path)) as db:
        (kept,) = db.execute("SELECT record FROM former WHERE record_id = ?", (session.id,))
    assert json.loads(kept[0])["comments"] == session.comments


def test_all_or_nothing(journal: Journal, session: JournalSession, make_entry: Any) -> None:
    """One that cannot be kept keeps out the others that came with it."""
    kept = make_entry()
    journal.add(kept)
    other = replace(session, id=new_id())
    with pytest.raises(JournalError, match="in the journal already, under the same id"):
        journal.add_all([other], [make_entry(session_id=other.id), kept])
    with pytest.raises(JournalError, match="session that is not in the journal"):
        journal.add_all([], [make_entry(), make_entry(session_id=new_id())])
    assert journal.sessions() == (session,)
    assert journal.entries() == (kept,)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"rating": 6}, "A rating of 6 is not on the scale; it goes from 1 to 5"),
        ({"seeing": "VI"}, 'Seeing "VI" is not on the scale; it goes from I to V'),
        ({"transparency": 0}, "Transparency 0 is not on the scale"),
        ({"at": datetime(2026, 1, 1)}, "has no time zone"),  # noqa: DTZ001  # the fault itself
        ({"id": "../etc"}, "is not an id"),
    ],
)
def test_what_no_journal_holds_is_refused(
    journal: Journal, make_entry: Any, changes: dict[str, Any], words: str
) -> None:
    """Values off their scales are named, and nothing is kept, when added and when amended."""
    with pytest.raises(JournalError, match=words):
        journal.add(make_entry(**changes))
    good = make_entry()
    journal.add(good)
    with pytest.raises(JournalError, match=words):
        journal.amend(good.id, changed_at=LATER, **changes) if "id" not in changes else (
            journal.add(make_entry(**changes))
        )
    assert journal.entries() == (good,)
    assert journal.history(good.id) == ()


def test_a_few_digits_name_an_entry(journal: Journal, make_entry: Any) -> None:
    """As many as only one id begins with; else the sentence says what to do."""
    journal.add_all([], [make_entry(id="3f2a" + "0" * 28), make_entry(id="3f2b" + "f" * 28)])
    assert journal.entry("3F2A ").id == "3f2a" + "0" * 28
    assert journal.entry("3f2b" + "f" * 28).id == "3f2b" + "f" * 28
    for beginning, words in (
        ("3f2", "More than one id begins with"),
        ("9", "no entry in the journal whose id begins"),
        ("", "no entry in the journal"),
        ("%", "no entry in the journal"),
        ("3f2a" + "0" * 29, "no entry in the journal"),
    ):
        with pytest.raises(JournalError, match=words):
            journal.entry(beginning)


def test_a_closed_journal_opens_again(journal: Journal, path: Path, make_entry: Any) -> None:
    """Closing twice is nothing; the file is where the data folder is."""
    entry = make_entry()
    journal.add(entry)
    journal.close()
    journal.close()
    assert journal_path(path.parent) == path
    beside = {"journal.sqlite.lock", "journal.backup-1.sqlite", "journal.ledger.jsonl"}
    assert {file.name for file in path.parent.iterdir()} == {"journal.sqlite", *beside}
    assert journal.entries() == (entry,)


@pytest.mark.parametrize("year", [1, 1799, 2201, 9999])
def test_a_time_that_no_zone_can_show_is_refused(
    journal: Journal, make_entry: Any, year: int
) -> None:
    """A look outside 1800 to 2200 would end every list in an error; it never gets in."""
    with pytest.raises(JournalError, match="is not in the years 1800 to 2200"):
        journal.add(make_entry(at=datetime(year, 1, 1, tzinfo=UTC)))
    assert journal.count() == 0


def test_the_folder_is_for_its_owner_alone(journal: Journal) -> None:
    """The journal holds where home is: a folder made for it is closed to others."""
    assert journal.path.parent.stat().st_mode & 0o077 == 0
