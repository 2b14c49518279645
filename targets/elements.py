"""Orbits around the Sun: what the position and brightness of a comet or minor planet need."""

from __future__ import annotations

from datetime import UTC, datetime

from targets.frozen import frozen

J2000_JD = 2_451_545.0
_J2000_UTC = datetime(2000, 1, 1, 11, 58, 55, 816_000, tzinfo=UTC)


@frozen
class Elements:
    """Osculating elements, ecliptic and equinox J2000.

    Parameters
    ----------
    perihelion_jd : float
        Passage of the perihelion, Julian date of Terrestrial Time [d].
    perihelion_au : float
        Distance from the Sun there [au].
    eccentricity : float
        From 0 up; 1 for a parabola.
    argument_deg, node_deg, inclination_deg : float
        Argument of perihelion, longitude of the ascending node, inclination [deg].
    epoch_jd : float or None
        When the elements hold exactly, Julian date of Terrestrial Time [d]; None if unknown.
    absolute_mag : float or None
        Magnitude at 1 au from Earth and Sun: H of a minor planet, g of a comet.
    slope : float or None
        G of a minor planet; of a comet k, which goes with 2.5 log of the Sun's distance.
    """

    perihelion_jd: float
    perihelion_au: float
    eccentricity: float
    argument_deg: float
    node_deg: float
    inclination_deg: float
    epoch_jd: float | None = None
    absolute_mag: float | None = None
    slope: float | None = None


def julian_date(instant: datetime) -> float:
    """Return the Julian date of an aware instant [d], within 0.1 s of Terrestrial Time since 2017.

    Close enough to tell the age of elements; positions get their time from the ephemeris.
    """
    return J2000_JD + (instant - _J2000_UTC).total_seconds() / 86_400.0 + 5.0 / 86_400.0
