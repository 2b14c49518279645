"""What a journal may hold, its own exports may bring; what it may not is refused by its line."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from planner.cli.main import main
from planner.journal.exchange.formats import FORMATS, journal_text, read_journal
from planner.journal.exchange.lines import ExchangeError
from planner.journal.records import JournalEntry, JournalSession, logged_train
from planner.matcher.trains import make_trains
from planner.model.kit import Amplifier, AmplifierKind, Barrel, Eyepiece, Kit, Telescope
from planner.request.options import Surroundings

NOW = datetime(2026, 3, 14, 21, 0, tzinfo=UTC)
# The shortest and longest that the configuration takes (planner/config/kit_sections.py).
SHORTEST = ((20.0, 50.0), (100.0, 10.0), 0.1)
LONGEST = ((3000.0, 60_000.0), (1.5, 120.0), 10.0)
OUTSIDE = ("0001-03-01T21:00:00Z", "1799-12-31T23:59:59Z", "2201-01-01T00:00:00Z",
           "9999-12-31T23:59:59-05:00", "2200-12-31T23:59:59-05:00")  # fmt: skip
TABLE = "at,target_name,note\n2026-03-01T21:00:00Z,M31,good\n{},M32,odd\n"


@pytest.mark.parametrize("form", FORMATS)
@pytest.mark.parametrize("extreme", [SHORTEST, LONGEST])
def test_the_extremes_of_a_kit_come_back(
    form: str,
    extreme: tuple[tuple[float, float], tuple[float, float], float],
    sessions: tuple[JournalSession, ...],
    entries: tuple[JournalEntry, ...],
) -> None:
    """Whatever glass the configuration takes, the export of a look through it is read again."""
    (aperture, focal), (eyepiece, field), factor = extreme
    telescope = Telescope("far", aperture, focal, Barrel("2in"))
    glass = Eyepiece("near", (eyepiece,), (field,), Barrel("2in"))
    kind = AmplifierKind.BARLOW if factor > 1 else AmplifierKind.REDUCER
    amplifier = Amplifier("change", kind, factor, Barrel("2in"))
    train = make_trains(telescope, Kit((telescope,), (glass,), (amplifier,), ()))[-1]
    look = replace(entries[0], train=logged_train(train))
    (line, *_) = read_journal(journal_text(sessions, [look], form=form).encode())
    assert line.fault == ""
    assert line.entry is not None
    assert line.entry.train == look.train


@pytest.mark.parametrize("form", FORMATS)
def test_a_crowd_of_companions_comes_back(
    form: str, sessions: tuple[JournalSession, ...], entries: tuple[JournalEntry, ...]
) -> None:
    """As many as the journal takes: a public evening has more than a hundred."""
    crowd = replace(sessions[0], companions=tuple(f"guest {n}" for n in range(1000)))
    lines = read_journal(journal_text([crowd], entries[:1], form=form).encode())
    assert [line.fault for line in lines] == [""]
    assert lines[0].session == crowd


@pytest.mark.parametrize("instant", OUTSIDE)
def test_a_date_out_of_bounds_is_refused_by_its_line(
    instant: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """In each format, with the line; nothing of the file is taken, and no journal is begun."""
    around = Surroundings(NOW, tmp_path / "none", tmp_path / "data")
    entry = {"at": instant, "target": {"name": "M32"}}
    good = {"at": "2026-03-01T21:00:00Z", "target": {"name": "M31"}}
    document = {"schema": "fieldstop.journal/1", "entries": [good, entry]}
    for name, text, place in (
        ("log.csv", TABLE.format(instant), "line 3, refused"),
        ("log.json", json.dumps(document), "entry 2, refused"),
    ):
        (tmp_path / name).write_text(text)
        assert main(["journal", "import", str(tmp_path / name)], surroundings=around) == 2
        out = capsys.readouterr().out
        assert place in out
        assert "1800 to 2200" in " ".join(out.split())
    assert not (tmp_path / "data").exists()


def test_an_evening_out_of_bounds_is_refused_by_its_line() -> None:
    """The first minutes of 1800 are in a night of 1799."""
    (_, line) = read_journal(TABLE.format("1800-01-01T00:00:30Z").encode())
    assert "its evening, 1799-12-31, is not in the years 1800 to 2200" in line.fault


@pytest.mark.parametrize("cell", ["[" * 2000, "[1, 2", '["a", {"b": 1}]', '[["a"]]'])
def test_a_cell_that_is_no_list_is_refused(cell: str) -> None:
    """Brackets without an end are no fault of the program."""
    table = f"at,target_name,session_start,session_companions\n{OUTSIDE[0].replace('0001', '2026')}"
    quoted = '"' + cell.replace('"', '""') + '"'
    (line,) = read_journal(f"{table},M31,2026-03-01T20:00:00Z,{quoted}\n".encode())
    assert "companions" in line.fault


def test_a_table_has_a_number_of_rows_that_a_journal_may_have() -> None:
    """Millions of rows are refused before anything is made of them."""
    with pytest.raises(ExchangeError, match="more than 200,000 rows"):
        read_journal(("at,target_name\n" + "a,b\n" * 200_001).encode())


def test_a_document_has_a_number_of_items_that_a_journal_may_have() -> None:
    """Millions of items are refused before anything is made of them."""
    items = ",".join(["{}"] * 200_001)
    for key, other in (("entries", '"sessions": []'), ("sessions", '"entries": []')):
        text = f'{{"schema": "fieldstop.journal/1", {other}, "{key}": [{items}]}}'
        with pytest.raises(ExchangeError, match=f'200,000 items under the key "{key}"'):
            read_journal(text.encode())


@pytest.mark.parametrize("type_", ["", ' xsi:type="oal:observationTargetType"'])
def test_a_target_of_the_base_type_is_one(
    type_: str, sessions: tuple[JournalSession, ...], entries: tuple[JournalEntry, ...]
) -> None:
    """The schema allows it: nothing is known of its kind."""
    text = journal_text(sessions, entries[:1], form="oal")
    before, _, rest = text.partition(' xsi:type="oal:deepSky')
    assert rest
    lines = read_journal((before + type_ + rest[rest.index('"') + 1 :]).encode())
    assert [line.fault for line in lines if line.entry] == [""]
