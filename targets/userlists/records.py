"""What a user's own list consists of, and what reading a file for one came to."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from typing import overload

import numpy as np

from targets.arrays import Codes
from targets.catalogue.added import Added
from targets.errors import UserError
from targets.frozen import frozen
from targets.model import Target


class ListError(UserError, ValueError):
    """A list or a file for one cannot be used; ``faults`` holds a clause for each reason."""

    @property
    def sentences(self) -> tuple[str, ...]:
        """What the user is told, each on a line of its own."""
        return tuple(f"{fault}." for fault in self.faults)


@frozen
class ListEntry:
    """One target of a list.

    Parameters
    ----------
    id : str
        Of the catalogue's target, or of the list's own.
    note : str
        The user's; empty where there is none.
    own : Target or None
        The target itself where the catalogue does not have it.
    """

    id: str
    note: str = ""
    own: Target | None = None


class Entries(Sequence[ListEntry]):
    """The targets of a list as columns; an entry is built when somebody asks for it.

    Parameters
    ----------
    ids, notes : list of str
        As in `ListEntry`; N of each.
    own : Added
        Those that the catalogue does not have, in the order of the list.
    places : ndarray of int
        Where in ``own`` each entry is; -1 for a target of the catalogue, shape (N,).
    """

    __slots__ = ("ids", "notes", "own", "places")

    def __init__(self, ids: list[str], notes: list[str], own: Added, places: Codes) -> None:
        self.ids, self.notes, self.own, self.places = ids, notes, own, places

    @classmethod
    def of(cls, entries: Iterable[ListEntry]) -> Entries:
        """Put entries into columns."""
        some = list(entries)
        is_own = np.array([entry.own is not None for entry in some], dtype=bool)
        return cls(
            [entry.id for entry in some],
            [entry.note for entry in some],
            Added.of(entry.own for entry in some if entry.own is not None),
            np.where(is_own, np.cumsum(is_own) - 1, -1),
        )

    def __len__(self) -> int:
        """Count the targets."""
        return len(self.ids)

    @overload
    def __getitem__(self, place: int) -> ListEntry: ...
    @overload
    def __getitem__(self, place: slice) -> tuple[ListEntry, ...]: ...
    def __getitem__(self, place: int | slice) -> ListEntry | tuple[ListEntry, ...]:
        """Return one of the entries, or some."""
        if isinstance(place, slice):
            return tuple(self[n] for n in range(*place.indices(len(self))))
        identifier, own = self.ids[place], int(self.places[place])
        return ListEntry(identifier, self.notes[place], self.own.target(own) if own >= 0 else None)

    def __eq__(self, other: object) -> bool:
        """Tell whether the entries are the same, also those of a tuple."""
        return isinstance(other, Sequence) and tuple(self) == tuple(other)

    def __hash__(self) -> int:
        """Return the hash of the identifiers."""
        return hash(tuple(self.ids))


@frozen
class OwnList:
    """A list of targets.

    Parameters
    ----------
    name : str
        By which it is asked for.
    source : str
        Name of the file that it came from.
    entries : sequence of ListEntry
        In the order of the file, each target once.
    orbits : bool
        Whether it holds comets and minor planets, which join every night's plan.
    """

    name: str
    source: str
    entries: Sequence[ListEntry]
    orbits: bool = False

    def columns(self) -> Entries:
        """Return the entries as columns."""
        return self.entries if isinstance(self.entries, Entries) else Entries.of(self.entries)


@frozen
class Remark:
    """What is said of one line or row of a file: ``line 12``, and a clause."""

    place: str
    text: str

    def __str__(self) -> str:
        """Return both."""
        return f"{self.place}: {self.text}"


class Remarks(Sequence[Remark]):
    """Remarks that are put into words when somebody asks for them.

    Parameters
    ----------
    count : int
    remark : callable
        Gives the one of a number.
    """

    __slots__ = ("_count", "_remark")

    def __init__(self, count: int, remark: Callable[[int], Remark]) -> None:
        self._count, self._remark = count, remark

    def __len__(self) -> int:
        """Count them."""
        return self._count

    @overload
    def __getitem__(self, place: int) -> Remark: ...
    @overload
    def __getitem__(self, place: slice) -> list[Remark]: ...
    def __getitem__(self, place: int | slice) -> Remark | list[Remark]:
        """Return one of the remarks, or some."""
        found = range(self._count)[place]
        return self._remark(found) if isinstance(found, int) else [*map(self._remark, found)]

    def __eq__(self, other: object) -> bool:
        """Tell whether the remarks are the same, also those of a list."""
        return isinstance(other, Sequence) and list(self) == list(other)

    __hash__ = None  # type: ignore[assignment]  # as a list


@dataclass(slots=True)
class Reading:
    """What was read from a file, what was guessed at, and what was refused.

    Parameters
    ----------
    form : str
        What kind of file it is, in words.
    entries : sequence of ListEntry
        The good lines, each target once.
    read, passed_over, refused : sequence of Remark
        What became of each line; ``passed_over`` are right, and of no use.
    guessed : list of str
        What the file did not say, and what it was taken for.
    orbits : bool
        Whether these are comets and minor planets.
    """

    form: str
    entries: Sequence[ListEntry] = field(default_factory=list)
    read: Sequence[Remark] = field(default_factory=list)
    passed_over: list[Remark] = field(default_factory=list)
    refused: list[Remark] = field(default_factory=list)
    guessed: list[str] = field(default_factory=list)
    orbits: bool = False
    _said: set[str] = field(default_factory=set)

    def guess(self, sentence: str) -> None:
        """Note what was assumed, once."""
        if sentence not in self._said:
            self._said.add(sentence)
            self.guessed.append(sentence)
