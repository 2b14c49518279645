"""How bright a glow is from its middle outward as the eye gets it, and what is made out of it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from planner.config.preferences import Preferences
from planner.formulas.contrast_threshold import patch_threshold
from planner.formulas.photometry import light_ratio, luminance_cd_m2
from planner.formulas.profiles import ISOPHOTE_AXES, light_inside
from planner.formulas.visibility_limit import GRADE_BOUNDS_DEX, LEAST_NOTICED, ellipse_area_arcmin2
from planner.matcher.lens import Lens, Moment, passed_shares
from planner.matcher.target_classes import TargetTable, target_table_of
from planner.matcher.visibility import isophote_margins_dex, margins_dex
from targets.arrays import Floats
from targets.frozen import frozen
from targets.model import Kind, Target

# From the middle to where even the widest profile has come to its end [of the axes].
INNERMOST, OUTERMOST, RINGS = 1e-3, 8.0, 450
# Margins between which a glow comes out of the sky: "unlikely" ends, "fair" begins [dex].
GONE_DEX, PLAIN_DEX = GRADE_BOUNDS_DEX[0], GRADE_BOUNDS_DEX[2]
# Where a nebula or a cluster ends no catalogue says to better than this, nor that its edge is
# sharp: its light is spread as the mean of what it would be with edges so far out, weighted most in
# between (our choice) [of the axes].
EDGES_OUT = np.linspace(0.6, 1.1, 40)
EDGE_WEIGHTS = np.sin(np.linspace(0.0, np.pi, 42)[1:-1])
WITHOUT_EDGE = (
    Kind.EMISSION_NEBULA, Kind.REFLECTION_NEBULA, Kind.SUPERNOVA_REMNANT, Kind.DARK_NEBULA,
    Kind.STAR_CLOUD, Kind.OPEN_CLUSTER, Kind.OTHER,
)  # fmt: skip
# Less of a cluster's light than this is no glow but what its magnitude is wrong by (our choice).
LEAST_LEFT = 0.5
# However dark a cloud, so much of the sky before it is left (our choice).
LEAST_SKY = 0.5


@frozen
class Glow:
    """A glow in one eyepiece, by shares of the axes of the catalogue's ellipse.

    Parameters
    ----------
    edges : ndarray
        Of the rings for which the rest holds, (R + 1,), from 0 outward.
    luminance_cd_m2 : ndarray
        What it adds to the sky as the eye gets it, (R,) [cd/m2]; negative for a dark cloud.
    seen : ndarray
        How far each ring stands out of the sky to this eye, (R,): 0 not at all .. 1.
    """

    edges: Floats
    luminance_cd_m2: Floats
    seen: Floats

    def at(self, axes: Floats) -> tuple[Floats, Floats]:
        """Return luminance [cd/m2] and share seen at shares of the axes, any shape."""
        ring = np.searchsorted(self.edges, axes, side="right") - 1
        inside = ring < len(self.seen)
        ring = np.minimum(ring, len(self.seen) - 1)
        return np.where(inside, self.luminance_cd_m2[ring], 0.0), self.seen[ring]


@frozen
class Backdrop:
    """What lies behind and before a target in one eyepiece, as the eye gets it.

    Parameters
    ----------
    sky_cd_m2 : float
        Luminance of the sky [cd/m2].
    least_cd_m2 : float
        What must be added to it over a large area to be noticed [cd/m2].
    """

    sky_cd_m2: float
    least_cd_m2: float


def backdrop(moment: Moment, lens: Lens) -> Backdrop:
    """Return the sky of one moment, shape (1, 1), in one train."""
    _, sky_passed = passed_shares(lens)
    sky = float((moment.sky_cd_m2 * lens.light_gain * sky_passed)[0, 0])
    least = float(np.exp(patch_threshold(sky).log_large)) * LEAST_NOTICED
    return Backdrop(sky, least * float(light_ratio(moment.eye_mag + moment.glow_mag)))


def glow_of(target: Target, moment: Moment, lens: Lens, preferences: Preferences) -> Glow | None:
    """Return the glow of a target in one train at one moment.

    Parameters
    ----------
    target : Target
        Whose light is spread; of a cluster the magnitude of what is to be spread.
    moment, lens
        Of shape (1, 1).

    Returns
    -------
    Glow or None
        None where size or brightness are unknown.
    """
    table = target_table_of([target], preferences)
    mean_mag = float(table.surface_brightness_mag_arcsec2[0])
    if np.isnan(mean_mag) or not table.major_arcmin[0] > 0.0:
        return None
    edges = _edges()
    margins = isophote_margins_dex(table, moment, lens)[0, 0]
    # A core that shows as a whole shows, however soon its isophotes are lost.
    whole = margins_dex(table, moment, lens, preferences)[0, 0]
    if target.kind is not Kind.OPEN_CLUSTER:
        margins[0] = np.fmax(margins[0], whole)
    luminance = _luminance_cd_m2(target, table, edges, moment, lens)
    return Glow(edges, luminance, _seen(edges, margins))


def magnitude_left(target: Target, star_magnitudes: Floats) -> Target | None:
    """Return a cluster with the light that known stars leave; None where they leave none.

    Parameters
    ----------
    star_magnitudes : ndarray
        V of the stars inside it, any number.
    """
    if target.magnitude is None:
        return None
    left = light_ratio(target.magnitude) - float(np.sum(light_ratio(star_magnitudes)))
    if left <= LEAST_LEFT * light_ratio(target.magnitude):
        return None
    return replace(target, magnitude=float(-2.5 * np.log10(left)))


def _luminance_cd_m2(
    target: Target, table: TargetTable, edges: Floats, moment: Moment, lens: Lens
) -> Floats:
    """Return what each ring adds to the sky as the eye gets it."""
    mean_mag = float(table.surface_brightness_mag_arcsec2[0])
    beside_mean = np.diff(_light_inside(target, edges, mean_mag)) / np.diff(np.square(edges))
    # Of a group the table has the mean of what its members cover, not of the ellipse.
    ellipse = ellipse_area_arcmin2(
        major_arcmin=table.major_arcmin[0], minor_arcmin=table.minor_arcmin[0]
    )
    passed, _ = passed_shares(lens, table.spectrum_code[0])
    share = light_ratio(moment.loss_mag) * lens.light_gain * passed * table.area_arcmin2[0]
    luminance = luminance_cd_m2(mean_mag) * float((share / ellipse)[0, 0]) * beside_mean
    if target.kind is not Kind.DARK_NEBULA:
        return np.asarray(luminance)
    return -np.minimum(luminance, (1.0 - LEAST_SKY) * backdrop(moment, lens).sky_cd_m2)


def _light_inside(target: Target, axes: Floats, mean_mag: float) -> Floats:
    """Return the share of the light within shares of the axes; edges of clouds are soft."""
    if target.kind not in WITHOUT_EDGE:
        return light_inside(target, axes, mean_mag)
    each = np.array([light_inside(target, axes / edge, mean_mag) for edge in EDGES_OUT])
    return np.asarray(EDGE_WEIGHTS @ each / EDGE_WEIGHTS.sum())


def _edges() -> Floats:
    """Return the edges of the rings; one of them is the catalogue's own edge."""
    inner = np.geomspace(INNERMOST, 1.0, RINGS - RINGS // 4)
    return np.concatenate([[0.0], inner, np.geomspace(1.0, OUTERMOST, RINGS // 4 + 1)[1:]])


def _seen(edges: Floats, margins_dex: Floats) -> Floats:
    """Return how far rings stand out, from the margins at ``ISOPHOTE_AXES``: a smooth step."""
    middles = (edges[1:] + edges[:-1]) / 2.0
    known = np.maximum(np.nan_to_num(margins_dex, nan=GONE_DEX), 10.0 * GONE_DEX)
    margin = np.interp(np.log(middles), np.log(ISOPHOTE_AXES), known)
    step = np.clip((margin - GONE_DEX) / (PLAIN_DEX - GONE_DEX), 0.0, 1.0)
    # Beyond the last isophote nothing is known of what is seen, nor seen in practice.
    return np.where(middles <= ISOPHOTE_AXES[-1], step * step * (3.0 - 2.0 * step), 0.0)
