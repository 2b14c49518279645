"""Text laid out in cells, and made safe for a terminal or a spreadsheet."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Mapping, Sequence

from targets.characters import harmless

# Cells of a line of all that is written.
WIDTH = 80
LONGEST_SHOWN = 40
LARGEST_SHOWN = 10**15
MOST_SHOWN = 10


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


def wrap(text: str, *, width: int = WIDTH, first: str = "", rest: str = "") -> list[str]:
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


def cut(text: str, width: int) -> str:
    """Return a text that fits a width in cells: a longer one ends after a word, with dots."""
    if cell_width(text) <= width:
        return text
    words = wrap(text, width=width - 4)[0]
    return f"{words} ..." if cell_width(words) <= width - 4 else fit(text, width)


def text_of(lines: Iterable[str]) -> str:
    """Put lines together, without blanks at their ends."""
    return "\n".join(line.rstrip() for line in lines) + "\n"


def counted(count: int, noun: str) -> str:
    """Write a number with its noun: ``1 look``, ``12 looks``."""
    return f"1 {noun}" if count == 1 else f"{count} {noun}s"


def first_named(names: Sequence[str], most: int) -> str:
    """Name the first of some, and count the others: ``M31, M33 and 4 more``."""
    rest = len(names) - most
    return ", ".join(names[:most]) + (f" and {rest} more" if rest > 0 else "")


def items_of(lines: Iterable[str]) -> list[str]:
    """Return the items of a list that was broken into lines, each on one, without their hyphens."""
    items: list[str] = []
    for line in lines:
        if line.startswith("  ") and items:
            items[-1] += f" {line.strip()}"
        else:
            items.append(line.removeprefix("- "))
    return items


def plain_line(text: str) -> str:
    """Write a text on one line: blanks for line ends and tabs, "?" for what steers a terminal."""
    return harmless(" ".join(text.split()))


def plain_lines(text: str) -> list[str]:
    """Write a text on the lines that it has, each as `plain_line` does."""
    return [plain_line(line) for line in text.strip().splitlines()]


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


def show(value: object) -> str:
    """Show a value as it stands in the file, shortened where it is long."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, int) and abs(value) > LARGEST_SHOWN:
        return "a number of more than 15 digits"
    if isinstance(value, Mapping):
        return "a table"
    if isinstance(value, list):
        value = f"[{', '.join(map(show, value[:MOST_SHOWN]))}]"
        return value if len(value) <= LONGEST_SHOWN else value[: LONGEST_SHOWN - 4] + "...]"
    text = f'"{value}"' if isinstance(value, str) else str(value)
    text = harmless(text[: LONGEST_SHOWN + 1])
    return text if len(text) <= LONGEST_SHOWN else text[: LONGEST_SHOWN - 3] + "..."


def nearest(word: str, known: Iterable[str]) -> str | None:
    """Return the known word that was probably meant, whatever its case; None when none is near."""
    import difflib  # noqa: PLC0415  # only for what is misspelled

    by_folded = {name.casefold(): name for name in known}
    close = difflib.get_close_matches(word.casefold(), by_folded, n=1)
    return by_folded[close[0]] if close else None


def hint(word: str, known: Iterable[str], otherwise: str) -> str:
    """Ask whether the nearest known word was meant; where none is near, say something else."""
    guess = nearest(word, known)
    return f'did you mean "{guess}"?' if guess else otherwise


def listed(words: Iterable[str]) -> str:
    """Write words as ``"a", "b" or "c"``."""
    quoted = [f'"{word}"' for word in words]
    return " or ".join(filter(None, [", ".join(quoted[:-1]), quoted[-1]]))
