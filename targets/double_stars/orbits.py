"""Where a companion stands on its orbit: Kepler's equation and the elements of a visual pair."""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from targets.frozen import frozen

Floats: TypeAlias = float | NDArray[np.float64]

# Newton's method doubles the digits at each step; even an eccentricity of 0.99 needs fewer steps.
MOST_STEPS = 50
ENOUGH_RAD = 1e-13
# A start from which it converges for every eccentricity below 1 (Danby 1987).
DANBY_FACTOR = 0.85


@frozen
class Orbit:
    """The seven elements of a visual pair's apparent orbit.

    Parameters
    ----------
    period_yr : float
        Time of revolution [yr].
    periastron_yr : float
        A time of closest approach in space [year with its fraction].
    eccentricity : float
        0 <= eccentricity < 1.
    semi_major_arcsec : float
        Semi-major axis [arcsec].
    inclination_deg : float
        Of the orbit against the plane of the sky [deg]; above 90 the angle falls with time.
    node_deg : float
        Position angle of the line of nodes [deg], J2000.
    argument_deg : float
        From the node to periastron, in the plane of the orbit [deg].

    Raises
    ------
    ValueError
        When it is not a closed orbit.
    """

    period_yr: float
    periastron_yr: float
    eccentricity: float
    semi_major_arcsec: float
    inclination_deg: float
    node_deg: float
    argument_deg: float

    def __post_init__(self) -> None:
        """Refuse what is not a closed orbit."""
        if not (self.period_yr > 0.0 and self.semi_major_arcsec > 0.0):
            raise ValueError("period and semi-major axis of an orbit must be above zero")
        if not 0.0 <= self.eccentricity < 1.0:
            raise ValueError(f"eccentricity {self.eccentricity:g} is not in 0 <= e < 1")


def eccentric_anomaly_rad(mean_anomaly_rad: Floats, eccentricity: Floats) -> Floats:
    """Solve Kepler's equation, M = E - e sin E, for E.

    Parameters
    ----------
    mean_anomaly_rad : float or ndarray
        M [rad].
    eccentricity : float or ndarray
        e, 0 <= e < 1.

    Returns
    -------
    float or ndarray
        E [rad], on the same revolution as M.

    References
    ----------
    Danby, J. M. A., 1987, "The solution of Kepler's equation, III", Celestial Mechanics 40, 303
    (the start).
    """
    mean: Floats = np.remainder(mean_anomaly_rad + np.pi, 2.0 * np.pi) - np.pi
    anomaly: Floats = mean + DANBY_FACTOR * eccentricity * np.sign(mean)
    for _ in range(MOST_STEPS):
        excess = anomaly - eccentricity * np.sin(anomaly) - mean
        step = excess / (1.0 - eccentricity * np.cos(anomaly))
        anomaly = anomaly - step
        if np.all(np.abs(step) < ENOUGH_RAD):
            break
    whole_turns: Floats = mean_anomaly_rad - mean
    return anomaly + whole_turns


def thiele_innes_arcsec(orbit: Orbit) -> tuple[float, float, float, float]:
    """Return the constants A, B, F, G [arcsec] that lay the orbit's plane onto the sky.

    References
    ----------
    Innes, R. T. A., and van den Bos, W. H., 1926, Union Observatory Circular 68 (from memory);
    Aitken, R. G., 1935, "The Binary Stars", ch. IV.
    """
    node, argument = np.radians(orbit.node_deg), np.radians(orbit.argument_deg)
    tilt, a = np.cos(np.radians(orbit.inclination_deg)), orbit.semi_major_arcsec
    return (
        float(a * (np.cos(argument) * np.cos(node) - np.sin(argument) * np.sin(node) * tilt)),
        float(a * (np.cos(argument) * np.sin(node) + np.sin(argument) * np.cos(node) * tilt)),
        float(a * (-np.sin(argument) * np.cos(node) - np.cos(argument) * np.sin(node) * tilt)),
        float(a * (-np.sin(argument) * np.sin(node) + np.cos(argument) * np.cos(node) * tilt)),
    )


def relative_place(orbit: Orbit, epoch_yr: Floats) -> tuple[Floats, Floats]:
    """Return where the companion stands from the primary.

    Parameters
    ----------
    epoch_yr : float or ndarray
        When [year with its fraction; Julian or Besselian makes no difference here].

    Returns
    -------
    separation_arcsec, position_angle_deg : float or ndarray
        Distance [arcsec], and angle from north through east [deg], 0 <= angle < 360, J2000.

    References
    ----------
    Meeus, J., 1998, "Astronomical Algorithms", 2nd ed., ch. 57.
    """
    mean = 2.0 * np.pi * (epoch_yr - orbit.periastron_yr) / orbit.period_yr
    anomaly = eccentric_anomaly_rad(mean, orbit.eccentricity)
    along: Floats = np.cos(anomaly) - orbit.eccentricity
    across: Floats = np.sqrt(1.0 - orbit.eccentricity**2) * np.sin(anomaly)
    a, b, f, g = thiele_innes_arcsec(orbit)
    north, east = a * along + f * across, b * along + g * across
    angle_deg = np.degrees(np.arctan2(east, north)) % 360.0
    # The remainder of an angle just below zero rounds to a full turn.
    return np.hypot(north, east), np.where(angle_deg < 360.0, angle_deg, 0.0)[()]
