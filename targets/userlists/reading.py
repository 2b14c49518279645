"""From the rows of a file to the targets of a list, with a word about each."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any

from targets.catalogue.catalogue import Catalogue
from targets.model import Kind, Origin, Target
from targets.naming.lookup import LONGEST_NAME, UnknownTarget
from targets.naming.solar_system import SUN_CAUTION, means_the_sun
from targets.sphere import separation_deg
from targets.userlists import raw, tables
from targets.userlists.cells import (
    FIXED_KINDS,
    angle_deg,
    is_at_most,
    is_empty,
    kind_called,
    number,
    size_arcmin,
    words,
)
from targets.userlists.columns import NAMES, Column, understand
from targets.userlists.records import ListEntry, ListError, Reading, Remark

# A place this far from the catalogue's own is worth a word [deg].
FAR_DEG = 1.0
HOURS_IN_A_CIRCLE = 24.0
# So many refused rows are told which names are near.
MOST_EXPLAINED = 50

Constellation = Callable[[float, float], str]
Rows = Sequence[tuple[str, list[Any]]]
Watch = Callable[[Rows], Iterable[tuple[str, list[Any]]]]


def read_table(
    content: bytes,
    catalogue: Catalogue,
    constellation: Constellation,
    watch: Watch | None = None,
) -> Reading:
    """Read a file with targets: a table of any understood format, or a plain list.

    Parameters
    ----------
    content : bytes
        Of the file.
    catalogue : Catalogue
        In which names are looked up.
    constellation : callable
        Names the constellation of a J2000 place [deg].
    watch : callable, optional
        Takes the rows and gives them one by one, to tell how far it is.

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
    return _Reader(table, columns, catalogue, constellation).read(watch)


