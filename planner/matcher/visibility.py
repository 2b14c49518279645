"""How far each target stands above the eye's threshold in each train."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from planner.config.preferences import Preferences
from planner.formulas.concentration import CORES, Core
from planner.formulas.double_stars import (
    air_limit_arcsec,
    aperture_limit_arcsec,
    companion_or_half,
    magnitude_difference,
    parting_margin_dex,
)
from planner.formulas.filters import sky_passed, target_passed
from planner.formulas.visibility_limit import (
    extended_margin_dex,
    light_gain,
    star_margin_dex,
    stellar_limit_mag,
)
from planner.matcher.target_classes import LIGHTS, TargetTable
from planner.matcher.train_table import FILTER_CODES, TrainTable
from planner.model.kit import Telescope
from targets.arrays import Floats
from targets.model import Kind

# A group of stars shows first by its brighter members: several, not one. They are typically this
# much fainter than the whole (our assumption, for grading only); the few of an asterism make up
# most of its light.
MEMBER_MAG = {Kind.OPEN_CLUSTER: 4.0, Kind.STAR_CLOUD: 4.0, Kind.ASTERISM: 2.5}


@dataclass(frozen=True, slots=True)
class Moment:
    """Under what sky each of N targets is looked at.

    Arrays of shape (N, 1) for one moment each, or (N, T) to follow one train through T moments.

    Parameters
    ----------
    altitude_deg : ndarray
        Apparent altitude [deg].
    sky_cd_m2 : ndarray
        Luminance of the sky behind it [cd/m2].
    loss_mag : ndarray
        Light lost in the air [mag].
    seeing_step : int
        Of the night, on the Antoniadi scale, 1 (steady) .. 5.
    """

    altitude_deg: Floats
    sky_cd_m2: Floats
    loss_mag: Floats
    seeing_step: int

    def of_rows(self, rows: NDArray[np.intp]) -> Moment:
        """Return the sky behind some of the targets."""
        return Moment(
            self.altitude_deg[rows], self.sky_cd_m2[rows], self.loss_mag[rows], self.seeing_step
        )


@dataclass(frozen=True, slots=True)
class Lens:
    """What the light passes.

    Arrays of shape (1, K) for K trains that serve every target, or (N, 1) for one train each.
    """

    magnification: Floats
    light_gain: Floats
    filter_code: NDArray[np.intp]
    aperture_mm: float

    def of_rows(self, rows: NDArray[np.intp]) -> Lens:
        """Return what serves these targets."""
        if len(self.magnification) == 1:
            return self
        return Lens(
            self.magnification[rows],
            self.light_gain[rows],
            self.filter_code[rows],
            self.aperture_mm,
        )

    def for_each(self, column: NDArray[np.intp]) -> Lens:
        """Take one of K trains for each target, by its column; shape (N, 1)."""
        return Lens(
            self.magnification[0, column, None],
            self.light_gain[0, column, None],
            self.filter_code[0, column, None],
            self.aperture_mm,
        )


def lens_of(table: TrainTable, telescope: Telescope, pupil_mm: float) -> Lens:
    """Return power, gain and filter of each train, shape (1, K), for an eye's pupil [mm]."""
    gain = light_gain(
        exit_pupil_mm=table.exit_pupil_mm,
        pupil_mm=pupil_mm,
        transmission=table.transmission,
        obstruction_ratio=telescope.obstruction_mm / telescope.aperture_mm,
    )
    return Lens(
        table.magnification[None, :],
        np.asarray(gain)[None, :],
        table.filter_code[None, :],
        telescope.aperture_mm,
    )


def plain_lens(
    telescope: Telescope, *, exit_pupil_mm: Floats, pupil_mm: float, filter_code: int = 0
) -> Lens:
    """Return the same for exit pupils of shape (K,) [mm], whatever eyepiece makes them."""
    gain = light_gain(
        exit_pupil_mm=exit_pupil_mm,
        pupil_mm=pupil_mm,
        transmission=telescope.transmission,
        obstruction_ratio=telescope.obstruction_mm / telescope.aperture_mm,
    )
    return Lens(
        (telescope.aperture_mm / exit_pupil_mm)[None, :],
        np.asarray(gain)[None, :],
        np.full((1, len(exit_pupil_mm)), filter_code, dtype=np.intp),
        telescope.aperture_mm,
    )


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
    lens : Lens
        The trains.
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
    models = np.array([c.model for c in preferences.classes])[target_table.class_code]
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
    return _glow(_scene(target_table, moment, lens, np.arange(len(target_table))))


