"""From the rows of a file to the targets of a list, with a word about each."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import partial
from typing import Any

import numpy as np

from targets.arrays import Flags
from targets.catalogue.added import Added
from targets.catalogue.catalogue import Catalogue
from targets.files import slices, watched
from targets.model import Kind, Origin, Target
from targets.naming.lookup import LONGEST_NAME, UnknownTarget
from targets.naming.many_names import known_of
from targets.naming.solar_system import SUN_CAUTION, means_the_sun
from targets.sphere import separation_deg
from targets.userlists import raw, tables
from targets.userlists.bulk import (
    ANGLES_DEG,
    MAGNITUDES,
    Bulk,
    Constellations,
    Rows,
    identifier_of,
    joined,
    place_name,
    with_single,
)
from targets.userlists.cells import (
    FIXED_KINDS,
    HOURS_IN_A_CIRCLE,
    angle_deg,
    is_at_most,
    is_empty,
    kind_called,
    number,
    plain_number,
    size_arcmin,
    words,
)
from targets.userlists.columns import NAMES, Column, understand
from targets.userlists.records import ListEntry, ListError, Reading, Remark, Remarks

# A place this far from the catalogue's own is worth a word [deg].
FAR_DEG = 1.0
# So many refused rows are told which names are near.
MOST_EXPLAINED = 50


def read_table(content: bytes, catalogue: Catalogue, constellations: Constellations) -> Reading:
    """Read a file with targets: a table of any understood format, or a plain list.

    Parameters
    ----------
    content : bytes
        Of the file.
    catalogue : Catalogue
        In which names are looked up.
    constellations : callable
        Names the constellations of J2000 places [deg], one or many.

    Returns
    -------
    Reading
        With a word about every line; good lines and bad ones.

    Raises
    ------
    ListError
        When the file as a whole cannot be used.
    """
    table = raw_table(content)
    if table.headings:
        table, columns = _with_columns(table, catalogue)
    else:
        columns = {"name": Column(0, "name"), "note": Column(1, "note")}
    return _Reader(table, columns, catalogue, constellations).read()


def raw_table(content: bytes) -> raw.RawTable:
    """Split a file into rows, whatever its format; ListError when that cannot be done."""
    if raw.is_fits(content):
        return tables.read_fits(content)
    guessed: list[str] = []
    text = raw.decode(content, guessed)
    if raw.is_votable(text):
        return tables.read_votable(text)
    if raw.is_ecsv(text):
        return tables.read_ecsv(text)
    return raw.table_of_text(text, guessed)


def _with_columns(
    table: raw.RawTable, catalogue: Catalogue
) -> tuple[raw.RawTable, Mapping[str, Column]]:
    """Find the meaning of the columns; a header that is none may be a first line of targets."""
    table.headings = [words(heading) for heading in table.headings]
    columns = understand(table.headings, table.units)
    if "name" in columns or {"ra", "dec"} <= columns.keys():
        return table, columns
    if not columns and _is_target(catalogue, table.headings[0]):
        table.guessed.append(
            "there is no header: the first field is taken for the name, the others are unread"
        )
        table.columns[0].insert(0, table.headings[0])
        table.numbers = [0, *table.numbers]
        return table, {"name": Column(0, "first field")}
    shown = ", ".join(f'"{heading[:30]}"' for heading in table.headings[:8])
    more = f" and {len(table.headings) - 8} more" if len(table.headings) > 8 else ""
    raise ListError(
        f"no column tells the targets: the header has {shown}{more}; needed is one called name, or"
        f" ra and dec; understood are {', '.join(NAMES)}"
    )


def _is_target(catalogue: Catalogue, text: str) -> bool:
    return catalogue.texts.index.known(text) is not None


class _Reader:
    """Goes through the rows of one table."""

    def __init__(
        self,
        table: raw.RawTable,
        columns: Mapping[str, Column],
        catalogue: Catalogue,
        constellations: Constellations,
    ) -> None:
        self._table = table
        self._columns = columns
        self._catalogue = catalogue
        self._constellations = constellations
        self._taken: dict[int, ListEntry] = {}
        self._first: dict[str, tuple[int, Target | None]] = {}
        self._guessed_angles: set[tuple[str, bool]] = set()
        self._reading = Reading(table.form, guessed=list(table.guessed))
        self._reading.refused += table.refused

    def read(self) -> Reading:
        """Read all rows: those that are plain many at once, the others one by one."""
        self._guess_units()
        known = partial(known_of, self._catalogue.texts.index)
        bulk = Bulk(self._table, self._columns, known, self._constellations)
        parts = [
            bulk.read(some) for some in watched(slices(len(self._table.numbers)), "Looking up")
        ]
        if not parts:
            return self._reading
        rows = joined(parts)
        is_odd = ~rows.plain | self._are_shared(rows)
        every = Added(rows.ids, rows.names, rows.notes, rows.columns)
        for row in np.flatnonzero(is_odd).tolist():
            try:
                if rows.plain[row]:
                    self._take(row, ListEntry(rows.ids[row], rows.notes[row], every.target(row)))
                else:
                    index = int(rows.index[row])
                    self._row(row, rows.names[row], rows.notes[row], index if index >= 0 else None)
            except ListError as error:
                place = self._table.place(row)
                self._reading.refused += [Remark(place, fault) for fault in error.faults]
        entries, places = with_single(rows, ~is_odd, self._taken)
        self._reading.entries = entries
        self._reading.read = Remarks(
            len(entries),
            lambda n: Remark(self._table.place(places[n]), self._described(entries[n])),
        )
        return self._reading

    def _are_shared(self, rows: Rows) -> Flags:
        """Tell whose identifier another row may have too: which is the target, their order says."""
        keys = "\n".join(rows.ids).casefold().split("\n")
        for row in np.flatnonzero(rows.index >= 0).tolist():
            keys[row] = self._catalogue.ids[rows.index[row]].casefold()
        once: set[str] = set()
        more: set[str] = set()
        if len(set(keys)) < len(keys):
            for key in keys:
                (more if key in once else once).add(key)
        # What has no name and is not plain may have any place for its name.
        nameless = rows.nameless & bool((rows.nameless & ~rows.plain).any())
        is_shared = [key in more for key in keys] if more else np.zeros(len(keys), dtype=bool)
        return np.asarray(is_shared, dtype=bool) | nameless

    def _guess_units(self) -> None:
        """Say what is taken for granted of angles whose columns have no unit."""
        for name, unit in (("size", "arcmin"), ("minor", "arcmin"), ("separation", "arcsec")):
            column = self._columns.get(name)
            if column is not None and column.unit_deg is None:
                self._reading.guess(f'column "{column.heading}" names no unit; taken for {unit}')

    def _row(self, row: int, name: str, note: str, index: int | None) -> None:
        if means_the_sun(name):
            raise ListError(SUN_CAUTION)
        position = self._position(row)
        if index is not None:
            self._take(row, ListEntry(self._catalogue.ids[index], note))
            self._compare(row, index, position)
        elif position is not None:
            if len(name) > LONGEST_NAME:
                raise ListError(f"the name is longer than {LONGEST_NAME} characters")
            own = self._own(name, position, row)
            self._take(row, ListEntry(own.id, note, replace(own, own_note=note or None)))
        else:
            raise ListError(self._why_not(name))

    def _take(self, row: int, entry: ListEntry) -> None:
        """Keep an entry unless the list has it; refuse a name that is used for something else."""
        key = entry.id.casefold()
        own = None if entry.own is None else replace(entry.own, own_note=None)
        before = self._first.setdefault(key, (row, own))
        if before[0] == row:
            self._taken[row] = entry
        elif before[1] == own:
            said = f"{self._named(entry)} again, as in {self._table.place(before[0])}"
            self._reading.passed_over.append(Remark(self._table.place(row), said))
        else:
            place = self._table.place(before[0])
            raise ListError(f'"{self._named(entry)}" is something else in {place}')

    def _named(self, entry: ListEntry) -> str:
        if entry.own is not None:
            return entry.own.name
        return self._catalogue.texts.name(self._catalogue.index_of(entry.id))

    def _described(self, entry: ListEntry) -> str:
        if entry.own is None:
            return f"{self._named(entry)}, from the catalogue"
        own = entry.own
        return (
            f"{own.name}, the list's own {own.kind} at {own.ra_deg:.4f} {own.dec_deg:+.4f} deg"
            f" ({own.constellation})"
        )

    def _why_not(self, name: str) -> str:
        """Say why a row without a place is no target; to look for near names takes its time."""
        if not name:
            return "neither a name nor a place"
        if len(self._reading.refused) < MOST_EXPLAINED:
            try:
                self._catalogue.find_index(name)
            except UnknownTarget as error:
                return str(error)
        return f'no target is called "{name[:LONGEST_NAME]}"'

    def _position(self, row: int) -> tuple[float, float] | None:
        if self._empty(row, "ra") and self._empty(row, "dec"):
            return None
        if self._empty(row, "ra") or self._empty(row, "dec"):
            raise ListError("of the place only one half is given")
        ra_deg, dec_deg = self._angle(row, "ra"), self._angle(row, "dec")
        if not 0.0 <= ra_deg <= 360.0:
            raise ListError(f"right ascension {ra_deg:g} deg is outside 0 to 360 (24 hours)")
        if not -90.0 <= dec_deg <= 90.0:
            raise ListError(f"declination {dec_deg:g} deg is outside -90 to 90")
        return ra_deg % 360.0, dec_deg

    def _angle(self, row: int, name: str) -> float:
        column = self._columns[name]
        value = self._field(row, name)
        if column.unit_deg is None:
            self._guess_angle(column, name, value)
        return angle_deg(
            value,
            {"ra": "right ascension", "dec": "declination"}[name],
            unit_deg=column.unit_deg,
            hours=name == "ra",
            comma=self._table.comma,
        )

    def _guess_angle(self, column: Column, name: str, value: Any) -> None:
        """Say how a column without a unit is read, by the form of its first fields."""
        is_number = not isinstance(value, str) or not any(c in value.strip(" -+") for c in ": hdm°")
        if (name, is_number) in self._guessed_angles:
            return
        self._guessed_angles.add((name, is_number))
        unit = "degrees" if is_number or name == "dec" else "hours"
        form = "numbers" if is_number else "sexagesimal fields"
        hint = ""
        if name == "ra" and is_number and self._may_be_hours(column):
            hint = f'; none is above 24: if they are hours, call the column "{column.heading} (h)"'
        self._reading.guess(
            f'column "{column.heading}" names no unit; {form} taken for {unit}{hint}'
        )

    def _may_be_hours(self, column: Column) -> bool:
        """Tell whether no number of a column is more than the hours of a circle."""
        comma = self._table.comma
        return all(
            0.0 <= value <= HOURS_IN_A_CIRCLE
            or (value != value or is_at_most(cell, HOURS_IN_A_CIRCLE, comma=comma))  # noqa: PLR0124
            for cell in self._table.columns[column.place]
            for value in (plain_number(cell, comma=comma),)
        )

    def _compare(self, row: int, index: int, position: tuple[float, float] | None) -> None:
        """Say so when the file has a target elsewhere than the catalogue."""
        if position is None or self._catalogue.moves[index]:
            return
        ours = self._catalogue.ra_deg[index], self._catalogue.dec_deg[index]
        away = float(separation_deg(*position, *ours))
        if away > FAR_DEG:
            hint = " (hours instead of degrees?)" if position[0] <= HOURS_IN_A_CIRCLE else ""
            self._reading.guess(
                f"{self._table.place(row)}: {self._catalogue.target(index).name} is {away:.0f} deg"
                f" from the place in the file{hint}; the catalogue's place is taken"
            )

    def _own(self, name: str, position: tuple[float, float], row: int) -> Target:
        kind = self._kind(row)
        ra_deg, dec_deg = position
        name = name or place_name(ra_deg, dec_deg)
        major, minor = self._axes(row)
        if kind is Kind.DOUBLE_STAR and not self._empty(row, "separation"):
            major, minor = self._size(row, "separation", 1.0 / 60.0)[0], None
        magnitude = self._number(row, "magnitude", low=MAGNITUDES[0], high=MAGNITUDES[1])
        angle = self._number(row, "angle", low=ANGLES_DEG[0], high=ANGLES_DEG[1])
        return Target(
            id=identifier_of(name),
            name=name,
            kind=kind,
            constellation=str(self._constellations(ra_deg, dec_deg)),
            ra_deg=ra_deg,
            dec_deg=dec_deg,
            major_arcmin=major,
            minor_arcmin=minor,
            position_angle_deg=None
            if angle is None
            else angle % (360.0 if kind is Kind.DOUBLE_STAR else 180.0),
            magnitude=magnitude,
            size_origin=Origin.UNKNOWN if major is None else Origin.CATALOGUE,
            magnitude_origin=Origin.UNKNOWN if magnitude is None else Origin.CATALOGUE,
        )

    def _kind(self, row: int) -> Kind:
        if self._empty(row, "kind"):
            self._reading.guess("where no kind is given, a target counts as another object, a glow")
            return Kind.OTHER
        text = words(self._field(row, "kind"))
        kind = kind_called(text)
        if kind is None:
            self._reading.guess(f'kind "{text[:30]}" is unknown; taken for another object')
            return Kind.OTHER
        if kind not in FIXED_KINDS:
            raise ListError(f"a {kind} moves, so that no place can be kept for it")
        return kind

    def _axes(self, row: int) -> tuple[float | None, float | None]:
        if self._empty(row, "size"):
            return None, None
        major, minor = self._size(row, "size", 1.0)
        if not self._empty(row, "minor"):
            minor = self._size(row, "minor", 1.0)[0]
        if minor is not None and minor > major:
            major, minor = minor, major
        return major, minor

    def _size(self, row: int, name: str, usual_arcmin: float) -> tuple[float, float | None]:
        column = self._columns[name]
        unit = usual_arcmin if column.unit_deg is None else column.unit_deg * 60.0
        value = self._field(row, name)
        return size_arcmin(value, name, unit_arcmin=unit, comma=self._table.comma)

    def _number(self, row: int, name: str, *, low: float, high: float) -> float | None:
        if self._empty(row, name):
            return None
        value = self._field(row, name)
        return number(value, name, low=low, high=high, comma=self._table.comma)

    def _field(self, row: int, name: str) -> Any:
        return self._table.columns[self._columns[name].place][row]

    def _empty(self, row: int, name: str) -> bool:
        return name not in self._columns or is_empty(self._field(row, name))
