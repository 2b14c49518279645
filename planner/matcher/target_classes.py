"""Targets as the matcher sees them: arrays, one row a target."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields
from typing import Any

import numpy as np
from numpy.typing import NDArray

from planner.config.preferences import Preferences
from planner.formulas.filters import CONTINUUM_TARGETS, LIGHT_EXCEPTIONS, Spectrum, target_light
from planner.formulas.profiles import CORE_AND_WINGS_MAG, profiles_of
from planner.formulas.visibility_limit import (
    ellipse_area_arcmin2,
    mean_surface_brightness_mag_arcsec2,
)
from planner.formulas.visual_rating import rating_surface_brightness_mag_arcsec2
from planner.model.kinds import RATED_BY_EYE
from targets.arrays import Flags, Floats
from targets.frozen import frozen
from targets.model import Kind, Target

SPECTRA = tuple(Spectrum)

# Where a kind is split by size or brightness (common practice; see preferences.toml).
LARGE_CLUSTER_ARCMIN = 30.0
LARGE_NEBULA_ARCMIN = 15.0
LARGE_GALAXY_ARCMIN = 15.0
SMALL_GALAXY_ARCMIN = 3.0
FAINT_GALAXY_MAG_ARCSEC2 = 22.2
HUGE_GALAXY_ARCMIN = 60.0
SMALL_PLANETARY_ARCMIN = 1.5
LARGE_PLANETARY_ARCMIN = 6.0
FAINT_PLANETARY_MAG_ARCSEC2 = 21.0
CLOSE_DOUBLE_ARCMIN = 10.0 / 60.0
LUNAR_SEA_ARCMIN = 3.0
LUNAR_DETAIL_ARCMIN = 0.5

PLANET_CLASSES = {
    "Jupiter": "jupiter",
    "Saturn": "saturn",
    "Mars": "mars",
    "Venus": "inner_planet",
    "Mercury": "inner_planet",
    "Uranus": "ice_giant",
    "Neptune": "ice_giant",
}

# The galaxies of a group fill so much of its extent where it is larger than this [arcmin]: 0.08 for
# the three of the Leo Triplet, 0.05 for Markarian's Chain, by their axes in the catalogue.
LARGE_GROUP_ARCMIN, GROUP_FILL = 10.0, 0.06
# A group is seen when one of its brighter members is, which counts as one of so many alike.
GROUP_MEMBERS = 3.0


@frozen
class TargetTable:
    """What the matcher knows of N targets; every array has shape (N,), NaN where unknown.

    Parameters
    ----------
    ids, kinds : ndarray of str
        Of the targets.
    dec_deg : ndarray
        Declination [deg].
    class_code : ndarray of int
        Index into the classes of the preferences.
    spectrum_code : ndarray of int
        Index into ``SPECTRA``: what the target shines with.
    major_arcmin, minor_arcmin : ndarray
        Axes [arcmin]; a double star's separation is its major axis.
    magnitude : ndarray
        Total V magnitude.
    companion_magnitude : ndarray
        V magnitude of the fainter star of a pair.
    area_arcmin2 : ndarray
        Of the ellipse [arcmin2].
    surface_brightness_mag_arcsec2 : ndarray
        Mean over the ellipse above the air [V mag/arcsec2]; for bright and dark nebulae the one
        that fits their visual rating, since a catalogue's magnitude belongs to their star. Those
        of the Crab and of a few with a core and wings are their own.
    falls : ndarray of bool
        Where the light falls from the middle outward so that an isophote bounds what is seen.
    part_light, isophote_mag : ndarray
        How, (N, 4) and (N, 6): as in `planner.formulas.profiles.Profiles`.
    rating : ndarray
        Visual rating, 1 .. 5.
    """

    ids: NDArray[np.str_]
    kinds: NDArray[np.str_]
    dec_deg: Floats
    class_code: NDArray[np.intp]
    spectrum_code: NDArray[np.intp]
    major_arcmin: Floats
    minor_arcmin: Floats
    magnitude: Floats
    companion_magnitude: Floats
    area_arcmin2: Floats
    surface_brightness_mag_arcsec2: Floats
    falls: Flags
    part_light: Floats
    isophote_mag: Floats
    rating: Floats

    def __len__(self) -> int:
        """Count the targets."""
        return len(self.class_code)

    def preferred(self, name: str, preferences: Preferences, absent: object = None) -> NDArray[Any]:
        """Return what each target's class asks for: a field of `Preference`, shape (N, ...)."""
        asked = [getattr(one, name) for one in preferences.classes]
        return np.array([absent if one is None else one for one in asked])[self.class_code]

    def of_rows(self, rows: NDArray[np.intp]) -> TargetTable:
        """Return some of the targets."""
        return TargetTable(*(getattr(self, item.name)[rows] for item in fields(self)))


