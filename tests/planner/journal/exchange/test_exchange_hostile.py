"""Damaged and hostile files give sentences and leave the journal as it is."""

from __future__ import annotations

import importlib.util
from collections.abc import Callable
from datetime import UTC, datetime
from itertools import islice
from pathlib import Path
from types import ModuleType

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planner.cli.journal.exchange import arrival_text
from planner.cli.main import main
from planner.journal.exchange.formats import FORMATS, journal_text, read_journal
from planner.journal.exchange.lines import (
    READ,
    REFUSED,
    Arrival,
    ExchangeError,
    Line,
    sort_out,
)
from planner.journal.records import JournalEntry, JournalSession
from planner.journal.store.journal import journal_path, open_journal
from planner.request.options import Surroundings

# A bomb of nine levels would take hours; a file of some kilobytes takes milliseconds.
LEAST_CORPUS = 200
# They are tried in so many parts, which can run side by side.
PARTS = 8

# What is between the fields of the formats, or ends numbers, times and texts.
PIECES = [
    b"<",
    b">",
    b"</",
    b'"',
    b",",
    b"\r\n",
    b"{",
    b"]",
    b"null",
    b"1e999",
    b"-",
    b"&#1;",
    b"\0",
]

Sessions = tuple[JournalSession, ...]
Entries = tuple[JournalEntry, ...]


@pytest.fixture(scope="module")
def damage() -> ModuleType:
    """Return the module beside this one that damages files."""
    place = Path(__file__).parent / "damage.py"
    spec = importlib.util.spec_from_file_location("journal_damage", place)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture
def good(sessions: Sessions, entries: Entries) -> dict[str, str]:
    """Return a good file in each format."""
    return {form: journal_text(sessions, entries, form=form) for form in FORMATS}


@pytest.fixture
def bring(tmp_path: Path) -> Callable[..., int]:
    """Return a function that imports a file into a journal of the test's own."""

    def bring(content: bytes, *more: str) -> int:
        file = tmp_path / "file"
        file.write_bytes(content)
        around = Surroundings(
            datetime(2026, 11, 25, tzinfo=UTC), tmp_path / "none.toml", tmp_path / "data"
        )
        return main(["journal", "import", str(file), *more], surroundings=around)

    return bring


def test_the_good_files_are_taken(good: dict[str, str], bring: Callable[..., int]) -> None:
    """What the damage is done to can be read: the refusals are for the damage."""
    for form, text in good.items():
        assert bring(text.encode(), "--format", form) == 0
        assert not [line for line in read_journal(text.encode()) if line.fault]


def test_there_are_many_damaged_files(good: dict[str, str], damage: ModuleType) -> None:
    """More than 200 that differ, so that none of the parts below is empty."""
    assert len({content for _, _, content in damage.damaged_files(good)}) >= LEAST_CORPUS


