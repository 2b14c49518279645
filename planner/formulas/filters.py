"""What a filter leaves of the sky's light and of the target's, as a dark-adapted eye sees it.

A filter is a band with straight sides; a target is a few spectral lines over some continuum; the
sky is a flat continuum with lines of its own that every one of these bands keeps out. Weighted
with the eye's scotopic sensitivity, that gives two numbers for each pair of filter and light.

References
----------
CIE 1951, scotopic luminous efficiency V'(lambda).
Osterbrock & Ferland 2006, "Astrophysics of Gaseous Nebulae and Active Galactic Nuclei", tables of
line ratios (H gamma 0.47 and H alpha 2.9 of H beta; O III 500.7 over 495.9 is 3): from memory.
"""

from __future__ import annotations

from enum import StrEnum
from functools import cache

import numpy as np
from numpy.typing import NDArray

from planner.model.kinds import EMITS_LINES
from planner.model.kit import FilterKind
from targets.frozen import frozen
from targets.model import Kind


class Spectrum(StrEnum):
    """What a target shines with."""

    OXYGEN = "O III lines"  # planetaries, supernova remnants, most emission nebulae
    HYDROGEN = "H-beta line"  # the few emission nebulae without O III
    CONTINUUM = "continuum"  # stars, and whatever shines by them


@frozen
class Band:
    """A pass band [nm] and the share of light that it lets through."""

    blue_nm: float
    red_nm: float
    transmission: float


# Widths and transmissions of common filters (common practice).
BANDS = {
    FilterKind.BROADBAND: Band(445.0, 535.0, 0.95),
    FilterKind.NARROWBAND: Band(483.0, 507.0, 0.92),
    FilterKind.OIII: Band(493.0, 504.0, 0.90),
    FilterKind.HBETA: Band(481.5, 490.5, 0.90),
}
# These dim everything alike (common practice for a Moon filter and a middling planetary one).
GREYS = {FilterKind.NEUTRAL: 0.25, FilterKind.COLOUR: 0.4}

# Share of the night sky's scotopic light in lines that the bands keep out: the green airglow line
# and what lamps add (our estimate; with many discharge lamps it is more).
SKY_LINE_SHARE = 0.2
# Share of a nebula's scotopic light in continuum and faint lines (our estimate).
NEBULA_CONTINUUM_SHARE = 0.1
H_GAMMA_NM, H_BETA_NM, O_III_NM = 434.0, 486.1, (495.9, 500.7)
# Line strengths over H beta; the second kind has next to no O III (our estimate of the strengths).
LINES = {
    Spectrum.OXYGEN: {H_GAMMA_NM: 0.47, H_BETA_NM: 1.0, O_III_NM[0]: 0.75, O_III_NM[1]: 2.25},
    Spectrum.HYDROGEN: {H_GAMMA_NM: 0.47, H_BETA_NM: 1.0, O_III_NM[0]: 0.025, O_III_NM[1]: 0.075},
}

# CIE 1951 V'(lambda), every 10 nm from 380 nm.
_WAVELENGTH_NM = np.arange(380.0, 710.0, 10.0)
_SCOTOPIC_TEXT = """
    0.000589 0.002209 0.00929 0.03484 0.0966 0.1998 0.3281 0.455 0.567 0.676 0.793
    0.904 0.982 0.997 0.935 0.811 0.650 0.481 0.3288 0.2076 0.1212 0.0655
    0.03315 0.01593 0.00737 0.003335 0.001497 0.000677 0.0003129 0.000148
    0.0000715 0.00003533 0.0000178
"""
_SCOTOPIC = np.array(_SCOTOPIC_TEXT.split(), dtype=np.float64)

# Emission nebulae that want H beta (common practice): California, the glow behind the Horsehead
# and the Horsehead on it, Flaming Star, Flame, Cocoon, Barnard's Loop.
H_BETA_TARGETS = frozenset({"NGC1499", "IC434", "B33", "IC405", "NGC2024", "IC5146", "Sh2-276"})
# The glow of the Crab is synchrotron light, a continuum; only its filaments shine in lines
# (Osterbrock & Ferland 2006, ch. 12: from memory).
CONTINUUM_TARGETS = frozenset({"NGC1952"})
# Targets that shine unlike others of their kind.
LIGHT_EXCEPTIONS = {
    **dict.fromkeys(sorted(H_BETA_TARGETS), Spectrum.HYDROGEN),
    **dict.fromkeys(sorted(CONTINUUM_TARGETS), Spectrum.CONTINUUM),
}
# Targets that some filter suits, or does not, unlike others of their kind.
FILTER_EXCEPTIONS = (*LIGHT_EXCEPTIONS, "Venus")

