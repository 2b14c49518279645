"""No damage to a file raises anything but the error that a user can read."""

import random
from datetime import date

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planner.config.settings import SettingsError, read_settings

VALUES = ["true", "-1", "0", "nan", "inf", '""', "[]", "[1]", "{}", "1979-05-27", "1e400", "'x'"]


def outcome(text: str, today: date) -> tuple[str, ...]:
    """Return the faults of a text, none if it can be read."""
    try:
        read_settings(text, source="kit.toml", today=today)
    except SettingsError as error:
        faults = error.faults
    else:
        return ()
    assert faults
    assert all(len(fault.splitlines()) == 1 for fault in faults)
    return faults


def test_a_file_cut_short_anywhere_gives_a_sentence_or_settings(
    example_text: str, today: date
) -> None:
    """Cut after every 13th character; cut before the first eyepiece, it is always a fault."""
    first_eyepiece = example_text.index("[[eyepiece]]")
    for end in range(0, len(example_text), 13):
        faults = outcome(example_text[:end], today)
        assert faults or end > first_eyepiece


@pytest.mark.parametrize("value", VALUES)
def test_any_key_with_any_odd_value_gives_a_sentence_or_settings(
    example_text: str, today: date, value: str
) -> None:
    """Every assignment of the example, one at a time; most values are wrong for most keys."""
    lines = example_text.splitlines()
    wrong = 0
    for number, line in enumerate(lines):
        if " = " in line and not line.startswith("#"):
            odd = [*lines[:number], f"{line.split(' = ')[0]} = {value}", *lines[number + 1 :]]
            wrong += bool(outcome("\n".join(odd), today))
    assert wrong > 40


@pytest.mark.parametrize(
    "line",
    [*(f"fill_max = {value}" for value in VALUES), f"fill_max = 0x{'f' * 9000}", '"a\\nb" = 1'],
)
def test_odd_preferences_give_a_sentence(example_text: str, today: date, line: str) -> None:
    """The table of preferences is checked with the rest of the file."""
    assert outcome(f"{example_text}\n[match.galaxy]\n{line}", today)


def test_lines_shuffled_doubled_and_dropped_give_a_sentence_or_settings(
    example_text: str, today: date
) -> None:
    """200 files, each with a handful of lines moved, doubled or dropped."""
    chance = random.Random(20260301)  # noqa: S311  a fixed sequence, no secret
    for _ in range(200):
        lines = example_text.splitlines()
        for _ in range(chance.randint(1, 6)):
            taken = lines.pop(chance.randrange(len(lines)))
            for _ in range(chance.randint(0, 2)):
                lines.insert(chance.randrange(len(lines)), taken)
        outcome("\n".join(lines), today)


@settings(
    derandomize=True,
    deadline=None,
    database=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(place=st.integers(0, 10_000), text=st.text(max_size=8), length=st.integers(0, 20))
def test_text_written_over_anywhere_gives_a_sentence_or_settings(
    example_text: str, today: date, place: int, text: str, length: int
) -> None:
    """Any characters, also those of other scripts and controls, over any part of the file."""
    place %= len(example_text)
    outcome(example_text[:place] + text + example_text[place + length :], today)
