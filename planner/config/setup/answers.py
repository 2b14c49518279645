"""What an answer comes to, and what all answers need."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import Any

from planner.config.checks import Table
from planner.config.setup.draft import Draft, Entry
from planner.config.setup.towns import Town

YES, NO = {"y", "yes"}, {"n", "no"}


@dataclass(frozen=True, slots=True)
class Taken:
    """What an answer came to: the draft, what to say of it, and whether to ask again."""

    draft: Draft
    said: tuple[str, ...] = ()
    again: bool = False
    choices: tuple[Town, ...] = ()


@dataclass(frozen=True, slots=True)
class Step:
    """A question, what an empty answer means, and what takes the answer.

    ``ask`` and ``default`` see the draft; a default of None means that an answer is needed, and an
    empty one that an empty answer goes on. ``take`` raises ValueError with sentences.
    """

    ask: Callable[[Draft], str]
    default: Callable[[Draft], str | None]
    take: Callable[[Draft, str, date], Taken]


def checked(read: Callable[[Table], Any], entry: Entry, place: str) -> Any:
    """Read a table as the configuration does; ValueError with all faults, a line for each."""
    faults: list[str] = []
    table = Table(entry, place, faults)
    value = read(table)
    table.finish()
    if faults:
        raise ValueError("\n".join(faults))
    return value


def without(entry: Entry, *keys: str) -> dict[str, Any]:
    """Give a table without some keys."""
    return {key: value for key, value in entry.items() if key not in keys}


def read_yes(text: str) -> bool:
    """Read y or n."""
    word = text.lower()
    if word not in YES | NO:
        raise ValueError("Answer y or n.")
    return word in YES


def read_number(text: str, allowed: str) -> float:
    """Read a number; ValueError says what is allowed."""
    try:
        return float(text.strip().replace(",", "."))
    except ValueError:
        raise ValueError(f'"{text}" is no number; write {allowed}.') from None
