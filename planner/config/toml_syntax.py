"""TOML read, with its faults in the words of somebody who edits a file."""

from __future__ import annotations

import re
import tomllib
from typing import Any

# What the reader of the standard library says, and the same in plain words.
_PLAIN = {
    r"Cannot declare \('(\w+)',\) twice": (
        r"[\1] stands there twice; tables that repeat are written [[\1]]"
    ),
    "Cannot (?:overwrite|mutate|redefine|declare)|Duplicate": "this key stands there twice",
    "Invalid value": "this is not a value; text needs quotation marks",
    r"Expected '(\]+)' at the end of": r'the heading lacks its "\1"',
    r"Illegal character '\\n'|Unterminated|Expected ['\"]+ *$": (
        "a text lacks its closing quotation mark"
    ),
    "Illegal character": "no text may hold this control character",
    "Expected newline": (
        "more stands here than one value; text needs quotation marks, numbers have neither unit"
        " nor a zero before them, dates are written 2026-11-28"
    ),
    "Unescaped|Invalid hex": r"in a text a backslash is written twice: \\\\",
    "Unclosed array": 'a list lacks its closing "]"',
    "Unclosed inline table": 'a table in braces lacks its closing "}"',
    "Expected '='": 'a key lacks the "=" and the value behind it',
    "Invalid (?:initial character|statement)": (
        "a line is a [heading], a key = value, or a remark behind #"
    ),
    "Invalid date": "this is not a day of the calendar",
}


class TomlError(ValueError):
    """A text that is no TOML; as text a clause that says where and why."""


def read_toml(text: str) -> dict[str, Any]:
    """Return what a text in TOML holds.

    Raises
    ------
    TomlError
        With the line and the column where it breaks, and why.

    References
    ----------
    T. Preston-Werner, P. Gedam et al. 2021, "TOML v1.0.0", https://toml.io/en/v1.0.0
    """
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        what, _, where = str(error).partition(" (at ")
        fault = f"not valid TOML, {_line(where, text)}: {_plainly(what)}"
    except RecursionError:
        fault = "not a configuration: brackets within brackets without end"
    except ValueError:  # more digits than Python turns into a number
        fault = "not a configuration: a number of thousands of digits"
    raise TomlError(fault)


def _plainly(what: str) -> str:
    """Say what the reader found in the words of somebody who edits a file."""
    for pattern, plain in _PLAIN.items():
        if found := re.match(pattern, what):
            return found.expand(plain)
    return "this cannot be read"


def _line(where: str, text: str) -> str:
    """Name the place of a fault."""
    found = re.match(r"line (\d+), column (\d+)", where)
    if found:
        return f"line {found[1]}, column {found[2]}"
    return f"line {len(text.splitlines())}, where the file ends"
