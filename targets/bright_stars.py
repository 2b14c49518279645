"""Stars to the 6.6th magnitude with their names: from which one finds the way, and by which name.

Nothing is read before somebody asks. Components that no finder parts are one star.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np

from targets.array_cache import Arrays, kept, texts_array, texts_of
from targets.arrays import Floats
from targets.frozen import frozen
from targets.naming.constellations import NAMES
from targets.proper_motion import moved
from targets.sphere import unit_vectors

EPOCH_YR = 2000.0
_TABLE = Path(__file__).parent / "data" / "bright_stars.csv"
# Columns of the table before the numbers.
TEXTS = 6
_WORDS = ("labels", "usual_names", "constellations")
# Colour index from which a star looks orange, and from which red (common practice).
ORANGE_B_V, RED_B_V = 1.1, 1.6
# Fainter stars than this go by their letter or number: few people know their names (our choice).
KNOWN_BY_NAME_MAG = 3.5


@frozen(eq=False)
class BrightStars:
    """N stars in the order of their numbers in the Bright Star Catalogue.

    Parameters
    ----------
    ra_deg, dec_deg : ndarray
        J2000 place at epoch 2000.0 [deg], ``(N,)``.
    pm_ra_mas_yr, pm_dec_mas_yr : ndarray
        Proper motion [mas/yr], in right ascension times the cosine of the declination.
    magnitude, b_v : ndarray
        V, and colour index B - V [mag]; NaN where the colour is unknown.
    alone_deg : ndarray
        How far the nearest star is that is brighter or less than 0.75 mag fainter [deg]; 15 for
        no nearer one.
    labels : tuple of str
        Bayer's letter or Flamsteed's number with the constellation: ``beta Lyr``; or empty.
    usual_names : tuple of str
        ``Sheliak``, or empty.
    constellations : tuple of str
        Three letters.
    """

    ra_deg: Floats
    dec_deg: Floats
    pm_ra_mas_yr: Floats
    pm_dec_mas_yr: Floats
    magnitude: Floats
    b_v: Floats
    alone_deg: Floats
    labels: tuple[str, ...]
    usual_names: tuple[str, ...]
    constellations: tuple[str, ...]

    def __len__(self) -> int:
        """Count the stars."""
        return len(self.magnitude)

    def directions(self, epoch_yr: float) -> Floats:
        """Return the unit vectors of all stars at an epoch [Julian year], ICRS axes, ``(N, 3)``."""
        return moved(
            unit_vectors(self.ra_deg, self.dec_deg),
            ra_mas_yr=self.pm_ra_mas_yr,
            dec_mas_yr=self.pm_dec_mas_yr,
            years=epoch_yr - EPOCH_YR,
        )

    def name(self, row: int) -> str:
        """Return what people call a star: ``Sheliak (beta Lyr)``, ``theta Lyr``, or how it looks.

        A star without a name is told by its magnitude, constellation and colour: ``a 6th magnitude
        star in Lyra, orange``.
        """
        label, usual = self.labels[row], self.usual_names[row]
        if usual and (self.magnitude[row] <= KNOWN_BY_NAME_MAG or not label):
            return f"{usual} ({label})" if label else usual
        if label:
            return label
        constellation = NAMES[self.constellations[row]].replace("ö", "o")
        colour = _colour(float(self.b_v[row]))
        magnitude = ordinal(float(self.magnitude[row]))
        return f"a {magnitude} magnitude star in {constellation}{colour}"


def ordinal(magnitude: float) -> str:
    """Write a magnitude as observers say it: ``6th``."""
    whole = round(magnitude)
    return f"{whole}{ {1: 'st', 2: 'nd', 3: 'rd'}.get(whole, 'th') }"


def _colour(b_v: float) -> str:
    if b_v >= RED_B_V:
        return ", red"
    return ", orange" if b_v >= ORANGE_B_V else ""


@cache
def load_bright_stars() -> BrightStars:
    """Read the stars; the same object each time in a process.

    References
    ----------
    Hoffleit and Warren 1991, Bright Star Catalogue, 5th edition (CDS V/50): numbers, names, V. Van
    Leeuwen 2007, Hipparcos, the New Reduction (CDS I/311): places, motions, colours. More in
    ``targets/data/LICENSE.md``.
    """
    arrays = kept("bright-stars", lambda: [_TABLE], _read)
    words = (tuple(texts_of(arrays[name])) for name in _WORDS)
    return BrightStars(*arrays["numbers"], *words)


def _read() -> Arrays:
    lines = _TABLE.read_text("utf-8").splitlines()[1:]
    # Texts come first, and no name holds a comma.
    rows = [line.split(",", TEXTS) for line in lines]
    _, bayer, number, constellation, usual_name, _, numbers = zip(*rows, strict=True)
    labels = (letter or digits for letter, digits in zip(bayer, number, strict=True))
    words = (labels, usual_name, constellation)
    values = np.fromstring(",".join(numbers), sep=",").reshape(len(rows), -1)
    return {name: texts_array(texts) for name, texts in zip(_WORDS, words, strict=True)} | {
        "numbers": values.T.copy()
    }
