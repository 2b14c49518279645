"""Whether a telescope shows the stars of a globular cluster, or a glow."""

from __future__ import annotations

import numpy as np

from targets.arrays import Codes, Numbers

# By how much the brightest stars of a globular cluster are fainter than all of it [mag]: of the
# great ones, M13, M3, M5, M92, M15, M22 and M2, by 5.6 to 6.6; of fainter ones, which may be poor,
# M71 and M56 among them, by as little as 3.9 (from memory).
GREAT_MAG = 6.6
OF_GREAT_MAG, OF_OTHERS_MAG = (5.7, 6.7), (3.4, 6.7)


def stars_shown(total_mag: Numbers, star_limit_mag: Numbers) -> Codes:
    """Tell whether the brightest stars of globular clusters show.

    Parameters
    ----------
    total_mag : float or ndarray
        V magnitude of the whole cluster.
    star_limit_mag : float or ndarray
        Of the faintest star that shows.

    Returns
    -------
    ndarray of int
        1 where they do, -1 where it stays a glow, 0 where that is not certain.
    """
    great = np.asarray(total_mag) <= GREAT_MAG
    beyond_mag = np.asarray(star_limit_mag - total_mag)
    least, most = (np.where(great, *pair) for pair in zip(OF_GREAT_MAG, OF_OTHERS_MAG, strict=True))
    return (beyond_mag >= most).astype(np.intp) - (beyond_mag <= least)
