"""Reads the tables of a configuration and collects every fault instead of stopping at one."""

from __future__ import annotations

import difflib
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any, TypeVar

from planner.text import cell_width
from targets.characters import fits_a_name

Choice = TypeVar("Choice", bound=StrEnum)

LONGEST_NAME = 60
LONGEST_SHOWN = 40
LARGEST_SHOWN = 10**15
MOST_SHOWN = 10


@dataclass(frozen=True, slots=True)
class Bounds:
    """The values that a number may take, both ends included, and their unit."""

    low: float
    high: float
    unit: str = ""
    whole: bool = False

    def __str__(self) -> str:
        """Describe them as in ``a number from 0 to 90 deg``."""
        kind = "a whole number" if self.whole else "a number"
        return f"{kind} from {self.low:g} to {self.high:g} {self.unit}".rstrip()

    def hold(self, value: object) -> bool:
        """Whether a value read from the file is such a number; true and false are none."""
        if isinstance(value, bool) or not isinstance(value, int if self.whole else (int, float)):
            return False
        return self.low <= value <= self.high


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
    text = "".join(ch if ch.isprintable() else "?" for ch in text[: LONGEST_SHOWN + 1])
    return text if len(text) <= LONGEST_SHOWN else text[: LONGEST_SHOWN - 3] + "..."


def nearest(word: str, known: Iterable[str]) -> str | None:
    """Return the known word that was probably meant, whatever its case; None when none is near."""
    by_folded = {name.casefold(): name for name in known}
    close = difflib.get_close_matches(word.casefold(), by_folded, n=1)
    return by_folded[close[0]] if close else None


def listed(words: Iterable[str]) -> str:
    """Write words as ``"a", "b" or "c"``."""
    quoted = [f'"{word}"' for word in words]
    return " or ".join(filter(None, [", ".join(quoted[:-1]), quoted[-1]]))


def is_name(value: object) -> bool:
    """Return whether a value is text of 1 to 60 columns that fits a name."""
    if not isinstance(value, str) or not fits_a_name(value):
        return False
    return 1 <= cell_width(value.strip()) <= LONGEST_NAME


@dataclass(slots=True)
class Table:
    """One table of the file; each reading method gives a value, or notes a fault.

    Parameters
    ----------
    values : mapping
        As the TOML reader gives it.
    place : str
        Where it stands: ``eyepiece 3``.
    faults : list of str
        Shared by all tables of the file; sentences are added to it.
    """

    values: Mapping[str, Any]
    place: str
    faults: list[str]
    known: set[str] = field(default_factory=set)
    faulty: set[str] = field(default_factory=set)

    def fault(self, key: str, sentence: str) -> None:
        """Note a fault of one key."""
        self.faulty.add(key)
        self.faults.append(f'{self.place}, "{key}": {sentence}')

    def wrong(self, key: str, allowed: object) -> None:
        """Note that a key is missing, or that its value is not what is allowed."""
        found = f"found {show(self.values[key])}" if key in self.values else "missing"
        self.fault(key, f"{found}; allowed is {allowed}")

    def has(self, key: str) -> bool:
        """Whether the key stands in the file; from now on it counts as known."""
        self.known.add(key)
        return key in self.values

    def number(self, key: str, bounds: Bounds) -> float:
        """Read a number that must be there; NaN stands in for a faulty one."""
        self.known.add(key)
        value = self.values.get(key)
        if bounds.hold(value):
            return float(self.values[key])
        self.wrong(key, bounds)
        return math.nan

    def number_or(self, key: str, bounds: Bounds, default: float) -> float:
        """Read a number that may be left out."""
        return self.number(key, bounds) if self.has(key) else default

    def number_or_none(self, key: str, bounds: Bounds) -> float | None:
        """Read a number that may be left out; None when it is."""
        return self.number(key, bounds) if self.has(key) else None

    def numbers(self, key: str, bounds: Bounds) -> tuple[float, ...]:
        """Read one number, or the list of two of a zoom; empty when faulty."""
        self.known.add(key)
        value: Any = self.values.get(key)
        items: list[Any] = value if isinstance(value, list) else [value]
        paired = not isinstance(value, list) or len(items) == 2
        if paired and all(bounds.hold(item) for item in items):
            return tuple(float(item) for item in items)
        self.wrong(key, f"{bounds}, or for a zoom a list of two")
        return ()

    def name(self, key: str = "name", default: str | None = None) -> str:
        """Read a name; the stand-in of a faulty one is empty."""
        if not self.has(key) and default is not None:
            return default
        value = self.values.get(key)
        if is_name(value):
            return str(value).strip()
        self.wrong(
            key,
            f"text of 1 to {LONGEST_NAME} characters on one line, "
            "without control or direction marks",
        )
        return ""

    def choice(self, key: str, kinds: type[Choice], default: Choice | None = None) -> Choice:
        """Read one of a set of words; the first of them stands in for a faulty one."""
        if not self.has(key) and default is not None:
            return default
        value = self.values.get(key)
        if isinstance(value, str) and value in list(kinds):
            return kinds(value)
        self.wrong(key, listed(kinds))
        return next(iter(kinds))

    def flag(self, key: str, *, default: bool) -> bool:
        """Read true or false, which may be left out."""
        if not self.has(key):
            return default
        if isinstance(self.values[key], bool):
            return bool(self.values[key])
        self.wrong(key, "true or false")
        return default

    def exclude(self, key: str, other: str) -> None:
        """Note a fault when two keys stand there of which only one may."""
        if self.has(key) and self.has(other):
            self.fault(key, f'stands beside "{other}"; give only one of the two')

    def finish(self) -> None:
        """Note the first ten keys that nothing has asked for, and count the rest."""
        unknown = [key for key in self.values if key not in self.known]
        for key in unknown[:MOST_SHOWN]:
            guess = nearest(key, self.known)
            known = f"known are {listed(sorted(self.known))}"
            hint = f'did you mean "{guess}"?' if guess else known
            self.fault(show(key)[1:-1], f"no such key; {hint}")
        if len(unknown) > MOST_SHOWN:
            self.faults.append(f"{self.place}: {len(unknown) - MOST_SHOWN} more unknown keys")
