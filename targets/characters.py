"""Which characters may stand in a name or on a screen: one rule for what is read and shown."""

from __future__ import annotations

import unicodedata

# No name needs more; marks that take no column are counted too.
MOST_CHARACTERS = 200
# These turn the direction of the text that follows, and could make a line read as another one
# (Unicode Standard Annex 9, "Explicit Directional Formatting").
_TURNS = frozenset("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
# Controls, halves of characters, ends of lines and of paragraphs.
_STEERING = {"Cc", "Cs", "Zl", "Zp"}


def steers(character: str) -> bool:
    """Return whether a character steers a terminal, turns the text or ends the line.

    No-break spaces, joiners and soft hyphens do not: some scripts need them.
    """
    return character in _TURNS or unicodedata.category(character) in _STEERING


def fits_a_name(text: str) -> bool:
    """Return whether a text has at most 200 characters and none that steers."""
    return len(text) <= MOST_CHARACTERS and not any(map(steers, text))


def harmless(text: str, *, instead: str = "?") -> str:
    """Return a text with something else in place of each character that steers."""
    if text.isprintable():  # faster, and none of these is
        return text
    return "".join(instead if steers(character) else character for character in text)
