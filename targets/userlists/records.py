"""What a user's own list consists of, and what reading a file for one came to."""

from __future__ import annotations

from dataclasses import dataclass, field

from targets.errors import UserError
from targets.frozen import frozen
from targets.model import Target


class ListError(UserError, ValueError):
    """A list or a file for one cannot be used; ``faults`` holds a sentence for each reason."""


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


@frozen
class OwnList:
    """A list of targets.

    Parameters
    ----------
    name : str
        By which it is asked for.
    source : str
        Name of the file that it came from.
    entries : tuple of ListEntry
        In the order of the file, each target once.
    orbits : bool
        Whether it holds comets and minor planets, which join every night's plan.
    """

    name: str
    source: str
    entries: tuple[ListEntry, ...]
    orbits: bool = False


@frozen
class Remark:
    """What is said of one line or row of a file: ``line 12``, and a clause."""

    place: str
    text: str

    def __str__(self) -> str:
        """Return both."""
        return f"{self.place}: {self.text}"


@dataclass(slots=True)
class Reading:
    """What was read from a file, what was guessed at, and what was refused.

    Parameters
    ----------
    form : str
        What kind of file it is, in words.
    entries : list of ListEntry
        The good lines, each target once.
    read, repeated, refused : list of Remark
        What became of each line; ``passed_over`` are right, and of no use.
    guessed : list of str
        What the file did not say, and what it was taken for.
    orbits : bool
        Whether these are comets and minor planets.
    """

    form: str
    entries: list[ListEntry] = field(default_factory=list)
    read: list[Remark] = field(default_factory=list)
    passed_over: list[Remark] = field(default_factory=list)
    refused: list[Remark] = field(default_factory=list)
    guessed: list[str] = field(default_factory=list)
    orbits: bool = False

    def guess(self, sentence: str) -> None:
        """Note what was assumed, once."""
        if sentence not in self.guessed:
            self.guessed.append(sentence)
