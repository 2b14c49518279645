"""Keeps text in tables from being taken for formulas by a spreadsheet."""

from __future__ import annotations

# Cells that begin so are run by spreadsheets (OWASP, "CSV Injection").
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "'")
GUARD = "'"


def guarded(text: str) -> str:
    """Put an apostrophe before text that a spreadsheet would run, or take for guarded already."""
    return GUARD + text if text.startswith(FORMULA_STARTS) else text


def unguarded(text: str) -> str:
    """Take the apostrophe away again: the inverse of `guarded`."""
    is_guarded = text.startswith(GUARD) and text[1:].startswith(FORMULA_STARTS)
    return text[1:] if is_guarded else text
