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
    def told_sd_mag(self) -> float:
        """The standard deviation as it is told [mag], with what the looks have in common."""
        return max(self.sd_mag, LEAST_TOLD_MAG)

    @property
    def words(self) -> str:
        """A clause: ``your eye: 0.4 +- 0.2 mag deeper than the average, from 38 looks``."""
        way = "deeper" if self.deeper_mag >= 0.0 else "less deep"
        return (
            f"your eye: {abs(self.deeper_mag):.1f} +- {self.told_sd_mag:.1f} mag {way} than the"
            f" average, from {self.looks} looks"
        )


@dataclass(frozen=True, slots=True)
class Band:
    """Looks of which about the same share should be seen.

    ``expected`` and ``seen`` are shares, 0 .. 1; a suspected target counts as half seen.
    """

    looks: int
    expected: float
    seen: float


@dataclass(frozen=True, slots=True)
class Surprise:
    """A look that came out otherwise than the own eye should have it; perhaps a typing error.

    ``chance`` is that of its target being seen, 0 .. 1; ``at`` is ISO 8601, UTC.
    """

    entry_id: str
    target: str
    at: str
    seen: bool
    chance: float


@dataclass(frozen=True, slots=True)
class EyeReport:
    """What the journal tells of the observer's eye.

    Parameters
    ----------
    looks : int
        That tell something.
    left_out : tuple of (str, int)
        Why others do not, and how many.
    eye : OwnEye or None
        None while they are too few, or follow no threshold.
    parts : tuple of (str, OwnEye)
        The same of stars, of glows, of each telescope and each quarter of a year, where they are
        enough.
    bands : tuple of Band
        From what is hardly seen to what nearly always is; empty without an eye.
    surprises : tuple of Surprise
        The greatest first.
    """

    looks: int
    left_out: tuple[tuple[str, int], ...]
    eye: OwnEye | None = None
    parts: tuple[tuple[str, OwnEye], ...] = ()
    bands: tuple[Band, ...] = ()
    surprises: tuple[Surprise, ...] = ()
