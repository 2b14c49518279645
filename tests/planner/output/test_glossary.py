"""The glossary: one list, in the help and on the page of the keys."""

from __future__ import annotations

import re
from typing import Any

import pytest

from planner.output.glossary import GLOSSARY, glossary_lines


def test_the_help_explains_the_words(run: Any) -> None:
    """Each with its phrase, in 80 columns."""
    text = run("--help").out
    assert max(map(len, text.splitlines())) <= 80
    plain = " ".join(text.split())
    for term, phrase in GLOSSARY:
        assert f"{term} {phrase}" in plain


@pytest.mark.parametrize("command", ["plan", "look"])
def test_words_at_the_head_of_a_plan_are_explained(command: str, run: Any) -> None:
    """Extinction, seeing, exit pupil, mag/arcsec2: whatever stands in the head or the table."""
    argv = [command, *(["M13"] if command == "look" else []), "--date", "2026-11-28"]
    text = run(*argv).out
    terms = {term for terms, _ in GLOSSARY for term in terms.split(", ")}
    for word in ("exit pupil", "extinction", "seeing", "mag/arcsec2", "dusk", "seen"):
        assert re.search(word, text)
        assert word in terms


def test_lines_fit_the_page_of_the_keys() -> None:
    """72 cells, in columns."""
    lines = glossary_lines()
    assert max(map(len, lines)) <= 72
    assert len(lines) >= len(GLOSSARY)
