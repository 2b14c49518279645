"""The catalogue, put together once for all times and read once in a process."""

from __future__ import annotations

from functools import cache

from targets.array_cache import Arrays, kept
from targets.catalogue.columns import COLUMNS, Catalogue
from targets.catalogue.openngc import database_file
from targets.catalogue.packing import packed, unpacked
from targets.tables import table_files

__all__ = ["COLUMNS", "Catalogue", "load_catalogue"]


@cache
def load_catalogue() -> Catalogue:
    """Return the catalogue; the same object each time in a process.

    Returns
    -------
    Catalogue
        Some 12 500 targets.

    Raises
    ------
    DatabaseError
        When the installed database is not the one that the tables fit.
    """
    arrays = kept("catalogue", lambda: [database_file(), *table_files()], _assembled)
    return unpacked(arrays)


def _assembled() -> Arrays:
    from targets.catalogue.assembly import assemble  # noqa: PLC0415  # only where nothing is kept

    return packed(assemble())
