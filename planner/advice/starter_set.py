"""A set from nothing: which few eyepieces serve a year of looks best."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from planner.advice.best_set import best_addition, choose_set, set_value
from planner.advice.rating import Rated, rate_year
from planner.advice.year import Year
from planner.formulas.optics import LARGEST_FIELD_STOP_MM, field_stop_from_apparent_mm
from planner.formulas.seeing import seeing_power_cap
from planner.matcher.trains import make_trains
from planner.model.kit import Amplifier, AmplifierKind, Barrel, Eyepiece, Kit, Telescope
from planner.planning.circumstances import Circumstances
from targets.arrays import Floats

# What can be had, in steps of focal length finer than anybody's choice and the
# usual apparent fields (common practice).
FOCAL_LENGTHS_MM = (
    *(3.5, 4.0, 4.5, 5.0, 5.5, 6.0, 7.0, 8.0, 9.0, 10.0, 11.0, 12.0, 13.0, 15.0, 17.0),
    *(19.0, 21.0, 24.0, 27.0, 30.0, 32.0, 35.0, 40.0, 50.0),
)
APPARENT_FIELDS_DEG = (50.0, 60.0, 68.0, 82.0, 100.0)
# A narrower field or a smaller barrel is preferred when it costs no more than this share of the
# set's worth: less than anybody notices, and the narrower one is lighter.
SIMPLER_COSTS = 0.003
# A barrel holds a little more than the arc law says, since wide eyepieces have stops 5 percent
# below it: a 24 mm of 68 degrees with a stop of 27 mm is a common 1.25 inch eyepiece.
BARREL_ALLOWANCE = 1.06
# The usual advice (common practice): exit pupils of a short, a medium and a long one [mm], and
# their apparent fields [deg].
USUAL_EXIT_PUPILS_MM = (1.0, 2.4, 5.5)
USUAL_FIELDS_DEG = (60.0, 60.0, 70.0)
# Roles by exit pupil [mm] (common practice): below the first short, from the second on long.
SHORT_BELOW_MM, LONG_FROM_MM = 1.5, 3.5


@dataclass(frozen=True, slots=True)
class Choice:
    """One eyepiece of a set, and what it does.

    Parameters
    ----------
    eyepiece : Eyepiece
    role : str
        ``"short"``, ``"medium"`` or ``"long"``.
    looks : int
        For how many looks of the nights it is the best of the set.
    exit_pupil_mm, true_field_deg, magnification : float
        Without the Barlow.
    """

    eyepiece: Eyepiece
    role: str
    looks: int
    exit_pupil_mm: float
    true_field_deg: float
    magnification: float


@dataclass(frozen=True, slots=True)
class Start:
    """A set from nothing.

    Parameters
    ----------
    choices : tuple of Choice
        From short to long.
    worth, most : float
        Of the set, and of all that can be had together, the share of a year of perfect looks.
    usual : tuple of Choice
        The usual advice for this telescope.
    highest_power : float
        What the aperture and the air bear overhead.
    usual_worth, three_worth : float
        Of the usual advice, and of the best set of three.
    small_worth : float or None
        Of the best set of the same number in barrels up to 1.25 inch; None where no larger one
        fits.
    next : Eyepiece or None
        What to add then; None where nothing adds anything.
    next_worth : float
        Of the set with it.
    looks : int
        Of the year's nights.
    """

    choices: tuple[Choice, ...]
    worth: float
    most: float
    usual: tuple[Choice, ...]
    highest_power: float
    usual_worth: float
    three_worth: float
    small_worth: float | None
    next: Eyepiece | None
    next_worth: float
    looks: int


def market(telescope: Telescope) -> tuple[Eyepiece, ...]:
    """Return the eyepieces that can be had for a telescope, narrow fields and small barrels first.

    Each stands in the smallest barrel that holds its field, of those that the telescope takes.
    """
    barrels = barrels_of(telescope)
    found = []
    for field_deg in APPARENT_FIELDS_DEG:
        for focal_mm in FOCAL_LENGTHS_MM:
            stop_mm = float(field_stop_from_apparent_mm(focal_mm, field_deg))
            fitting = [b for b in barrels if stop_mm <= LARGEST_FIELD_STOP_MM[b] * BARREL_ALLOWANCE]
            if fitting:
                found.append(_eyepiece(focal_mm, field_deg, fitting[0]))
    return tuple(found)


def barrels_of(telescope: Telescope) -> tuple[Barrel, ...]:
    """Return the barrels that a telescope takes, the smallest first.

    What takes 1.25 inch is not asked for 0.965 inch: hardly anything is made in it any more
    (common practice).
    """
    taken = {telescope.focuser, *telescope.adapters}
    if Barrel.ONE_AND_A_QUARTER in taken:
        taken.discard(Barrel.SMALL)
    return tuple(barrel for barrel in Barrel if barrel in taken)


def usual_advice(telescope: Telescope, pupil_mm: float) -> tuple[Eyepiece, ...]:
    """Return the usual advice: two of 1.25 inch and one long one of 2 inch.

    Where the focuser takes no 2 inch, the long one is as wide as the largest barrel allows.
    """
    taken = barrels_of(telescope)
    barrels = [barrel for barrel in taken if barrel.inches <= Barrel.TWO.inches] or list(taken)
    small = Barrel.ONE_AND_A_QUARTER if Barrel.ONE_AND_A_QUARTER in barrels else barrels[0]
    chosen = []
    for pupil, field_deg in zip(USUAL_EXIT_PUPILS_MM, USUAL_FIELDS_DEG, strict=True):
        focal_mm = round(telescope.focal_ratio * min(pupil, pupil_mm), 1)
        barrel = barrels[-1] if pupil == USUAL_EXIT_PUPILS_MM[-1] else small
        widest_deg = float(np.degrees(LARGEST_FIELD_STOP_MM[barrel] / focal_mm))
        chosen.append(_eyepiece(focal_mm, round(min(field_deg, widest_deg), 0), barrel))
    return tuple(chosen)


def start_set(
    year: Year,
    circumstances: Circumstances,
    kit: Kit,
    *,
    count: int,
    barlow: float | None = None,
) -> Start:
    """Choose a set of eyepieces.

    Parameters
    ----------
    year, circumstances
        The looks; who looks, through which telescope.
    kit : Kit
        Its filters serve; its eyepieces and amplifiers play no part.
    count : int
        How many eyepieces.
    barlow : float, optional
        Factor of a 1.25 inch Barlow that is there too.
    """
    telescope = circumstances.telescope
    pupil_mm = circumstances.conditions.pupil_mm
    usual = usual_advice(telescope, pupil_mm)
    offers = market(telescope)
    everything = dict.fromkeys((*offers, *usual))
    bare = replace(
        kit,
        eyepieces=tuple(everything),
        amplifiers=() if barlow is None else (barlow_of(barlow, telescope),),
    )
    rated = rate_year(year, circumstances, make_trains(telescope, bare))
    score, weight = rated.of_eyepieces(offers), rated.weight
    whole = float(weight.sum())
    members = simplified(score, weight, choose_set(score, weight, count), offers)
    worth = set_value(score, weight, members)
    added, with_added = best_addition(score, weight, members)
    small = np.array([e.barrel.inches <= Barrel.ONE_AND_A_QUARTER.inches for e in offers])
    small_worth = None
    if not small.all() and small.any():
        small_score = score[:, small]
        small_worth = set_value(small_score, weight, choose_set(small_score, weight, count)) / whole
    three = set_value(score, weight, choose_set(score, weight, len(usual)))
    return Start(
        choices=_choices(rated, [offers[k] for k in members]),
        worth=worth / whole,
        most=set_value(score, weight, range(len(offers))) / whole,
        usual=_choices(rated, usual),
        highest_power=float(
            seeing_power_cap(
                circumstances.conditions.seeing_step,
                altitude_deg=90.0,
                aperture_mm=telescope.aperture_mm,
            )
        ),
        usual_worth=set_value(rated.of_eyepieces(usual), weight, range(len(usual))) / whole,
        three_worth=three / whole,
        small_worth=small_worth,
        next=offers[added] if with_added > worth * (1.0 + SIMPLER_COSTS) else None,
        next_worth=with_added / whole,
        looks=year.looks,
    )


def simplified(
    score: Floats, weight: Floats, members: Sequence[int], offers: Sequence[Eyepiece]
) -> tuple[int, ...]:
    """Put narrower fields and smaller barrels in the place of members where it costs hardly more.

    All exchanges together cost no more than ``SIMPLER_COSTS`` of what the set is worth.
    """
    members = list(members)
    least = set_value(score, weight, members) * (1.0 - SIMPLER_COSTS)
    for place in range(len(members)):
        now = offers[members[place]]
        simpler = [
            k for k, offer in enumerate(offers) if _size(offer) < _size(now) and k not in members
        ]
        for k in sorted(simpler, key=lambda k: (_size(offers[k]), -score[:, k] @ weight)):
            changed = [*members[:place], k, *members[place + 1 :]]
            if set_value(score, weight, changed) >= least:
                members = changed
                break
    return tuple(sorted(members))


def barlow_of(factor: float, telescope: Telescope) -> Amplifier:
    """Return a Barlow as a part, 1.25 inch where the telescope takes it."""
    barrels = barrels_of(telescope)
    small = Barrel.ONE_AND_A_QUARTER
    barrel = small if small in barrels else barrels[0]
    return Amplifier(f"{factor:g}x Barlow", AmplifierKind.BARLOW, factor, barrel)


def _size(eyepiece: Eyepiece) -> tuple[float, float]:
    return eyepiece.barrel.inches, eyepiece.apparent_fields_deg[0]


def _eyepiece(focal_mm: float, field_deg: float, barrel: Barrel) -> Eyepiece:
    name = f"{focal_mm:g} mm {field_deg:g} deg {barrel}"
    return Eyepiece(name, (focal_mm,), (field_deg,), barrel)


def _choices(rated: Rated, chosen: Sequence[Eyepiece]) -> tuple[Choice, ...]:
    score = rated.of_eyepieces(chosen)
    best = np.argmax(score, axis=1)
    bare = {t.eyepiece: t for t in rated.table.trains if not t.amplifier and not t.filter}
    choices = []
    for column, eyepiece in enumerate(chosen):
        train = bare[eyepiece]
        role = "short" if train.exit_pupil_mm < SHORT_BELOW_MM else "medium"
        choices.append(
            Choice(
                eyepiece=eyepiece,
                role="long" if train.exit_pupil_mm >= LONG_FROM_MM else role,
                looks=int(rated.year.count[best == column].sum()),
                exit_pupil_mm=train.exit_pupil_mm,
                true_field_deg=train.true_field_arcmin / 60.0,
                magnification=train.magnification,
            )
        )
    return tuple(sorted(choices, key=lambda choice: choice.eyepiece.focal_lengths_mm))
