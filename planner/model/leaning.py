"""What an observer prefers by experience, as far as the matcher may lean toward it."""

from __future__ import annotations

from dataclasses import dataclass

# The most that experience makes a train better or worse: our choice, about what one step of
# framing or of exit pupil makes. It tips a balance, and overrules nothing that matters more.
MOST = 0.1
# Opinions are weighed as if there were this many more, half of them for and half against: few
# make less of a difference than many.
DOUBT = 4

_CLASS_WORDS = {
    "open_cluster_large": "large open clusters",
    "star_cloud": "star clouds",
    "emission_nebula_large": "large emission nebulae",
    "emission_nebula": "emission nebulae",
    "dark_nebula": "dark nebulae",
    "reflection_nebula": "reflection nebulae",
    "galaxy_large_faint": "large faint galaxies",
    "galaxy": "galaxies",
    "galaxy_small": "small galaxies",
    "planetary_small": "small planetary nebulae",
    "planetary": "planetary nebulae",
    "planetary_large_faint": "large faint planetary nebulae",
    "double_close": "close double stars",
    "double_wide": "wide double stars",
    "red_star": "single stars",
    "jupiter": "Jupiter",
    "saturn": "Saturn",
    "mars": "Mars",
    "inner_planet": "Venus and Mercury",
    "ice_giant": "Uranus and Neptune",
    "moon": "the Moon",
    "other": "other targets",
}


def class_words(target_class: str) -> str:
    """Name a class of target in the plural: ``small galaxies``."""
    plain = f"{target_class.replace('_', ' ')}s"
    return _CLASS_WORDS.get(target_class, plain)


@dataclass(frozen=True, slots=True)
class Leaning:
    """How often an observer was for an eyepiece, out of the times that show an opinion.

    Parameters
    ----------
    target_class : str
        On what; a class of ``preferences.toml``.
    eyepiece, amplifier : str
        With what; the amplifier is empty where there was none.
    favoured, times : int
        For it, and for or against it.
    """

    target_class: str
    eyepiece: str
    amplifier: str
    favoured: int
    times: int

    @property
    def factor(self) -> float:
        """What a score is multiplied by, 1 - ``MOST`` .. 1 + ``MOST``."""
        share = (self.favoured + DOUBT / 2) / (self.times + DOUBT)
        return 1.0 + MOST * (2.0 * share - 1.0)

    @property
    def words(self) -> str:
        """A clause: ``you preferred the 12 mm 60 on small galaxies, 7 of 9 times``."""
        glass = " + ".join(filter(None, (self.eyepiece, self.amplifier)))
        return f"you {self._did} the {glass} on {class_words(self.target_class)}, {self.count}"

    @property
    def brief(self) -> str:
        """The same, short: ``you preferred it 7 of 9 times``."""
        return f"you {self._did} it {self.count}"

    @property
    def count(self) -> str:
        """How often: ``7 of 9 times``."""
        number = self.favoured if self._is_for else self.times - self.favoured
        return f"{number} of {self.times} times"

    @property
    def _is_for(self) -> bool:
        return 2 * self.favoured >= self.times

    @property
    def _did(self) -> str:
        return "preferred" if self._is_for else "passed over"
