"""Reads the project's own tables: corrections, names, merges, and what OpenNGC lacks."""

from __future__ import annotations

import csv
from collections.abc import Iterable
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from targets.frozen import frozen

Row = dict[str, str]

_FOLDER = Path(__file__).parent / "data"


@frozen
class Tables:
    """The rows of the tables as text; ``targets/data/LICENSE.md`` explains the columns."""

    corrections: tuple[Row, ...]
    extras: tuple[Row, ...]
    names: tuple[Row, ...]
    merges: tuple[Row, ...]
    pairs: tuple[Row, ...]
    orbits: tuple[Row, ...]
    stars: tuple[Row, ...]
    features: tuple[Row, ...] = ()
    globulars: tuple[Row, ...] = ()

    def database_names(self) -> set[str]:
        """Name the rows of the database to which the tables apply."""
        keyed = (*self.corrections, *self.names, *self.merges)
        return {line["name"] for line in keyed} | {line["into"] for line in self.merges}


def table_files() -> list[Path]:
    """Return the files of which the tables are read, and their neighbours, in a fixed order."""
    return sorted(_FOLDER.glob("*.csv"))


def read_tables() -> Tables:
    """Read the tables that come with the package."""
    return Tables(
        corrections=_rows("deepsky_corrections.csv"),
        extras=_rows("extra_objects.csv"),
        names=_rows("common_names.csv"),
        merges=_rows("merged_objects.csv"),
        pairs=_rows("double_stars.csv"),
        orbits=_rows("double_orbits.csv"),
        stars=_rows("stars.csv"),
        features=_rows("lunar_features.csv"),
        globulars=_rows("globular_clusters.csv"),
    )


def pair_rows() -> tuple[Row, ...]:
    """Return the rows of the table of double stars."""
    return _rows("double_stars.csv")


def numbers(rows: Iterable[Row], column: str) -> NDArray[np.float64]:
    """Return one column as numbers, NaN where a field is empty or a row has no such field."""
    return np.array([float(row.get(column) or "nan") for row in rows], dtype=float)


def words(field: str) -> list[str]:
    """Split a field that holds several names between commas."""
    return [word.strip() for word in field.split(",") if word.strip()]


def _rows(filename: str) -> tuple[Row, ...]:
    text = (_FOLDER / filename).read_text(encoding="utf-8")
    return tuple(csv.DictReader(text.splitlines()))
