"""Text laid out in cells, and made safe for a terminal or a spreadsheet."""

from __future__ import annotations

import unicodedata

from targets.characters import steers


def cell_width(text: str) -> int:
    """Count the terminal cells that a text takes: wide characters two, combining marks none."""
    return len(text) if text.isascii() else sum(map(_cells, text))


def _cells(character: str) -> int:
    if unicodedata.combining(character) or unicodedata.category(character) in {"Cf", "Me"}:
        return 0
    return 2 if unicodedata.east_asian_width(character) in {"W", "F"} else 1


def fit(text: str, width: int) -> str:
    """Cut or fill a text to a width in cells; a cut one ends in a full stop."""
    if cell_width(text) > width:
        while cell_width(text) > width - 1:
            text = text[:-1]
        text = text.rstrip() + "."
    return text + " " * (width - cell_width(text))


def wrap(text: str, *, width: int, first: str = "", rest: str = "") -> list[str]:
    """Break a text into lines of at most so many cells.

    Parameters
    ----------
    text : str
        Words between blanks.
    width : int
        Cells of a line.
    first, rest : str
        What begins the first line and the other lines.
    """
    lines, line = [], first
    for word in text.split():
        glue = "" if line in {first, rest} else " "
        if glue and cell_width(line + glue + word) > width:
            lines.append(line)
            line, glue = rest, ""
        line += glue + word
    return [*lines, line]


def plain_line(text: str) -> str:
    """Write a text on one line: blanks for line ends and tabs, "?" for what steers a terminal."""
    return "".join(map(_plain, " ".join(text.split())))


def plain_lines(text: str) -> list[str]:
    """Write a text on the lines that it has, each as `plain_line` does."""
    return [plain_line(line) for line in text.strip().splitlines()]


def _plain(character: str) -> str:
    return "?" if steers(character) else character


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
