"""Finds a target by any usual spelling, or says in a sentence why there is none."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from functools import cached_property
from typing import TypeVar

from targets.errors import UserError
from targets.frozen import frozen
from targets.naming.constellations import quoted
from targets.naming.designations import designation_key, name_key
from targets.naming.solar_system import SUN_CAUTION, means_the_sun
from targets.naming.star_names import star_key

T = TypeVar("T")

LONGEST_NAME = 80  # characters; no name is longer, and a longer text is not searched
LIST_ENDS = {"m": ("M", 110), "c": ("C", 109), "ngc": ("NGC ", 7840), "ic": ("IC ", 5386)}
WHY_DROPPED = {
    "*": "a single star in the catalogue, nothing to look at for its own sake",
    "**": "a pair of stars in the catalogue, without the data of a double star",
    "Nova": "an old nova, long faded",
    "NonEx": "a number with nothing at its place in the sky",
    "Other": "something that the catalogue could not identify, such as a few faint stars",
}
TYPE_WORDS = ("nebula", "galaxy", "cluster", "galaxies")  # often left out in speech
_NUMBER = re.compile(r"[+\d]", re.ASCII)


class UnknownTarget(UserError, LookupError):  # noqa: N818 - the name says what is wrong
    """Nothing to look at is called that; the message is a sentence."""


@frozen(slots=False)
class Index:
    """All spellings of all targets.

    Parameters
    ----------
    designations : mapping of str to int
        From :func:`~targets.naming.designations.designation_key` to a target's index.
    common_names : list of (str, int)
        Names as people say them and their target; where two targets share a name, the first
        one has it.
    full_names : mapping of str to int
        From the key of a name as it is shown, number and all, to its target.
    dropped : mapping of str to str
        From the key of a catalogue number that is no target to its type code.
    survey_keys : callable
        Gives the keys of the large surveys' numbers, when the rest has failed.
    label : callable
        Gives the short designation of a target for a message.
    """

    designations: Mapping[str, int]
    common_names: list[tuple[str, int]]
    full_names: Mapping[str, int]
    dropped: Mapping[str, str]
    survey_keys: Callable[[], Mapping[str, int]]
    label: Callable[[int], str]

    @cached_property
    def names(self) -> dict[str, int]:
        """From the key of each common name to its target."""
        found: dict[str, int] = {}
        for name, index in self.common_names:
            found.setdefault(name_key(name), index)
        return found

    @cached_property
    def short_names(self) -> dict[str, int]:
        """Names without their last word ("Whirlpool"), where only one target can be meant."""
        owners: dict[str, set[int]] = {}
        for name, index in self.common_names:
            first, _, last = name.rpartition(" ")
            if first and last.casefold() in TYPE_WORDS:
                owners.setdefault(name_key(first), set()).add(index)
        return {key: rows.pop() for key, rows in owners.items() if len(rows) == 1}

    @cached_property
    def surveys(self) -> Mapping[str, int]:
        """From the key of a survey's number to its target."""
        return self.survey_keys()

    @cached_property
    def begins(self) -> frozenset[str]:
        """What stands before the numbers of all designations."""
        return frozenset(number_begin(key) for key in (*self.designations, *self.surveys))

    def find(self, text: str) -> int:
        """Return the index of the target that a text names.

        Raises UnknownTarget with a sentence that says why, and what is near.
        """
        text = text.strip()
        if not text:
            raise UnknownTarget("no target is named: give a designation such as M31, or a name")
        if len(text) > LONGEST_NAME:
            raise UnknownTarget(
                f"no target is called {quoted(text)}: names have up to {LONGEST_NAME} characters"
            )
        if means_the_sun(text):
            raise UnknownTarget(SUN_CAUTION)
        index = self.known(text)
        if index is None:
            raise UnknownTarget(self._why_not(text))
        return index

    def known(self, text: str) -> int | None:
        """The index of the target that a text names, or None, without looking for a reason."""
        text = text.strip()
        if not text or len(text) > LONGEST_NAME:
            return None
        key = designation_key(text) or "".join(text.split()).casefold()
        if key in self.designations:
            return self.designations[key]
        name, star = name_key(text), star_key(text) or ""
        # A star before a short name: "gamma Cassiopeiae" is not the nebula beside it.
        for table, word in (
            (self.names, name),
            (self.full_names, name),
            (self.designations, star),
            (self.names, star),
            (self.short_names, name),
        ):
            if word in table:
                return table[word]
        return None if key in self.dropped else self.surveys.get(key)

    def _why_not(self, text: str) -> str:
        key = designation_key(text)
        if key and key in self.dropped:
            return f"{quoted(text)} is {WHY_DROPPED[self.dropped[key]]}"
        if key and (end := _list_end(key)):
            return f"no target is called {quoted(text)}: {end}"
        near = self._nearest(name_key(text))
        verb = "is" if len(near) == 1 else "are"
        ending = f"nearest {verb} {', '.join(near)}" if near else "nothing has a name like it"
        return f"no target is called {quoted(text)}: {ending}"

    def _nearest(self, key: str) -> list[str]:
        """Name up to three targets whose names begin like the text or differ little from it."""
        import difflib  # noqa: PLC0415  # only for what is misspelled

        begin = [name for name in self.names if key and name.startswith(key)]
        close = difflib.get_close_matches(key, self.names, n=6, cutoff=0.6)
        spoken = first_come((name_key(name), name) for name, _ in self.common_names)
        chosen: dict[int, str] = {}
        for name in (*begin, *close):
            chosen.setdefault(self.names[name], spoken[name])
        found = [(name, self.label(index)) for index, name in list(chosen.items())[:3]]
        return [name if name == label else f"{name} ({label})" for name, label in found]


def _list_end(key: str) -> str | None:
    """Say where a numbered list ends, when the number is outside it."""
    for prefix, (title, last) in LIST_ENDS.items():
        number = key.removeprefix(prefix)
        if key.startswith(prefix) and number.isdecimal() and not 1 <= int(number) <= last:
            return f"that list runs from {title}1 to {title}{last}"
    return None


def number_begin(key: str) -> str:
    """Return the letters of a key before its number: ``ngc`` of ``ngc224``."""
    return _NUMBER.split(key, 1)[0]


def first_come(pairs: Iterable[tuple[str, T]]) -> dict[str, T]:
    """Make a dictionary in which the first of equal keys stays."""
    found: dict[str, T] = {}
    for key, value in pairs:
        found.setdefault(key, value)
    return found
