"""What eyepieces are to be had: the table of usual pairs, for one telescope and one observer."""

from __future__ import annotations

import math
import tomllib
from dataclasses import replace
from functools import cache
from importlib.resources import files

from planner.matcher.scoring import EYE_RELIEF_LEAST_WITH_SPECTACLES_MM
from planner.model.kit import Amplifier, AmplifierKind, Barrel, Eyepiece, Telescope
from targets.frozen import frozen

Range = tuple[float, float]
# Of a usual 1.25 inch Barlow (common practice) [g].
LIGHT_BARLOW_G = 110.0
# An eyepiece belongs to a class whose nearest length is no farther from its own than this factor.
NEAR_ENOUGH = 1.15


@frozen
class UsualPair:
    """A focal length and an apparent field as eyepieces commonly have them.

    Parameters
    ----------
    focal_length_mm : float
        It stands for all lengths halfway to its neighbours in the table.
    apparent_deg, eye_relief_mm, mass_g : (float, float)
        From the least to the most that is usual.
    """

    focal_length_mm: float
    barrel: Barrel
    apparent_deg: Range
    eye_relief_mm: Range
    mass_g: Range

    def eyepiece(self, *, spectacles: bool) -> Eyepiece:
        """Return one of the pair's: of middle field and mass.

        Who wears spectacles takes the longest eye relief that is usual, others the middle.
        """
        middle_deg = sum(self.apparent_deg) / 2.0
        relief_mm = self.eye_relief_mm[1] if spectacles else sum(self.eye_relief_mm) / 2.0
        return Eyepiece(
            f"{self.focal_length_mm:g} mm {middle_deg:.0f} deg {self.barrel}",
            (self.focal_length_mm,),
            (middle_deg,),
            self.barrel,
            eye_relief_mm=relief_mm,
            mass_g=sum(self.mass_g) / 2.0,
        )


@cache
def usual_pairs() -> tuple[UsualPair, ...]:
    """Return the table, narrow fields first; its file states the rule."""
    text = files("planner.advice").joinpath("data/usual_eyepieces.toml").read_text("utf-8")
    content = tomllib.loads(text)
    found = []
    for row in content["class"]:
        shortest_mm, longest_mm = row["focal_lengths_mm"]
        found += [
            UsualPair(
                focal_length_mm=float(focal_mm),
                barrel=Barrel(row["barrel"]),
                apparent_deg=tuple(row["apparent_deg"]),
                eye_relief_mm=tuple(row["eye_relief_mm"]),
                mass_g=tuple(row["mass_g"]),
            )
            for focal_mm in content["focal_lengths_mm"]
            if shortest_mm <= focal_mm <= longest_mm
        ]
    return tuple(found)


def market(
    telescope: Telescope, *, spectacles: bool = False, barrel: Barrel | None = None
) -> tuple[Eyepiece, ...]:
    """Return the usual eyepieces that a telescope takes.

    Parameters
    ----------
    spectacles : bool
        Whether they stay on: then only what usually comes with 15 mm of eye relief or more.
    barrel : Barrel, optional
        Only these; else all sizes that the telescope takes.
    """
    barrels = barrels_of(telescope) if barrel is None else (barrel,)
    return tuple(
        pair.eyepiece(spectacles=spectacles)
        for pair in usual_pairs()
        if pair.barrel in barrels
        and (not spectacles or pair.eye_relief_mm[1] >= EYE_RELIEF_LEAST_WITH_SPECTACLES_MM)
    )


def as_usual(eyepiece: Eyepiece, *, spectacles: bool) -> Eyepiece:
    """Return an eyepiece with the eye relief and mass of its class where they are not stated."""
    inside = [
        pair
        for pair in usual_pairs()
        if pair.barrel == eyepiece.barrel
        and pair.apparent_deg[0] <= eyepiece.apparent_fields_deg[0] <= pair.apparent_deg[1]
    ]
    if eyepiece.is_zoom or not inside:
        return eyepiece
    focal_mm = eyepiece.focal_lengths_mm[0]
    nearest = min(inside, key=lambda pair: abs(math.log(pair.focal_length_mm / focal_mm)))
    if abs(math.log(nearest.focal_length_mm / focal_mm)) > math.log(NEAR_ENOUGH):
        return eyepiece
    usual = nearest.eyepiece(spectacles=spectacles)
    return replace(
        eyepiece,
        eye_relief_mm=usual.eye_relief_mm
        if eyepiece.eye_relief_mm is None
        else eyepiece.eye_relief_mm,
        mass_g=usual.mass_g if eyepiece.mass_g is None else eyepiece.mass_g,
    )


def pair_of(eyepiece: Eyepiece) -> UsualPair | None:
    """Return the usual pair from which an eyepiece of the market comes; None for others."""
    own = (eyepiece.focal_lengths_mm, eyepiece.barrel)
    return next(
        (
            pair
            for pair in usual_pairs()
            if ((pair.focal_length_mm,), pair.barrel) == own
            and pair.eyepiece(spectacles=False).name == eyepiece.name
        ),
        None,
    )


def barrels_of(telescope: Telescope) -> tuple[Barrel, ...]:
    """Return the barrels that a telescope takes, the smallest first.

    What takes 1.25 inch is not asked for 0.965 inch: hardly anything is made in it any more
    (common practice).
    """
    taken = {telescope.focuser, *telescope.adapters}
    if Barrel.ONE_AND_A_QUARTER in taken:
        taken.discard(Barrel.SMALL)
    return tuple(barrel for barrel in Barrel if barrel in taken)


def barlow_of(factor: float, telescope: Telescope) -> Amplifier:
    """Return a Barlow as a part, 1.25 inch where the telescope takes it."""
    barrels = barrels_of(telescope)
    small = Barrel.ONE_AND_A_QUARTER
    barrel = small if small in barrels else barrels[0]
    return Amplifier(f"{factor:g}x Barlow", AmplifierKind.BARLOW, factor, barrel, LIGHT_BARLOW_G)