def raw_table(content: bytes) -> raw.RawTable:
    """Split a file into rows, whatever its format; ListError when that cannot be done."""
    if raw.is_fits(content):
        return tables.read_fits(content)
    guessed: list[str] = []
    text = raw.decode(content, guessed)
    if raw.is_votable(text):
        return tables.read_votable(text)
    raw.check_lines(text)
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
        table.rows.insert(0, ("first line", list(table.headings)))
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
        constellation: Constellation,
    ) -> None:
        self._table = table
        self._columns = columns
        self._catalogue = catalogue
        self._constellation = constellation
        self._places: dict[str, tuple[str, Target | None]] = {}
        self._guessed_angles: set[tuple[str, bool]] = set()
        self._reading = Reading(table.form, guessed=list(table.guessed))
        self._reading.refused += table.refused

    def read(self, watch: Watch | None) -> Reading:
        """Read all rows."""
        self._guess_units()
        for place, fields in watch(self._table.rows) if watch else self._table.rows:
            try:
                self._row(place, fields)
            except ListError as error:
                self._reading.refused += [Remark(place, fault) for fault in error.faults]
        return self._reading

    def _guess_units(self) -> None:
        """Say what is taken for granted of angles whose columns have no unit."""
        for name, unit in (("size", "arcmin"), ("minor", "arcmin"), ("separation", "arcsec")):
            column = self._columns.get(name)
            if column is not None and column.unit_deg is None:
                self._reading.guess(f'column "{column.heading}" names no unit; taken for {unit}')

    def _row(self, place: str, fields: list[Any]) -> None:
        name = words(self._field(fields, "name")) if not self._empty(fields, "name") else ""
        note = words(self._field(fields, "note")) if not self._empty(fields, "note") else ""
        if means_the_sun(name):
            raise ListError(SUN_CAUTION)
        index = self._catalogue.texts.index.known(name)
        position = self._position(fields)
        if index is not None:
            self._take(place, ListEntry(self._catalogue.ids[index], note), None)
            self._compare(place, index, position)
        elif position is not None:
            if len(name) > LONGEST_NAME:
                raise ListError(f"the name is longer than {LONGEST_NAME} characters")
            own = self._own(name, position, fields)
            self._take(place, ListEntry(own.id, note, own), own)
        else:
            raise ListError(self._why_not(name))

    def _take(self, place: str, entry: ListEntry, own: Target | None) -> None:
        """Keep an entry unless the list has it; refuse a name that is used for something else."""
        key = entry.id.casefold()
        before = self._places.get(key)
        if before is None:
            self._places[key] = (place, own)
            self._reading.entries.append(entry)
            self._reading.read.append(Remark(place, self._described(entry)))
        elif before[1] == own:
            self._reading.passed_over.append(
                Remark(place, f"{self._named(entry)} again, as in {before[0]}")
            )
        else:
            raise ListError(f'"{self._named(entry)}" is something else in {before[0]}')

    def _named(self, entry: ListEntry) -> str:
        if entry.own is not None:
            return entry.own.name
        return self._catalogue.target(self._catalogue.index_of(entry.id)).name

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

    def _position(self, fields: list[Any]) -> tuple[float, float] | None:
        if self._empty(fields, "ra") and self._empty(fields, "dec"):
            return None
        if self._empty(fields, "ra") or self._empty(fields, "dec"):
            raise ListError("of the place only one half is given")
        ra_deg, dec_deg = self._angle(fields, "ra"), self._angle(fields, "dec")
        if not 0.0 <= ra_deg <= 360.0:
            raise ListError(f"right ascension {ra_deg:g} deg is outside 0 to 360 (24 hours)")
        if not -90.0 <= dec_deg <= 90.0:
            raise ListError(f"declination {dec_deg:g} deg is outside -90 to 90")
        return ra_deg % 360.0, dec_deg

    def _angle(self, fields: list[Any], name: str) -> float:
        column = self._columns[name]
        value = self._field(fields, name)
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
        return all(
            is_at_most(fields[column.place], HOURS_IN_A_CIRCLE, comma=self._table.comma)
            for _, fields in self._table.rows
        )

    def _compare(self, place: str, index: int, position: tuple[float, float] | None) -> None:
        """Say so when the file has a target elsewhere than the catalogue."""
        if position is None or self._catalogue.moves[index]:
            return
        ours = self._catalogue.ra_deg[index], self._catalogue.dec_deg[index]
        away = float(separation_deg(*position, *ours))
        if away > FAR_DEG:
            hint = " (hours instead of degrees?)" if position[0] <= HOURS_IN_A_CIRCLE else ""
            self._reading.guess(
                f"{place}: {self._catalogue.target(index).name} is {away:.0f} deg from the place"
                f" in the file{hint}; the catalogue's place is taken"
            )

    def _own(self, name: str, position: tuple[float, float], fields: list[Any]) -> Target:
        kind = self._kind(fields)
        ra_deg, dec_deg = position
        name = name or f"{ra_deg:.3f} {dec_deg:+.3f}"
        major, minor = self._axes(fields)
        if kind is Kind.DOUBLE_STAR and not self._empty(fields, "separation"):
            major, minor = self._size(fields, "separation", 1.0 / 60.0)[0], None
        magnitude = self._number(fields, "magnitude", low=-30.0, high=30.0)
        angle = self._number(fields, "angle", low=0.0, high=360.0)
        return Target(
            id="".join(name.split()),
            name=name,
            kind=kind,
            constellation=self._constellation(ra_deg, dec_deg),
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

    def _kind(self, fields: list[Any]) -> Kind:
        if self._empty(fields, "kind"):
            self._reading.guess("where no kind is given, a target counts as another object, a glow")
            return Kind.OTHER
        text = words(self._field(fields, "kind"))
        kind = kind_called(text)
        if kind is None:
            self._reading.guess(f'kind "{text[:30]}" is unknown; taken for another object')
            return Kind.OTHER
        if kind not in FIXED_KINDS:
            raise ListError(f"a {kind} moves, so that no place can be kept for it")
        return kind

    def _axes(self, fields: list[Any]) -> tuple[float | None, float | None]:
        if self._empty(fields, "size"):
            return None, None
        major, minor = self._size(fields, "size", 1.0)
        if not self._empty(fields, "minor"):
            minor = self._size(fields, "minor", 1.0)[0]
        if minor is not None and minor > major:
            major, minor = minor, major
        return major, minor

    def _size(
        self, fields: list[Any], name: str, usual_arcmin: float
    ) -> tuple[float, float | None]:
        column = self._columns[name]
        unit = usual_arcmin if column.unit_deg is None else column.unit_deg * 60.0
        value = self._field(fields, name)
        return size_arcmin(value, name, unit_arcmin=unit, comma=self._table.comma)

    def _number(self, fields: list[Any], name: str, *, low: float, high: float) -> float | None:
        if self._empty(fields, name):
            return None
        value = self._field(fields, name)
        return number(value, name, low=low, high=high, comma=self._table.comma)

    def _field(self, fields: list[Any], name: str) -> Any:
        return fields[self._columns[name].place]

    def _empty(self, fields: list[Any], name: str) -> bool:
        return name not in self._columns or is_empty(self._field(fields, name))
