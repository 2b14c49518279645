"""How deep the observer's own eye sees, as the journal tells it."""

from __future__ import annotations

from math import hypot, sqrt

from targets.frozen import frozen

# What many looks share, the model and the sky of the site, is not known better than this [mag].
LEAST_TOLD_MAG = 0.1
# With a gain of fewer looks than this no choice is right or wrong: our choice.
LEAST_GAIN = 0.5


@frozen
class EyePart:
    """How deep an eye is at stars or at glows, and its standard deviation [mag]; from how many."""

    deeper_mag: float
    sd_mag: float
    looks: int

    @property
    def told_sd_mag(self) -> float:
        """The standard deviation as it is told [mag], with what the looks have in common."""
        return max(self.sd_mag, LEAST_TOLD_MAG)

    @property
    def words(self) -> str:
        """A clause: ``0.4 +- 0.2 mag deeper``."""
        way = "deeper" if self.deeper_mag >= 0.0 else "less deep"
        return f"{abs(self.deeper_mag):.1f} +- {self.told_sd_mag:.1f} mag {way}"


@frozen
class GlassShare:
    """How much light a telescope passes, over what is stated of it.

    Parameters
    ----------
    factor : float
        1 for as much as is stated.
    sd_mag : float
        Standard deviation of the factor [mag].
    looks : int
        From how many.
    """

    telescope: str
    factor: float
    sd_mag: float
    looks: int

    @property
    def words(self) -> str:
        """A clause: ``passes 0.85 of the light that is stated, +- 0.2 mag``."""
        return f"passes {self.factor:.2f} of the light that is stated, +- {self.sd_mag:.1f} mag"


@frozen
class OwnEye:
    """An eye that was learned from what was seen and what was not.

    Parameters
    ----------
    deeper_mag : float
        How much fainter than the ordinary observer it sees [mag], at stars and glows as they come
        in the looks; below zero for less faint.
    sd_mag : float
        Standard deviation of that [mag].
    looks : int
        From how many.
    stated_mag : float
        What the stated experience alone would have made of it [mag].
    left_out : tuple of (str, int)
        Why other looks say nothing about the eye, and how many of them.
    stars, glows : EyePart or None
        The eye at either; None where they are not told apart.
    glass : tuple of GlassShare
        Of telescopes that are told apart.
    width_mag : float
        How far margins are off, one standard deviation [mag].
    """

    deeper_mag: float
    sd_mag: float
    looks: int
    stated_mag: float = 0.0
    left_out: tuple[tuple[str, int], ...] = ()
    stars: EyePart | None = None
    glows: EyePart | None = None
    glass: tuple[GlassShare, ...] = ()
    width_mag: float = 0.35

    @property
    def whole(self) -> EyePart:
        """The eye as all looks have it."""
        return EyePart(self.deeper_mag, self.sd_mag, self.looks)

    @property
    def at_stars_mag(self) -> float:
        """How much deeper it is at stars [mag]."""
        return self.deeper_mag if self.stars is None else self.stars.deeper_mag

    @property
    def at_glows_mag(self) -> float:
        """How much deeper it is at glows [mag]."""
        return self.deeper_mag if self.glows is None else self.glows.deeper_mag

    def glass_factor(self, telescope: str) -> float:
        """Return the share of the stated light that a telescope passes; 1 while nothing tells."""
        return next((one.factor for one in self.glass if one.telescope == telescope), 1.0)

    @property
    def words(self) -> str:
        """A clause: ``your eye: 0.4 +- 0.2 mag deeper than the average, from 38 looks``.

        Where stars and glows differ by more than the uncertainties, either is told.
        """
        told = f"{self.whole.words} than the average"
        stars, glows = self.stars, self.glows
        if stars is not None and glows is not None:
            doubt_mag = hypot(stars.sd_mag, glows.sd_mag)
            if abs(stars.deeper_mag - glows.deeper_mag) > max(doubt_mag, LEAST_TOLD_MAG):
                told = f"{stars.words} than the average at stars, {glows.words} at glows"
        return f"your eye: {told}, from {self.looks} looks"


@frozen
class SkyToward:
    """The sky of a site toward one side, in half of a year.

    Parameters
    ----------
    site, months : str
        Its name; ``"Apr-Sep"`` or ``"Oct-Mar"``.
    toward : str
        ``"N"``, ``"E"``, ``"S"`` or ``"W"``, with 45 degrees to either side.
    sky_mag_arcsec2 : float
        Of a zenith under which as much would be seen [mag/arcsec2].
    darker_mag, sd_mag : float
        By how much that is darker than the plan takes it, and the standard deviation
        [mag/arcsec2].
    looks : int
        From how many.
    """

    site: str
    months: str
    toward: str
    sky_mag_arcsec2: float
    darker_mag: float
    sd_mag: float
    looks: int


@frozen
class EyeChoice:
    """Looks for which the plan had one train and another was used.

    ``seen`` of them saw the target, a suspected one counts half; ``expected_planned`` would have in
    what was planned and ``expected_used`` in what was used, by the observer's own eye.
    """

    planned: str
    used: str
    looks: int
    seen: float
    expected_planned: float
    expected_used: float

    @property
    def verdict(self) -> str:
        """Whether the choice was right: more, or less, was seen by it than chance explains."""
        gain, share = self.seen - self.expected_planned, self.expected_planned / self.looks
        if abs(gain) < max(sqrt(self.looks * share * (1.0 - share)), LEAST_GAIN):
            return "no better, no worse"
        return "right" if gain > 0.0 else "wrong"


@frozen
class CalibrationBand:
    """Looks of which about the same share should be seen.

    ``expected`` and ``seen`` are shares, 0 .. 1; a suspected target counts as half seen.
    """

    looks: int
    expected: float
    seen: float


@frozen
class Surprise:
    """A look that came out otherwise than the own eye should have it; perhaps a typing error.

    ``chance`` is that of its target being seen, 0 .. 1; ``at`` is ISO 8601, UTC.
    """

    entry_id: str
    target: str
    at: str
    seen: bool
    chance: float


@frozen
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
    parts : tuple of (str, EyePart)
        The same at stars, at glows and in each quarter of a year, where the looks are enough.
    bands : tuple of CalibrationBand
        From what is hardly seen to what nearly always is; empty without an eye.
    surprises : tuple of Surprise
        The greatest first.
    toward : tuple of SkyToward
        Of the sites' skies.
    choices : tuple of EyeChoice
        The most frequent first.
    """

    looks: int
    left_out: tuple[tuple[str, int], ...]
    eye: OwnEye | None = None
    parts: tuple[tuple[str, EyePart], ...] = ()
    bands: tuple[CalibrationBand, ...] = ()
    surprises: tuple[Surprise, ...] = ()
    toward: tuple[SkyToward, ...] = ()
    choices: tuple[EyeChoice, ...] = ()
