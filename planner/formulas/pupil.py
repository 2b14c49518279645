"""The dark-adapted pupil by age, and the shadow that it bears."""

from __future__ import annotations

import numpy as np

from targets.arrays import Numbers

# Straight line through the means by decade, each weighted by its number of people.
PUPIL_AT_BIRTH_MM = 8.290
PUPIL_LOSS_MM_PER_YEAR = 0.0448
YOUNGEST_MEASURED, OLDEST_MEASURED = 18.0, 80.0
OLDEST_ALLOWED = 130.0

# An exit pupil up to this much wider than the eye's wastes a tenth of the light, which nobody sees
# (common practice).
WIDE_BEAM = 1.05
# Of the eye's pupil: a wider shadow of the secondary mirror begins to show (common practice).
SHADOW_OF_PUPIL = 0.35


def dark_pupil_mm(age_years: Numbers) -> Numbers:
    """Return the mean diameter of the dark-adapted pupil.

    Parameters
    ----------
    age_years : float or ndarray
        Age, 0 .. 130.

    Returns
    -------
    float or ndarray
        Diameter [mm]. Ages outside the 18 .. 80 of the study take the value of its nearer end.

    Raises
    ------
    ValueError
        If an age is outside 0 .. 130.

    Notes
    -----
    People of one age differ by 1.2 mm either way, more than the mean changes in 40 years:
    a measured value is always better.

    References
    ----------
    Bradley, J. C., Bentley, K. C., Mughal, A. I., Bodhireddy, H. and Brown, S. M.,
    "Dark-adapted pupil diameter as a function of age measured with the NeurOptics pupillometer",
    2011, Journal of Refractive Surgery 27, 202; 263 people.
    """
    ages = np.asarray(age_years, dtype=float)
    if not np.all((ages >= 0.0) & (ages <= OLDEST_ALLOWED)):
        raise ValueError(f"age_years must be from 0 to {OLDEST_ALLOWED:.0f}, found {age_years}")
    measured = np.clip(age_years, YOUNGEST_MEASURED, OLDEST_MEASURED)
    return PUPIL_AT_BIRTH_MM - PUPIL_LOSS_MM_PER_YEAR * measured
