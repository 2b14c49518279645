"""Many rows of a table at once: what is plain about them, and which are to be read one by one.

The rules are those of `targets.userlists.reading`, which reads every row that is not plain here.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from targets.arrays import Flags, Floats
from targets.catalogue.added import Added
from targets.catalogue.values import KINDS
from targets.frozen import frozen
from targets.model import Kind
from targets.naming.lookup import LONGEST_NAME
from targets.naming.solar_system import means_the_sun
from targets.userlists.alike import Fields
from targets.userlists.cells import (
    FIXED_KINDS,
    LARGEST_SIZE_ARCMIN,
    kind_called,
    word_column,
)
from targets.userlists.columns import Column
from targets.userlists.raw import RawTable
from targets.userlists.records import Entries, ListEntry

Constellations = Callable[[ArrayLike, ArrayLike], ArrayLike]
MAGNITUDES, ANGLES_DEG, SIZES_ARCMIN = (-30.0, 30.0), (0.0, 360.0), (0.0, LARGEST_SIZE_ARCMIN)
NOT_KNOWN, REFUSED = -1, -2
_DIGIT = re.compile("[0-9]")
_NO_DIGIT_IN_LINE = re.compile("^[^0-9\\n]*$", re.MULTILINE)
_DOUBLE, _OTHER = KINDS.index(Kind.DOUBLE_STAR), KINDS.index(Kind.OTHER)
_FIXED = frozenset(KINDS.index(kind) for kind in FIXED_KINDS)


@frozen
class Rows:
    """What N rows hold.

    Parameters
    ----------
    ids, names, notes : list of str
        Identifiers are empty where a row that is not plain has no name.
    index : ndarray of int
        Of the catalogue's target of that name, -1 for none, shape (N,).
    nameless, plain : ndarray of bool
        Which have no name, and which are targets of the list's own about which nothing needs to be
        said, shape (N,).
    columns : mapping of str to ndarray
        As in `targets.catalogue.added.Added`, shape (N,); of no use where a row is not plain.
    """

    ids: list[str]
    names: list[str]
    notes: list[str]
    index: NDArray[np.intp]
    nameless: Flags
    plain: Flags
    columns: Mapping[str, NDArray[Any]]


@dataclass(slots=True)
class Bulk:
    """Reads the rows of a table, many at once.

    Parameters
    ----------
    table, columns
        What there is, and what its columns hold.
    known : callable
        Gives the index of a target of the catalogue by its name, or None, for many names.
    constellations : callable
        Names the constellations of J2000 places [deg].
    """

    table: RawTable
    columns: Mapping[str, Column]
    known: Callable[[Sequence[str]], Sequence[int | None]]
    constellations: Constellations
    _kinds: dict[str, tuple[int, int]] = field(default_factory=dict)
    _forms: set[int] = field(default_factory=set)

    def read(self, rows: slice) -> Rows:
        """Read some rows."""
        names, notes = (word_column(self._cells(name, rows)) for name in ("name", "note"))
        ra_deg, ra_form = self._angles("ra", rows)
        dec_deg, dec_form = self._angles("dec", rows)
        kind_code, kind_form = self._kind_codes(rows)
        major, minor = self._axes(kind_code, rows)
        magnitude, angle = (self._numbers(name, rows) for name in ("magnitude", "angle"))
        index = self._indices(names)
        nameless = np.array([not name for name in names], dtype=bool)
        plain = index == NOT_KNOWN
        plain &= (ra_deg >= 0.0) & (ra_deg <= 360.0) & (dec_deg >= -90.0) & (dec_deg <= 90.0)
        plain &= kind_code >= 0
        for values, (low, high) in (
            (magnitude, MAGNITUDES), (angle, ANGLES_DEG), (major, SIZES_ARCMIN),
            (minor, SIZES_ARCMIN),
        ):  # fmt: skip
            plain &= ~((values < low) | (values > high))
        # What is guessed of a form of row, its first row tells.
        plain &= ~self._is_first(ra_form + 2 * dec_form + 4 * kind_form, plain)
        ra_deg = np.where(plain, ra_deg, 0.0) % 360.0
        dec_deg = np.where(plain, dec_deg, 0.0)
        for row in np.flatnonzero(nameless & plain).tolist():
            names[row] = place_name(float(ra_deg[row]), float(dec_deg[row]))
        constellation = np.asarray(self.constellations(ra_deg, dec_deg), dtype="<U3")
        return Rows(
            "\n".join(names).replace(" ", "").split("\n"),  # as `identifier_of` each
            names,
            notes,
            index,
            nameless,
            plain,
            {
                "ra_deg": ra_deg,
                "dec_deg": dec_deg,
                "kind_code": kind_code,
                "major_arcmin": major,
                "minor_arcmin": minor,
                "position_angle_deg": np.where(plain, angle, np.nan)
                % np.where(kind_code == _DOUBLE, 360.0, 180.0),
                "magnitude": magnitude,
                "constellation": np.broadcast_to(constellation, ra_deg.shape),
            },
        )

    def _indices(self, names: list[str]) -> NDArray[np.intp]:
        """Return the indices of the catalogue's targets; below `NOT_KNOWN` for what is refused."""
        found = [NOT_KNOWN if index is None else index for index in self.known(names)]
        if max(map(len, names)) > LONGEST_NAME or _NO_DIGIT_IN_LINE.search("\n".join(names)):
            for row, name in enumerate(names):
                if len(name) > LONGEST_NAME or (not _DIGIT.search(name) and means_the_sun(name)):
                    found[row] = REFUSED
        return np.array(found, dtype=np.intp)

    def _cells(self, name: str, rows: slice) -> Sequence[Any]:
        if name in self.columns:
            return self.table.columns[self.columns[name].place][rows]
        return [""] * (rows.stop - rows.start)

    def _fields(self, name: str, rows: slice) -> Fields:
        return Fields(self._cells(name, rows), comma=self.table.comma)

    def _angles(self, name: str, rows: slice) -> tuple[Floats, Flags]:
        """Return places [deg], infinite where they are odd, and which are plain numbers."""
        fields = self._fields(name, rows)
        found = fields.numbers()
        is_number = ~np.isinf(found)
        column = self.columns.get(name)
        if column is None:
            return found, is_number
        hours, unit_deg = name == "ra", column.unit_deg
        found = found * (1.0 if unit_deg is None else unit_deg)
        if unit_deg in {None, 15.0} or (unit_deg == 1.0 and not hours):
            found = np.where(is_number, found, fields.angles_deg(~is_number, hours=hours))
        return found, is_number

    def _numbers(self, name: str, rows: slice) -> Floats:
        if name not in self.columns:
            return np.full(rows.stop - rows.start, np.nan)
        return self._fields(name, rows).numbers()

    def _kind_codes(self, rows: slice) -> tuple[NDArray[np.int8], NDArray[np.intp]]:
        """Return kinds, -1 where one has no place, and a number for each word."""
        words = word_column(self._cells("kind", rows))
        kind_of = {word: self._kind(word) for word in dict.fromkeys(words)}
        codes = np.array([kind_of[word][0] for word in words], dtype=np.int8)
        return codes, np.array([kind_of[word][1] for word in words], dtype=np.intp)

    def _kind(self, word: str) -> tuple[int, int]:
        if word not in self._kinds:
            kind = kind_called(word) if word else Kind.OTHER
            code = _OTHER if kind is None else KINDS.index(kind)
            self._kinds[word] = (code if code in _FIXED else -1, len(self._kinds))
        return self._kinds[word]

    def _axes(self, kind_code: NDArray[np.int8], rows: slice) -> tuple[Floats, Floats]:
        """Return major and minor axes [arcmin], infinite where they are odd."""
        major, minor = self._sizes("size", 1.0, rows)
        width = self._sizes("minor", 1.0, rows)[0]
        minor = np.where(np.isnan(width) | np.isnan(major), minor, width)
        major, minor = np.fmax(major, minor), np.where(minor > major, major, minor)
        apart = self._sizes("separation", 1.0 / 60.0, rows)[0]
        is_apart = (kind_code == _DOUBLE) & ~np.isnan(apart) & ~np.isinf(major) & ~np.isinf(minor)
        return np.where(is_apart, apart, major), np.where(is_apart, np.nan, minor)

    def _sizes(self, name: str, usual_arcmin: float, rows: slice) -> tuple[Floats, Floats]:
        column, second = self.columns.get(name), np.full(rows.stop - rows.start, np.nan)
        if column is None:
            return second, second
        unit = usual_arcmin if column.unit_deg is None else column.unit_deg * 60.0
        fields = self._fields(name, rows)
        found = fields.numbers()
        is_number, (low, high) = ~np.isinf(found), SIZES_ARCMIN
        found = found * unit
        if not is_number.all():
            major, second = fields.axes_arcmin(~is_number, unit)
            found = np.where(is_number, found, major)
        return np.where((found <= low) | (found > high), np.inf, found), second

    def _is_first(self, forms: NDArray[np.intp], plain: Flags) -> Flags:
        """Tell which rows are the first of their form in the table, of those that are plain."""
        is_first, rows = np.zeros(len(forms), dtype=bool), np.flatnonzero(plain)
        found, places = np.unique(forms[rows], return_index=True)
        for form, place in zip(found.tolist(), places.tolist(), strict=True):
            is_first[rows[place]] = form not in self._forms
            self._forms.add(form)
        return is_first


