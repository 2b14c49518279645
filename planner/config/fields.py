"""Fields that are read and checked: what a value may be, declared once for every file.

The configuration, its preferences, the journal's exchange and the saved night declare their
fields with these. A check says in words what it allows; whoever reads says where the value stands
and collects the faults.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from datetime import UTC, date, datetime
from enum import StrEnum
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from planner.text import cell_width, hint, listed, show
from targets.characters import MOST_CHARACTERS, fits_a_name
from targets.frozen import frozen

LONGEST_NAME = 60
LONGEST_TEXT = 100_000  # characters: fifty pages of notes
MOST_UNKNOWN = 10
INSTANT = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}[T ][0-9]{2}:[0-9]{2}(:[0-9]{2}([.,][0-9]+)?)?")
DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
# Something that must be there.
REQUIRED: Any = object()


class UnfitError(ValueError):
    """A value is not what a check allows; the message says what is."""


class Check:
    """What a value may be; ``words`` say it: ``a number from 0 to 90 deg``."""

    words: str

    def take(self, value: Any) -> Any:
        """Return the value as the program holds it; ValueError when it is not allowed."""
        raise NotImplementedError

    def read(self, value: Any) -> Any:
        """Return the value as the program holds it; UnfitError says what is allowed."""
        try:
            return self.take(value)
        except (ValueError, OverflowError, OSError, ZoneInfoNotFoundError):
            raise UnfitError(self.words) from None


def _require(holds: bool) -> None:  # noqa: FBT001  # a condition
    if not holds:
        raise ValueError


@frozen(slots=False)
class Bounds(Check):
    """The values that a number may take, both ends included, and their unit."""

    low: float
    high: float
    unit: str = ""
    whole: bool = False

    @property
    def words(self) -> str:  # type: ignore[override]
        """As in ``a number from 0 to 90 deg``."""
        kind = "a whole number" if self.whole else "a number"
        return f"{kind} from {self.low:g} to {self.high:g} {self.unit}".rstrip()

    def hold(self, value: object) -> bool:
        """Whether a value is such a number; true and false are none, and neither is NaN."""
        if isinstance(value, bool) or not isinstance(value, int | float):
            return False
        return self.low <= value <= self.high and not (self.whole and value != int(value))

    def take(self, value: Any) -> float:
        """Return the number."""
        _require(self.hold(value))
        return int(value) if self.whole else float(value)


@frozen(slots=False)
class Text(Check):
    """Text of any kind; halves of characters become question marks."""

    words: str = f"text of at most {LONGEST_TEXT} characters"

    def take(self, value: Any) -> str:
        """Return the text."""
        _require(isinstance(value, str) and len(value) <= LONGEST_TEXT)
        return str(value.encode("utf-8", "replace").decode())


@frozen(slots=False)
class ShortText(Check):
    """Text that fits a name, as it stands: at most 200 characters, none of which steers."""

    words: str = f"a text of at most {MOST_CHARACTERS} printable characters"

    def take(self, value: Any) -> str:
        """Return the text."""
        _require(isinstance(value, str) and fits_a_name(value))
        return str(value)


@frozen(slots=False)
class Name(Check):
    """The name of something in the configuration: 1 to 60 columns of text that fits a name."""

    words: str = (
        f"text of 1 to {LONGEST_NAME} characters on one line, without control or direction marks"
    )

    def take(self, value: Any) -> str:
        """Return the name without blanks around it."""
        _require(isinstance(value, str) and fits_a_name(value))
        bare = str(value).strip()
        _require(1 <= cell_width(bare) <= LONGEST_NAME)
        return bare


@frozen(slots=False)
class Choice(Check):
    """One of some words, or of the members of an enumeration."""

    among: Iterable[str] | type[StrEnum]

    @property
    def words(self) -> str:  # type: ignore[override]
        """As in ``"a", "b" or "c"``."""
        return listed(self.among)

    def take(self, value: Any) -> Any:
        """Return the word, as a member where it is of an enumeration."""
        _require(isinstance(value, str))
        return list(self.among)[list(self.among).index(value)]


@frozen(slots=False)
class Flag(Check):
    """True or false."""

    words: str = "true or false"

    def take(self, value: Any) -> bool:
        """Return it."""
        _require(isinstance(value, bool))
        return bool(value)


@frozen(slots=False)
class Instant(Check):
    """A time with its offset."""

    words: str = "a time with its offset, as in 2026-11-25T21:30:00+00:00"

    def take(self, value: Any) -> datetime:
        """Return it as UTC."""
        _require(isinstance(value, str) and INSTANT.match(value) is not None)
        instant = datetime.fromisoformat(value)
        _require(instant.tzinfo is not None)
        return instant.astimezone(UTC)


@frozen(slots=False)
class Day(Check):
    """A date of the calendar."""

    words: str = "a date of the calendar, as in 2026-11-25"

    def take(self, value: Any) -> date:
        """Return it."""
        _require(isinstance(value, str) and DAY.fullmatch(value) is not None)
        return date.fromisoformat(value)


@frozen(slots=False)
class Zone(Check):
    """The name of a time zone; OSError inside stands for a folder such as ``Europe``."""

    words: str = 'a name of the IANA time zone list such as "Europe/London"'

    def take(self, value: Any) -> str:
        """Return the name."""
        _require(isinstance(value, str))
        return ZoneInfo(value).key


@frozen(slots=False)
class Items(Check):
    """A list of entries that one check holds for."""

    of: Check
    most: int
    words: str
    least: int = 0

    def take(self, value: Any) -> tuple[Any, ...]:
        """Return the entries."""
        _require(isinstance(value, list) and self.least <= len(value) <= self.most)
        return tuple(map(self.of.read, value))


@frozen(slots=False)
class ZoomEnds(Check):
    """One number, or the two ends of a zoom."""

    bounds: Bounds

    @property
    def words(self) -> str:  # type: ignore[override]
        """As in ``a number from 1 to 100 mm, or for a zoom a list of two``."""
        return f"{self.bounds.words}, or for a zoom a list of two"

    def take(self, value: Any) -> tuple[float, ...]:
        """Return one number or two."""
        items = value if isinstance(value, list) and len(value) == 2 else [value]
        return tuple(map(self.bounds.take, items))


def numbers(count: int, bounds: Bounds) -> Items:
    """A list of so many numbers."""
    words = f"a list of {count} numbers from {bounds.low:g} to {bounds.high:g}"
    return Items(bounds, count, words, count)


@frozen
class Field:
    """One field: its key, what it may hold, and what stands for it where it is left out."""

    name: str
    check: Check
    default: Any = REQUIRED

    def read(self, value: Any) -> Any:
        """Return the value of the field.

        Raises ValueError with a sentence, when the field cannot hold that.
        """
        try:
            return self.check.read(value)
        except UnfitError as error:
            raise UnfitError(f"found {show(value)}; allowed is {error}") from None


def read_fields(
    fields: Iterable[Field], found: Mapping[str, Any], note: Callable[[str, str], None]
) -> dict[str, Any]:
    """Read declared fields, and have every fault noted.

    Parameters
    ----------
    found : mapping
        What the file holds.
    note : callable
        Takes the key and a sentence for each fault.

    Returns
    -------
    dict
        A value for each field that is right or may be left out; the others are not in it.
    """
    good: dict[str, Any] = {}
    for field in fields:
        if field.name not in found:
            if field.default is REQUIRED:
                note(field.name, f"missing; allowed is {field.check.words}")
            else:
                good[field.name] = field.default
            continue
        try:
            good[field.name] = field.read(found[field.name])
        except UnfitError as error:
            note(field.name, str(error))
    return good


def note_unknown(
    known: Iterable[str],
    found: Mapping[str, Any],
    note: Callable[[str, str], None],
    count: Callable[[int], None],
) -> None:
    """Note the first ten keys that are not known, with what was meant, and count the rest."""
    known = set(known)
    unknown = [key for key in found if key not in known]
    for key in unknown[:MOST_UNKNOWN]:
        meant = hint(key, known, f"known are {listed(sorted(known))}")
        note(show(key)[1:-1], f"no such key; {meant}")
    if len(unknown) > MOST_UNKNOWN:
        count(len(unknown) - MOST_UNKNOWN)


def optional(name: str, check: Check) -> Field:
    """A field that may be left out, and is None then."""
    return Field(name, check, None)
