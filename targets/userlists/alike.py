"""Columns of numbers, angles and sizes at once: fields that differ in their digits have one shape.

What a shape means is asked once, by the patterns that read single fields in
`targets.userlists.cells`; its digits are then read as arrays. Odd fields are read one by one.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from targets.arrays import Flags, Floats, Numbers
from targets.userlists.cells import (
    LARGEST_NUMBER,
    LARGEST_SIZE_ARCMIN,
    NUMBER,
    SIXTIES,
    SIZES,
    axis_arcmin,
    plain_angle_deg,
    plain_number,
    plain_signs,
    sixties_deg,
    size_arcmin,
)
from targets.userlists.records import ListError

# Arrays are worth it for so many fields of one shape.
FEW = 8
# So many digits a number of double precision holds exactly, and its quotient by a power of ten.
_EXACT_DIGITS = 15
_TO_ZERO = bytes.maketrans(b"123456789", b"000000000")
_DECIMAL_COMMA = re.compile(r",(?=\d)", re.ASCII)
_DIGIT = re.compile("[0-9]")


class _TooExactError(ValueError):
    """A number has more digits than are read at once."""


@dataclass(frozen=True, slots=True)
class _Alike:
    """Fields of one shape.

    Parameters
    ----------
    rows : ndarray of int
        Where they are, shape (N,).
    shape : str
        Any of them with zeros for its digits, and points for decimal commas.
    codes : ndarray of int
        Their bytes in UTF-8, shape (N, L).
    """

    rows: NDArray[np.intp]
    shape: str
    codes: NDArray[np.uint8]

    def match(self, pattern: re.Pattern[str]) -> re.Match[str] | None:
        """Match the shape without blanks around it."""
        begin = len(self.shape) - len(self.shape.lstrip())
        return pattern.fullmatch(self.shape, begin, max(begin, len(self.shape.rstrip())))

    def part(self, match: re.Match[str]) -> Callable[[int], Numbers]:
        """Return what gives the number without a sign in a group of a match; 0 for no group."""

        def number(group: int) -> Numbers:
            text = match[group]
            if not text:
                return 0.0
            before = self.shape[: match.start(group)].encode("utf-8", "surrogatepass")
            places = [len(before) + n for n, char in enumerate(text) if char != "."]
            if len(places) > _EXACT_DIGITS:
                raise _TooExactError
            powers = 10.0 ** np.arange(len(places) - 1, -1, -1)
            digits = self.codes[:, places].astype(float) - ord("0")
            return np.asarray(digits @ powers / 10.0 ** len(text.partition(".")[2]))

        return number


@dataclass(slots=True)
class Fields:
    """Some fields of a column.

    Parameters
    ----------
    cells : sequence
        As the file has them, N texts or numbers.
    comma : bool
        Whether a comma may be the decimal point.
    """

    cells: Sequence[Any]
    comma: bool
    _alike: list[_Alike] = field(init=False)

    def __post_init__(self) -> None:
        """Put what is alike together."""
        is_text = set(map(type, self.cells)) == {str}
        self._alike = list(_alike(self.cells, comma=self.comma)) if is_text else []

    def numbers(self) -> Floats:
        """Return plain numbers, NaN where a field is empty, infinite for others, shape (N,)."""
        found = _floats(self.cells)
        if found is not None:
            return found
        found, is_left = np.full(len(self.cells), np.inf), np.ones(len(self.cells), dtype=bool)
        for some in self._alike:
            match = some.match(NUMBER)
            with suppress(_TooExactError):
                if match is not None and not match[3]:
                    value = some.part(match)(2)
                    found[some.rows] = -value if match[1] == "-" else value
                elif not _DIGIT.search(some.shape):  # all are the same
                    found[some.rows] = plain_number(self.cells[some.rows[0]], comma=self.comma)
                elif match is not None:
                    continue
                is_left[some.rows] = False
        for row in np.flatnonzero(is_left).tolist():
            found[row] = plain_number(self.cells[row], comma=self.comma)
        return found

    def angles_deg(self, is_wanted: Flags, *, hours: bool) -> Floats:
        """Return usual sexagesimal fields as degrees, infinite for others, shape (N,).

        Parameters
        ----------
        is_wanted : ndarray of bool
            Which fields to read, alike for those of one shape, shape (N,).
        hours : bool
            Whether fields that do not say what they are in are in hours.
        """
        found, is_left = np.full(len(self.cells), np.inf), is_wanted.copy()
        for some in self._wanted(is_wanted):
            match = some.match(SIXTIES)
            with suppress(_TooExactError):
                if match is not None:
                    found[some.rows] = sixties_deg(match, some.part(match), hours=hours)
                is_left[some.rows] = False
        for row in np.flatnonzero(is_left).tolist():
            found[row] = plain_angle_deg(self.cells[row], hours=hours, comma=self.comma)
        return found

    def axes_arcmin(self, is_wanted: Flags, unit_arcmin: float) -> tuple[Floats, Floats]:
        """Return major and minor axes [arcmin] of fields such as ``12x8``, shape (N,) each.

        Major axes are infinite where a field is odd, minor ones NaN where there is none.

        Parameters
        ----------
        is_wanted : ndarray of bool
            Which fields to read, alike for those of one shape, shape (N,).
        unit_arcmin : float
            Of numbers without a sign.
        """
        major, minor = np.full(len(self.cells), np.inf), np.full(len(self.cells), np.nan)
        is_left = is_wanted.copy()
        for some in self._wanted(is_wanted):
            match = some.match(SIZES)
            if match is None:
                continue
            with suppress(_TooExactError):
                part = some.part(match)
                one, other = (axis_arcmin(part(k), match[k + 1], unit_arcmin) for k in (1, 3))
                shorter, longer = (one, one) if not match[3] else np.sort([one, other], axis=0)
                is_size = (shorter > 0.0) & (longer <= LARGEST_SIZE_ARCMIN)
                major[some.rows] = np.where(is_size, longer, np.inf)
                minor[some.rows] = np.where(is_size & bool(match[3]), shorter, np.nan)
                is_left[some.rows] = False
        for row in np.flatnonzero(is_left).tolist():
            with suppress(ListError):
                cell = self.cells[row]
                axes = size_arcmin(cell, "size", unit_arcmin=unit_arcmin, comma=self.comma)
                major[row], minor[row] = axes[0], np.nan if axes[1] is None else axes[1]
        return major, minor

    def _wanted(self, is_wanted: Flags) -> Iterator[_Alike]:
        return (some for some in self._alike if is_wanted[some.rows[0]])


def _alike(cells: Sequence[str], *, comma: bool) -> Iterator[_Alike]:
    """Put fields of one shape together; those of rare shapes are left out."""
    content = plain_signs("\n".join(cells)).encode("utf-8", "surrogatepass")
    fields, shapes = content.split(b"\n"), content.translate(_TO_ZERO).split(b"\n")
    if len(fields) != len(cells):  # some have lines of their own
        return
    number: dict[bytes, int] = {}
    codes = np.array([number.setdefault(shape, len(number)) for shape in shapes], dtype=np.intp)
    ends = np.cumsum(np.bincount(codes))
    for shape, rows in zip(
        number, np.split(np.argsort(codes, kind="stable"), ends[:-1]), strict=True
    ):
        if len(rows) >= FEW:
            same = b"".join([fields[row] for row in rows.tolist()])
            text = shape.decode("utf-8", "surrogatepass")
            yield _Alike(
                rows,
                _DECIMAL_COMMA.sub(".", text) if comma else text,
                np.frombuffer(same, np.uint8).reshape(len(rows), len(shape)),
            )


def _floats(cells: Sequence[Any]) -> Floats | None:
    """Return numbers, NaN and infinite where they are none; None if some are no numbers."""
    if not set(map(type, cells)) <= {float}:
        return None
    found = np.array(cells, dtype=float)
    return np.where(np.abs(found) >= LARGEST_NUMBER, np.inf, found)
