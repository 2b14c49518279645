"""Whatever name the configuration accepts, a saved night and an exported journal give back."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from planner.config.fields import Name, UnfitError
from planner.journal.exchange.formats import FORMATS, journal_text, read_journal
from planner.journal.exchange.lines import sort_out
from planner.journal.records import JournalSession
from planner.session.state import SessionState, TrainKey
from planner.session.state_json import from_json, to_json

START = datetime(2026, 3, 18, 19, tzinfo=UTC)
NIGHT = SessionState("kit", "Garden", date(2026, 3, 18), START, START, START)


def is_name(text: str) -> bool:
    """Whether the configuration accepts a name."""
    try:
        return bool(Name().read(text))
    except UnfitError:
        return False


NAMES = st.text(min_size=1, max_size=60).filter(is_name).map(str.strip)
# A no-break space, a joiner, a soft hyphen, and marks that take no column.
NO_BREAK, JOINED, HYPHENATED, MARKED = (
    "12\u00a0mm",
    "a\u200db",
    "eye\u00adpiece",
    "e" + "\u0301" * 150,
)


@settings(deadline=None, max_examples=40)
@given(NAMES)
@example(NO_BREAK)
@example(JOINED)
@example(HYPHENATED)
@example(MARKED)
def test_a_saved_night_gives_names_back(name: str) -> None:
    """As site, eyepiece, amplifier and filter."""
    assert is_name(name)
    state = replace(NIGHT, site=name, focuser=TrainKey(name, 12.0, name, name))
    assert from_json(to_json(state)) == state


@pytest.mark.parametrize("form", FORMATS)
@settings(deadline=None, max_examples=40)
@given(name=NAMES)
@example(name=NO_BREAK)
@example(name=JOINED)
@example(name=HYPHENATED)
@example(name=MARKED)
def test_an_exported_journal_gives_names_back(form: str, name: str) -> None:
    """As site, in each format."""
    session = JournalSession("s1", date(2026, 3, 18), name, "Europe/London", START)
    lines = read_journal(journal_text((session,), (), form=form).encode(), form=form)
    assert [session.site for session in sort_out(lines).sessions] == [name]


@pytest.mark.parametrize(
    "bad",
    ["a\u202eb", "a\u2066b", "a\u200fb", "a\x1bb", "a\nb", "a\u2028b", "e" + "\u0301" * 200],
)
def test_what_steers_is_no_name(bad: str) -> None:
    """Controls, direction marks, line ends, and marks without end on one letter."""
    assert not is_name(bad)
