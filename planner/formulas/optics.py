"""Geometry of telescope and eyepiece: power, exit pupil, field.

Every function takes floats or arrays that broadcast together and gives the same back.
"""

from __future__ import annotations

from types import MappingProxyType

import numpy as np

from planner.model.kit import Barrel
from targets.arrays import Numbers

# Mean sidereal day in clock seconds: one turn against the equinox, which precession moves. Against
# the stars it is 8 ms longer, which no eyepiece shows.
SIDEREAL_DAY_S = 86164.0905

# Common practice: what the wall and the filter thread leave clear of each barrel.
LARGEST_FIELD_STOP_MM = MappingProxyType(
    {Barrel.SMALL: 21.5, Barrel.ONE_AND_A_QUARTER: 27.0, Barrel.TWO: 46.0, Barrel.THREE: 70.0}
)


def require_positive(**quantities: Numbers) -> None:
    """Raise when a quantity that must be above zero is not, or is NaN."""
    for name, value in quantities.items():
        positive = value > 0.0 if isinstance(value, float) else np.all(np.asarray(value) > 0.0)
        if not positive:
            raise ValueError(f"{name} must be above zero, found {value}")


def magnification(
    telescope_focal_length_mm: Numbers,
    eyepiece_focal_length_mm: Numbers,
    *,
    amplification: Numbers = 1.0,
) -> Numbers:
    """Return the power of a telescope with an eyepiece.

    Parameters
    ----------
    telescope_focal_length_mm, eyepiece_focal_length_mm : float or ndarray
        Focal lengths [mm].
    amplification : float or ndarray
        Factor of a Barlow (above 1), reducer (below 1) or corrector.

    Returns
    -------
    float or ndarray
        Angular magnification.

    Raises
    ------
    ValueError
        If a quantity is not above zero.
    """
    require_positive(
        telescope_focal_length_mm=telescope_focal_length_mm,
        eyepiece_focal_length_mm=eyepiece_focal_length_mm,
        amplification=amplification,
    )
    return amplification * telescope_focal_length_mm / eyepiece_focal_length_mm


def exit_pupil_mm(aperture_mm: Numbers, magnification: Numbers) -> Numbers:
    """Return the diameter of the beam that leaves the eyepiece [mm].

    Parameters
    ----------
    aperture_mm : float or ndarray
        Of the telescope [mm].
    magnification : float or ndarray
        Power.

    Raises
    ------
    ValueError
        If a quantity is not above zero.
    """
    require_positive(aperture_mm=aperture_mm, magnification=magnification)
    return aperture_mm / magnification


def effective_aperture_mm(
    aperture_mm: Numbers, magnification: Numbers, *, pupil_mm: Numbers
) -> Numbers:
    """Return the aperture that still lights the eye: an exit pupil wider than the eye's is cut.

    Parameters
    ----------
    aperture_mm : float or ndarray
        Of the telescope [mm].
    magnification : float or ndarray
        Power.
    pupil_mm : float or ndarray
        Diameter of the eye's pupil [mm].

    Returns
    -------
    float or ndarray
        Working aperture [mm], never above ``aperture_mm``.

    Raises
    ------
    ValueError
        If a quantity is not above zero.
    """
    require_positive(aperture_mm=aperture_mm, magnification=magnification, pupil_mm=pupil_mm)
    return np.minimum(aperture_mm, magnification * pupil_mm, dtype=float)


def longest_useful_focal_length_mm(
    focal_ratio: Numbers, pupil_mm: Numbers, *, amplification: Numbers = 1.0
) -> Numbers:
    """Return the longest eyepiece that wastes no light [mm].

    Parameters
    ----------
    focal_ratio : float or ndarray
        Of the telescope alone.
    pupil_mm : float or ndarray
        Diameter of the eye's pupil [mm].
    amplification : float or ndarray
        Factor of what stands between telescope and eyepiece.

    Raises
    ------
    ValueError
        If a quantity is not above zero.
    """
    require_positive(focal_ratio=focal_ratio, pupil_mm=pupil_mm, amplification=amplification)
    return focal_ratio * amplification * pupil_mm


def true_field_from_stop_deg(
    field_stop_mm: Numbers, telescope_focal_length_mm: Numbers, *, amplification: Numbers = 1.0
) -> Numbers:
    """Return the field on the sky that a field stop lets through.

    Parameters
    ----------
    field_stop_mm : float or ndarray
        Clear diameter of the stop [mm].
    telescope_focal_length_mm : float or ndarray
        Of the telescope alone [mm].
    amplification : float or ndarray
        Factor of what stands ahead of the stop.

    Returns
    -------
    float or ndarray
        Diameter of the field [deg].

    Raises
    ------
    ValueError
        If a quantity is not above zero.
    """
    require_positive(
        field_stop_mm=field_stop_mm,
        telescope_focal_length_mm=telescope_focal_length_mm,
        amplification=amplification,
    )
    return 2.0 * np.degrees(
        np.arctan(field_stop_mm / (2.0 * amplification * telescope_focal_length_mm))
    )


def field_stop_from_apparent_mm(focal_length_mm: Numbers, apparent_field_deg: Numbers) -> Numbers:
    """Return the field stop [mm] that focal length [mm] and apparent field [deg] imply.

    Notes
    -----
    The arc law, exact for an eyepiece that magnifies every part of the field alike. Wide
    eyepieces have stops about 5 percent below it; the tangent law is far above it beyond 60 deg.

    Raises
    ------
    ValueError
        If a quantity is not above zero.
    """
    require_positive(focal_length_mm=focal_length_mm, apparent_field_deg=apparent_field_deg)
    return focal_length_mm * np.radians(apparent_field_deg)


def transit_time_s(true_field_deg: Numbers, declination_deg: Numbers) -> Numbers:
    """Return the time in which a star drifts through the middle of a field that stands still.

    Parameters
    ----------
    true_field_deg : float or ndarray
        Diameter of the field [deg].
    declination_deg : float or ndarray
        Of the star [deg].

    Returns
    -------
    float or ndarray
        Clock time [s]; infinite where the star circles the pole inside the field.

    Raises
    ------
    ValueError
        If the field is not above zero.

    Notes
    -----
    From the edge to the middle of the field: ``sin(field / 4) = cos(dec) sin(turn / 4)``. Away
    from the poles this is the usual ``field = 15.041 arcsec/s * time * cos(dec)``.
    """
    require_positive(true_field_deg=true_field_deg)
    with np.errstate(divide="ignore"):
        sine = np.sin(np.radians(true_field_deg) / 4.0) / np.cos(np.radians(declination_deg))
    turn_rad = 4.0 * np.arcsin(np.minimum(sine, 1.0))
    seconds: Numbers = np.where(sine > 1.0, np.inf, turn_rad / (2.0 * np.pi) * SIDEREAL_DAY_S)[()]
    return seconds
