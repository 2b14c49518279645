"""Under what sky one looks, and what the light passes on its way to the eye."""

from __future__ import annotations

from dataclasses import field, replace

import numpy as np
from numpy.typing import NDArray

from planner.config.conditions import Conditions
from planner.formulas.extinction import extinction_loss_mag
from planner.formulas.filters import Spectrum, sky_passed, target_passed
from planner.formulas.sky_brightness import sky_luminance_cd_m2
from planner.formulas.visibility_limit import ONE_EYE, light_gain, stellar_limit_mag
from planner.matcher.target_classes import SPECTRA
from planner.matcher.train_table import FILTER_CODES, TrainTable
from planner.model.kit import Telescope
from targets.arrays import Floats
from targets.frozen import frozen

# Shares of light by filter code, and for targets by what they shine with.
SKY_PASSED = np.array([sky_passed(kind) for kind in FILTER_CODES])
TARGET_PASSED = np.array([[target_passed(f, light) for f in FILTER_CODES] for light in SPECTRA])


# What two eyes see deeper than one at the same brightness to each [mag].
TWO_EYES_MAG = 2.5 * np.log10(ONE_EYE)


@frozen
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
    eye_mag : float
        How much deeper than an ordinary observer's the eye sees [mag].
    glow_mag : float
        How much deeper still it sees glows [mag].
    """

    altitude_deg: Floats
    sky_cd_m2: Floats
    loss_mag: Floats
    seeing_step: int
    eye_mag: float = 0.0
    glow_mag: float = 0.0

    def of_rows(self, rows: NDArray[np.intp]) -> Moment:
        """Return the sky behind some of the targets."""
        return replace(
            self,
            altitude_deg=self.altitude_deg[rows],
            sky_cd_m2=self.sky_cd_m2[rows],
            loss_mag=self.loss_mag[rows],
        )


def moment_under(
    conditions: Conditions,
    *,
    altitude_deg: Floats,
    sun_altitude_deg: float | Floats,
    sun_separation_deg: float | Floats,
    moon_altitude_deg: float | Floats,
    moon_separation_deg: float | Floats,
    moon_phase_angle_deg: float | Floats,
) -> Moment:
    """Return the sky behind targets and the air before them.

    Parameters
    ----------
    conditions : Conditions
        The zenith, the air, and the eye.
    altitude_deg : ndarray
        Apparent altitude [deg], (N, 1) or (N, T); the others broadcast with it, and are as in
        `planner.formulas.sky_brightness.sky_luminance_cd_m2`.
    """
    sky = sky_luminance_cd_m2(
        zenith_mag_arcsec2=conditions.sky_mag_arcsec2,
        extinction_mag=conditions.extinction_mag,
        altitude_deg=altitude_deg,
        sun_altitude_deg=sun_altitude_deg,
        sun_separation_deg=sun_separation_deg,
        moon_altitude_deg=moon_altitude_deg,
        moon_separation_deg=moon_separation_deg,
        moon_phase_angle_deg=moon_phase_angle_deg,
    )
    loss = extinction_loss_mag(altitude_deg=altitude_deg, extinction_mag=conditions.extinction_mag)
    return Moment(
        altitude_deg,
        np.asarray(sky),
        np.asarray(loss),
        conditions.seeing_step,
        conditions.eye_mag,
        conditions.glow_mag,
    )


@frozen
class Lens:
    """What the light passes.

    Arrays of shape (1, K) for K trains that serve every target, or (N, 1) for one train each;
    ``eyes_mag``, what two eyes see deeper than one [mag], may be (1, 1) where none has two.
    """

    magnification: Floats
    light_gain: Floats
    filter_code: NDArray[np.intp]
    aperture_mm: float
    eyes_mag: Floats = field(default_factory=lambda: np.zeros((1, 1)))

    def of_rows(self, rows: NDArray[np.intp]) -> Lens:
        """Return what serves these targets."""
        if len(self.magnification) == 1:
            return self
        return Lens(
            self.magnification[rows],
            self.light_gain[rows],
            self.filter_code[rows],
            self.aperture_mm,
            self.eyes_mag[rows] if len(self.eyes_mag) > 1 else self.eyes_mag,
        )

    def of_columns(self, columns: NDArray[np.intp]) -> Lens:
        """Return some of the trains."""
        return replace(
            self,
            magnification=self.magnification[:, columns],
            light_gain=self.light_gain[:, columns],
            filter_code=self.filter_code[:, columns],
            eyes_mag=self.eyes_mag[:, columns] if self.eyes_mag.size > 1 else self.eyes_mag,
        )

    def for_each(self, column: NDArray[np.intp]) -> Lens:
        """Take one of K trains for each target, by its column; shape (N, 1)."""
        return Lens(
            self.magnification[0, column, None],
            self.light_gain[0, column, None],
            self.filter_code[0, column, None],
            self.aperture_mm,
            self.eyes_mag[0, column, None] if self.eyes_mag.size > 1 else self.eyes_mag,
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
        TWO_EYES_MAG * (table.eyes[None, :] - 1.0) if (table.eyes > 1).any() else np.zeros((1, 1)),
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


def passed_shares(
    lens: Lens, spectrum_code: int = SPECTRA.index(Spectrum.CONTINUUM)
) -> tuple[Floats, Floats]:
    """Return the shares of a light, an index of ``SPECTRA``, and of the sky's that filters pass.

    Both have the shape of the lens.
    """
    return TARGET_PASSED[spectrum_code, lens.filter_code], SKY_PASSED[lens.filter_code]


def star_limits_mag(lens: Lens, moment: Moment) -> Floats:
    """Return the faintest star of the catalogue that shows [mag], of the shape both broadcast to.

    That is where N targets stand, each at one moment, in K trains: (N, K).
    """
    target_passed, sky_passed = passed_shares(lens)
    limit_mag = stellar_limit_mag(
        sky_cd_m2=moment.sky_cd_m2,
        magnification=lens.magnification,
        light_gain=lens.light_gain,
        target_passed=target_passed,
        sky_passed=sky_passed,
    )
    return np.asarray(limit_mag + lens.eyes_mag + moment.eye_mag - moment.loss_mag)
