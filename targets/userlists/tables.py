"""Tables in the formats of astronomy, read by astropy, without trust and without a network."""

from __future__ import annotations

import csv
import io
import re
import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

import numpy as np

from targets.characters import harmless
from targets.files import slices, watched
from targets.userlists.alike import Fields
from targets.userlists.columns import field_called
from targets.userlists.raw import RawTable, check_count
from targets.userlists.records import ListError

# Entities can grow a small file into gigabytes; a list needs none of its own.
_DOCTYPE = re.compile(r"<!\s*(?:DOCTYPE|ENTITY)", re.IGNORECASE)
# Data that stands elsewhere, or that is compressed.
_ELSEWHERE = re.compile(r"<(?:[\w.-]+:)?STREAM\b[^<>]*\bhref\s*=", re.IGNORECASE)
_COMPRESSED = re.compile(r"<(?:[\w.-]+:)?STREAM\b[^<>]*\bencoding\s*=\s*.gzip", re.IGNORECASE)
_ROW = re.compile(r"<(?:[\w.-]+:)?TR\b", re.IGNORECASE)
LONGEST_REASON = 160
# From so many rows on a table of plain columns is not left to astropy; so many show what they hold.
LONG_COUNT, FEW_ROWS = 5_000, 10
_ECSV = "ECSV table"
_DELIMITER = re.compile(r"#\s*delimiter:\s*['\"]?(,)")


def read_votable(text: str) -> RawTable:
    """Read the first table of a VOTable.

    Raises
    ------
    ListError
        When it cannot be read, or asks for what is not in it.

    References
    ----------
    IVOA Recommendation "VOTable Format Definition", version 1.4 (2019).
    """
    if _DOCTYPE.search(text):
        raise ListError("it declares entities or a document type, which no list of targets needs")
    if _ELSEWHERE.search(text):
        raise ListError("its data stand in another place; save the table with its data in it")
    if _COMPRESSED.search(text):
        raise ListError("its data are compressed; save it as a plain VOTable")
    if "<VOTABLE" not in text and ":VOTABLE" not in text:
        raise ListError("it is XML, but no VOTable")
    check_count(sum(1 for _ in _ROW.finditer(text)))
    # The parser goes by the declared encoding, and the text is UTF-8 from here on.
    declared = re.match(r"\s*<\?xml[^>]*\?>", text)
    begin = declared.end() if declared else 0

    def parse() -> Any:
        from astropy.io.votable import parse as parse_votable  # noqa: PLC0415  # slow to load

        tables = list(parse_votable(io.BytesIO(text[begin:].encode())).iter_tables())
        if not tables:
            raise ListError("it holds no table")
        return tables[0].to_table(use_names_over_ids=True)

    return _raw("VOTable", parse)


def read_ecsv(text: str) -> RawTable:
    """Read a table of the ECSV standard.

    Raises
    ------
    ListError
        When it cannot be read.

    References
    ----------
    Aldcroft 2017, "APE 6: Enhanced Character Separated Values table format".
    """
    lines = text.splitlines()
    begin = next((n for n, line in enumerate(lines) if not line.startswith("#")), 0)
    check_count(sum(not line.startswith("#") for line in lines) - 1)
    if len(lines) - begin > LONG_COUNT and (long := _long_ecsv(lines, begin)) is not None:
        return long
    del lines

    def parse() -> Any:
        from astropy.table import Table  # noqa: PLC0415  # slow to load

        return Table.read(text, format="ascii.ecsv")

    return _raw(_ECSV, parse)


def _long_ecsv(lines: list[str], begin: int) -> RawTable | None:
    """Read a long table whose columns are plain, for which astropy takes twice the memory and time.

    Parameters
    ----------
    begin : int
        Of the line with the names of the columns.

    Returns
    -------
    RawTable or None
        None where astropy has to read it, or to say what is wrong.
    """
    from astropy.table import Table  # noqa: PLC0415  # slow to load

    try:
        with _quiet():
            few = Table.read("\n".join(lines[: begin + FEW_ROWS]), format="ascii.ecsv")
        check_count(0, len(few.colnames))
        given = next((m[1] for m in map(_DELIMITER.match, lines[:begin]) if m), " ")
        columns: list[list[str]] = [[] for _ in few.colnames]
        for some in watched(slices(len(lines) - begin - 1), "Reading"):
            part = lines[begin + 1 + some.start : begin + 1 + some.stop]
            rows = list(csv.reader(part, delimiter=given, strict=True))
            if len(rows) != len(part) or any(line.startswith("#") for line in part):
                return None
            for column, cells in zip(columns, zip(*rows, strict=True), strict=True):
                column.extend(cells)
        found = [
            (name, str(unit) if (unit := few[name].unit) else None, _typed(few[name], cells))
            for name, cells in zip(few.colnames, columns, strict=True)
            if field_called(name) is not None or name == few.colnames[0]
        ]
    except Exception:  # noqa: BLE001  # whatever it is, astropy tells
        return None
    names, units, typed = (list(part) for part in zip(*found, strict=True))
    return RawTable(_ECSV, names, units, typed, range(1, len(columns[0]) + 1), "row")