def target_table_from_columns(  # noqa: PLR0913 - one argument for each column
    *,
    ids: NDArray[np.str_],
    kinds: NDArray[np.str_],
    dec_deg: Floats,
    major_arcmin: Floats,
    minor_arcmin: Floats,
    magnitude: Floats,
    companion_magnitude: Floats,
    rating: Floats,
    bulge_share: Floats,
    core_radius_arcmin: Floats,
    concentration: Floats,
    preferences: Preferences,
) -> TargetTable:
    """Classify targets that are given as columns of shape (N,), NaN where unknown.

    An axis of 0, which some tables write for "unknown", counts as that.
    """
    major_arcmin = np.where(major_arcmin > 0.0, major_arcmin, np.nan)
    minor = np.where(minor_arcmin > 0.0, minor_arcmin, major_arcmin)
    area = np.asarray(ellipse_area_arcmin2(major_arcmin=major_arcmin, minor_arcmin=minor))
    is_group = (kinds == str(Kind.GALAXY_GROUP)) & (major_arcmin > LARGE_GROUP_ARCMIN)
    area = np.where(is_group, GROUP_FILL * area, area)
    light_mag, is_rated = magnitude, np.isin(kinds, [str(kind) for kind in RATED_BY_EYE])
    is_rated &= ~np.isin(ids, sorted(CONTINUUM_TARGETS))
    for name, nebula_mag in CORE_AND_WINGS_MAG.items():
        light_mag = np.where(ids == name, nebula_mag, light_mag)
        is_rated &= ids != name
    # A star cloud of the Milky Way has no magnitude in any catalogue.
    is_rated |= (kinds == str(Kind.STAR_CLOUD)) & np.isnan(magnitude)
    spread = np.asarray(mean_surface_brightness_mag_arcsec2(magnitude=light_mag, area_arcmin2=area))
    spectrum_code = _spectrum_codes(kinds, ids)
    rated = rating_surface_brightness_mag_arcsec2(
        rating=rating,
        area_arcmin2=area,
        emits_lines=spectrum_code != SPECTRA.index(Spectrum.CONTINUUM),
        is_dark=kinds == str(Kind.DARK_NEBULA),
    )
    names = class_names(ids=ids, kinds=kinds, major_arcmin=major_arcmin, brightness=spread)
    area = np.where(is_group, area / GROUP_MEMBERS, area)
    profiles = profiles_of(
        ids,
        np.where(is_group, str(Kind.GALAXY), kinds),
        mean_mag_arcsec2=spread,
        major_arcmin=np.where(is_group, np.sqrt(area), major_arcmin),
        bulge_share=bulge_share,
        core_radius_arcmin=core_radius_arcmin,
        concentration=concentration,
        rating=rating,
    )
    codes = {preference.name: code for code, preference in enumerate(preferences.classes)}
    distinct, inverse = np.unique(names, return_inverse=True)
    return TargetTable(
        ids=ids,
        kinds=kinds,
        dec_deg=dec_deg,
        class_code=np.array([codes[str(name)] for name in distinct], dtype=np.intp)[inverse],
        spectrum_code=spectrum_code,
        major_arcmin=major_arcmin,
        minor_arcmin=minor,
        magnitude=magnitude,
        companion_magnitude=companion_magnitude,
        area_arcmin2=area,
        surface_brightness_mag_arcsec2=np.where(is_rated, np.asarray(rated), spread),
        falls=profiles.falls,
        part_light=profiles.part_light,
        isophote_mag=profiles.isophote_mag,
        rating=rating,
    )