def place_name(ra_deg: float, dec_deg: float) -> str:
    """Name a target by its place, for want of a name."""
    return f"{ra_deg:.3f} {dec_deg:+.3f}"


def identifier_of(name: str) -> str:
    """Return the identifier of a target of the list's own."""
    return "".join(name.split())


def joined(parts: Sequence[Rows]) -> Rows:
    """Put the rows of several parts one after the other."""
    return Rows(
        [text for part in parts for text in part.ids],
        [text for part in parts for text in part.names],
        [text for part in parts for text in part.notes],
        np.concatenate([part.index for part in parts]),
        np.concatenate([part.nameless for part in parts]),
        np.concatenate([part.plain for part in parts]),
        {name: np.concatenate([part.columns[name] for part in parts]) for name in parts[0].columns},
    )


def with_single(
    rows: Rows, plain: Flags, single: Mapping[int, ListEntry]
) -> tuple[Entries, NDArray[np.intp]]:
    """Return the targets of a list: the rows that are plain, and those read one by one.

    Parameters
    ----------
    rows : Rows
    plain : ndarray of bool
        Which of them count, shape (N,).
    single : mapping of int to ListEntry
        By row.

    Returns
    -------
    entries : Entries
    places : ndarray of int
        The row of each.
    """
    taken, is_own = plain.copy(), plain.copy()
    for row, entry in single.items():
        taken[row], is_own[row] = True, entry.own is not None
        rows.ids[row], rows.notes[row] = entry.id, entry.note
    some = [(row, entry.own) for row, entry in sorted(single.items()) if entry.own is not None]
    those = Added.of(own for _, own in some)
    at = [row for row, _ in some]
    for name, values in rows.columns.items():
        values[at] = those.column(name)
    for row, name in zip(at, those.names, strict=True):
        rows.names[row] = name
    places = np.flatnonzero(taken)
    own_rows = np.flatnonzero(is_own)
    own = Added(rows.ids, rows.names, rows.notes, rows.columns).of_places(own_rows)
    chosen = places.tolist()
    return Entries(
        [rows.ids[row] for row in chosen],
        [rows.notes[row] for row in chosen],
        own,
        np.where(is_own, np.cumsum(is_own) - 1, -1)[places],
    ), places
