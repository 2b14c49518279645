"""Reads what stands behind the options of a command: dates, times, numbers, words, kinds.

A reader takes the name of the option, for its message, and the text.
"""

from __future__ import annotations

import math
import re
import stat
from collections.abc import Callable
from datetime import date, datetime, time
from pathlib import Path
from typing import TYPE_CHECKING

from planner.model.errors import InputError
from planner.text import hint, listed, show
from targets.files import is_missing

if TYPE_CHECKING:
    from planner.planning.session_times import When
    from targets.model import Kind


def as_text(option: str, text: str) -> str:  # noqa: ARG001  # the signature of all readers
    """Return the text as it is."""
    return text


def one_word(*allowed: str) -> Callable[[str, str], str]:
    """Return a reader of one of a set of words."""

    def read(option: str, text: str) -> str:
        if text in allowed:
            return text
        raise InputError([f"{option} {show(text)} is unknown; allowed is {listed(allowed)}."])

    return read


def read_date(option: str, text: str) -> date:
    """Read ``YYYY-MM-DD``."""
    if re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", text):
        try:
            return date.fromisoformat(text)
        except ValueError:
            raise InputError([f"{option} {show(text)} is not in the calendar."]) from None
    raise InputError(
        [f"{option} {show(text)} is not a date; write year, month and day as in 2026-11-25."]
    )


def read_clock(option: str, text: str) -> time:
    """Read ``HH:MM``."""
    digits = re.fullmatch(r"([0-9]{1,2}):([0-9]{2})", text)
    if digits and int(digits[1]) < 24 and int(digits[2]) < 60:
        return time(int(digits[1]), int(digits[2]))
    raise InputError([f"{option} {show(text)} is no time of day; write it as in 21:30."])


def read_when(option: str, text: str) -> When:
    """Read ``HH:MM``, or what a session begins or ends with: ``dawn``, ``moonrise``, ..."""
    from planner.planning.session_times import Event  # noqa: PLC0415  # slow to load

    if text in set(Event):
        return Event(text)
    if text[:1].isdigit():
        return read_clock(option, text)
    raise InputError(
        [f"{option} {show(text)} is not a time; write it as in 21:30, or {listed(Event)}."]
    )


def read_moment(option: str, text: str) -> time | datetime:
    """Read ``HH:MM``, or ISO 8601 with or without an offset."""
    if re.fullmatch(r"[0-9]{1,2}:[0-9]{2}", text):
        return read_clock(option, text)
    if re.match(r"[0-9]{4}-[0-9]{2}-[0-9]{2}[T ][0-9]{2}", text):
        try:
            return datetime.fromisoformat(text)
        except ValueError:
            pass
    allowed = "21:30, 2026-11-25T21:30 (site time) or 2026-11-25T21:30+01:00"
    raise InputError([f"{option} {show(text)} is not a time; write it as in {allowed}."])


def number(
    low: float = -math.inf, high: float = math.inf, unit: str = ""
) -> Callable[[str, str], float]:
    """Return a reader of numbers within bounds, both included."""

    def read(option: str, text: str) -> float:
        try:
            value = float(text)
        except ValueError:
            value = math.nan
        if low <= value <= high and math.isfinite(value):
            return value
        within = f" from {low:g} to {high:g} {unit}".rstrip() if math.isfinite(low) else ""
        raise InputError([f"{option} {show(text)}: allowed is a number{within}."])

    return read


def whole(low: int, high: int) -> Callable[[str, str], int]:
    """Return a reader of whole numbers within bounds, both included."""

    def read(option: str, text: str) -> int:
        if re.fullmatch(r"[+-]?[0-9]{1,9}", text) and low <= int(text) <= high:
            return int(text)
        raise InputError(
            [f"{option} {show(text)}: allowed is a whole number from {low} to {high}."]
        )

    return read


def read_folder(option: str, text: str) -> Path:
    """Read the path of a folder, which need not exist."""
    if "\0" in text or not text.strip():
        raise InputError([f"{option} {show(text)} is not a path to a folder."])
    folder = Path(text)
    try:
        if not is_missing(folder) and not stat.S_ISDIR(folder.stat().st_mode):
            raise InputError([f"{option} {show(text)} is a file; a folder is needed."])
    except PermissionError:
        return folder  # what is wanted from it says what cannot be done
    except OSError as error:
        raise InputError([f"{option} {show(text)} cannot be used: {error.strerror}."]) from None
    return folder


def read_kinds(option: str, text: str) -> tuple[Kind, ...]:
    """Read kinds of target in any usual spelling; a last word alone stands for all of its.

    Parameters
    ----------
    option : str
        For the message.
    text : str
        ``open-cluster``, ``Globular clusters``, ``galaxies``, ``nebula`` (every nebula), ...

    Raises
    ------
    InputError
        When it is not a kind; the nearest is named.
    """
    from targets.model import Kind  # noqa: PLC0415  # slow to load

    word = _singular(" ".join(text.replace("-", " ").replace("_", " ").split()).casefold())
    exact = tuple(kind for kind in Kind if kind.casefold() == word)
    found = exact or tuple(kind for kind in Kind if word and kind.endswith(f" {word}"))
    if found:
        return found
    meant = hint(word, Kind, f"allowed is {listed(Kind)}.")
    raise InputError([f"{option} {show(text)} is not a kind of target; {meant}"])


def _singular(words: str) -> str:
    for plural, singular in (("ebulae", "ebula"), ("alaxies", "alaxy"), ("s", "")):
        if words.endswith(plural):
            return words.removesuffix(plural) + singular
    return words