@dataclass(frozen=True, slots=True)
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
    light_code: NDArray[np.intp]
    core_mag: Floats

    @property
    def sky_passed(self) -> Floats:
        return np.asarray(_SKY_PASSED[self.lens.filter_code])

    @property
    def target_passed(self) -> Floats:
        return np.asarray(_TARGET_PASSED[self.light_code, self.lens.filter_code])

    def core(self, core: Core, rows: NDArray[np.intp]) -> _Scene:
        """Return the bright inner parts of some of the targets."""
        area_share, light_share = core.shares(self.brightness[rows])
        return replace(
            self,
            lens=self.lens.of_rows(rows),
            sky_cd_m2=self.sky_cd_m2[rows],
            loss_mag=self.loss_mag[rows],
            brightness=self.brightness[rows]
            - 2.5 * np.log10(light_share / area_share)
            - self.core_mag[rows],
            area_arcmin2=self.area_arcmin2[rows] * area_share,
            light_code=self.light_code[rows],
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
        light_code=target_table.light_code[rows, None],
        core_mag=target_table.core_mag[rows, None],
    )


def _surface(scene: _Scene) -> Floats:
    """Take the whole glow or, where one shows better, a bright inner part of it."""
    margin = _glow(scene)
    for core in CORES:
        rows = np.flatnonzero(np.isin(scene.kinds, core.kinds))
        if rows.size:
            margin[rows] = np.fmax(margin[rows], _glow(scene.core(core, rows)))
    return margin


def _stars(scene: _Scene) -> Floats:
    fainter = np.select([scene.kinds == kind for kind in MEMBER_MAG], list(MEMBER_MAG.values()))
    return np.asarray(np.fmax(_glow(scene), _star(scene, fainter[:, None])))


def _point(scene: _Scene) -> Floats:
    """Take the light; of a pair that of the fainter star, and how far the two stand apart."""
    is_pair = (scene.kinds == str(Kind.DOUBLE_STAR))[:, None]
    companion = companion_or_half(scene.magnitude, scene.companion_magnitude)
    fainter_mag = np.where(is_pair, companion - scene.magnitude, 0.0)
    difference = magnitude_difference(scene.magnitude, scene.companion_magnitude)
    limit = np.maximum(
        aperture_limit_arcsec(scene.lens.aperture_mm, difference), scene.air_limit_arcsec
    )
    parting = parting_margin_dex(np.where(is_pair, 60.0 * scene.major_arcmin, np.nan), limit)
    return np.asarray(np.fmin(_star(scene, fainter_mag), parting))


def _star(scene: _Scene, fainter_mag: Floats | float) -> Floats:
    """Return the margin of a point this much fainter than the whole target."""
    limit = stellar_limit_mag(
        sky_cd_m2=scene.sky_cd_m2,
        magnification=scene.lens.magnification,
        light_gain=scene.lens.light_gain,
        target_passed=scene.target_passed,
        sky_passed=scene.sky_passed,
    )
    seen_mag = scene.magnitude + scene.loss_mag + fainter_mag
    return np.asarray(star_margin_dex(magnitude=seen_mag, limit_mag=limit))


def _glow(scene: _Scene) -> Floats:
    return np.asarray(
        extended_margin_dex(
            surface_brightness_mag_arcsec2=scene.brightness + scene.loss_mag,
            area_arcmin2=scene.area_arcmin2,
            sky_cd_m2=scene.sky_cd_m2,
            magnification=scene.lens.magnification,
            light_gain=scene.lens.light_gain,
            target_passed=scene.target_passed,
            sky_passed=scene.sky_passed,
        )
    )


# Shares of light by filter code, and for targets by what they shine with.
_SKY_PASSED = np.array([sky_passed(kind) for kind in FILTER_CODES])
_TARGET_PASSED = np.array([[target_passed(f, light) for f in FILTER_CODES] for light in LIGHTS])