# Exit pupils that serve each filter [mm], under a bright sky and under a dark one
# (common practice, from memory).
EXIT_PUPILS_MM = {
    FilterKind.BROADBAND: ((0.5, 2.0), (1.0, 4.0)),
    FilterKind.NARROWBAND: ((1.0, 4.0), (2.0, 6.0)),
    FilterKind.OIII: ((2.0, 5.0), (3.0, 7.0)),
    FilterKind.HBETA: ((3.0, 7.0), (4.0, 7.0)),
}
DARK_SKY_MAG_ARCSEC2 = 20.5  # where the second range takes over: our choice


def scotopic_sensitivity(wavelength_nm: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the dark-adapted eye's sensitivity, 1 at its peak near 507 nm, by wavelength [nm]."""
    return np.asarray(np.interp(wavelength_nm, _WAVELENGTH_NM, _SCOTOPIC))


@cache
def sky_passed(filter_kind: FilterKind | None) -> float:
    """Return the share of the night sky's light that a filter passes; 1 without a filter."""
    if filter_kind in BANDS:
        return (1.0 - SKY_LINE_SHARE) * _continuum_passed(filter_kind)
    return _grey_passed(filter_kind)


@cache
def target_passed(filter_kind: FilterKind | None, light: Spectrum) -> float:
    """Return the share of a target's light that a filter passes.

    Parameters
    ----------
    filter_kind : FilterKind or None
        The filter; None for none.
    light : Spectrum
        What the target shines with.

    Returns
    -------
    float
        Scotopic share, 0 .. 1.
    """
    if filter_kind not in BANDS:
        return _grey_passed(filter_kind)
    continuum = _continuum_passed(filter_kind)
    if light is Spectrum.CONTINUUM:
        return continuum
    lines = (1.0 - NEBULA_CONTINUUM_SHARE) * _lines_passed(filter_kind, light)
    return lines + NEBULA_CONTINUUM_SHARE * continuum


def target_light(kind: Kind, target_id: str) -> Spectrum:
    """Tell what a target shines with, from its kind and its catalogue id (``NGC1499``)."""
    of_kind = Spectrum.OXYGEN if kind in EMITS_LINES else Spectrum.CONTINUUM
    return LIGHT_EXCEPTIONS.get(target_id, of_kind)


def filter_suits(filter_kind: FilterKind, *, kind: Kind, target_id: str) -> bool:
    """Tell whether a filter can help a target (common practice).

    Parameters
    ----------
    target_id : str
        Its catalogue id, such as ``NGC1499``.

    Returns
    -------
    bool
        False for stars, clusters, galaxies, reflection nebulae and the Crab; H beta suits only
        the few that lack O III, and O III does not suit those; neutral suits the Moon and Venus;
        colour the other planets.
    """
    if filter_kind is FilterKind.NEUTRAL:
        return kind is Kind.MOON or target_id == "Venus"
    if filter_kind is FilterKind.COLOUR:
        return kind is Kind.PLANET
    return lifts_light(filter_kind, target_light(kind, target_id))


def lifts_light(filter_kind: FilterKind, light: Spectrum) -> bool:
    """Tell whether a filter is made to lift a light above that of the sky."""
    unsuited = {Spectrum.OXYGEN: FilterKind.HBETA, Spectrum.HYDROGEN: FilterKind.OIII}
    if filter_kind not in BANDS or light is Spectrum.CONTINUUM:
        return False
    return filter_kind is not unsuited[light]


def filter_exit_pupil_range_mm(
    filter_kind: FilterKind, *, sky_mag_arcsec2: float
) -> tuple[float, float] | None:
    """Return the exit pupils [mm] that serve a filter under a sky [mag/arcsec2]; None for any."""
    if filter_kind not in EXIT_PUPILS_MM:
        return None
    bright, dark = EXIT_PUPILS_MM[filter_kind]
    return dark if sky_mag_arcsec2 >= DARK_SKY_MAG_ARCSEC2 else bright


def _grey_passed(filter_kind: FilterKind | None) -> float:
    return 1.0 if filter_kind is None else GREYS[filter_kind]


def _continuum_passed(filter_kind: FilterKind) -> float:
    """Return the share of flat continuum that the eye gets through a band."""
    band = BANDS[filter_kind]
    grid_nm = np.arange(380.0, 700.0, 0.5) + 0.25
    weight = scotopic_sensitivity(grid_nm)
    inside = (grid_nm > band.blue_nm) & (grid_nm < band.red_nm)
    return band.transmission * float(weight[inside].sum() / weight.sum())


def _lines_passed(filter_kind: FilterKind, light: Spectrum) -> float:
    """Return the share of the light in a nebula's lines that the eye gets through a band."""
    band = BANDS[filter_kind]
    lines_nm = np.array(list(LINES[light]))
    seen = np.array(list(LINES[light].values())) * scotopic_sensitivity(lines_nm)
    inside = (lines_nm > band.blue_nm) & (lines_nm < band.red_nm)
    return band.transmission * float(seen[inside].sum() / seen.sum())
