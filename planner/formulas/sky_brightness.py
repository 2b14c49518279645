"""How bright the sky is behind a target: its own glow, moonlight and twilight together."""

from __future__ import annotations

import numpy as np

from planner.formulas.extinction import air_mass
from planner.formulas.moonlight import moonlight_cd_m2, scattering_air_mass
from planner.formulas.photometry import CD_M2_PER_NANOLAMBERT, light_ratio, luminance_cd_m2
from targets.arrays import Numbers


def glow_over_zenith(*, altitude_deg: Numbers, extinction_mag: Numbers) -> Numbers:
    """Return how much brighter a moonless sky is than its zenith.

    Parameters
    ----------
    altitude_deg : float or ndarray
        Apparent altitude [deg].
    extinction_mag : float or ndarray
        V extinction per air mass [mag].

    Returns
    -------
    float or ndarray
        Luminance over the zenith's, 1 overhead.

    Notes
    -----
    All of the light is taken to come from a layer of air and to grow with the path through it, as
    Krisciunas & Schaefer do; at most sites artificial light does the same. Patat finds 0.6 of it
    for a site without any, which is 0.1 mag darker at an altitude of 45 deg.

    References
    ----------
    Krisciunas & Schaefer 1991, PASP 103, 1033, eq. 2 and 3, doi:10.1086/132921.
    Patat 2003, "UBVRI night sky brightness during sunspot maximum at ESO-Paranal",
    A&A 400, 1183, appendix C, doi:10.1051/0004-6361:20030030.
    """
    layer = scattering_air_mass(altitude_deg)
    absorbed = light_ratio(extinction_mag * (layer - 1.0))
    return absorbed * layer


def sky_luminance_cd_m2(
    *,
    zenith_mag_arcsec2: Numbers,
    extinction_mag: Numbers,
    altitude_deg: Numbers,
    sun_altitude_deg: Numbers,
    sun_separation_deg: Numbers,
    moon_altitude_deg: Numbers,
    moon_separation_deg: Numbers,
    moon_phase_angle_deg: Numbers,
) -> Numbers:
    """The luminance of the sky behind a target, so that dusk, Moon and altitude act smoothly.

    Parameters
    ----------
    zenith_mag_arcsec2 : float or ndarray
        Moonless zenith in full darkness [V mag/arcsec2].
    extinction_mag : float or ndarray
        V extinction per air mass [mag].
    altitude_deg : float or ndarray
        Apparent altitude of the target [deg]; below the horizon counts as the horizon.
    sun_altitude_deg, moon_altitude_deg : float or ndarray
        Of their centres [deg].
    sun_separation_deg, moon_separation_deg : float or ndarray
        From the target [deg].
    moon_phase_angle_deg : float or ndarray
        0 at full Moon, 180 at new [deg].

    Returns
    -------
    float or ndarray
        Luminance [cd/m2]; the arguments broadcast.

    See Also
    --------
    glow_over_zenith, twilight_cd_m2, planner.formulas.moonlight.moonlight_cd_m2
    """
    glow = glow_over_zenith(altitude_deg=altitude_deg, extinction_mag=extinction_mag)
    night = luminance_cd_m2(zenith_mag_arcsec2) * glow
    moon = moonlight_cd_m2(
        altitude_deg=altitude_deg,
        extinction_mag=extinction_mag,
        moon_altitude_deg=moon_altitude_deg,
        moon_separation_deg=moon_separation_deg,
        moon_phase_angle_deg=moon_phase_angle_deg,
    )
    twilight = twilight_cd_m2(
        altitude_deg=altitude_deg,
        extinction_mag=extinction_mag,
        sun_altitude_deg=sun_altitude_deg,
        sun_separation_deg=sun_separation_deg,
    )
    return night + moon + twilight


# Schaefer 1993.
SUN_MAG = -26.74
ZERO_POINT_MAG = -11.05
TWILIGHT_MAG = 32.5
# The unit of the formula, erg/s/cm2/um/arcsec2, in nanolamberts: from memory. Elsewhere 1.11e-15 is
# remembered, which would make every twilight 0.09 mag fainter.
NANOLAMBERT_PER_FLUX = 1.0 / 1.02e-15
# The slope toward the horizon runs as 1/extinction; clear mountain air is where it was fitted.
LEAST_EXTINCTION_MAG = 0.1
# Nearer to the Sun than this there is no twilight, only the Sun.
LEAST_SEPARATION_DEG = 5.0
# A clear blue sky, far from the Sun: 2000 to 8000 cd/m2 (common practice).
DAYLIGHT_CD_M2 = 5000.0


def twilight_cd_m2(
    *,
    altitude_deg: Numbers,
    extinction_mag: Numbers,
    sun_altitude_deg: Numbers,
    sun_separation_deg: Numbers,
) -> Numbers:
    """Return the luminance that the Sun adds to the sky.

    Parameters
    ----------
    altitude_deg : float or ndarray
        Of the place in the sky [deg].
    extinction_mag : float or ndarray
        V extinction per air mass [mag]; below 0.1 the slope toward the horizon is that of 0.1.
    sun_altitude_deg : float or ndarray
        Of the Sun's centre, without refraction [deg].
    sun_separation_deg : float or ndarray
        Between the place and the Sun [deg].

    Returns
    -------
    float or ndarray
        Luminance [cd/m2], without the night sky. It rises with the Sun everywhere.

    Notes
    -----
    The formula is meant for a Sun 6 to 18 deg below the horizon. Lower it goes on falling by a
    magnitude a degree, below what a night sky lets one see. Higher it goes on rising and bends
    smoothly into a daylight value: good enough to say "too bright", not a model of the day.

    References
    ----------
    Schaefer 1993, "Astronomy and the limits of vision", Vistas in Astronomy 36, 311,
    doi:10.1016/0083-6656(93)90113-X.
    """
    above_deg = np.maximum(altitude_deg, 0.0)
    slope_mag = (90.0 - above_deg) / (360.0 * np.maximum(extinction_mag, LEAST_EXTINCTION_MAG))
    magnitude = SUN_MAG - ZERO_POINT_MAG + TWILIGHT_MAG - sun_altitude_deg - slope_mag
    toward_sun = 100.0 / np.maximum(sun_separation_deg, LEAST_SEPARATION_DEG)
    scattered = 1.0 - light_ratio(extinction_mag * air_mass(above_deg))
    flux = light_ratio(magnitude) * toward_sun * scattered
    twilight = flux * (NANOLAMBERT_PER_FLUX * CD_M2_PER_NANOLAMBERT)
    return twilight / (1.0 + twilight / DAYLIGHT_CD_M2)
