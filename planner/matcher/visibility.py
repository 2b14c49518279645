"""How far each target stands above the eye's threshold in each train."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from planner.config.preferences import Preferences
from planner.formulas.double_stars import (
    air_limit_arcsec,
    companion_or_half,
    eye_margin_dex,
    magnitude_difference,
    pair_margin_dex,
    veil_cd_m2,
)
from planner.formulas.photometry import star_lux
from planner.formulas.profiles import ISOPHOTE_AXES, PART_AXES, needed_dex, outermost_seen
from planner.formulas.visibility_limit import (
    EvenGlow,
    even_glow,
    star_margin_dex,
    stellar_limit_mag,
)
from planner.matcher.lens import SKY_PASSED, TARGET_PASSED, Lens, Moment
from planner.matcher.target_classes import TargetTable
from planner.model.kinds import MEMBER_MAG
from targets.arrays import Flags, Floats
from targets.frozen import frozen
from targets.model import Kind

# By so much a glow that falls outward is easier than the best even patch within it, by its apparent
# size: the eye sums what the rest adds. For an exponential disc the ideal sum has 1.18 times the
# signal over noise of the best patch (our calculation). A fall without an edge over a large part of
# the view escapes the eye instead (common practice; how much is our choice) [deg], [dex].
SUMMED_DEX = ([10.0, 60.0], [0.07, -0.07])


def margins_dex(
    target_table: TargetTable, moment: Moment, lens: Lens, preferences: Preferences
) -> Floats:
    """Return the margin of N targets over the eye's threshold.

    Parameters
    ----------
    target_table : TargetTable
        N targets.
    moment : Moment
        The sky behind them.
    preferences : Preferences
        Tells by which model each class is seen.

    Returns
    -------
    ndarray
        Shape (N, K) or (N, T), as moment and lens broadcast [dex]; NaN where the brightness is
        unknown.

    See Also
    --------
    whole_margins_dex : For the glow as a whole, without a bright core.
    """
    models = target_table.preferred("model", preferences)
    shape = np.broadcast_shapes(
        (len(target_table), 1), lens.magnification.shape, moment.sky_cd_m2.shape
    )
    margin = np.full(shape, np.nan)
    for model, compute in (
        ("surface", _surface),
        ("stars", _stars),
        ("disc", _point),
        ("point", _point),
    ):
        rows = np.flatnonzero(models == model)
        if rows.size:
            margin[rows] = compute(_scene(target_table, moment, lens, rows))
    return margin


def whole_margins_dex(target_table: TargetTable, moment: Moment, lens: Lens) -> Floats:
    """Return the margin of N targets as even glows; arguments and result as in `margins_dex`."""
    scene = _scene(target_table, moment, lens, np.arange(len(target_table)))
    return np.asarray(scene.glows().margin_dex())


def seen_axes(target_table: TargetTable, moment: Moment, lens: Lens) -> Floats:
    """Return how far out N glows are seen, as shares of their catalogue's axes.

    Arguments as in `margins_dex`. The isophote counts whose brightness still exceeds the threshold
    of a patch as large as what lies within it.

    Returns
    -------
    ndarray
        Shape (N, K), 0 .. 1.1; 1 for glows that are even to their edge, and where the brightness
        is unknown.
    """
    scene = _scene(target_table, moment, lens, np.arange(len(target_table)))
    rows = np.flatnonzero(scene.falls)
    shape = np.broadcast_shapes((len(target_table), 1), lens.magnification.shape)
    seen = np.ones(shape)
    if rows.size:
        apparent_deg = scene.major_arcmin[rows] * lens.of_rows(rows).magnification / 60.0
        outermost = outermost_seen(_isophotes(scene, rows), apparent_deg)
        seen[rows] = np.nan_to_num(outermost, nan=1.0)
    return seen


def isophote_margins_dex(target_table: TargetTable, moment: Moment, lens: Lens) -> Floats:
    """Return the margins of N glows' isophotes over what each needs to be made out.

    Arguments as in `margins_dex`.

    Returns
    -------
    ndarray
        At ``ISOPHOTE_AXES``, (N, K, 6) [dex]; for glows that are even to their edge that of the
        whole throughout.
    """
    scene = _scene(target_table, moment, lens, np.arange(len(target_table)))
    margins = np.repeat(
        np.asarray(scene.glows().margin_dex())[..., None], len(ISOPHOTE_AXES), axis=-1
    )
    rows = np.flatnonzero(scene.falls)
    if rows.size:
        apparent_deg = scene.major_arcmin[rows] * lens.of_rows(rows).magnification / 60.0
        margins[rows] = _isophotes(scene, rows) - needed_dex(apparent_deg)
    return margins


@frozen
class _Scene:
    """The rows of one model: targets as columns, beside their sky and their trains."""

    lens: Lens
    kinds: NDArray[np.str_]
    sky_cd_m2: Floats
    loss_mag: Floats
    magnitude: Floats
    companion_magnitude: Floats
    air_limit_arcsec: Floats
    brightness: Floats
    major_arcmin: Floats
    area_arcmin2: Floats
    spectrum_code: NDArray[np.intp]
    falls: Flags
    part_light: Floats
    isophote_mag: Floats
    eye_mag: Floats
    glow_mag: float

    @property
    def sky_passed(self) -> Floats:
        return np.asarray(SKY_PASSED[self.lens.filter_code])

    @property
    def target_passed(self) -> Floats:
        return np.asarray(TARGET_PASSED[self.spectrum_code, self.lens.filter_code])

    def glows(self, rows: NDArray[np.intp] | slice = slice(None)) -> EvenGlow:
        """Return some of the targets as glows, to be taken whole or in part."""
        lens = self.lens.of_rows(rows) if isinstance(rows, np.ndarray) else self.lens
        deeper_mag = self.eye_mag if len(self.eye_mag) == 1 else self.eye_mag[rows]
        return even_glow(
            surface_brightness_mag_arcsec2=(
                self.brightness[rows] + self.loss_mag[rows] - deeper_mag - self.glow_mag
            ),
            area_arcmin2=self.area_arcmin2[rows],
            sky_cd_m2=self.sky_cd_m2[rows],
            magnification=lens.magnification,
            light_gain=lens.light_gain,
            target_passed=TARGET_PASSED[self.spectrum_code[rows], lens.filter_code],
            sky_passed=SKY_PASSED[lens.filter_code],
        )


def _scene(target_table: TargetTable, moment: Moment, lens: Lens, rows: NDArray[np.intp]) -> _Scene:
    return _Scene(
        lens=lens.of_rows(rows),
        kinds=target_table.kinds[rows],
        sky_cd_m2=moment.sky_cd_m2[rows],
        loss_mag=moment.loss_mag[rows],
        magnitude=target_table.magnitude[rows, None],
        companion_magnitude=target_table.companion_magnitude[rows, None],
        air_limit_arcsec=air_limit_arcsec(moment.seeing_step, moment.altitude_deg[rows]),
        brightness=target_table.surface_brightness_mag_arcsec2[rows, None],
        major_arcmin=target_table.major_arcmin[rows, None],
        area_arcmin2=target_table.area_arcmin2[rows, None],
        spectrum_code=target_table.spectrum_code[rows, None],
        falls=target_table.falls[rows],
        part_light=target_table.part_light[rows],
        isophote_mag=target_table.isophote_mag[rows],
        eye_mag=moment.eye_mag + lens.of_rows(rows).eyes_mag,
        glow_mag=moment.glow_mag,
    )


def _surface(scene: _Scene) -> Floats:
    """Take the whole glow or, where one shows better, a bright inner part of it."""
    margin = np.asarray(scene.glows().margin_dex())
    rows = np.flatnonzero(scene.part_light[:, 0] > PART_AXES[0] ** 2)
    if rows.size:
        inner = scene.glows(rows)
        for part, axis in enumerate(PART_AXES[:-1]):
            brighter = 2.5 * np.log10(scene.part_light[rows, part, None] / axis**2)
            margin[rows] = np.fmax(margin[rows], inner.margin_dex(axis, brighter))
        apparent_deg = scene.major_arcmin[rows] * scene.lens.of_rows(rows).magnification / 60.0
        margin[rows] += np.interp(apparent_deg, *SUMMED_DEX)
    return margin


def _isophotes(scene: _Scene, rows: NDArray[np.intp]) -> Floats:
    """Return the margins at ``ISOPHOTE_AXES``, each as if all within it were so bright."""
    glows = scene.glows(rows)
    return np.stack(
        [
            glows.margin_dex(axis, scene.isophote_mag[rows, index, None])
            for index, axis in enumerate(ISOPHOTE_AXES)
        ],
        axis=-1,
    )


def _stars(scene: _Scene) -> Floats:
    fainter = np.select([scene.kinds == kind for kind in MEMBER_MAG], list(MEMBER_MAG.values()))
    return np.asarray(np.fmax(_surface(scene), _star(scene, fainter[:, None])))


def _point(scene: _Scene) -> Floats:
    """Take the light; of a pair that of the fainter star, its gap, and the glare beside it."""
    is_pair = (scene.kinds == str(Kind.DOUBLE_STAR))[:, None]
    gap_arcsec = np.where(is_pair, 60.0 * scene.major_arcmin, np.nan)
    companion = companion_or_half(scene.magnitude, scene.companion_magnitude)
    fainter_mag = np.where(is_pair, companion - scene.magnitude, 0.0)
    difference = magnitude_difference(scene.magnitude, scene.companion_magnitude)
    parting = pair_margin_dex(
        gap_arcsec, difference, scene.lens.aperture_mm, scene.air_limit_arcsec
    )
    veil = _veil_cd_m2(scene, np.nan_to_num(gap_arcsec)) if is_pair.any() else 0.0
    parting = np.fmin(parting, eye_margin_dex(gap_arcsec, difference, scene.lens.magnification))
    return np.asarray(np.fmin(_star(scene, fainter_mag, veil), parting))


def _veil_cd_m2(scene: _Scene, gap_arcsec: Floats) -> Floats:
    """Return what the light of pairs scatters in the eye, at the gap between their stars."""
    lens = scene.lens
    gain = np.square(lens.magnification) * lens.light_gain * scene.target_passed
    lux = np.nan_to_num(star_lux(scene.magnitude + scene.loss_mag)) * gain
    veil = veil_cd_m2(lux, gap_arcsec * lens.magnification / 3600.0)
    return np.where(gap_arcsec > 0.0, veil, 0.0)


def _star(scene: _Scene, fainter_mag: Floats | float, veil: Floats | float = 0.0) -> Floats:
    """Return the margin of a point this much fainter than the whole target.

    ``veil`` is light on the eye besides the sky [cd/m2].
    """
    limit = stellar_limit_mag(
        sky_cd_m2=scene.sky_cd_m2,
        magnification=scene.lens.magnification,
        light_gain=scene.lens.light_gain,
        target_passed=scene.target_passed,
        sky_passed=scene.sky_passed,
        veil_cd_m2=veil,
    )
    seen_mag = scene.magnitude + scene.loss_mag + fainter_mag - scene.eye_mag
    return np.asarray(star_margin_dex(magnitude=seen_mag, limit_mag=limit))