def target_table_of(targets: Sequence[Target], preferences: Preferences) -> TargetTable:
    """Classify a sequence of targets."""

    def column(attribute: str) -> Floats:
        return np.array([getattr(target, attribute) for target in targets], dtype=float)

    return target_table_from_columns(
        ids=np.array([target.id for target in targets], dtype=np.str_),
        kinds=np.array([str(target.kind) for target in targets], dtype=np.str_),
        dec_deg=column("dec_deg"),
        major_arcmin=column("major_arcmin"),
        minor_arcmin=column("minor_arcmin"),
        magnitude=column("magnitude"),
        companion_magnitude=column("companion_magnitude"),
        rating=column("visual_rating"),
        bulge_share=column("bulge_share"),
        core_radius_arcmin=column("core_radius_arcmin"),
        concentration=column("concentration"),
        preferences=preferences,
    )


def _spectrum_codes(kinds: NDArray[np.str_], ids: NDArray[np.str_]) -> NDArray[np.intp]:
    """Tell what each target shines with, shape (N,)."""
    distinct, inverse = np.unique(kinds, return_inverse=True)
    of_kinds = [SPECTRA.index(target_light(Kind(kind), "")) for kind in distinct.tolist()]
    codes = np.array(of_kinds, dtype=np.intp)[inverse]
    for row in np.flatnonzero(np.isin(ids, list(LIGHT_EXCEPTIONS))):
        codes[row] = SPECTRA.index(LIGHT_EXCEPTIONS[str(ids[row])])
    return codes


def class_names(
    *, ids: NDArray[np.str_], kinds: NDArray[np.str_], major_arcmin: Floats, brightness: Floats
) -> NDArray[np.str_]:
    """Name the class of each target, arrays of shape (N,); unknown sizes count as small.

    Raises ValueError if no class is for a kind, or for a planet.
    """
    faint_galaxy = brightness >= FAINT_GALAXY_MAG_ARCSEC2
    large_galaxy = ((major_arcmin >= LARGE_GALAXY_ARCMIN) & faint_galaxy) | (
        major_arcmin >= HUGE_GALAXY_ARCMIN
    )
    large_planetary = (major_arcmin > LARGE_PLANETARY_ARCMIN) & (
        brightness >= FAINT_PLANETARY_MAG_ARCSEC2
    )
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
        (Kind.PLANETARY_NEBULA, large_planetary, "planetary_large_faint"),
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
        (Kind.STAR, True, "red_star"),
        (Kind.COMET, True, "comet"),
        (Kind.ASTEROID, True, "asteroid"),
        (Kind.OTHER, True, "other"),
        (Kind.MOON, True, "moon"),
        (Kind.LUNAR_FEATURE, major_arcmin >= LUNAR_SEA_ARCMIN, "lunar_sea"),
        (Kind.LUNAR_FEATURE, major_arcmin >= LUNAR_DETAIL_ARCMIN, "lunar_feature"),
        (Kind.LUNAR_FEATURE, True, "lunar_detail"),
        *((Kind.PLANET, ids == planet, name) for planet, name in PLANET_CLASSES.items()),
    ]
    by_kind = {kind: kinds == kind for kind in np.unique(kinds).tolist()}
    present = [rule for rule in rules if str(rule[0]) in by_kind]
    names = np.select(
        [by_kind[str(kind)] & condition for kind, condition, _ in present] or [kinds == ""],
        [name for _, _, name in present] or [""],
        default="",
    )
    for row in np.flatnonzero(names == ""):
        raise ValueError(f'Nothing tells how a {kinds[row]} such as "{ids[row]}" is best shown.')
    return names
