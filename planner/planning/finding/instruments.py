"""What one finds with: the naked eye, a finder, and the eyepiece with the widest field."""

from __future__ import annotations

import numpy as np

from planner.formulas.photometry import surface_brightness_mag_arcsec2
from planner.formulas.visibility_limit import light_gain, naked_eye_limit_mag, stellar_limit_mag
from planner.matcher.lens import Lens
from planner.model.kit import Finder, Orientation, train_words
from planner.planning.circumstances import Circumstances
from targets.arrays import Flags, Floats, Numbers
from targets.frozen import frozen

# Glass of a simple finder passes this much (our assumption: as a telescope's usual 0.8).
FINDER_TRANSMISSION = 0.8
# Schaefer 1990, his scotopic threshold written in magnitudes for a zenith without extinction.
BLACK_SKY_MAG, KNEE_MAG = 7.93, 4.316
# Half the sky above the horizon, in one look.
EYE_FIELD_DEG = 180.0
# A move of two fields brings what stood beyond the edge to the middle and over it (our choice).
FIELDS_OF_EYEPIECE = 2.0


@frozen
class Instrument:
    """One of them.

    Parameters
    ----------
    name : str
        As in the configuration, or ``naked eye``.
    magnification, light_gain : float
        Power, and brightness of a surface over that with the naked eye.
    field_deg : float
        Diameter of the field [deg].
    longest_deg : float
        The longest move that it guides [deg].
    orientation : Orientation
        How it turns what it shows.
    """

    name: str
    magnification: float
    light_gain: float
    field_deg: float
    longest_deg: float
    orientation: Orientation = Orientation.UPRIGHT

    def limit_mag(self, sky_cd_m2: Floats) -> Floats:
        """Return the faintest star under skies [cd/m2], before the air's loss [mag]."""
        if self.magnification > 1.0:
            limit_mag = stellar_limit_mag(
                sky_cd_m2=sky_cd_m2, magnification=self.magnification, light_gain=self.light_gain
            )
            return np.asarray(limit_mag)
        sky_mag_arcsec2 = surface_brightness_mag_arcsec2(sky_cd_m2)
        adapted_mag = naked_eye_limit_mag(sky_mag_arcsec2)
        dusk_mag = dusk_limit_mag(sky_mag_arcsec2)
        return np.asarray(np.minimum(adapted_mag, (adapted_mag + dusk_mag) / 2.0))


def dusk_limit_mag(sky_mag_arcsec2: Numbers) -> Floats:
    """Return the faintest star under skies [mag/arcsec2] to an eye that is made for the dark [mag].

    Notes
    -----
    In twilight this has too few stars, and the threshold of an eye that is used to the light too
    many: with their middle the first magnitude shows with the Sun at -6 deg, the second at -7 or
    -8, the third at -9, as is common practice. From a sky of 20 mag/arcsec2 on, where no eye lags
    behind, the threshold alone counts, as in the head of a plan.

    References
    ----------
    Schaefer 1990, "Telescopic limiting magnitudes", PASP 102, 212.
    """
    knee = np.power(10.0, KNEE_MAG - sky_mag_arcsec2 / 5.0)
    return np.asarray(BLACK_SKY_MAG - 5.0 * np.log10(knee + 1.0))


@frozen
class Instruments:
    """The eye, the finder for moves, and the low eyepiece."""

    eye: Instrument
    finder: Instrument
    eyepiece: Instrument

    @property
    def guides(self) -> tuple[Instrument, Instrument]:
        """Those through which one moves from star to star."""
        return self.finder, self.eyepiece

    def lens(self, aperture_mm: float) -> Lens:
        """Return all three as the matcher's trains, in this order, without a filter."""
        every = (self.eye, self.finder, self.eyepiece)
        return Lens(
            np.array([[one.magnification for one in every]]),
            np.array([[one.light_gain for one in every]]),
            np.zeros((1, len(every)), dtype=np.intp),
            aperture_mm,
        )


def instruments_of(circumstances: Circumstances, free: Flags | None = None) -> Instruments | None:
    """Return what there is to find with; None where no eyepiece fits the telescope.

    ``free`` tells which of K trains can be had just then, (K,); all of them when not given.
    """
    table, pupil_mm = circumstances.table, circumstances.conditions.pupil_mm
    if not len(table):
        return None
    plain = np.flatnonzero(table.filter_code == 0)
    if free is not None:
        plain = plain[free[plain]]
    column = int(plain[np.argmax(table.true_field_arcmin[plain])])
    telescope, train = circumstances.telescope, table.trains[column]
    field_deg = train.true_field_arcmin / 60.0
    gain = light_gain(
        exit_pupil_mm=train.exit_pupil_mm,
        pupil_mm=pupil_mm,
        transmission=float(table.transmission[column]),
        obstruction_ratio=telescope.obstruction_mm / telescope.aperture_mm,
    )
    return Instruments(
        eye=Instrument("naked eye", 1.0, 1.0, EYE_FIELD_DEG, 0.0),
        finder=_finder(
            max(circumstances.finders, key=lambda one: one.aperture_mm or 0.0), pupil_mm
        ),
        eyepiece=Instrument(
            name=train_words(train),
            magnification=train.magnification,
            light_gain=float(gain),
            field_deg=field_deg,
            longest_deg=FIELDS_OF_EYEPIECE * field_deg,
            orientation=telescope.orientation,
        ),
    )


def _finder(finder: Finder, pupil_mm: float) -> Instrument:
    gain = 1.0
    if finder.aperture_mm is not None:
        gain = float(
            light_gain(
                exit_pupil_mm=finder.aperture_mm / finder.magnification,
                pupil_mm=pupil_mm,
                transmission=FINDER_TRANSMISSION,
            )
        )
    return Instrument(
        name=finder.name,
        magnification=finder.magnification,
        light_gain=gain,
        field_deg=finder.field_deg,
        longest_deg=finder.field_deg,
        orientation=finder.orientation,
    )
