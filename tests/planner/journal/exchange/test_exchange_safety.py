"""What goes out runs nowhere, and what comes in is held to limits."""

from __future__ import annotations

import csv
import io
import json
from datetime import UTC, datetime
from pathlib import Path

import pytest
from lxml import etree

from planner.cli.main import main
from planner.journal.exchange import formats as exchange_formats
from planner.journal.exchange.formats import journal_text, read_journal
from planner.journal.exchange.lines import ExchangeError
from planner.journal.exchange.oal_xml import read_document
from planner.journal.records import JournalEntry, JournalSession
from planner.journal.store.journal import journal_path, open_journal
from planner.request.options import Surroundings

ROOT = (
    '<o:observations xmlns:o="http://groups.google.com/group/openastronomylog" version="2.1"'
    "{attributes}>{content}</o:observations>"
)
# Cells that begin so are run by spreadsheets: OWASP, "CSV Injection" (owasp.org), read 2026-11-25.
RUNS = ("=", "+", "-", "@", "\t", "\r")

Sessions = tuple[JournalSession, ...]
Entries = tuple[JournalEntry, ...]


def is_number(text: str) -> bool:
    """Tell whether a cell is a number, which a sign may begin."""
    try:
        float(text)
    except ValueError:
        return False
    return True


def test_no_cell_of_a_table_is_a_formula(sessions: Sessions, entries: Entries) -> None:
    """Text that a spreadsheet would run begins with an apostrophe; numbers are numbers."""
    rows = list(csv.reader(io.StringIO(journal_text(sessions, entries, form="csv"), newline="")))
    cells = [cell for row in rows for cell in row]
    assert "'=cmd|'/c calc'!A1" in cells
    assert not [cell for cell in cells if cell.startswith(RUNS) and not is_number(cell)]
    assert {len(row) for row in rows} == {len(rows[0])}


def test_a_table_is_as_rfc_4180_wants(sessions: Sessions, entries: Entries) -> None:
    """Lines end in CR LF, and a quote in a cell is doubled."""
    text = journal_text(sessions, entries, form="csv")
    assert text.startswith('"id","at","target_id"')
    assert text.endswith('"\r\n')
    assert '""q""' in text


def test_markup_in_a_note_is_text_in_the_log(sessions: Sessions, entries: Entries) -> None:
    """A parser finds the note as text, without what XML cannot hold, and no more elements."""
    root = etree.fromstring(journal_text(sessions, entries, form="oal").encode())
    description = root.findtext("observation/result/description")
    assert description is not None
    assert description.startswith(
        "a <b>&amp; \"q\" 's' =1+1 ]]> \u202eright\u202c \U0001f52d\n[31m"
    )
    assert not list(root.iter("b"))


@pytest.mark.parametrize(
    ("content", "words"),
    [
        ("<!DOCTYPE x><x/>", "document type"),
        ('<!DOCTYPE x [<!ENTITY a "b">]><x>&a;</x>', "document type"),
        (ROOT.format(attributes="", content="<a>" * 30 + "</a>" * 30), "deeper than 20"),
        (
            ROOT.format(attributes="".join(f' a{n}="1"' for n in range(60)), content=""),
            "more than 50 attributes",
        ),
        ("<observations/>", "namespace"),
        (ROOT.format(attributes="", content=""), "no <observers>"),
    ],
)
def test_hostile_xml_is_refused_for_its_reason(content: str, words: str) -> None:
    """Each refusal names what is wrong: a reader that lets it pass would say something else."""
    with pytest.raises(ExchangeError, match=words):
        read_journal(content.encode())


def test_an_entity_is_refused_before_it_is_used() -> None:
    """The document type is refused where it begins: what comes after it is not looked at."""
    with pytest.raises(ExchangeError, match=r"line 1\. They can be made"):
        read_document(b"<!DOCTYPE x [ <!ENTITY a SYSTEM 'file:///etc/passwd'> not even XML")


@pytest.mark.parametrize("begin", [b"id,at\n", b'{"schema":\n'])
def test_a_file_in_another_encoding_is_refused_with_its_line(begin: bytes) -> None:
    """A table and a document alike."""
    told = r"^The file cannot be read: line 2 holds a character that is not UTF-8; save"
    with pytest.raises(ExchangeError, match=told):
        read_journal(begin + b"caf\xe9")


def test_a_file_has_a_size_limit(monkeypatch: pytest.MonkeyPatch) -> None:
    """A larger file than any journal is not parsed."""
    monkeypatch.setattr(exchange_formats, "LARGEST_FILE_BYTES", 100)
    with pytest.raises(ExchangeError, match="larger than"):
        read_journal(b"<" * 101)


