"""Makes text of unknown origin safe to show: nothing in it can steer a terminal."""

from __future__ import annotations

import unicodedata

# These turn the direction of the text that follows, and could make a line read as another one.
_TURNS = frozenset("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
_STEERING = {"Cc", "Cs", "Zl", "Zp"}


def plain_line(text: str) -> str:
    """Write a text on one line: blanks for line ends and tabs, "?" for what steers a terminal."""
    return "".join(map(_plain, " ".join(text.split())))


def plain_lines(text: str) -> list[str]:
    """Write a text on the lines that it has, each as `plain_line` does."""
    return [plain_line(line) for line in text.strip().splitlines()]


def _plain(character: str) -> str:
    steers = character in _TURNS or unicodedata.category(character) in _STEERING
    return "?" if steers else character
