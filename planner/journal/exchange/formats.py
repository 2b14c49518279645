"""The formats in which the journal comes and goes."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence

from planner.journal.exchange.csv_format import csv_pieces, read_csv
from planner.journal.exchange.json_format import json_pieces, read_json
from planner.journal.exchange.lines import LARGEST_FILE_BYTES, ExchangeError, Line
from planner.journal.exchange.oal_reader import read_oal
from planner.journal.exchange.oal_writer import oal_pieces
from planner.journal.records import JournalEntry, JournalSession
from targets.files import NotTextError, utf8_text

FORMATS = ("oal", "csv", "json")


_WRITERS: dict[str, Callable[[Sequence[JournalSession], Iterable[JournalEntry]], Iterator[str]]] = {
    "oal": oal_pieces,
    "csv": csv_pieces,
    "json": json_pieces,
}


def journal_pieces(
    sessions: Sequence[JournalSession], entries: Iterable[JournalEntry], *, form: str
) -> Iterator[str]:
    """Write the journal in one of ``FORMATS``, a piece at a time.

    Parameters
    ----------
    sessions : sequence of JournalSession
        Those of the entries; others may be among them.
    entries : iterable of JournalEntry
        In order of time. They are gone through twice, and need not be in the memory at once.
    form : str
    """
    return _WRITERS[form](sessions, entries)


def journal_text(
    sessions: Sequence[JournalSession], entries: Iterable[JournalEntry], *, form: str
) -> str:
    """Write the journal in one of ``FORMATS``, whole."""
    return "".join(journal_pieces(sessions, entries, form=form))


def read_journal(content: bytes, *, form: str | None = None) -> list[Line]:
    """Read a file of another program, or one of ours.

    Parameters
    ----------
    form : str, optional
        One of ``FORMATS``; else its beginning tells.

    Raises
    ------
    ExchangeError
        If nothing of it can be used; the message is a sentence.
    """
    if len(content) > LARGEST_FILE_BYTES:
        raise ExchangeError(
            f"The file is larger than {LARGEST_FILE_BYTES // 1_000_000} MB, which no journal is."
        )
    if not content or content.isspace():
        raise ExchangeError("The file is empty.")
    form = form or _form_of(content)
    if form == "oal":
        return read_oal(content)
    try:
        text = utf8_text(content)
    except NotTextError as error:
        raise ExchangeError(f"The file cannot be read: {error}.") from None
    del content  # a long file need not be in the memory twice
    return {"csv": read_csv, "json": read_json}[form](text)


def _form_of(content: bytes) -> str:
    """Tell the format by the beginning of a file."""
    begin = content[:200].replace(b"\0", b"").lstrip(b"\xef\xbb\xbf\xff\xfe \t\r\n")
    if begin.startswith(b"<"):
        return "oal"
    return "json" if begin.startswith((b"{", b"[")) else "csv"
