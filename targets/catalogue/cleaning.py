"""Turns the raw database rows into values that an observer can use.

Each function is one step of the recipe; :func:`clean_values` runs them in order. Values stay in
arrays with one entry per database row, so that a step is one line of arithmetic.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from targets.arrays import Floats
from targets.catalogue.openngc import RawObjects
from targets.catalogue.values import (
    GROUP_TYPES,
    KINDS,
    ORIGINS,
    RATED_KINDS,
    Values,
    kind_codes,
    origins,
)
from targets.model import Origin
from targets.tables import Row, numbers

# V of galaxies in the file comes from apertures of any size; B is sound. The mean colours B - V by
# type are those of M. S. Roberts, M. P. Haynes 1994, ARA&A 32, 115, table 1 (from memory). Against
# V of RC3 (from memory) for 42 galaxies they scatter by 0.15 mag, one colour of 0.75 for all by
# 0.21, the file's V by 0.8.
GALAXY_B_MINUS_V = {
    **dict.fromkeys(("E", "E-S0", "S0"), 0.90),
    **dict.fromkeys(("S0-a", "Sa"), 0.78),
    **dict.fromkeys(("Sab", "Sb"), 0.64),
    **dict.fromkeys(("Sbc", "Sc"), 0.55),
    **dict.fromkeys(("Scd", "Sd"), 0.48),
    **dict.fromkeys(("Sm", "I"), 0.42),
}
USUAL_B_MINUS_V = 0.75  # of a galaxy whose type is not known
# Below this mean B surface brightness a galaxy's B is often a star's, or it is blue with
# starbirth; there the file's V is the better one.
BRIGHT_SURFACE_MAG_ARCSEC2 = 21.5
REDDEST_CREDIBLE_B_MINUS_V = 1.5  # a larger difference means a V that belongs to something else

# The file's cluster diameters are those of the core (twice the survey's core radius). Median
# ratios to Lynga (1987) and to the 25 mag isophote: a typical factor, good to about 1.5 times.
GLOBULAR_SIZE_FACTOR = 1.5
BRIGHT_OPEN_SIZE_FACTOR = 1.5  # V up to 7
FAINT_OPEN_SIZE_FACTOR = 1.3
FAINT_OPEN_V_MAG = 7.0

# Of the types that the database has.
BULGE_SHARES = {
    "E": 1.0,
    "E-S0": 0.75,
    "S0": 0.6,
    "S0-a": 0.5,
    "Sa": 0.41,
    "Sab": 0.32,
    "Sb": 0.24,
    "Sbc": 0.16,
    "Sc": 0.1,
    "Scd": 0.05,
    "Sd": 0.02,
    "Sm": 0.0,
    "I": 0.0,
}

ROUND_AXIS_RATIO = 0.95  # rounder than this, a position angle means nothing


def clean_values(raw: RawObjects, corrections: tuple[Row, ...]) -> Values:
    """Run the whole recipe on the database's values.

    Parameters
    ----------
    raw : RawObjects
        The database as it is.
    corrections : tuple of dict
        The rows of ``deepsky_corrections.csv``.

    Returns
    -------
    Values
        One entry per database row. Groups and merged rows are not folded here.
    """
    row_of = {name: row for row, name in enumerate(raw.name)}
    rows = np.array([row_of[line["name"]] for line in corrections], dtype=np.intp)
    values = _start(raw)
    _correct_words(values, rows, corrections)
    _derive_galaxy_magnitudes(values, raw)
    _scale_clusters(values)
    _correct_numbers(values, rows, corrections)
    _forget_meaningless_angles(values)
    values.kind_code = kind_codes(values.type, values.visual_rating)
    _forget_nebula_magnitudes(values)
    return values


def _start(raw: RawObjects) -> Values:
    constellation = np.array(raw.constellation, dtype="<U3")
    constellation[(constellation == "Se1") | (constellation == "Se2")] = "Ser"
    return Values(
        type=np.array(raw.type, dtype="<U6"),
        constellation=constellation,
        ra_deg=raw.ra_deg.copy(),
        dec_deg=raw.dec_deg.copy(),
        major_arcmin=raw.major_arcmin.copy(),
        minor_arcmin=raw.minor_arcmin.copy(),
        position_angle_deg=raw.position_angle_deg % 180.0,
        magnitude=raw.v_mag.copy(),
        companion_magnitude=np.full(len(raw.name), np.nan),
        visual_rating=np.full(len(raw.name), np.nan),
        bulge_share=bulge_shares(raw.hubble),
        kind_code=np.full(len(raw.name), -1, dtype=np.int8),
        size_origin_code=origins(raw.major_arcmin, Origin.CATALOGUE),
        magnitude_origin_code=origins(raw.v_mag, Origin.CATALOGUE),
    )


def bulge_shares(hubble: Sequence[str]) -> Floats:
    """Return the share of its light that a galaxy of each type has in its bulge; NaN if unknown.

    References
    ----------
    Simien and de Vaucouleurs 1986, ApJ 302, 564: means by stage (from memory).
    """
    return np.array([BULGE_SHARES.get(_stage(each), np.nan) for each in hubble])


def galaxy_colours_mag(hubble: Sequence[str]) -> Floats:
    """Return the mean B - V of galaxies of each type."""
    return np.array([GALAXY_B_MINUS_V.get(_stage(each), USUAL_B_MINUS_V) for each in hubble])


def _stage(hubble_type: str) -> str:
    """Return a type without its bar, ``Sbc`` for ``SABbc``, which makes no difference here."""
    return re.sub("(?<=S)A?B|(?<=I)A?B", "", hubble_type).rstrip("?")


def _correct_words(values: Values, rows: NDArray[np.intp], lines: tuple[Row, ...]) -> None:
    for column in ("type", "constellation"):
        for row, line in zip(rows, lines, strict=True):
            if line[column]:
                getattr(values, column)[row] = line[column]


def _derive_galaxy_magnitudes(values: Values, raw: RawObjects) -> None:
    galaxies = np.isin(values.type, ("G", *GROUP_TYPES))
    v_mag = galaxy_v_mag(
        raw.b_mag,
        raw.v_mag,
        b_mag_arcsec2=raw.b_mag_arcsec2,
        colour_mag=galaxy_colours_mag(raw.hubble),
    )
    values.magnitude[galaxies] = v_mag[galaxies]
    derived = galaxies & ~np.isnan(v_mag) & (v_mag != raw.v_mag)
    values.magnitude_origin_code[derived] = ORIGINS.index(Origin.DERIVED)


def galaxy_v_mag(
    b_mag: Floats, v_mag: Floats, *, b_mag_arcsec2: Floats, colour_mag: Floats
) -> Floats:
    """Choose the V magnitude of galaxies from what the database has.

    Parameters
    ----------
    b_mag, v_mag : ndarray
        The file's total magnitudes, NaN where it has none.
    b_mag_arcsec2 : ndarray
        Mean B surface brightness [mag/arcsec2], same shape.
    colour_mag : ndarray
        Mean B - V of their type, same shape.

    Returns
    -------
    ndarray
        V from B by that colour. The file's own V is taken for a surface brighter than
        21.5 mag/arcsec2, if the colour is credible, and in the absence of B. NaN without both.
    """
    bright = b_mag_arcsec2 < BRIGHT_SURFACE_MAG_ARCSEC2
    credible = b_mag - v_mag <= REDDEST_CREDIBLE_B_MINUS_V  # False where either is NaN
    derived = np.round(b_mag - colour_mag, 2)
    return np.where((bright & credible) | np.isnan(b_mag), v_mag, derived)


def _scale_clusters(values: Values) -> None:
    factor = np.ones(len(values.type))
    faint = ~(values.magnitude <= FAINT_OPEN_V_MAG)  # an unknown magnitude is a faint one
    is_open = values.type == "OCl"
    factor[is_open] = np.where(faint, FAINT_OPEN_SIZE_FACTOR, BRIGHT_OPEN_SIZE_FACTOR)[is_open]
    factor[values.type == "GCl"] = GLOBULAR_SIZE_FACTOR
    scaled = (factor > 1.0) & ~np.isnan(values.major_arcmin)
    # To a tenth of a minute: more digits would feign what the factor does not know.
    for axis in (values.major_arcmin, values.minor_arcmin):
        axis[scaled] = np.maximum(np.round(axis[scaled] * factor[scaled], 1), 0.1)
    values.size_origin_code[scaled] = ORIGINS.index(Origin.SCALED)


def _correct_numbers(values: Values, rows: NDArray[np.intp], lines: tuple[Row, ...]) -> None:
    major = numbers(lines, "major_arcmin")
    resized = ~np.isnan(major)
    # A new major axis takes the old minor axis and angle with it: they describe another outline.
    values.minor_arcmin[rows[resized]] = np.nan
    values.position_angle_deg[rows[resized]] = np.nan
    values.size_origin_code[rows[resized]] = ORIGINS.index(Origin.CORRECTED)
    v_mag = numbers(lines, "v_mag")
    values.magnitude_origin_code[rows[~np.isnan(v_mag)]] = ORIGINS.index(Origin.CORRECTED)
    for column, target in (
        ("ra_deg", values.ra_deg),
        ("dec_deg", values.dec_deg),
        ("major_arcmin", values.major_arcmin),
        ("minor_arcmin", values.minor_arcmin),
        ("pa_deg", values.position_angle_deg),
        ("v_mag", values.magnitude),
        ("visual_rating", values.visual_rating),
    ):
        given = numbers(lines, column)
        target[rows[~np.isnan(given)]] = given[~np.isnan(given)]


def _forget_meaningless_angles(values: Values) -> None:
    elongated = values.minor_arcmin <= ROUND_AXIS_RATIO * values.major_arcmin
    pair = values.type == "**"  # the angle from one star to the other, not of an outline
    values.position_angle_deg[~elongated & ~pair] = np.nan


def _forget_nebula_magnitudes(values: Values) -> None:
    """Forget what belongs to a star or cluster in them; a magnitude set by hand is their own."""
    rated = np.isin(values.kind_code, [KINDS.index(kind) for kind in RATED_KINDS])
    rated &= values.magnitude_origin_code != ORIGINS.index(Origin.CORRECTED)
    values.magnitude[rated] = np.nan
    values.magnitude_origin_code[rated] = ORIGINS.index(Origin.UNKNOWN)


def summed_magnitude(magnitudes: Floats) -> float:
    """Return the magnitude of the light of several objects together.

    Parameters
    ----------
    magnitudes : ndarray
        Of the members; NaN for those unknown, which are left out.

    Returns
    -------
    float
        Total magnitude; NaN when no member's is known.

    Notes
    -----
    Pogson's scale, m = -2.5 log10(sum(10 ** (-0.4 m_i))). Left-out members make the sum fainter
    than the group is.
    """
    known = magnitudes[~np.isnan(magnitudes)]
    if known.size == 0:
        return float("nan")
    return float(-2.5 * np.log10(np.sum(10.0 ** (-0.4 * known))))
