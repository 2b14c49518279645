"""How bright the sky is behind a target: its own glow, moonlight and twilight together."""

from __future__ import annotations

from planner.formulas.moonlight import moonlight_cd_m2, scattering_air_mass
from planner.formulas.photometry import Floats, light_ratio, luminance_cd_m2
from planner.formulas.twilight import twilight_cd_m2


def glow_over_zenith(*, altitude_deg: Floats, extinction_mag: Floats) -> Floats:
    """Give how much brighter a moonless sky is than its zenith.

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
    zenith_mag_arcsec2: Floats,
    extinction_mag: Floats,
    altitude_deg: Floats,
    sun_altitude_deg: Floats,
    sun_separation_deg: Floats,
    moon_altitude_deg: Floats,
    moon_separation_deg: Floats,
    moon_phase_angle_deg: Floats,
) -> Floats:
    """Give the luminance of the sky behind a target, so that dusk, Moon and altitude act smoothly.

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
