"""How far each target stands above the eye's threshold in each train."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from planner.eye import extended_margin_dex, light_gain, star_margin_dex, stellar_limit_mag
from planner.filters import sky_passed, target_passed
from planner.kit import Telescope
from planner.preferences import Preferences
from planner.subjects import LIGHTS, Subjects
from planner.trains_table import FILTER_CODES, TrainTable
from targets.model import Kind

Floats = NDArray[np.float64]

# A catalogue's size and magnitude reach far out and understate a bright core: this share of the
# axes holds this share of the light. Globulars by the half-light radii of Harris 1996 (2010
# edition; M13 3.4' of 20', M22 6.7' of 32', from memory); galaxies between an exponential disc
# (half of the light within 0.54) and a strong bulge (0.3). Typical values, for grading only.
CORES = {
    Kind.GLOBULAR_CLUSTER: (1.0 / 6.0, 0.5),
    Kind.GALAXY: (0.4, 0.5),
    Kind.GALAXY_GROUP: (0.4, 0.5),
}
# A large galaxy shows first by a smaller part of it.
LARGE_GALAXY_CORE = (0.2, 0.16)
LARGE_GALAXY_ARCMIN = 10.0
# A loose cluster shows first by its brighter members; the brightest is typically this much fainter
# than the whole (our assumption, for grading only).
BRIGHTEST_MEMBER_MAG = 3.0


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
    """

    altitude_deg: Floats
    sky_cd_m2: Floats
    loss_mag: Floats

    def of_rows(self, rows: NDArray[np.intp]) -> Moment:
        """Give the sky behind some of the targets."""
        return Moment(self.altitude_deg[rows], self.sky_cd_m2[rows], self.loss_mag[rows])


@dataclass(frozen=True, slots=True)
class Lens:
    """What the light passes.

    Arrays of shape (1, K) for K trains that serve every target, or (N, 1) for one train each.
    """

    magnification: Floats
    light_gain: Floats
    filter_code: NDArray[np.intp]

    def of_rows(self, rows: NDArray[np.intp]) -> Lens:
        """Give what serves these targets."""
        if len(self.magnification) == 1:
            return self
        return Lens(self.magnification[rows], self.light_gain[rows], self.filter_code[rows])

    def for_each(self, column: NDArray[np.intp]) -> Lens:
        """Take one of K trains for each target, by its column; shape (N, 1)."""
        return Lens(
            self.magnification[0, column, None],
            self.light_gain[0, column, None],
            self.filter_code[0, column, None],
        )


def lens_of(table: TrainTable, telescope: Telescope, pupil_mm: float) -> Lens:
    """Give power, gain and filter of each train, shape (1, K), for an eye's pupil [mm]."""
    gain = light_gain(
        exit_pupil_mm=table.exit_pupil_mm,
        pupil_mm=pupil_mm,
        transmission=table.transmission,
        obstruction_ratio=telescope.obstruction_mm / telescope.aperture_mm,
    )
    return Lens(table.magnification[None, :], np.asarray(gain)[None, :], table.filter_code[None, :])


def plain_lens(
    telescope: Telescope, *, exit_pupil_mm: Floats, pupil_mm: float, filter_code: int = 0
) -> Lens:
    """Give the same for exit pupils of shape (K,) [mm], whatever eyepiece makes them."""
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
    )


def margins_dex(subjects: Subjects, moment: Moment, lens: Lens, preferences: Preferences) -> Floats:
    """Give the margin of N targets over the eye's threshold.

    Parameters
    ----------
    subjects : Subjects
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
    """
    models = np.array([c.model for c in preferences.classes])[subjects.class_code]
    shape = np.broadcast_shapes(
        (len(subjects), 1), lens.magnification.shape, moment.sky_cd_m2.shape
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
            margin[rows] = compute(_scene(subjects, moment, lens, rows))
    return margin


@dataclass(frozen=True, slots=True)
class _Scene:
    """The rows of one model: targets as columns, beside their sky and their trains."""

    lens: Lens
    sky_cd_m2: Floats
    magnitude: Floats
    brightness: Floats
    area_arcmin2: Floats
    core_axis_share: Floats
    core_light_share: Floats
    target_passed: Floats

    @property
    def sky_passed(self) -> Floats:
        return np.asarray(_SKY_PASSED[self.lens.filter_code])

    def core(self, rows: NDArray[np.intp]) -> _Scene:
        """Give the bright inner parts."""
        area_share = self.core_axis_share[rows] ** 2
        brighter_mag = 2.5 * np.log10(self.core_light_share[rows] / area_share)
        return replace(
            self,
            lens=self.lens.of_rows(rows),
            sky_cd_m2=self.sky_cd_m2[rows],
            brightness=self.brightness[rows] - brighter_mag,
            area_arcmin2=self.area_arcmin2[rows] * area_share,
            target_passed=self.target_passed[rows],
        )


def _scene(subjects: Subjects, moment: Moment, lens: Lens, rows: NDArray[np.intp]) -> _Scene:
    own_lens = lens.of_rows(rows)
    spread = subjects.surface_brightness_mag_arcsec2
    core = np.full((len(rows), 2), np.nan)
    for kind, shares in CORES.items():
        core[subjects.kinds[rows] == str(kind)] = shares
    large = subjects.major_arcmin[rows] > LARGE_GALAXY_ARCMIN
    core[large & (subjects.kinds[rows] == str(Kind.GALAXY))] = LARGE_GALAXY_CORE
    return _Scene(
        lens=own_lens,
        sky_cd_m2=moment.sky_cd_m2[rows],
        magnitude=subjects.magnitude[rows, None] + moment.loss_mag[rows],
        brightness=spread[rows, None] + moment.loss_mag[rows],
        area_arcmin2=subjects.area_arcmin2[rows, None],
        core_axis_share=core[:, :1],
        core_light_share=core[:, 1:],
        target_passed=_TARGET_PASSED[subjects.light_code[rows, None], own_lens.filter_code],
    )


def _surface(scene: _Scene) -> Floats:
    """Take the whole glow or, where there is one, its bright inner part."""
    margin = _glow(scene)
    rows = np.flatnonzero(~np.isnan(scene.core_axis_share[:, 0]))
    if rows.size:
        margin[rows] = np.fmax(margin[rows], _glow(scene.core(rows)))
    return margin


def _stars(scene: _Scene) -> Floats:
    member = star_margin_dex(
        magnitude=scene.magnitude + BRIGHTEST_MEMBER_MAG, limit_mag=_stellar_limit(scene)
    )
    return np.asarray(np.fmax(_glow(scene), member))


def _point(scene: _Scene) -> Floats:
    return np.asarray(star_margin_dex(magnitude=scene.magnitude, limit_mag=_stellar_limit(scene)))


def _glow(scene: _Scene) -> Floats:
    return np.asarray(
        extended_margin_dex(
            surface_brightness_mag_arcsec2=scene.brightness,
            area_arcmin2=scene.area_arcmin2,
            sky_cd_m2=scene.sky_cd_m2,
            magnification=scene.lens.magnification,
            light_gain=scene.lens.light_gain,
            target_passed=scene.target_passed,
            sky_passed=scene.sky_passed,
        )
    )


def _stellar_limit(scene: _Scene) -> Floats:
    return np.asarray(
        stellar_limit_mag(
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
