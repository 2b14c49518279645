"""Tonight's sky and eye: the site's usual values, with what the observer finds instead."""

from __future__ import annotations

import math

from planner.formulas.extinction import extinction_mag_at
from planner.formulas.visibility_limit import EXPERIENCE_MAG, sky_mag_from_naked_eye_limit
from planner.model.antoniadi import ANTONIADI, antoniadi_step
from planner.model.errors import InputError
from planner.model.kit import Observer
from planner.model.site import Site
from targets.frozen import frozen

SKY_MAG_RANGE = (16.0, 22.5)
EXTINCTION_MAG_RANGE = (0.0, 1.5)
PUPIL_MM_RANGE = (2.0, 9.0)
# Haze on top of the site's extinction by transparency, 5 clear .. 1 thick haze: our choice.
HAZE_MAG = {5: 0.0, 4: 0.05, 3: 0.15, 2: 0.35, 1: 0.80}


@frozen
class Conditions:
    """What the night is like.

    Parameters
    ----------
    sky_mag_arcsec2 : float
        Moonless zenith in full darkness [V mag/arcsec2].
    extinction_mag : float
        Per air mass [mag], haze included.
    seeing : str
        Antoniadi scale, ``"I"`` (best) .. ``"V"``.
    pupil_mm : float
        The observer's dark-adapted pupil [mm].
    eye_mag : float
        How much deeper than an ordinary observer's the eye sees [mag].
    glow_mag : float
        How much deeper still it sees glows [mag].
    """

    sky_mag_arcsec2: float
    extinction_mag: float
    seeing: str
    pupil_mm: float
    eye_mag: float = 0.0
    glow_mag: float = 0.0

    @property
    def seeing_step(self) -> int:
        """Seeing as a number, 1 (best) .. 5."""
        return antoniadi_step(self.seeing)


class ConditionsError(InputError):
    """Some conditions are impossible; ``faults`` holds a sentence for each."""


def conditions_tonight(
    site: Site,
    observer: Observer,
    *,
    sky_mag_arcsec2: float | None = None,
    extinction_mag: float | None = None,
    seeing: str | None = None,
    transparency: int | None = None,
) -> Conditions:
    """Take the site's and the observer's values, changed by what is given.

    Parameters
    ----------
    site : Site
        Where; its extinction, when not stated, follows from the elevation.
    sky_mag_arcsec2 : float, optional
        A reading of the moonless zenith [mag/arcsec2], 16 .. 22.5.
    extinction_mag : float, optional
        Per air mass [mag], 0 .. 1.5.
    seeing : str, optional
        Antoniadi scale, I .. V.
    transparency : int, optional
        1 (thick haze) .. 5 (clear); adds 0.8, 0.35, 0.15, 0.05 or 0 mag of extinction. It does not
        change the sky: haze under lamps brightens it, and only a reading tells by how much.

    Returns
    -------
    Conditions
        Checked values.

    Raises
    ------
    ConditionsError
        With a sentence for every value that cannot be.
    """
    clear_mag = usual_extinction_mag(site) if extinction_mag is None else extinction_mag
    sky = site.sky_mag_arcsec2 if sky_mag_arcsec2 is None else sky_mag_arcsec2
    seeing = site.seeing if seeing is None else seeing
    faults = [
        *_sky_faults(sky),
        *_range_faults("Extinction", clear_mag, EXTINCTION_MAG_RANGE, "mag per air mass"),
        *_seeing_faults(seeing),
        *_transparency_faults(transparency),
    ]
    if faults:
        raise ConditionsError(faults)
    return Conditions(
        sky_mag_arcsec2=sky,
        extinction_mag=clear_mag + HAZE_MAG[5 if transparency is None else transparency],
        seeing=ANTONIADI[antoniadi_step(seeing) - 1],
        pupil_mm=observer.dark_pupil_mm,
        eye_mag=EXPERIENCE_MAG[observer.experience],
    )


def usual_extinction_mag(site: Site) -> float:
    """Return the site's extinction on a clear night [mag per air mass], stated or by elevation."""
    if site.extinction_mag is not None:
        return site.extinction_mag
    return float(extinction_mag_at(site.elevation_m))


def _range_faults(what: str, value: float, allowed: tuple[float, float], unit: str) -> list[str]:
    low, high = allowed
    if math.isfinite(value) and low <= value <= high:
        return []
    return [f"{what} of {value:g} {unit} cannot be; it lies between {low:g} and {high:g} {unit}."]


def _sky_faults(sky_mag_arcsec2: float) -> list[str]:
    """Refuse what no sky is; to who gave the faintest star instead, name the sky behind it."""
    faults = _range_faults("Sky brightness", sky_mag_arcsec2, SKY_MAG_RANGE, "mag/arcsec2")
    behind = sky_mag_from_naked_eye_limit(sky_mag_arcsec2)
    if faults and SKY_MAG_RANGE[0] <= behind <= SKY_MAG_RANGE[1]:
        faults[0] += f" If that is the faintest star seen by eye, the sky is about {behind:.1f}."
    return faults


def _seeing_faults(seeing: str) -> list[str]:
    try:
        antoniadi_step(seeing)
    except ValueError as error:
        return [str(error)]
    return []


def _transparency_faults(transparency: int | None) -> list[str]:
    if transparency is None or transparency in HAZE_MAG:
        return []
    return [f"Transparency {transparency} is not on the scale; use 1 (thick haze) to 5 (clear)."]
