"""How the light of a glow falls from its middle outward: what is seen first, and how far out.

A catalogue's size and magnitude reach as far as photographs do. An eye sees the bright middle, and
the more of the rest the darker the sky is. A profile tells both: which share of the light lies
inside a share of the axes, and how bright the isophote there is beside the mean.

References
----------
Freeman 1970, ApJ 160, 811: discs are exponential, 21.65 B mag/arcsec2 in the middle.
de Vaucouleurs 1948, Ann. Astrophys. 11, 247, and Sersic 1968: ellipticals and bulges, n = 4;
constants by Ciotti and Bertin 1999, A&A 352, 447.
Simien and de Vaucouleurs 1986, ApJ 302, 564: the bulge's share of the light by type (from memory).
King 1962, AJ 67, 471: globular clusters, with core radii and concentrations of Harris 1996, AJ 112,
1487 (2010 edition).
A'Hearn et al. 1984, AJ 89, 579: the brightness of a steady coma falls with the distance.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from targets.arrays import Flags, Floats
from targets.frozen import frozen
from targets.model import Kind, Target

# Shares of the axes within which the light is summed, and at which isophotes are taken; what is
# seen never reaches further than the last.
PART_AXES = np.array([0.07, 0.2, 0.45, 1.0])
ISOPHOTE_AXES = np.array([0.1, 0.25, 0.45, 0.7, 1.0, 1.1])

# Diameters of galaxies are those of the isophote of 25 B mag/arcsec2; in V, for B - V of 0.8.
EDGE_V_MAG_ARCSEC2 = 24.2
# Scale lengths of a disc out to that isophote: Freeman's is 3.1; a brighter disc has more.
SCALE_LENGTHS = (3.1, 6.0)
# Half-light radius of a bulge, and of an elliptical, over that of the isophote (our estimate).
BULGE_AXIS, ELLIPTICAL_AXIS = 0.10, 0.30
# Where the type is not known: that of an Sb to Sbc.
USUAL_BULGE = 0.2
ELLIPTICAL_BULGE = 0.7
# Ellipticals as faint as the second mean are dwarfs, which are exponential [V mag/arcsec2].
DWARF_MEAN_MAG_ARCSEC2 = (22.2, 22.8)
# Where a globular cluster is in no table: core over the catalogue's radius, and concentration, near
# those of M13.
USUAL_CORE_AXIS, USUAL_CONCENTRATION = 0.06, 1.5
# Scale lengths of a fall that ends at the catalogue's edge: of a bright nebula (our estimate: twice
# the mean in the middle, two thirds of it at the edge), and of the members of a group.
CUT_DISCS = {Kind.EMISSION_NEBULA: 1.0, Kind.REFLECTION_NEBULA: 1.0, Kind.GALAXY_GROUP: 3.0}
# Nebulae with a bright core and wings: in M42 some 5' outshine more than a degree, in M8 half a
# degree stands out of 90' (the catalogue's notes). Scale lengths as above (our estimate), and the
# total V magnitude (SEDS and HEASARC for the first two, from memory for the others).
CORE_SCALE_LENGTHS = {"NGC1976": 10.0, "NGC6523": 7.0, "NGC3372": 4.0, "NGC2070": 5.0}
CORE_AND_WINGS_MAG = {"NGC1976": 4.0, "NGC6523": 5.8, "NGC3372": 3.0, "NGC2070": 5.0}
# The same of the stars of an open cluster (our estimate). They are seen singly as far as they
# reach, so that no isophote bounds a cluster.
CLUSTER_SCALE_LENGTHS = 3.0

# A galaxy that observers rate above the middle owes it to a middle brighter than is usual for its
# type and mean: so much a step [mag], our choice.
MIDDLE_RATING, MIDDLE_MAG_PER_RATING = 3.0, 0.4
# What margin an isophote needs to be made out, by the apparent size of what it bounds. The eye
# follows a small glow to below the threshold of finding it; a fall of light over a large part of
# the view escapes it. Our choice, so that 0.75 of globular clusters (15' of M13) and some 100' of
# M31 are seen in small telescopes (common practice) [deg], [dex].
NEEDED_DEX = ([10.0, 60.0], [-0.25, 0.15])

_SERSIC_B, _SERSIC_LIGHT = 7.6692, 22.665  # n = 4: b, and total light over re^2 Ie


@frozen
class Profiles:
    """Profiles of N glows.

    Parameters
    ----------
    falls : ndarray of bool
        Where isophotes bound what is seen, (N,); the others are seen out to their edge.
    part_light : ndarray
        Share of the total light within ``PART_AXES``, (N, 4).
    isophote_mag : ndarray
        How much brighter than the mean over the catalogue's ellipse the isophotes at
        ``ISOPHOTE_AXES`` are [mag], (N, 6); minus infinity beyond a sharp edge.
    """

    falls: Flags
    part_light: Floats
    isophote_mag: Floats


def profiles_of(
    ids: NDArray[np.str_],
    kinds: NDArray[np.str_],
    *,
    mean_mag_arcsec2: Floats,
    major_arcmin: Floats,
    bulge_share: Floats,
    core_radius_arcmin: Floats,
    concentration: Floats,
    rating: Floats,
) -> Profiles:
    """Return the profiles of N targets.

    Parameters
    ----------
    ids, kinds : ndarray of str
        Of the targets, (N,).
    mean_mag_arcsec2 : ndarray
        All their light over their catalogue's ellipse [V mag/arcsec2].
    major_arcmin : ndarray
        Long axis of that ellipse [arcmin].
    bulge_share : ndarray
        Share of a galaxy's light in its bulge, 0 .. 1; NaN where the type is not known.
    core_radius_arcmin, concentration : ndarray
        Of globular clusters: King's core radius [arcmin] and log10 of tidal over core radius; NaN
        where they are not known.
    rating : ndarray
        Visual rating, 1 .. 5; NaN where there is none.
    """
    part_light = np.tile(np.square(PART_AXES), (len(kinds), 1))
    isophote = np.where(ISOPHOTE_AXES <= 1.0, 1.0, 0.0) * np.ones((len(kinds), 1))
    falls = np.zeros(len(kinds), dtype=bool)

    def put(rows: NDArray[np.intp], part: Floats, beside_mean: Floats) -> None:
        part_light[rows], isophote[rows], falls[rows] = part, beside_mean, True

    galaxies = np.flatnonzero((kinds == str(Kind.GALAXY)) & ~np.isnan(mean_mag_arcsec2))
    if galaxies.size:
        of_galaxies = (mean_mag_arcsec2[galaxies], bulge_share[galaxies])
        part, _ = galaxy_light(PART_AXES, *of_galaxies)
        put(galaxies, _rated(part, rating[galaxies]), galaxy_light(ISOPHOTE_AXES, *of_galaxies)[1])
    globulars = np.flatnonzero((kinds == str(Kind.GLOBULAR_CLUSTER)) & (major_arcmin > 0.0))
    if globulars.size:
        core = core_radius_arcmin[globulars] / (0.5 * major_arcmin[globulars])
        of_globulars = (core, concentration[globulars])
        part, _ = king_light(PART_AXES, *of_globulars)
        put(globulars, part, king_light(ISOPHOTE_AXES, *of_globulars)[1])
    for chosen, scale_lengths in (
        *((kinds == str(kind), scale_lengths) for kind, scale_lengths in CUT_DISCS.items()),
        *((ids == name, scale_lengths) for name, scale_lengths in CORE_SCALE_LENGTHS.items()),
    ):
        if chosen.any():
            part, _ = cut_disc_light(PART_AXES, scale_lengths)
            put(np.flatnonzero(chosen), part, cut_disc_light(ISOPHOTE_AXES, scale_lengths)[1])
    clusters = kinds == str(Kind.OPEN_CLUSTER)
    if clusters.any():
        part_light[clusters], _ = cut_disc_light(PART_AXES, CLUSTER_SCALE_LENGTHS)
    comets = np.flatnonzero(kinds == str(Kind.COMET))
    put(comets, PART_AXES, 0.5 / ISOPHOTE_AXES)
    with np.errstate(divide="ignore"):
        return Profiles(falls, part_light, 2.5 * np.log10(isophote))


def outermost_seen(margin_dex: Floats, apparent_deg: Floats) -> Floats:
    """Return how far out a glow is seen, from the margins of its isophotes.

    Parameters
    ----------
    margin_dex : ndarray
        Over the eye's threshold at each of ``ISOPHOTE_AXES``, (..., 6) [dex].
    apparent_deg : ndarray
        Apparent size of the catalogue's long axis in the eyepiece, (...) [deg].

    Returns
    -------
    ndarray
        Share of the catalogue's axes, up to the last of them; where not even the innermost is seen
        less than that, the fainter the less; NaN where the brightness is unknown.
    """
    count = len(ISOPHOTE_AXES)
    margin_dex = margin_dex - needed_dex(apparent_deg)
    seen = margin_dex >= 0.0
    last = count - 1 - np.argmax(seen[..., ::-1], axis=-1)
    after = np.minimum(last + 1, count - 1)
    here, beyond = (
        np.take_along_axis(margin_dex, index[..., None], axis=-1)[..., 0] for index in (last, after)
    )
    with np.errstate(invalid="ignore", divide="ignore"):
        way = np.where(after > last, here / (here - beyond), 0.0)
    axis = ISOPHOTE_AXES[last] + way * (ISOPHOTE_AXES[after] - ISOPHOTE_AXES[last])
    dim = ISOPHOTE_AXES[0] * np.power(10.0, np.maximum(margin_dex[..., 0], -1.0))
    return np.asarray(np.where(seen.any(axis=-1), axis, dim))


def needed_dex(apparent_deg: Floats) -> Floats:
    """Return what margin each of ``ISOPHOTE_AXES`` needs, (..., 6), as in `outermost_seen`."""
    return np.asarray(np.interp(apparent_deg[..., None] * ISOPHOTE_AXES, *NEEDED_DEX))


def light_within(part_light: Floats, axis: Floats) -> Floats:
    """Return the share of its light that each of N glows has within shares of its axes, (N, K).

    Between ``PART_AXES``, where ``part_light`` (N, 4) has it, it runs straight; beyond the last all
    of the light counts as there.
    """
    nodes = np.append(0.0, PART_AXES)
    light = np.insert(part_light / part_light[:, -1:], 0, 0.0, axis=1)
    within = np.zeros(axis.shape)
    for start, end, below, above in zip(nodes, nodes[1:], light.T, light.T[1:], strict=False):
        step = np.clip((axis - start) / (end - start), 0.0, 1.0)
        within += step * (above - below)[:, None]
    return within


def light_inside(target: Target, axes: Floats, mean_mag_arcsec2: float) -> Floats:
    """Return the share of its light that one glow has within shares of its axes.

    Parameters
    ----------
    target : Target
        Its kind tells the law; glows of other kinds are even out to their edge.
    axes : ndarray
        Shares of the catalogue's axes, (U,).
    mean_mag_arcsec2 : float
        As in `profiles_of`.

    Returns
    -------
    ndarray
        0 .. 1, (U,); the light of galaxies and of some globular clusters goes on beyond 1.
    """
    if target.kind is Kind.GALAXY and not np.isnan(mean_mag_arcsec2):
        mean, bulge = np.array([mean_mag_arcsec2]), _one(target.bulge_share)
        inside, _ = galaxy_light(axes, mean, bulge)
        return np.asarray(inside[0])
    if target.kind is Kind.GLOBULAR_CLUSTER:
        core = _one(target.core_radius_arcmin) / (0.5 * _one(target.major_arcmin))
        inside, _ = king_light(axes, core, _one(target.concentration))
        return np.asarray(inside[0])
    if target.kind is Kind.OPEN_CLUSTER:
        return cut_disc_light(axes, CLUSTER_SCALE_LENGTHS)[0]
    if target.kind in CUT_DISCS:
        scale_lengths = CORE_SCALE_LENGTHS.get(target.id, CUT_DISCS[target.kind])
        return cut_disc_light(axes, scale_lengths)[0]
    return np.minimum(axes if target.kind is Kind.COMET else np.square(axes), 1.0)


def _one(value: float | None) -> Floats:
    return np.array([value], dtype=float)


def galaxy_light(
    axes: Floats, mean_mag_arcsec2: Floats, bulge_share: Floats
) -> tuple[Floats, Floats]:
    """Return the light of galaxies within shares of their axes, and their isophotes there.

    Parameters
    ----------
    axes : ndarray
        Shares of the axes, (U,).
    mean_mag_arcsec2, bulge_share : ndarray
        As in `profiles_of`, (N,).

    Returns
    -------
    inside, beside_mean : ndarray
        Share of the total, and brightness over the mean, both (N, U).
    """
    bulge = np.nan_to_num(bulge_share, nan=USUAL_BULGE)
    giant = np.interp(mean_mag_arcsec2, DWARF_MEAN_MAG_ARCSEC2, (1.0, 0.0))
    bulge = np.where(bulge >= ELLIPTICAL_BULGE, giant * bulge, bulge)[:, None]
    disc_mean = mean_mag_arcsec2[:, None] - 2.5 * np.log10(np.maximum(1.0 - bulge, 0.05))
    scales = _scale_lengths(disc_mean)
    fall = np.exp(-scales * axes)
    disc_inside = 1.0 - (1.0 + scales * axes) * fall
    disc = 0.5 * np.square(scales) * fall
    bulge_axis = BULGE_AXIS + (ELLIPTICAL_AXIS - BULGE_AXIS) * bulge
    root = _SERSIC_B * np.power(axes / bulge_axis, 0.25)
    bulge_inside = _gamma_share_8(root)
    bulge_light = np.pi / (_SERSIC_LIGHT * np.square(bulge_axis)) * np.exp(_SERSIC_B - root)
    return (
        bulge * bulge_inside + (1.0 - bulge) * disc_inside,
        bulge * bulge_light + (1.0 - bulge) * disc,
    )


def king_light(axes: Floats, core_axis: Floats, concentration: Floats) -> tuple[Floats, Floats]:
    """Return the same for globular clusters, from their core over the catalogue's radius, (N,).

    Where core or concentration is NaN, the usual one counts.
    """
    core_axis = np.nan_to_num(core_axis, nan=USUAL_CORE_AXIS)
    concentration = np.nan_to_num(concentration, nan=USUAL_CONCENTRATION)
    tidal = np.square(np.power(10.0, concentration))[:, None]
    rest = 1.0 / np.sqrt(1.0 + tidal)
    x = np.square(axes / core_axis[:, None])
    inner = np.minimum(x, tidal)

    def summed(x: Floats) -> Floats:
        return np.log1p(x) - 4.0 * rest * (np.sqrt(1.0 + x) - 1.0) + x * np.square(rest)

    total = summed(tidal)
    light = np.where(x < tidal, np.square(1.0 / np.sqrt(1.0 + x) - rest), 0.0)
    return summed(inner) / total, light / (total * np.square(core_axis[:, None]))


def _rated(part: Floats, rating: Floats) -> Floats:
    """Give galaxies that observers rate above the middle a brighter middle than is usual."""
    above = np.maximum(np.nan_to_num(rating) - MIDDLE_RATING, 0.0)[:, None]
    return 1.0 - np.power(1.0 - part, np.power(10.0, 0.4 * MIDDLE_MAG_PER_RATING * above))


def cut_disc_light(axes: Floats, scale_lengths: float) -> tuple[Floats, Floats]:
    """Return the same, (U,), for an exponential fall with all its light inside the edge."""

    def summed(axes: Floats) -> Floats:
        return 1.0 - (1.0 + scale_lengths * axes) * np.exp(-scale_lengths * axes)

    whole = summed(np.ones(1))
    beside_mean = 0.5 * scale_lengths**2 * np.exp(-scale_lengths * axes) / whole
    inside = summed(np.minimum(axes, 1.0)) / whole
    return inside, np.where(axes <= 1.0, beside_mean, 0.0)


# The brightness at the edge beside the mean, in magnitudes, by the scale lengths out to it.
_TRIED = np.linspace(2.0, SCALE_LENGTHS[1], 161)
_EDGE_BELOW_MEAN = 1.0857 * _TRIED - 5.0 * np.log10(_TRIED) + 2.5 * np.log10(2.0)


def _scale_lengths(mean_mag_arcsec2: Floats) -> Floats:
    """Return how many scale lengths of a disc reach to its edge, from its mean [mag/arcsec2]."""
    found = np.interp(EDGE_V_MAG_ARCSEC2 - mean_mag_arcsec2, _EDGE_BELOW_MEAN, _TRIED)
    return np.asarray(np.clip(found, *SCALE_LENGTHS))


def _gamma_share_8(x: Floats) -> Floats:
    """Return the regularised lower incomplete gamma function of 8: its sum is finite."""
    term = np.ones_like(x)
    total = np.ones_like(x)
    for k in range(1, 8):
        term = term * x / k
        total = total + term
    return 1.0 - np.exp(-x) * total
