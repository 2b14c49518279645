"""What an observer prefers by experience, as far as the matcher may lean toward it."""

from __future__ import annotations

from targets.frozen import frozen

# The most that experience makes a train better or worse: our choice, about what one step of
# framing or of exit pupil makes. It tips a balance, and overrules nothing that matters more.
MOST = 0.1
# Opinions are weighed as if there were this many more, half of them for and half against: few
# make less of a difference than many.
DOUBT = 4


@frozen
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
    def brief(self) -> str:
        """A clause: ``you preferred it 7 of 9 times``."""
        return f"you {self.did} it {self.count}"

    @property
    def count(self) -> str:
        """How often: ``7 of 9 times``."""
        number = self.favoured if self._is_for else self.times - self.favoured
        return f"{number} of {self.times} times"

    @property
    def _is_for(self) -> bool:
        return 2 * self.favoured >= self.times

    @property
    def did(self) -> str:
        """What the observer mostly did: ``preferred`` or ``passed over``."""
        return "preferred" if self._is_for else "passed over"
