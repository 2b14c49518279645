"""Whatever the journal holds comes back from each format as it was."""

from __future__ import annotations

import json
from dataclasses import fields
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from lxml import etree

from planner.config.fields import Bounds, Choice, Day, Instant, Items, Zone
from planner.journal.exchange.fields import (
    ENTRY_FIELDS,
    SESSION_FIELDS,
    TARGET_FIELDS,
    TRAIN_FIELDS,
    RecordField,
)
from planner.journal.exchange.formats import FORMATS, journal_text, read_journal
from planner.journal.exchange.lines import sort_out
from planner.journal.exchange.oal_xml import elements, read_document
from planner.journal.records import (
    JournalEntry,
    JournalSession,
    LoggedTarget,
    LoggedTrain,
    Outcome,
)

FORMER_LOG = Path(__file__).parent / "former_log.xml"
SCHEMA = Path(__file__).parents[3] / "references" / "openastronomylog" / "oal21.xsd"

Journal = tuple[tuple[JournalSession, ...], tuple[JournalEntry, ...]]


def back_again(journal: Journal, form: str) -> Journal:
    """Write a journal and read it."""
    text = journal_text(*journal, form=form)
    lines = read_journal(text.encode(), form=form)
    assert not [line for line in lines if line.fault]
    arrival = sort_out(lines)
    return arrival.sessions, arrival.entries


def by_id(records: Any) -> list[Any]:
    """Put records into an order of their own."""
    return sorted(records, key=lambda record: record.id)


@pytest.mark.parametrize("form", FORMATS)
def test_full_and_bare_records_come_back(
    form: str, sessions: tuple[JournalSession, ...], entries: tuple[JournalEntry, ...]
) -> None:
    """Export and import give equal sessions and entries, the idle evening among them."""
    came_sessions, came_entries = back_again((sessions, entries), form)
    assert by_id(came_sessions) == by_id(sessions)
    assert by_id(came_entries) == by_id(entries)


def test_a_log_of_former_times_comes_back(
    sessions: tuple[JournalSession, ...], entries: tuple[JournalEntry, ...]
) -> None:
    """In `former_log.xml` a block names only the fields that the schema could not hold."""
    arrival = sort_out(read_journal(FORMER_LOG.read_bytes()))
    assert by_id(arrival.sessions) == by_id(sessions)
    assert by_id(arrival.entries) == by_id(entries)


def test_a_log_holds_whole_records(
    sessions: tuple[JournalSession, ...], entries: tuple[JournalEntry, ...]
) -> None:
    """Each target, session and look has a block with all its fields, as people may read it."""
    root = etree.fromstring(journal_text(sessions, entries, form="oal").encode())
    for path, kinds in (
        ("//targets/target/notes", TARGET_FIELDS),
        ("//sessions/session/comments", SESSION_FIELDS),
        ("//observation/accessories", (*ENTRY_FIELDS, *TRAIN_FIELDS)),
    ):
        blocks = [node.text.rpartition("[fieldstop 1]\n")[2] for node in root.xpath(path)]
        assert len(blocks) == len(root.xpath(path.rpartition("/")[0]))
        names = [{line.partition(" = ")[0] for line in block.split("\n")} for block in blocks]
        assert names == [{field.name for field in kinds}] * len(blocks)


def test_a_document_in_another_order_holds_the_same(
    sessions: tuple[JournalSession, ...], entries: tuple[JournalEntry, ...]
) -> None:
    """Ours is read item by item; one with other keys, or another order, as a whole where needed."""
    text = journal_text(sessions, entries, form="json")
    lines = read_journal(text.encode())
    document = json.loads(text)
    for other in (
        {key: document[key] for key in ("entries", "schema", "sessions")},
        {"program": "another", **document},
    ):
        assert read_journal(json.dumps(other, separators=(",", ":")).encode()) == lines
    del document["sessions"]
    found = read_journal(json.dumps(document).encode())
    assert [line.entry.id for line in found if line.entry] == [entry.id for entry in entries]


