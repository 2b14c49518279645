"""Reads what stands behind the options of a command: dates, times, numbers, words, kinds."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from datetime import date, datetime, time

from planner.config.checks import listed, nearest, show
from planner.model.errors import Faults, InputError
from targets.model import Kind

FORMATS = ("text", "json")
MOST_LOOKS = 100
HIGHEST_FLOOR_DEG = 85.0


def read_format(text: str | None, *, allowed: Sequence[str] = FORMATS) -> str:
    """Read the name of an output format; text is the default."""
    return read_word("--format", text, allowed) or "text"


def read_word(option: str, text: str | None, allowed: Sequence[str]) -> str | None:
    """Read one of a set of words; None when nothing is given."""
    if text is None or text in allowed:
        return text
    raise InputError([f"{option} {show(text)} is unknown; allowed is {listed(allowed)}."])


def read_date(text: str | None, *, option: str = "--date") -> date | None:
    """Read ``YYYY-MM-DD``; None when nothing is given."""
    if text is None:
        return None
    if re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", text):
        try:
            return date.fromisoformat(text)
        except ValueError:
            raise InputError([f"{option} {show(text)} is not in the calendar."]) from None
    raise InputError(
        [f"{option} {show(text)} is no date; write year, month and day as in 2026-11-25."]
    )


def read_clock(option: str, text: str | None) -> time | None:
    """Read ``HH:MM``; None when nothing is given."""
    if text is None:
        return None
    digits = re.fullmatch(r"([0-9]{1,2}):([0-9]{2})", text)
    if digits and int(digits[1]) < 24 and int(digits[2]) < 60:
        return time(int(digits[1]), int(digits[2]))
    raise InputError([f"{option} {show(text)} is no time of day; write it as in 21:30."])


def read_moment(text: str | None) -> time | datetime | None:
    """Read ``HH:MM``, or ISO 8601 with or without an offset; None when nothing is given."""
    if text is None:
        return None
    if re.fullmatch(r"[0-9]{1,2}:[0-9]{2}", text):
        return read_clock("--at", text)
    if re.match(r"[0-9]{4}-[0-9]{2}-[0-9]{2}[T ][0-9]{2}", text):
        try:
            return datetime.fromisoformat(text)
        except ValueError:
            pass
    allowed = "21:30, 2026-11-25T21:30 (site time) or 2026-11-25T21:30+01:00"
    raise InputError([f"--at {show(text)} is no time; write it as in {allowed}."])


def read_number(
    option: str, text: str | None, *, low: float = -math.inf, high: float = math.inf, unit: str = ""
) -> float | None:
    """Read a number within bounds; None when nothing is given."""
    if text is None:
        return None
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if low <= value <= high and math.isfinite(value):
        return value
    within = f" from {low:g} to {high:g} {unit}".rstrip() if math.isfinite(low) else ""
    raise InputError([f"{option} {show(text)}: allowed is a number{within}."])


def read_whole(option: str, text: str | None, *, low: int, high: int) -> int | None:
    """Read a whole number within bounds; None when nothing is given."""
    if text is None:
        return None
    if re.fullmatch(r"[+-]?[0-9]{1,9}", text) and low <= int(text) <= high:
        return int(text)
    raise InputError([f"{option} {show(text)}: allowed is a whole number from {low} to {high}."])


def read_kinds(texts: Sequence[str]) -> tuple[Kind, ...]:
    """Read kinds of target, each in any usual spelling; a last word alone stands for all of its.

    Parameters
    ----------
    texts : sequence of str
        ``open-cluster``, ``Globular clusters``, ``galaxies``, ``nebula`` (every nebula), ...

    Raises
    ------
    InputError
        With a sentence for every one that is no kind.
    """
    faults = Faults()
    kinds = [faults.attempt(_kinds_called, text) for text in texts]
    faults.check()
    return tuple(dict.fromkeys(kind for found in kinds for kind in found))


def _kinds_called(text: str) -> tuple[Kind, ...]:
    word = _singular(" ".join(text.replace("-", " ").replace("_", " ").split()).casefold())
    exact = tuple(kind for kind in Kind if kind.casefold() == word)
    found = exact or tuple(kind for kind in Kind if word and kind.endswith(f" {word}"))
    if found:
        return found
    guess = nearest(word, Kind)
    hint = f'did you mean "{guess}"?' if guess else f"allowed is {listed(Kind)}."
    raise InputError([f"--kind {show(text)} is no kind of target; {hint}"])


def _singular(words: str) -> str:
    for plural, singular in (("ebulae", "ebula"), ("alaxies", "alaxy"), ("s", "")):
        if words.endswith(plural):
            return words.removesuffix(plural) + singular
    return words
