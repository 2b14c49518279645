"""Files read as text or refused with a reason, and files written whole or not at all."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Generic, TypeVar

from targets.errors import UserError

# Rights of a new file, before the user's mask takes some away.
FOR_THE_OWNER = 0o600
AS_USUAL = 0o666
# Rows of a long table that are worked on at once, and how many such parts are worth a bar.
ROWS_AT_ONCE, LONG_PARTS = 5_000, 4
Part = TypeVar("Part")
_UTF_16_MARKS = (b"\xff\xfe", b"\xfe\xff")


class Shelf:
    """Where this process keeps what can be made again: nowhere as long as nobody says so.

    Attributes
    ----------
    folder : Path or None
        It need not exist; None keeps nothing.
    """

    folder: Path | None = None


class Onlooker:
    """Who is told how far long work is: nobody as long as nobody says so.

    Attributes
    ----------
    shows : callable or None
        Takes the parts of the work and what it is called, and gives the parts one by one.
    """

    shows: Callable[[Sequence[Any], str], Iterator[Any]] | None = None


def watched(parts: Sequence[Part], what: str) -> Iterator[Part]:
    """Return the parts of some work one by one, and tell whoever watches how far it is.

    Parameters
    ----------
    parts : sequence
        Fewer than `LONG_PARTS` of them are no work to tell of.
    what : str
        What is done, in a word or two.
    """
    if Onlooker.shows is None or len(parts) < LONG_PARTS:
        return iter(parts)
    return Onlooker.shows(parts, what)


def watched_items(items: Sequence[Part], what: str) -> Iterator[Part]:
    """Return the items of a long sequence one by one; whoever watches is told of many at once."""
    return iter(Watched(items, what))


class Watched(Generic[Part]):
    """Items of a long sequence as `watched_items`, that may be gone through more than once."""

    def __init__(self, items: Sequence[Part], what: str) -> None:
        self._items, self._what = items, what

    def __iter__(self) -> Iterator[Part]:
        """Return the items one by one."""
        for some in watched(slices(len(self._items)), self._what):
            yield from self._items[some]


def slices(count: int, at_once: int | None = None) -> list[slice]:
    """Cut so many rows into parts that are worked on at once."""
    step = at_once or ROWS_AT_ONCE
    return [slice(first, min(first + step, count)) for first in range(0, count, step)]


class NotTextError(UserError):
    """A file holds no text in UTF-8; the message is a clause that says what it holds instead."""


def is_missing(path: Path) -> bool:
    """Whether nothing has this name. Where one may not look, opening it says why: False then."""
    try:
        path.stat()
    except FileNotFoundError:
        return True
    except (OSError, ValueError):
        return False
    return False


def make_folder(folder: Path) -> None:
    """Make a folder of what the program keeps, and those above it: for their owner alone.

    What is kept tells where home is. Folders that are there keep their rights.
    """
    for above in reversed(folder.parents):
        if is_missing(above):
            above.mkdir(mode=0o700, exist_ok=True)
    folder.mkdir(mode=0o700, exist_ok=True)


def utf8_text(content: bytes) -> str:
    """Return the text of a file, without the mark that some editors put before it.

    Raises NotTextError with the first line that is not UTF-8.
    """
    if content.startswith(_UTF_16_MARKS):
        raise NotTextError("text in UTF-16; save it as UTF-8")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        told = f"line {line} holds a character that is not UTF-8; save the file as UTF-8"
        raise NotTextError(told) from None


def typed_text(content: bytes, *, needed: str) -> str:
    """Return the text of a file that somebody typed: no zero byte may stand in it.

    Parameters
    ----------
    needed : str
        What the file should be, for the message: ``"a TOML file in UTF-8"``.

    Raises
    ------
    NotTextError
        When it is no text, or not in UTF-8.
    """
    if b"\0" in content and not content.startswith(_UTF_16_MARKS):
        raise NotTextError(f"not a text file; {needed} is needed")
    return utf8_text(content)


@contextmanager
def draft_of(
    path: Path, content: str | bytes | Iterable[str], *, rights: int, lasts: bool = True
) -> Iterator[Path]:
    """The file that is to become another: it stands beside its place and is whole.

    The caller moves it to its place. What has not been moved in the end is removed, so that no
    half-written file is left and what stood there before stays as it was.

    Parameters
    ----------
    path : Path
        The place. Its folder is there.
    content : str, bytes, or iterable of str
        A text, whole or in pieces, is written in UTF-8; halves of characters become question marks.
    rights : int
        `FOR_THE_OWNER` or `AS_USUAL`.
    lasts : bool
        Whether to wait until the content would outlast a power cut.

    Raises
    ------
    OSError
        When it cannot be written.
    """
    pieces = [content] if isinstance(content, str | bytes) else content
    draft = path.with_name(f".fieldstop-{os.urandom(8).hex()}")
    try:
        with open(draft, "xb", opener=lambda name, flags: os.open(name, flags, rights)) as file:
            file.writelines(map(_in_utf8, pieces))  # one at a time: a disk that is full tells
            file.flush()
            if lasts:
                os.fsync(file.fileno())
        yield draft
    finally:
        draft.unlink(missing_ok=True)


def _in_utf8(piece: str | bytes) -> bytes:
    return piece.encode("utf-8", "replace") if isinstance(piece, str) else piece
