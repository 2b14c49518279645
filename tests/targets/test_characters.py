"""What would steer a terminal is shown as a mark; what a script needs is shown."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from targets.characters import harmless


@pytest.mark.parametrize(
    "steering",
    [
        "\x1b",  # ECMA-48: begins a control sequence
        "\x9b",  # ECMA-48: the same in one character
        "\n", "\r", "\t", "\0", "\x7f", "\u2028", "\u2029", "\ud800",
        "\u202e", "\u2066", "\u200f", "\u061c",  # Unicode Standard Annex 9, table 2
    ],
)  # fmt: skip
def test_what_steers_is_replaced(steering: str) -> None:
    """By a question mark, or by what is asked for, character by character."""
    assert harmless(f"a{steering}{steering}b") == "a??b"
    assert harmless(f"a{steering}b", instead="") == "ab"


@pytest.mark.parametrize(
    "word",
    ["\u0645\u06cc\u200c\u062e", "\u0915\u094d\u200d\u0937", "a\u00a0b", "a\u00adb", "\U0001f52d"],
)
def test_what_a_script_needs_is_kept(word: str) -> None:
    """Joiners and non-joiners (Unicode Standard, 23.2), no-break spaces, soft hyphens, signs."""
    assert harmless(word) == word


@given(st.text())
def test_any_text_becomes_harmless_once(text: str) -> None:
    """As long as before, on one line, and a second time nothing is left to do."""
    shown = harmless(text)
    assert len(shown) == len(text)
    assert len(shown.splitlines()) <= 1
    assert harmless(shown) == shown