def _typed(column: Any, cells: list[str]) -> list[Any]:
    """Return the fields of a plain column as astropy does; ValueError where it has to do that."""
    kind = column.dtype.kind
    if column.ndim != 1 or kind not in "iufU":
        raise ValueError(kind)
    if kind == "U":
        return cells
    if kind != "f":
        return [int(cell) if cell else None for cell in cells]
    numbers = Fields(cells, comma=False).numbers()
    if np.isinf(numbers).any():
        raise ValueError(kind)
    return list(numbers.tolist())


def read_fits(content: bytes) -> RawTable:
    """Read the first table of a FITS file.

    Raises
    ------
    ListError
        When it cannot be read.

    References
    ----------
    Pence et al. 2010, "Definition of the Flexible Image Transport System (FITS), version 3.0",
    A&A 524, A42.
    """

    def parse() -> Any:
        from astropy.io import fits  # noqa: PLC0415  # slow to load
        from astropy.table import Table  # noqa: PLC0415

        with fits.open(io.BytesIO(content), memmap=False, lazy_load_hdus=False) as units:
            for unit in units:
                if isinstance(unit, fits.BinTableHDU | fits.TableHDU):
                    needed = unit.header["NAXIS1"] * unit.header["NAXIS2"]
                    if needed > len(content):
                        raise ListError("it is cut off: its header announces more than is there")
                    check_count(unit.header["NAXIS2"])
                    return Table.read(unit)
        raise ListError("it holds no table, only images or nothing")

    return _raw("FITS table", parse)


def _raw(form: str, parse: Callable[[], Any]) -> RawTable:
    """Turn what astropy makes of a file into rows, and what it says against it into a sentence."""
    with _quiet():
        try:
            table = parse()
            check_count(len(table), len(table.colnames))
            columns = list(_columns(table))
        except ListError:
            raise
        except Exception as error:  # noqa: BLE001  # a damaged file can fail anywhere in the reader
            article = "an" if form.startswith("E") else "a"
            raise ListError(f"it cannot be read as {article} {form}: {_reason(error)}") from None
    if not columns:
        return RawTable(form, [], [], [[], []])
    names, units, cells = (list(part) for part in zip(*columns, strict=True))
    return RawTable(form, names, units, cells, range(1, len(table) + 1), "row")


_Column = tuple[str, str | None, list[Any]]


def _columns(table: Any) -> Iterator[_Column]:
    """Return the columns with their units; one of places becomes two, if no other holds places."""
    has_places = any(field_called(name) in {"ra", "dec"} for name in table.colnames)
    for name in table.colnames:
        column = table[name]
        if hasattr(column, "icrs"):
            if not has_places:
                yield from _places(column)
                has_places = True
        elif field_called(name) is not None:  # others need not be understood
            unit = getattr(column, "unit", None)
            yield name, str(unit) if unit else None, _cells(column)
        else:
            yield name, None, [None] * len(table) if name == table.colnames[0] else []


def _places(column: Any) -> Iterator[_Column]:
    icrs = column.icrs
    yield "ra", "deg", _cells(icrs.ra.deg)
    yield "dec", "deg", _cells(icrs.dec.deg)


def _cells(column: Any) -> list[Any]:
    """Return a column's fields as numbers and texts, None where one is masked."""
    if hasattr(column, "isot"):
        return [str(instant) for instant in column.isot]
    mask = np.ma.getmaskarray(np.ma.asarray(getattr(column, "value", column)))
    if mask.ndim != 1:
        return ["(several values)"] * len(mask)
    values = np.asarray(getattr(column, "value", column)).tolist()
    return [None if masked else value for value, masked in zip(values, mask, strict=True)]


def _reason(error: Exception) -> str:
    """Return the first line of what a library says."""
    lines = harmless(str(error), instead="\n").strip().splitlines()
    first = lines[0].strip().rstrip(".") if lines else type(error).__name__
    return first if len(first) <= LONGEST_REASON else first[: LONGEST_REASON - 3] + "..."


@contextmanager
def _quiet() -> Iterator[None]:
    """Keep astropy from the network and from warning of what a list can do without."""
    from astropy.utils import data, iers  # noqa: PLC0415  # slow to load

    with (
        warnings.catch_warnings(),
        data.conf.set_temp("allow_internet", value=False),
        iers.conf.set_temp("auto_download", value=False),
    ):
        warnings.simplefilter("ignore")
        yield
