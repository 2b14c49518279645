"""Reads the OpenNGC database that the package pyongc carries, as it is, units apart."""

from __future__ import annotations

from collections.abc import Iterable
from contextlib import closing
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import numpy as np

from targets.arrays import Floats
from targets.errors import DatabaseError
from targets.frozen import frozen

RIGHT_DATABASE = "Install pyongc 1.2.2, whose database the tables in targets/data fit."

# In the order of the fields of `RawObjects`.
_QUERY = """
    SELECT name, type, ra, dec, const, majax, minax, pa, bmag, vmag, sbrightn,
           messier, ngc, ic, identifiers, commonnames, hubble
    FROM objects ORDER BY id
"""


@frozen
class RawObjects:
    """The database's columns, one entry per row; NaN or an empty text where it has nothing.

    Parameters
    ----------
    name, type, constellation, messier, ngc, ic, identifiers, common_names : tuple of str
        As written in the file.
    hubble : tuple of str
        Type of a galaxy: ``SBb``, ``E-S0``.
    ra_deg, dec_deg : ndarray
        J2000 [deg].
    major_arcmin, minor_arcmin : ndarray
        Axes [arcmin].
    position_angle_deg : ndarray
        From north through east [deg], 0 .. 180.
    b_mag, v_mag : ndarray
        Total magnitudes.
    b_mag_arcsec2 : ndarray
        Mean surface brightness of galaxies inside the 25 mag isophote [B mag/arcsec2].
    """

    name: tuple[str, ...]
    type: tuple[str, ...]
    ra_deg: Floats
    dec_deg: Floats
    constellation: tuple[str, ...]
    major_arcmin: Floats
    minor_arcmin: Floats
    position_angle_deg: Floats
    b_mag: Floats
    v_mag: Floats
    b_mag_arcsec2: Floats
    messier: tuple[str, ...]
    ngc: tuple[str, ...]
    ic: tuple[str, ...]
    identifiers: tuple[str, ...]
    common_names: tuple[str, ...]
    hubble: tuple[str, ...]


def database_file() -> Path:
    """Return where the database is; the package itself need not be loaded.

    Raises DatabaseError when the package is not installed.
    """
    package = find_spec("pyongc")
    if package is None or package.origin is None:
        raise DatabaseError(f"The package pyongc is not installed. {RIGHT_DATABASE}")
    return Path(package.origin).with_name("ongc.db")


def read_objects() -> RawObjects:
    """Read every row of the database.

    Returns
    -------
    RawObjects
        Some 14 000 rows, in the file's order.

    Raises
    ------
    DatabaseError
        When the file cannot be read, or has other columns.

    References
    ----------
    OpenNGC, M. Verga and contributors, https://github.com/mattiaverga/OpenNGC, CC BY-SA 4.0.
    """
    import sqlite3  # noqa: PLC0415  # only where no catalogue is kept

    uri = f"{database_file().as_uri()}?mode=ro&immutable=1"
    try:
        with closing(sqlite3.connect(uri, uri=True)) as database:
            columns: list[Any] = list(zip(*database.execute(_QUERY), strict=True))
    except sqlite3.Error as error:
        raise DatabaseError(
            f"The OpenNGC database of pyongc cannot be read: {error}. {RIGHT_DATABASE}"
        ) from None
    columns[2:4] = np.degrees(np.array(columns[2:4], dtype=float))
    columns[5:11] = np.array(columns[5:11], dtype=float)
    return RawObjects(*columns)


def check_rows(raw: RawObjects, names: Iterable[str]) -> None:
    """Make sure that the database has the rows to which the project's tables apply.

    Parameters
    ----------
    raw : RawObjects
        The database as it is.
    names : iterable of str
        Names of rows, as the database writes them.

    Raises
    ------
    DatabaseError
        When a row is missing; another release of the database may name its rows otherwise.
    """
    missing = sorted(set(names) - set(raw.name))
    if missing:
        more = f" and {len(missing) - 1} more" if len(missing) > 1 else ""
        raise DatabaseError(
            f"The OpenNGC database of pyongc has no row {missing[0]}{more}. {RIGHT_DATABASE}"
        )
