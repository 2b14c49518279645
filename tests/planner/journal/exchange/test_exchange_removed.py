"""What was removed goes into no export, and comes back by no import."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from planner.cli.main import main
from planner.journal.exchange.formats import FORMATS, read_journal
from planner.journal.exchange.lines import HERE, READ, REMOVED, Line, content_id, sort_out
from planner.journal.records import JournalEntry, JournalSession
from planner.journal.store.journal import Journal, journal_path, open_journal
from planner.request.options import Surroundings

NOW = datetime(2026, 11, 26, 1, 5, tzinfo=UTC)

Sessions = tuple[JournalSession, ...]
Entries = tuple[JournalEntry, ...]
Run = Callable[..., tuple[int, str]]


@pytest.fixture
def journal(tmp_path: Path, sessions: Sessions, entries: Entries) -> Journal:
    """Return a journal with two evenings and four looks."""
    with open_journal(journal_path(tmp_path / "data")) as journal:
        journal.add_all(sessions, entries)
    return journal


@pytest.fixture
def run(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Run:
    """Return a function that runs a command of the journal in a folder."""

    def run(*words: str, folder: str = "data") -> tuple[int, str]:
        around = Surroundings(NOW, tmp_path / "none.toml", tmp_path / folder)
        status = main(["journal", *words], surroundings=around)
        return status, capsys.readouterr().out

    return run


@pytest.mark.parametrize("form", FORMATS)
def test_an_old_export_brings_nothing_back(
    form: str, journal: Journal, run: Run, tmp_path: Path, entries: Entries
) -> None:
    """The import tells of each entry that was removed since, and leaves it where it is."""
    file = tmp_path / "export"
    assert run("export", "--format", form, "--output", str(file))[0] == 0
    journal.remove_entry(entries[0].id, removed_at=NOW)
    status, said = run("import", str(file))
    words = " ".join(said.split())
    assert status == 0
    assert "removed here: M27 Dumbbell Nebula, 2026-03-14 21:10 UT; " in words
    assert '"journal restore 11111111" brings it back.' in words
    assert "0 read, 4 here already, 1 removed here, 0 refused. There was nothing new" in words
    assert {entry.id for entry in journal.entries()} == {entry.id for entry in entries[1:]}
    assert [former.record for former in journal.removed()] == [entries[0]]
    assert journal.restore_entry("1111") == entries[0]
    assert "removed" not in run("import", str(file))[1]


@pytest.mark.parametrize("form", FORMATS)
def test_an_export_holds_nothing_removed(
    form: str, journal: Journal, run: Run, entries: Entries
) -> None:
    """Whoever reads it elsewhere gets what is left."""
    journal.remove_entry(entries[0].id, removed_at=NOW)
    lines = read_journal(run("export", "--format", form)[1].encode(), form=form)
    assert {line.entry.id for line in lines if line.entry} == {entry.id for entry in entries[1:]}


def test_an_export_holds_no_session_begun_by_mistake(
    journal: Journal, run: Run, tmp_path: Path, entries: Entries, sessions: Sessions
) -> None:
    """It would be an evening out elsewhere; here it is known when it comes in again."""
    wrong = replace(sessions[1], id="c" * 32, start=entries[0].at, evening=entries[0].at.date())
    look = journal.add_to_evening(
        replace(entries[0], id="d" * 32), replace(wrong, site="Elsewhere")
    )
    document = json.loads(run("export", "--format", "json")[1])
    journal.remove_entry(look.id, removed_at=NOW)
    exported = json.loads(run("export", "--format", "json")[1])["sessions"]
    assert {session["id"] for session in exported} == {session.id for session in sessions}
    file = tmp_path / "idle.json"
    file.write_text(json.dumps(document | {"entries": []}), "utf-8")
    status, said = run("import", str(file))
    assert (status, "0 read, 3 here already, 0 refused" in said) == (0, True)


def test_what_was_removed_is_no_list_of_looks(
    journal: Journal, run: Run, tmp_path: Path, entries: Entries
) -> None:
    """``journal list --removed`` as JSON is of a schema that no import takes."""
    journal.remove_entry(entries[0].id, removed_at=NOW)
    status, text = run("list", "--removed", "--format", "json")
    (entry,) = json.loads(text)["entries"]
    assert (status, entry["id"]) == (0, entries[0].id)
    assert datetime.fromisoformat(entry["removed_at"]) == NOW
    file = tmp_path / "removed.json"
    file.write_text(text, "utf-8")
    assert run("import", str(file), folder="other")[0] == 2
    assert not (tmp_path / "other").exists()


def test_a_removed_look_is_known_without_its_id(entries: Entries, sessions: Sessions) -> None:
    """That of another program by second, target and glass; one of ours by its id alone."""
    look = entries[0]
    foreign = replace(look, id=content_id("foreign"), note="told by another program")
    line = Line("line 1", "look", sessions[0], foreign)
    (found,) = sort_out([line], sessions=sessions, removed=[look]).lines
    assert found[1] == REMOVED
    assert found[0].remarks == ('"journal restore 11111111" brings it back',)
    own = replace(line, own=True)
    assert sort_out([own], sessions=sessions, removed=[look]).lines == ((own, READ),)
    twice = replace(look, id="e" * 32)  # entered twice, and one of them removed
    both = sort_out([line], sessions=sessions, entries=[twice], removed=[look])
    assert both.lines == ((line, HERE),)


def test_nothing_comes_of_a_session_all_removed(entries: Entries, sessions: Sessions) -> None:
    """A file of another program whose one look was removed here brings no empty evening."""
    foreign = replace(sessions[0], id=content_id("evening"))
    look = replace(entries[0], id=content_id("look"), session_id=foreign.id)
    arrival = sort_out([Line("line 1", "look", foreign, look)], removed=[entries[0]])
    assert (arrival.sessions, arrival.entries) == ((), ())


@pytest.mark.parametrize("what", ["second", "target", "telescope", "eyepiece"])
def test_a_foreign_look_that_differs_in_one_thing_is_another(
    what: str, entries: Entries, sessions: Sessions
) -> None:
    """Two eyepieces in one second are two looks: what makes a look known is all four."""
    look = replace(entries[0], id=content_id("foreign"))
    other = {
        "second": replace(look, at=look.at + timedelta(seconds=1)),
        "target": replace(look, target=replace(look.target, id="NGC1")),
        "telescope": replace(look, train=replace(look.train, telescope="another one")),
        "eyepiece": replace(look, train=replace(look.train, eyepiece="another one")),
    }[what]
    lines = [Line(f"line {n}", "look", sessions[0], one) for n, one in enumerate((look, other))]
    arrival = sort_out(lines, sessions=sessions, entries=[entries[0]])
    assert [fate for _, fate in arrival.lines] == [HERE, READ]