@pytest.mark.parametrize("part", range(PARTS))
def test_damaged_files_give_sentences_and_change_nothing(
    part: int,
    good: dict[str, str],
    damage: ModuleType,
    bring: Callable[..., int],
    tmp_path: Path,
    sessions: Sessions,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Of the damaged files of each part none is taken, none shows a traceback."""
    path = journal_path(tmp_path / "data")
    with open_journal(path) as journal:
        journal.add_all(sessions[1:], [])
    wrong = []
    for name, form, content in islice(damage.damaged_files(good), part, None, PARTS):
        status = bring(content, "--format", form)
        out, err = capsys.readouterr()
        said = out + err
        is_sentence = said.strip().endswith((".", "?")) and "Traceback" not in said
        shows_control = any(not ch.isprintable() and ch != "\n" for ch in said)
        if status != 2 or not is_sentence or shows_control:
            wrong.append((name, status, said[-200:]))
    assert not wrong, "\n".join(map(str, wrong))
    with open_journal(path) as journal:
        assert journal.sessions() == sessions[1:]
        assert journal.entries() == ()
        assert journal.remarks == ()


def test_a_file_that_is_refused_makes_no_journal(
    bring: Callable[..., int], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Where there was no journal there is none afterwards."""
    assert bring(b"junk") == 2
    assert not (tmp_path / "data").exists()
    assert "column" in capsys.readouterr().err


def test_one_refused_line_keeps_all_out_unless_told(
    good: dict[str, str],
    bring: Callable[..., int],
    tmp_path: Path,
    entries: Entries,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """All or nothing, with a line for each; --keep-good takes what can be used."""
    content = good["oal"].replace("<target>target_1<", "<target>gone<").encode()
    assert bring(content) == 2
    out = capsys.readouterr().out
    assert '<target> refers to "gone", which is not there' in out
    assert "4 read, 0 here already, 1 refused." in out
    assert not journal_path(tmp_path / "data").exists()
    assert bring(content, "--keep-good") == 0
    with open_journal(journal_path(tmp_path / "data")) as journal:
        assert {entry.id for entry in journal.entries()} == {entry.id for entry in entries[1:]}


@pytest.mark.parametrize("form", FORMATS)
def test_what_is_here_already_is_known_again(
    form: str, good: dict[str, str], bring: Callable[..., int], tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    """A second import of the same file adds nothing, and says so of each line."""
    assert bring(good[form].encode()) == 0
    capsys.readouterr()
    assert bring(good[form].encode()) == 0
    assert "0 read, 5 here already, 0 refused. There was nothing new" in capsys.readouterr().out
    with open_journal(journal_path(tmp_path / "data")) as journal:
        assert len(journal.entries()) == 4


def test_of_a_long_file_the_first_lines_are_told_and_all_that_is_refused() -> None:
    """Ten thousand lines would hide what there is to mend."""
    read = [(Line(f"line {n}", "M1"), READ) for n in range(10_000)]
    read[7_000] = Line("line 7000", "M1", fault="no such day"), REFUSED
    told = arrival_text(Arrival((), (), tuple(read)), held_back=True).splitlines()
    assert told[0] == "line 0, read: M1."
    assert "line 7000, refused: M1: no such day." in told
    assert len(told) < 200
    hidden = next(line for line in told if line.endswith("more without a fault"))
    shown = sum(line.startswith("line ") for line in told)
    assert int(hidden.split()[1].replace(",", "")) == 10_000 - shown
    assert "9999 read, 0 here already, 1 refused." in " ".join(told)


def test_missing_file_and_folder(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """What is no file is named, with the reason."""
    around = Surroundings(datetime(2026, 11, 25, tzinfo=UTC), tmp_path / "x", tmp_path / "data")
    for name, reason in (("gone.xml", "No such file"), (".", "directory"), ("a\0b", "not a path")):
        argument = name if "\0" in name else str(tmp_path / name)
        assert main(["journal", "import", argument], surroundings=around) == 2
        assert reason in capsys.readouterr().err


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data(), form=st.sampled_from(FORMATS))
def test_any_changed_bytes_are_read_or_refused(
    data: st.DataObject, form: str, good: dict[str, str]
) -> None:
    """Whatever bytes are changed, one sentence comes of it, or what can be written and read."""
    content = bytearray(good[form].encode())
    for _ in range(data.draw(st.integers(1, 6))):
        place = data.draw(st.integers(0, len(content) - 1))
        junk = data.draw(st.binary(max_size=4) | st.sampled_from(PIECES))
        content[place : place + data.draw(st.integers(0, 8))] = junk
    try:
        lines = read_journal(bytes(content), form=form)
    except ExchangeError:
        return
    arrival = sort_out(lines)
    for other in FORMATS:
        text = journal_text(arrival.sessions, arrival.entries, form=other)
        again = sort_out(read_journal(text.encode(), form=other))
        assert sorted(map(repr, again.entries)) == sorted(map(repr, arrival.entries))
