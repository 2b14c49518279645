"""The terms of OpenAstronomyLog beside ours: kinds of target, filters, ratings, units."""

from __future__ import annotations

import math

from planner.journal.records import Outcome
from planner.model.kit import FilterKind
from targets.model import Kind

# Container, and what it holds. The schema wants each to be there, be it empty.
CONTAINERS = {
    "observers": "observer",
    "sites": "site",
    "sessions": "session",
    "targets": "target",
    "scopes": "scope",
    "eyepieces": "eyepiece",
    "lenses": "lens",
    "filters": "filter",
    "imagers": "imager",
}
# Type of the target, and for galactic nebulae the text that tells them apart.
TARGET_TYPES: dict[str, tuple[str, str]] = {
    Kind.OPEN_CLUSTER: ("deepSkyOC", ""),
    Kind.GLOBULAR_CLUSTER: ("deepSkyGC", ""),
    Kind.GALAXY: ("deepSkyGX", ""),
    Kind.GALAXY_GROUP: ("deepSkyCG", ""),
    Kind.QUASAR: ("deepSkyQS", ""),
    Kind.PLANETARY_NEBULA: ("deepSkyPN", ""),
    Kind.EMISSION_NEBULA: ("deepSkyGN", "emission nebula"),
    Kind.REFLECTION_NEBULA: ("deepSkyGN", "reflection nebula"),
    Kind.SUPERNOVA_REMNANT: ("deepSkyGN", "supernova remnant"),
    Kind.DARK_NEBULA: ("deepSkyDN", ""),
    Kind.STAR_CLOUD: ("deepSkySC", ""),
    Kind.ASTERISM: ("deepSkyAS", ""),
    Kind.DOUBLE_STAR: ("deepSkyDS", ""),
    Kind.STAR: ("starTargetType", ""),
    Kind.PLANET: ("PlanetTargetType", ""),
    Kind.MOON: ("MoonTargetType", ""),
    Kind.LUNAR_FEATURE: ("MoonTargetType", ""),
    Kind.COMET: ("CometTargetType", ""),
    Kind.ASTEROID: ("MinorPlanetTargetType", ""),
}
OTHER_TYPE = "deepSkyNA"
KIND_OF_TYPE = {
    name: str(kind) for kind, (name, _) in reversed(TARGET_TYPES.items()) if name != "deepSkyGN"
} | {
    "deepSkyMS": str(Kind.DOUBLE_STAR),
    "variableStarTargetType": str(Kind.STAR),
    "SunTargetType": "Sun",
    OTHER_TYPE: str(Kind.OTHER),
    "": str(Kind.OTHER),  # without a type, or of the base type of all, it is valid as well
    "observationTargetType": str(Kind.OTHER),
}
NEBULA_WORDS = {
    "reflection": Kind.REFLECTION_NEBULA,
    "supernova": Kind.SUPERNOVA_REMNANT,
    "dark": Kind.DARK_NEBULA,
}
FILTER_TYPES = {
    str(FilterKind.BROADBAND): "broad band",
    str(FilterKind.NARROWBAND): "narrow band",
    str(FilterKind.OIII): "O-III",
    str(FilterKind.HBETA): "H-beta",
    str(FilterKind.NEUTRAL): "neutral",
    str(FilterKind.COLOUR): "color",
}
OTHER_FILTER = "other"
OUR_FILTER_KINDS = {theirs: ours for ours, theirs in FILTER_TYPES.items()}
FILTER_TYPE_NAMES = {*OUR_FILTER_KINDS, OTHER_FILTER, "H-alpha", "corrective", "solar"}

# The Deep Sky Liste's scale of how well a target is seen: 1 conspicuous .. 5 only just, with
# averted vision, 6 doubtful, 7 not seen; 99 unknown (from memory). It is no rating in our sense.
VISIBILITY_RATINGS = {*range(1, 8), 99}
UNKNOWN_VISIBILITY = 99
VISIBILITY_OF = {Outcome.SUSPECTED: 6, Outcome.NOT_SEEN: 7}
OUTCOME_OF_VISIBILITY = {rating: outcome for outcome, rating in VISIBILITY_OF.items()}

DEGREES = {"arcsec": 1.0 / 3600.0, "arcmin": 1.0 / 60.0, "deg": 1.0, "rad": 180.0 / math.pi}
# To mag/arcsec2: a square arcminute is 3600 square arcseconds.
SKY_OFFSET_MAG = {"mags-per-squarearcsec": 0.0, "mags-per-squarearcmin": 2.5 * math.log10(3600.0)}


def kind_of(type_name: str, nebula_type: str) -> str:
    """Name our kind for a type of the schema.

    Parameters
    ----------
    type_name : str
        Without its prefix.
    nebula_type : str
        What a galactic nebula is said to be.

    Raises
    ------
    ValueError
        With a sentence, when the schema has no such type.
    """
    if type_name == "deepSkyGN":
        words = nebula_type.casefold()
        found = (kind for word, kind in NEBULA_WORDS.items() if word in words)
        return str(next(found, Kind.EMISSION_NEBULA))
    if type_name not in KIND_OF_TYPE:
        raise ValueError(f'there is no type of target "{type_name[:40]}"')
    return KIND_OF_TYPE[type_name]


def finding_type(target_type: str) -> str | None:
    """Name the most specific type of a finding for a type of target; None for the general one."""
    special = {"deepSkyOC": "findingsDeepSkyOCType", "deepSkyDS": "findingsDeepSkyDSType"}
    if not target_type.startswith("deepSky"):
        return None
    return special.get(target_type, "findingsDeepSkyType")


def seeing_number(seeing: str) -> int:
    """Return the number, 1 best .. 5 worst, of a step of Antoniadi's scale."""
    return ("I", "II", "III", "IV", "V").index(seeing) + 1
