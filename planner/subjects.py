"""Targets as the matcher sees them: arrays, one row a target."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.preferences import Preferences
from targets.model import Kind, Target

Floats = NDArray[np.float64]

# Where a kind is split by size or brightness (common practice; see preferences.toml).
LARGE_CLUSTER_ARCMIN = 30.0
LARGE_NEBULA_ARCMIN = 15.0
LARGE_GALAXY_ARCMIN = 15.0
SMALL_GALAXY_ARCMIN = 3.0
FAINT_GALAXY_MAG_ARCSEC2 = 22.2
SMALL_PLANETARY_ARCMIN = 40.0 / 60.0
LARGE_PLANETARY_ARCMIN = 6.0
FAINT_PLANETARY_MAG_ARCSEC2 = 21.0
CLOSE_DOUBLE_ARCMIN = 10.0 / 60.0

_PLANET_CLASSES = {
    "Jupiter": "jupiter",
    "Saturn": "saturn",
    "Mars": "mars",
    "Venus": "inner_planet",
    "Mercury": "inner_planet",
    "Uranus": "ice_giant",
    "Neptune": "ice_giant",
}


@dataclass(frozen=True, slots=True)
class Subjects:
    """What the matcher knows of N targets; every array has shape (N,), NaN where unknown.

    Parameters
    ----------
    class_code : ndarray of int
        Index into the classes of the preferences.
    major_arcmin, minor_arcmin : ndarray
        Axes [arcmin]; a double star's separation is its major axis.
    magnitude : ndarray
        Total V magnitude.
    rating : ndarray
        Visual rating 1 .. 5.
    surface_brightness_mag_arcsec2 : ndarray
        Mean over the ellipse [V mag/arcsec2], from magnitude and size only.
    """

    class_code: NDArray[np.intp]
    major_arcmin: Floats
    minor_arcmin: Floats
    magnitude: Floats
    rating: Floats
    surface_brightness_mag_arcsec2: Floats

    def __len__(self) -> int:
        """Count the targets."""
        return len(self.class_code)


def subjects_from_columns(
    *,
    ids: NDArray[np.str_],
    kinds: NDArray[np.str_],
    major_arcmin: Floats,
    minor_arcmin: Floats,
    magnitude: Floats,
    rating: Floats,
    preferences: Preferences,
) -> Subjects:
    """Classify targets that are given as columns of shape (N,), NaN where unknown."""
    minor = np.where(np.isnan(minor_arcmin), major_arcmin, minor_arcmin)
    brightness = mean_surface_brightness(magnitude, major_arcmin, minor)
    names = class_names(ids=ids, kinds=kinds, major_arcmin=major_arcmin, brightness=brightness)
    codes = {preference.name: code for code, preference in enumerate(preferences.classes)}
    distinct, inverse = np.unique(names, return_inverse=True)
    class_code = np.array([codes[str(name)] for name in distinct], dtype=np.intp)[inverse]
    return Subjects(class_code, major_arcmin, minor, magnitude, rating, brightness)


def subjects_of(targets: Sequence[Target], preferences: Preferences) -> Subjects:
    """Classify a sequence of targets."""

    def column(attribute: str) -> Floats:
        values = [getattr(target, attribute) for target in targets]
        return np.array([np.nan if value is None else value for value in values], dtype=float)

    return subjects_from_columns(
        ids=np.array([target.id for target in targets], dtype=np.str_),
        kinds=np.array([str(target.kind) for target in targets], dtype=np.str_),
        major_arcmin=column("major_arcmin"),
        minor_arcmin=column("minor_arcmin"),
        magnitude=column("magnitude"),
        rating=column("visual_rating"),
        preferences=preferences,
    )


def mean_surface_brightness(
    magnitude: Floats, major_arcmin: Floats, minor_arcmin: Floats
) -> Floats:
    """Spread a total magnitude evenly over an ellipse.

    Parameters
    ----------
    magnitude, major_arcmin, minor_arcmin : ndarray
        Total V magnitude and axes [arcmin], broadcasting.

    Returns
    -------
    ndarray
        V + 2.5 log10(pi/4 a b) with the axes in arcseconds [mag/arcsec2]; NaN where unknown.
    """
    area_arcsec2 = np.pi / 4.0 * major_arcmin * minor_arcmin * 3600.0
    return np.asarray(magnitude + 2.5 * np.log10(area_arcsec2))


def class_names(
    *,
    ids: NDArray[np.str_],
    kinds: NDArray[np.str_],
    major_arcmin: Floats,
    brightness: Floats,
) -> NDArray[np.str_]:
    """Name the class of each target, arrays of shape (N,); unknown sizes count as small."""
    large_galaxy = (major_arcmin >= LARGE_GALAXY_ARCMIN) & (brightness >= FAINT_GALAXY_MAG_ARCSEC2)
    faint_planetary = brightness >= FAINT_PLANETARY_MAG_ARCSEC2
    wide = major_arcmin > LARGE_CLUSTER_ARCMIN
    rules = [
        (Kind.OPEN_CLUSTER, wide, "open_cluster_large"),
        (Kind.OPEN_CLUSTER, True, "open_cluster"),
        (Kind.GLOBULAR_CLUSTER, True, "globular_cluster"),
        (Kind.GALAXY, large_galaxy, "galaxy_large_faint"),
        (Kind.GALAXY, major_arcmin < SMALL_GALAXY_ARCMIN, "galaxy_small"),
        (Kind.GALAXY, True, "galaxy"),
        (Kind.GALAXY_GROUP, True, "galaxy_group"),
        (Kind.QUASAR, True, "quasar"),
        (
            Kind.PLANETARY_NEBULA,
            (major_arcmin > LARGE_PLANETARY_ARCMIN) & faint_planetary,
            "planetary_large_faint",
        ),
        (Kind.PLANETARY_NEBULA, major_arcmin >= SMALL_PLANETARY_ARCMIN, "planetary"),
        (Kind.PLANETARY_NEBULA, True, "planetary_small"),
        (Kind.EMISSION_NEBULA, major_arcmin > LARGE_NEBULA_ARCMIN, "emission_nebula_large"),
        (Kind.EMISSION_NEBULA, True, "emission_nebula"),
        (Kind.SUPERNOVA_REMNANT, major_arcmin > LARGE_NEBULA_ARCMIN, "emission_nebula_large"),
        (Kind.SUPERNOVA_REMNANT, True, "emission_nebula"),
        (Kind.REFLECTION_NEBULA, True, "reflection_nebula"),
        (Kind.DARK_NEBULA, True, "dark_nebula"),
        (Kind.STAR_CLOUD, True, "star_cloud"),
        (Kind.ASTERISM, wide, "star_cloud"),
        (Kind.ASTERISM, True, "asterism"),
        (Kind.DOUBLE_STAR, major_arcmin < CLOSE_DOUBLE_ARCMIN, "double_close"),
        (Kind.DOUBLE_STAR, True, "double_wide"),
        (Kind.MOON, True, "moon"),
        *((Kind.PLANET, ids == planet, name) for planet, name in _PLANET_CLASSES.items()),
    ]
    by_kind = {kind: kinds == str(kind) for kind in {kind for kind, _, _ in rules}}
    return np.select(
        [by_kind[kind] & condition for kind, condition, _ in rules],
        [name for _, _, name in rules],
        default="",
    )
