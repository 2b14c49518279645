"""Files as rows of fields: found out by their content, whatever they are called."""

from __future__ import annotations

import csv
import itertools
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from targets.files import ROWS_AT_ONCE, slices, watched
from targets.userlists.columns import field_called
from targets.userlists.records import ListError, Remark

LARGEST_BYTES = 400_000_000
MOST_ROWS = 1_000_000
MOST_COLUMNS = 500
LONGEST_LINE = 20_000
_DELIMITERS = {";": "semicolons", "\t": "tabs", ",": "commas", "|": "bars"}
_FITS = b"SIMPLE  ="
_XML = re.compile(r"\s*(?:<\?xml|<!|<VOTABLE)", re.IGNORECASE)
_ECSV = re.compile(r"#\s*%ECSV")


@dataclass(slots=True)
class RawTable:
    """A table as it stands in a file, by columns; N rows.

    Parameters
    ----------
    form : str
        What kind of file it is, in words.
    headings : list of str
        Of the columns; empty for a plain list, whose columns are a name and a note.
    units : list of str or None
        Of the columns.
    columns : list of list
        The fields of each column, N of them; none where nobody would understand what they are.
    numbers : sequence of int
        The number of each row's line, or of the row itself; 0 for what stood in the header.
    counts : str
        What they number: ``line`` or ``row``.
    comma : bool
        Whether a comma may be the decimal point.
    guessed : list of str
        What the file did not say.
    refused : list of Remark
        Rows that are none.
    """

    form: str
    headings: list[str]
    units: list[str | None]
    columns: list[list[Any]] = field(default_factory=list)
    numbers: Sequence[int] = ()
    counts: str = "line"
    comma: bool = False
    guessed: list[str] = field(default_factory=list)
    refused: list[Remark] = field(default_factory=list)

    def place(self, row: int) -> str:
        """Return where a row stands: ``line 7``."""
        number = self.numbers[row]
        return f"{self.counts} {number}" if number else "first line"


def read_bytes(path: Path) -> bytes:
    """Read a file that is to become a list.

    Raises ListError when it is not there, no file, empty, or too large for a list.
    """
    try:
        with path.open("rb") as file:
            content = file.read(LARGEST_BYTES + 1)
    except FileNotFoundError:
        raise ListError("there is no such file") from None
    except IsADirectoryError:
        raise ListError("this is a folder; a file with a list of targets is needed") from None
    except (OSError, ValueError) as error:  # ValueError: a path with a zero byte
        reason = getattr(error, "strerror", None) or "this is not a path"
        raise ListError(f"it cannot be read: {reason}") from None
    if len(content) > LARGEST_BYTES:
        raise ListError(
            f"it is larger than {LARGEST_BYTES // 1_000_000} MB; take the part that you want to see"
        )
    if not content or content.isspace():
        raise ListError("it is empty")
    return content


def is_fits(content: bytes) -> bool:
    """Tell whether this is a FITS file."""
    return content.startswith(_FITS)


def is_votable(text: str) -> bool:
    """Tell whether this is XML, of which only VOTable is read."""
    return _XML.match(text) is not None


def is_ecsv(text: str) -> bool:
    """Tell whether this is a table with a header of the ECSV standard."""
    return _ECSV.match(text) is not None


def decode(content: bytes, guessed: list[str]) -> str:
    """Return the text of a file, from UTF-8, UTF-16 with its mark, or else Windows Latin.

    Raises ListError when it is no text.
    """
    try:
        if content.startswith((b"\xff\xfe", b"\xfe\xff")):
            guessed.append("the text is UTF-16, as its mark says")
            return content.decode("utf-16")
        if b"\0" in content:
            raise ListError("it is no text file, and no table that is understood")
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        pass
    try:
        text = content.decode("cp1252")
    except UnicodeDecodeError:
        raise ListError("its characters are not understood; save it as UTF-8") from None
    guessed.append("the text is not UTF-8; taken for Windows Latin (cp1252)")
    return text


def table_of_text(text: str, guessed: list[str]) -> RawTable:
    """Split a text into rows and fields: a table with a header, or a plain list of names.

    Raises ListError when it holds more rows than a list may, or fields without an end.
    """
    lines = text.splitlines()
    check_lines(lines)
    header = next(((n, line) for n, line in enumerate(lines) if not _is_comment(line)), None)
    if header is None:
        raise ListError("it holds no targets, only blank lines and comments")
    delimiter = max(_DELIMITERS, key=header[1].count)
    if not header[1].count(delimiter):
        return _plain(lines, guessed)
    return _delimited(lines, header[0], delimiter, guessed)


def check_lines(lines: Sequence[str]) -> None:
    """Raise ListError when a line is longer than any line of a list."""
    if max(map(len, lines), default=0) <= LONGEST_LINE:
        return
    number, line = next((n, line) for n, line in enumerate(lines, 1) if len(line) > LONGEST_LINE)
    raise ListError(
        f"line {number} has {len(line):,} characters; in a list of targets none has more"
        f" than {LONGEST_LINE:,}"
    )


