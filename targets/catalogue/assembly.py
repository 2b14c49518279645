"""Puts database, corrections and additions together to the catalogue."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from targets.arrays import Floats
from targets.catalogue.cleaning import clean_values
from targets.catalogue.columns import COLUMNS, Catalogue
from targets.catalogue.duplicates import fold
from targets.catalogue.names_of_rows import assemble_texts
from targets.catalogue.openngc import check_rows, read_objects
from targets.catalogue.stars import star_facts, with_stars
from targets.catalogue.values import extra_values, joined, moving_values
from targets.lunar import lunar_place
from targets.model import Kind
from targets.naming.solar_system import BODIES
from targets.tables import Row, numbers, read_tables


def assemble() -> Catalogue:
    """Read, clean and put together the catalogue.

    Returns
    -------
    Catalogue
        Some 11 900 targets.

    Raises
    ------
    DatabaseError
        When the installed database is not the one that the tables fit.

    References
    ----------
    OpenNGC, M. Verga and contributors, https://github.com/mattiaverga/OpenNGC, CC BY-SA 4.0,
    with the corrections and additions in ``targets/data`` (credits in its ``LICENSE.md``).
    """
    raw, tables = read_objects(), with_stars(read_tables())
    check_rows(raw, tables.database_names())
    values = clean_values(raw, tables.corrections)
    folded = fold(raw, values, merges=tables.merges, corrections=tables.corrections)
    texts = assemble_texts(raw, tables, folded, values)
    fixed = joined(values.rows(folded.survivors), extra_values(tables.extras))
    bodies = joined(fixed, moving_values(tuple(BODIES.values())))
    features = (Kind.LUNAR_FEATURE,) * len(tables.features)
    everything = joined(bodies, moving_values(features, numbers(tables.features, "visual_rating")))
    first_feature = len(texts.ids) - len(features)
    return Catalogue(
        ids=texts.ids,
        **{name: getattr(everything, name) for name in COLUMNS if hasattr(everything, name)},
        core_radius_arcmin=_of_globulars(texts.ids, tables.globulars, "core_radius_arcmin"),
        concentration=_of_globulars(texts.ids, tables.globulars, "concentration"),
        texts=texts,
        stars=star_facts(tables, len(folded.survivors)),
        lunar={
            index: lunar_place(line)
            for index, line in enumerate(tables.features, start=first_feature)
        },
    )


def _of_globulars(ids: Sequence[str], lines: tuple[Row, ...], column: str) -> Floats:
    """Return one column of the table of globular clusters for every target, NaN for the others."""
    known = dict(zip((line["id"] for line in lines), numbers(lines, column), strict=True))
    return np.array([known.get(identifier, np.nan) for identifier in ids])