def test_a_long_document_is_not_in_the_memory_at_once(
    sessions: tuple[JournalSession, ...],
    entries: tuple[JournalEntry, ...],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Neither as nodes nor as objects: an item is read when its turn comes."""
    monkeypatch.setattr("planner.journal.exchange.json_document._whole_document", None)
    for form in FORMATS:
        assert back_again((sessions, entries), form)
    log = journal_text(sessions, entries, form="oal").encode()
    root = read_document(log, hollow="observation")
    assert [node.children for node in root.all("observation")] == [[]] * len(entries)
    whole = read_document(log)
    assert list(elements(log, "observation")) == list(whole.all("observation"))
    assert [node for node in root.children if node.tag != "observation"] == [
        node for node in whole.children if node.tag != "observation"
    ]


@pytest.mark.parametrize("form", FORMATS)
def test_an_empty_journal_comes_back_empty(form: str) -> None:
    """Nothing is written and read as nothing."""
    assert back_again(((), ()), form) == ((), ())


@pytest.fixture(scope="module")
def schema() -> etree.XMLSchema:
    """Return the schema of OpenAstronomyLog 2.1 as a general validator reads it."""
    return etree.XMLSchema(etree.parse(SCHEMA))


def test_exports_are_valid(
    schema: etree.XMLSchema,
    sessions: tuple[JournalSession, ...],
    entries: tuple[JournalEntry, ...],
) -> None:
    """The published schema holds full, bare and empty exports for valid."""
    for journal in ((sessions, entries), (sessions, ()), ((), ())):
        schema.assertValid(etree.fromstring(journal_text(*journal, form="oal").encode()))


TEXT = st.text(max_size=30) | st.sampled_from(
    ["=1+1", "-2+3", "@x", "'=x", "''", "<b>&", '"', "]]>", "\u202e", "\r\n", "\x00", "\x1b[0m",
     "[fieldstop 1]\nrating = 1", "Not seen. Bah", "Skipped: x. y", " a ", "\U0001f52d", "#N/A"]
)  # fmt: skip
ZONES = ("Europe/London", "America/St_Johns", "Pacific/Auckland", "UTC", "Asia/Kathmandu")
INSTANTS = st.datetimes(datetime(1900, 1, 1), datetime(2200, 1, 1), timezones=st.just(UTC))  # noqa: DTZ001  # the zone is given beside


def values(field: RecordField) -> st.SearchStrategy[Any]:
    """Return what a field can hold."""
    match field.check:
        case Bounds(whole=True):
            plain: st.SearchStrategy[Any] = st.integers(1, 5)
        case Bounds(low=low, high=high):
            plain = st.floats(low, high, allow_nan=False)
        case Choice(among=words):
            plain = st.sampled_from(list(words))
        case Instant():
            plain = INSTANTS
        case Day():
            plain = st.dates(date(1900, 1, 1), date(2200, 1, 1))
        case Zone():
            plain = st.sampled_from(ZONES)
        case Items():
            return st.lists(TEXT, max_size=3).map(tuple)
        case _:
            plain = TEXT if field.absent == "" else st.text(min_size=1, max_size=10)
    needed = {"at", "start", "evening", "timezone", "outcome"}
    is_optional = field.absent is None and field.name not in needed
    return plain | st.none() if is_optional else plain


def records(kinds: tuple[RecordField, ...]) -> st.SearchStrategy[dict[str, Any]]:
    """Return the values of several fields."""
    return st.fixed_dictionaries({field.name: values(field) for field in kinds})


@st.composite
def journals(draw: st.DrawFn) -> Journal:
    """Return a session, and an entry of it."""
    told = draw(records(SESSION_FIELDS))
    if told["end"] is not None:
        told["end"] = max(told["end"], told["start"] + timedelta(hours=1))
    session = JournalSession(id="5" * 32, **told)
    target = draw(records(TARGET_FIELDS))
    target["name"] = target["name"] or "M1"
    entry = draw(records(ENTRY_FIELDS))
    entry["outcome"] = Outcome(entry["outcome"])
    train = LoggedTrain(**draw(records(TRAIN_FIELDS)))
    return (session,), (
        JournalEntry("6" * 32, session.id, target=LoggedTarget(**target), train=train, **entry),
    )


@settings(suppress_health_check=[HealthCheck.too_slow])
@given(journal=journals(), form=st.sampled_from(FORMATS))
def test_anything_comes_back(journal: Journal, form: str, schema: etree.XMLSchema) -> None:
    """Markup, formulas, control characters and all numbers in bounds come back as they were."""
    assert back_again(journal, form) == journal
    if form == "oal":
        schema.assertValid(etree.fromstring(journal_text(*journal, form="oal").encode()))


def test_every_field_of_the_records_is_exchanged() -> None:
    """None is forgotten when a record gets a new one."""
    exchanged = {
        JournalSession: (SESSION_FIELDS, {"id"}),
        JournalEntry: (ENTRY_FIELDS, {"id", "session_id", "target", "train"}),
        LoggedTarget: (TARGET_FIELDS, set()),
        LoggedTrain: (TRAIN_FIELDS, set()),
    }
    for record, (listed, others) in exchanged.items():
        names = {field.name for field in fields(record)}
        assert {field.name for field in listed} == names - others