def check_count(rows: int, columns: int = 0) -> None:
    """Raise ListError when these are more rows or columns than a list may have."""
    if columns > MOST_COLUMNS:
        raise ListError(f"it has {columns:,} columns; a list has a few")
    if rows > MOST_ROWS:
        raise ListError(
            f"it holds {rows:,} rows, a list at most {MOST_ROWS:,}; take the part that you want to"
            " see"
        )


def _is_comment(line: str) -> bool:
    return not line.strip() or line.lstrip().startswith("#")


def _plain(lines: list[str], guessed: list[str]) -> RawTable:
    check_count(sum(not _is_comment(line) for line in lines))
    names: list[str] = []
    notes: list[str] = []
    numbers: list[int] = []
    for number, line in enumerate(lines, start=1):
        name, _, note = line.partition("#")
        if name.strip():
            names.append(name)
            notes.append(note)
            numbers.append(number)
    form = "plain list, a target in each line"
    return RawTable(form, [], [], [names, notes], numbers, guessed=guessed)


def _delimited(lines: list[str], start: int, delimiter: str, guessed: list[str]) -> RawTable:
    if len(lines) - start - 1 > MOST_ROWS:
        check_count(sum(not _is_comment(line) for line in lines[start + 1 :]))
    rows = _csv_rows(lines, start, delimiter)
    _, headings = next(rows)
    check_count(0, len(headings))
    table = RawTable(
        f"table with fields between {_DELIMITERS[delimiter]}",
        [heading.strip() for heading in headings],
        [None] * len(headings),
        [[] for _ in headings],
        comma=delimiter != ",",
        guessed=guessed,
    )
    _take_rows(table, _below_header(table, rows))
    return table


def _take_rows(table: RawTable, rows: Iterator[tuple[int, list[str]]]) -> None:
    """Put rows into the columns of a table; of columns that nobody understands the first alone."""
    taken = [n for n, name in enumerate(table.headings) if not n or field_called(name) is not None]
    table.numbers = numbers = list[int]()
    while some := list(itertools.islice(rows, ROWS_AT_ONCE)):
        plain = some if _are_full(table, some) else list(_full_rows(table, some))
        if plain:
            numbers += [number for number, _ in plain]
            columns = list(zip(*(fields for _, fields in plain), strict=True))
            for n in taken:
                table.columns[n] += columns[n]


def _are_full(table: RawTable, rows: Sequence[tuple[int, list[str]]]) -> bool:
    """Tell whether each row has a field in each column, and none is blank or a comment."""
    if {len(fields) for _, fields in rows} != {len(table.headings)}:
        return False
    if "#" in "".join([fields[0] for _, fields in rows]):
        return False
    return all(fields[0].strip() or any(map(str.strip, fields)) for _, fields in rows)


def _full_rows(
    table: RawTable, rows: Iterable[tuple[int, list[str]]]
) -> Iterator[tuple[int, list[str]]]:
    """Leave out blank rows and comments, refuse those with too many fields, fill up the others."""
    count = len(table.headings)
    for number, fields in rows:
        if not any(cell and not cell.isspace() for cell in fields):
            continue
        if fields[0].lstrip()[:1] == "#":
            continue
        if any(cell.strip() for cell in fields[count:]):
            text = f"has {len(fields)} fields, the header {count}"
            table.refused.append(Remark(f"line {number}", text))
            continue
        yield number, [*fields[:count], *[""] * (count - len(fields))]


def _below_header(
    table: RawTable, rows: Iterator[tuple[int, list[str]]]
) -> Iterator[tuple[int, list[str]]]:
    """Return the rows without a line of dashes below the header, and a line of units above it."""
    first = list(itertools.islice(rows, 2))
    dashes = next((n for n, (_, fields) in enumerate(first) if _is_rule(fields)), None)
    if dashes == 1:
        units = [cell.strip() or None for cell in first[0][1]]
        table.units = (units + [None] * len(table.headings))[: len(table.headings)]
    yield from first[0 if dashes is None else dashes + 1 :]
    yield from rows


def _is_rule(fields: list[str]) -> bool:
    """Tell whether fields hold nothing but dashes, as they rule off a header."""
    text = "".join(cell.strip() for cell in fields)
    return len(text) >= 2 * len(fields) and not text.strip("-=")


def _csv_rows(lines: list[str], start: int, delimiter: str) -> Iterator[tuple[int, list[str]]]:
    """Split lines into fields, each row with the number of the line in which it begins."""
    below = (line + "\n" for part in watched(slices(len(lines)), "Reading") for line in lines[part])
    reader = csv.reader(itertools.islice(below, start, None), delimiter=delimiter)
    line = start + 1
    try:
        for fields in reader:
            yield line, fields
            line = start + reader.line_num + 1
    except csv.Error:
        raise ListError(
            f"line {line} begins a field that does not end, or not soon; mend the quotes"
        ) from None
