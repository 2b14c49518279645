"""One table of the configuration: its declared fields read, every fault noted with its place."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from planner.config.fields import REQUIRED, Check, Field, note_unknown, read_fields
from planner.text import hint, listed, show


@dataclass(slots=True)
class Table:
    """One table of the file; reading it gives values, or notes faults.

    Parameters
    ----------
    values : mapping
        As the TOML reader gives it.
    place : str
        Where it stands: ``eyepiece 3``.
    faults : list of str
        Shared by all tables of the file; sentences are added to it.
    """

    values: Mapping[str, Any]
    place: str
    faults: list[str]
    known: set[str] = field(default_factory=set)
    faulty: set[str] = field(default_factory=set)

    def fault(self, key: str, sentence: str) -> None:
        """Note a fault of one key."""
        self.faulty.add(key)
        self.faults.append(f'{self.place}, "{key}": {sentence}')

    def wrong(self, key: str, allowed: object) -> None:
        """Note that a key is missing, or that its value is not what is allowed."""
        found = f"found {show(self.values[key])}" if key in self.values else "missing"
        self.fault(key, f"{found}; allowed is {allowed}")

    def has(self, key: str) -> bool:
        """Whether the key stands in the file; from now on it counts as known."""
        self.known.add(key)
        return key in self.values

    def fields(self, fields: Iterable[Field]) -> dict[str, Any]:
        """Read declared fields; None stands for the value of a faulty one."""
        fields = tuple(fields)
        names = [one.name for one in fields]
        self.known.update(names)
        return dict.fromkeys(names) | read_fields(fields, self.values, self.fault)

    def value(self, key: str, check: Check, default: Any = REQUIRED) -> Any:
        """Read one field; None stands for the value of a faulty one."""
        return self.fields((Field(key, check, default),))[key]

    def exclude(self, key: str, other: str) -> None:
        """Note a fault when two keys stand there of which only one may."""
        if self.has(key) and self.has(other):
            self.fault(key, f'stands beside "{other}"; give only one of the two')

    def finish(self) -> None:
        """Note the first ten keys that nothing has asked for, and count the rest."""
        note_unknown(
            self.known,
            self.values,
            self.fault,
            lambda more: self.faults.append(f"{self.place}: {more} more unknown keys"),
        )


def list_tables(raw: Mapping[str, Any], key: str, faults: list[str]) -> list[Table]:
    """Return the ``[[key]]`` tables, numbered from 1; note a fault when they are something else."""
    value = raw.get(key, [])
    if isinstance(value, list) and all(isinstance(item, Mapping) for item in value):
        return [Table(item, f"{key} {number}", faults) for number, item in enumerate(value, 1)]
    faults.append(
        f'"{key}": found {show(value)}; allowed is a list of tables, each under [[{key}]]'
    )
    return []


def note_doubles(tables: list[Table]) -> None:
    """Note names that stand there twice; case makes no difference."""
    seen: dict[str, str] = {}
    for table in tables:
        value = table.values.get("name")
        if not isinstance(value, str) or "name" in table.faulty:
            continue
        first = seen.setdefault(value.strip().casefold(), table.place)
        if first != table.place:
            table.fault("name", f"found {show(value)}, which is also the name of {first}")


def unknown_tables(raw: Mapping[str, Any], known: Iterable[str]) -> list[str]:
    """Name the tables that are not known, each with what was probably meant."""
    return [
        f"{show(key)}: no such table; {hint(key, known, f'known are {listed(known)}')}"
        for key in raw
        if key not in known
    ]