def test_lists_as_json_come_in_too(
    sessions: Sessions, entries: Entries, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """What ``journal list --format json`` gives can be imported: the same records come back."""
    around = Surroundings(datetime(2026, 11, 25, tzinfo=UTC), tmp_path / "x", tmp_path / "data")
    with open_journal(journal_path(tmp_path / "data")) as journal:
        journal.add_all(sessions, entries)
    assert main(["journal", "list", "--format", "json"], surroundings=around) == 0
    listed = tmp_path / "list.json"
    listed.write_text(capsys.readouterr().out, "utf-8")
    other = Surroundings(around.now, around.configuration, tmp_path / "other")
    assert main(["journal", "import", str(listed)], surroundings=other) == 0
    with open_journal(journal_path(tmp_path / "other")) as journal:
        assert set(journal.entries()) == set(entries)
        assert journal.sessions() == sessions


def test_the_export_keeps_the_contract(sessions: Sessions, entries: Entries) -> None:
    """The keys that other programs rely on are there; what is unknown is null."""
    document = json.loads(journal_text(sessions, entries, form="json"))
    assert document["schema"] == "fieldstop.journal/1"
    keys = {
        "id", "at", "site", "target", "telescope", "eyepiece", "amplifier", "filter",
        "magnification", "exit_pupil_mm", "planned_eyepiece", "outcome", "seeing", "transparency",
        "rating", "note",
    }  # fmt: skip
    first, second = document["entries"][:2]
    assert keys <= first.keys()
    assert first["planned_eyepiece"] == "15 mm 60"
    assert first["at"] == "2026-03-14T21:10:05.123456+00:00"
    assert (second["seeing"], second["own_seeing"]) == ("III", None)
    assert (second["eyepiece"], second["magnification"]) == (None, None)


def test_export_says_what_xml_cannot_hold(
    sessions: Sessions, entries: Entries, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Two records with control characters are counted; a file that is there is left alone."""
    around = Surroundings(datetime(2026, 11, 25, tzinfo=UTC), tmp_path / "x", tmp_path / "data")
    assert main(["journal", "export", "--format", "oal"], surroundings=around) == 1
    assert "There is no journal" in capsys.readouterr().err
    with open_journal(journal_path(tmp_path / "data")) as journal:
        journal.add_all(sessions, entries)
    file = tmp_path / "log.xml"
    arguments = ["journal", "export", "--format", "oal", "--output", str(file)]
    assert main(arguments, surroundings=around) == 0
    assert "2 records with characters that XML cannot hold" in capsys.readouterr().err
    before = file.read_bytes()
    assert main(arguments, surroundings=around) == 2
    assert file.read_bytes() == before
    assert main(["journal", "export"], surroundings=around) == 2
    assert "--format is missing" in capsys.readouterr().err


def test_a_table_parted_by_semicolons_is_named() -> None:
    """What some spreadsheets write instead of commas gets a sentence of its own."""
    with pytest.raises(ExchangeError, match="commas"):
        read_journal(b"target_name;at\nM31;2026-01-01T20:00Z\n")


def test_an_id_stands_there_once(sessions: Sessions, entries: Entries) -> None:
    """Two parts of one id are refused, even where every reference leads somewhere."""
    text = journal_text(sessions, entries, form="oal").replace("filter_1", "lens_1")
    with pytest.raises(ExchangeError, match=r'"lens_1" stands there twice, on the lines \d+ and'):
        read_journal(text.encode())


def test_another_observer_of_one_of_our_sessions(sessions: Sessions, entries: Entries) -> None:
    """Only the first observer's session keeps the id: ids are unique in the journal."""
    text = journal_text(sessions, entries, form="oal")
    head, mark, tail = text.rpartition("<observer>observer_1<")
    lines = read_journal(f"{head}{mark.replace('_1', '_2')}{tail}".encode())
    ids = [line.session.id for line in lines if line.session and line.entry]
    assert ids[:3] == [sessions[0].id] * 3
    assert ids[3] != sessions[0].id


def test_half_of_a_character_is_no_text(sessions: Sessions, entries: Entries) -> None:
    """JSON can spell half of a character, which no file could be written with."""
    text = journal_text(sessions, entries, form="json").replace('"15 mm 60"', '"15 mm \\ud83d"')
    first = read_journal(text.encode())[0].entry
    assert first is not None
    assert first.planned_train == "15 mm ?"
