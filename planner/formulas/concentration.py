"""Inner parts that show where the mean over the whole does not: globulars and galaxies.

A catalogue's size and magnitude reach far out and understate a bright core. How concentrated a
target is follows well enough from its mean surface brightness: the fainter the mean, the flatter
the target. Typical values, for grading only.

References
----------
Harris 1996 (2010 edition), AJ 112, 1487: half-light radii of globular clusters; M13 1.7', M22
3.4', M71 1.7', NGC 5466 2.3', NGC 5053 2.6' (from memory) against the sizes of the catalogue; core
radius of M13 0.6' at 16.6 mag/arcsec2.
Freeman 1970, ApJ 160, 811: an exponential disc holds 1 - (1 + 3.1 x) exp(-3.1 x) of its light
within the share x of its radius at 25 mag/arcsec2.
Okamura, Kodaira & Watanabe 1984, ApJ 280, 7: concentration and mean surface brightness of
galaxies go together (from memory); the size of the bulges is our estimate.
A'Hearn et al. 1984, AJ 89, 579: light within an aperture on a steady coma goes with its radius.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from targets.arrays import Floats
from targets.model import Kind

# A galaxy that observers rate above the middle owes it to a core brighter than is typical for its
# mean: so much a step [mag], our choice. One below it is faint by its mean already.
CORE_MAG_PER_RATING = 0.5
MIDDLE_RATING = 3.0


@dataclass(frozen=True, slots=True)
class Core:
    """An inner part of some kinds of target.

    Parameters
    ----------
    kinds : tuple of Kind
        Which have it.
    mean_mag_arcsec2 : tuple of float
        Mean surface brightness of a concentrated one and of a flat one [mag/arcsec2].
    axis_share, light_share : tuple of float
        Share of the axes and of the light of the one and of the other; between them they run
        straight.
    """

    kinds: tuple[Kind, ...]
    mean_mag_arcsec2: tuple[float, float]
    axis_share: tuple[float, float]
    light_share: tuple[float, float]

    def shares(self, mean_mag_arcsec2: Floats) -> tuple[Floats, Floats]:
        """Return the share of area and of light for targets of this mean [mag/arcsec2]."""
        axis = np.interp(mean_mag_arcsec2, self.mean_mag_arcsec2, self.axis_share)
        return np.square(axis), np.interp(mean_mag_arcsec2, self.mean_mag_arcsec2, self.light_share)


CORES = (
    # Half of the light; of a globular cluster the core too.
    Core((Kind.GLOBULAR_CLUSTER,), (21.5, 23.0), (1.0 / 6.0, 0.5), (0.5, 0.5)),
    Core((Kind.GLOBULAR_CLUSTER,), (21.5, 23.0), (0.06, 0.25), (0.13, 0.13)),
    Core((Kind.GALAXY, Kind.GALAXY_GROUP), (21.5, 23.0), (0.4, 0.4), (0.5, 0.5)),
    # A bulge, or little more than what a bare disc has there.
    Core((Kind.GALAXY,), (21.5, 23.0), (0.1, 0.2), (0.15, 0.2)),
    # The brightness of a coma falls with the distance from its middle, so that a share of its
    # radius holds the same share of its light.
    Core((Kind.COMET,), (21.5, 23.0), (0.3, 0.3), (0.3, 0.3)),
)


def core_mag(kinds: NDArray[np.str_], rating: Floats) -> Floats:
    """Return how much brighter than typical the inner parts of targets are, from their ratings.

    Parameters
    ----------
    kinds : ndarray of str
        Of N targets.
    rating : ndarray
        Visual rating, 1 (very hard) .. 5 (showpiece); NaN where there is none, (N,).

    Returns
    -------
    ndarray
        Shape (N,) [mag]; 0 without a rating, and for all but galaxies.
    """
    above = np.maximum(rating - MIDDLE_RATING, 0.0)
    return CORE_MAG_PER_RATING * np.nan_to_num(np.where(kinds == str(Kind.GALAXY), above, 0.0))
