"""The values of targets as columns, and the codes that stand for words in them."""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from targets.arrays import Floats
from targets.model import Kind, Origin
from targets.tables import Row, numbers

KINDS = tuple(Kind)
ORIGINS = tuple(Origin)

# Type codes of the database, and those of the project's own tables (Cloud, Ast, QSO, **, Star).
KIND_OF_TYPE = {
    "OCl": Kind.OPEN_CLUSTER,
    "Cl+N": Kind.OPEN_CLUSTER,  # an emission nebula where that is what one looks at: see below
    "GCl": Kind.GLOBULAR_CLUSTER,
    "G": Kind.GALAXY,
    "GPair": Kind.GALAXY_GROUP,
    "GTrpl": Kind.GALAXY_GROUP,
    "GGroup": Kind.GALAXY_GROUP,
    "QSO": Kind.QUASAR,
    "PN": Kind.PLANETARY_NEBULA,
    "Neb": Kind.EMISSION_NEBULA,
    "HII": Kind.EMISSION_NEBULA,
    "EmN": Kind.EMISSION_NEBULA,
    "RfN": Kind.REFLECTION_NEBULA,
    "DrkN": Kind.DARK_NEBULA,
    "SNR": Kind.SUPERNOVA_REMNANT,
    "*Ass": Kind.STAR_CLOUD,
    "Cloud": Kind.STAR_CLOUD,
    "Ast": Kind.ASTERISM,
    "**": Kind.DOUBLE_STAR,
    "Star": Kind.STAR,
}
GROUP_TYPES = ("GPair", "GTrpl", "GGroup")
# Magnitudes listed for these are mostly those of the lighting star or of a cluster inside, and
# their light is spread too unevenly for a mean surface brightness: a rating stands in.
RATED_KINDS = (
    Kind.EMISSION_NEBULA,
    Kind.REFLECTION_NEBULA,
    Kind.SUPERNOVA_REMNANT,
    Kind.DARK_NEBULA,
)


@dataclass(slots=True)
class Values:
    """Columns of equal length; NaN where a value is unknown, codes into KINDS and ORIGINS."""

    type: NDArray[np.str_]
    constellation: NDArray[np.str_]
    ra_deg: Floats
    dec_deg: Floats
    major_arcmin: Floats
    minor_arcmin: Floats
    position_angle_deg: Floats
    magnitude: Floats
    companion_magnitude: Floats
    visual_rating: Floats
    bulge_share: Floats
    kind_code: NDArray[np.int8]
    size_origin_code: NDArray[np.int8]
    magnitude_origin_code: NDArray[np.int8]

    def rows(self, chosen: list[int]) -> Values:
        """Return the values of some rows, in the given order."""
        return Values(**{item.name: getattr(self, item.name)[chosen] for item in fields(self)})


def joined(first: Values, second: Values) -> Values:
    """Put the rows of one after those of another."""
    return Values(
        **{
            item.name: np.concatenate([getattr(first, item.name), getattr(second, item.name)])
            for item in fields(Values)
        }
    )


def kind_codes(types: NDArray[np.str_], visual_rating: Floats) -> NDArray[np.int8]:
    """Return the kind of each type code; -1 for what is no target.

    A cluster with nebula counts as a nebula where it is rated, for only nebulae are.
    """
    codes = np.full(len(types), -1, dtype=np.int8)
    for type_code, kind in KIND_OF_TYPE.items():
        codes[types == type_code] = KINDS.index(kind)
    codes[(types == "Cl+N") & ~np.isnan(visual_rating)] = KINDS.index(Kind.EMISSION_NEBULA)
    return codes


def origins(values: Floats, origin: Origin) -> NDArray[np.int8]:
    """Return the code of an origin where there is a value, else of an unknown one."""
    codes = np.where(np.isnan(values), ORIGINS.index(Origin.UNKNOWN), ORIGINS.index(origin))
    return codes.astype(np.int8)


def extra_values(extras: tuple[Row, ...]) -> Values:
    """Return the values of the objects that the database lacks."""
    types = np.array([line["type"] for line in extras], dtype="<U6")
    major, v_mag = numbers(extras, "major_arcmin"), numbers(extras, "v_mag")
    rating = numbers(extras, "visual_rating")
    return Values(
        type=types,
        constellation=np.array([line["constellation"] for line in extras], dtype="<U3"),
        ra_deg=numbers(extras, "ra_deg"),
        dec_deg=numbers(extras, "dec_deg"),
        major_arcmin=major,
        minor_arcmin=numbers(extras, "minor_arcmin"),
        position_angle_deg=numbers(extras, "pa_deg"),
        magnitude=v_mag,
        companion_magnitude=numbers(extras, "v_mag_b"),
        visual_rating=rating,
        bulge_share=np.full(len(extras), np.nan),
        kind_code=kind_codes(types, rating),
        size_origin_code=origins(major, Origin.CORRECTED),
        magnitude_origin_code=origins(v_mag, Origin.CORRECTED),
    )


_OF_A_PLACE = (
    "ra_deg", "dec_deg", "major_arcmin", "minor_arcmin", "position_angle_deg", "magnitude",
    "companion_magnitude", "bulge_share",
)  # fmt: skip


def moving_values(kinds: tuple[Kind, ...], visual_rating: Floats | None = None) -> Values:
    """The values of what has its place and size from the ephemeris: but for a rating none."""
    unknown = np.full(len(kinds), np.nan)
    computed = np.full(len(kinds), ORIGINS.index(Origin.COMPUTED), dtype=np.int8)
    return Values(
        type=np.full(len(kinds), "", dtype="<U6"),
        constellation=np.full(len(kinds), "", dtype="<U3"),
        visual_rating=unknown if visual_rating is None else visual_rating,
        kind_code=np.array([KINDS.index(kind) for kind in kinds], dtype=np.int8),
        size_origin_code=computed,
        magnitude_origin_code=computed,
        **dict.fromkeys(_OF_A_PLACE, unknown),
    )
