"""How deep the observer's own eye sees, as the journal tells it."""

from __future__ import annotations

from dataclasses import dataclass

# What many looks share, the model and the sky of the site, is not known better than this [mag].
LEAST_TOLD_MAG = 0.1


@dataclass(frozen=True, slots=True)
class OwnEye:
    """An eye that was learned from what was seen and what was not.

    Parameters
    ----------
    deeper_mag : float
        How much fainter than the ordinary observer it sees [mag]; below zero for less faint.
    sd_mag : float
        Standard deviation of that [mag].
    looks : int
        From how many.
    stated_mag : float
        What the stated experience alone would have made of it [mag].
    left_out : tuple of (str, int)
        Why other looks say nothing about the eye, and how many of them.
    """

    deeper_mag: float
    sd_mag: float
    looks: int
    stated_mag: float = 0.0
    left_out: tuple[tuple[str, int], ...] = ()

    @property
    def words(self) -> str:
        """A clause: ``your eye: 0.4 +- 0.2 mag deeper than the average, from 38 looks``."""
        way = "deeper" if self.deeper_mag >= 0.0 else "less deep"
        sd_mag = max(self.sd_mag, LEAST_TOLD_MAG)
        return (
            f"your eye: {abs(self.deeper_mag):.1f} +- {sd_mag:.1f} mag {way} than the average,"
            f" from {self.looks} looks"
        )
