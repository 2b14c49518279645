"""Which few eyepieces serve a year of looks best: from nothing, or beside those that are there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from planner.advice.budget import within_budget
from planner.advice.ladder_set import Rungs, best_ladder, covers, set_value, stands_apart
from planner.advice.market import barlow_of, market
from planner.advice.rating import Rated, rate_year
from planner.advice.results import ENOUGH_SHARE, SetEyepiece, Start
from planner.advice.year import Year
from planner.formulas.pupil import WIDE_BEAM
from planner.matcher.trains import make_trains
from planner.model.kit import Barrel, Eyepiece, Kit, Train
from planner.planning.circumstances import Circumstances
from targets.frozen import frozen

MOST_EYEPIECES = 8
# The usual advice (common practice): exit pupils of a short, a medium and a long one [mm], and
# their apparent fields [deg]; an octave of focal length counts as much as so many degrees.
USUAL_EXIT_PUPILS_MM = (1.0, 2.4, 5.5)
USUAL_FIELDS_DEG = (60.0, 60.0, 68.0)
OCTAVE_DEG = 60.0
# Roles by exit pupil [mm] (common practice): below the first short, from the second on long.
SHORT_BELOW_MM, LONG_FROM_MM = 1.5, 3.5


@frozen
class Priced:
    """Candidates with costs of the observer's own [any unit], and what may be spent."""

    eyepieces: tuple[Eyepiece, ...]
    costs: tuple[float, ...]
    budget: float

    def cost(self, eyepiece: Eyepiece, have: Sequence[Eyepiece]) -> float:
        """Return what one costs: nothing where it is there, and no sum buys what is not listed."""
        if eyepiece in have:
            return 0.0
        return dict(zip(self.eyepieces, self.costs, strict=True)).get(eyepiece, np.inf)


@frozen(eq=False)
class Offers:
    """Eyepieces beside each other over a year, as columns."""

    eyepieces: tuple[Eyepiece, ...]
    rated: Rated
    rungs: Rungs
    whole: float

    def bare(self, eyepiece: Eyepiece) -> Train:
        """Return an eyepiece alone in the telescope."""
        return next(t for t in self.rated.trains if t.eyepiece == eyepiece and t.is_bare)


def start_set(
    year: Year,
    circumstances: Circumstances,
    kit: Kit,
    *,
    count: int | None = None,
    barlow: float | None = None,
    have: Sequence[Eyepiece] = (),
    barrel: Barrel | None = None,
    priced: Priced | None = None,
) -> Start:
    """Choose a set of eyepieces.

    Parameters
    ----------
    year, circumstances
        The looks; who looks, through which telescope.
    kit : Kit
        Its filters serve; its eyepieces and amplifiers play no part.
    count : int, optional
        How many eyepieces, those that are there included; without it, as many as reach from the
        widest useful field to what the air bears, and more as long as one is worth it.
    barlow : float, optional
        Factor of a 1.25 inch Barlow that is there too.
    have : sequence of Eyepiece
        What is there and stays; they fit the telescope.
    barrel : Barrel, optional
        The only size of what is bought.
    priced : Priced, optional
        To choose among these and not from the table of usual pairs; as many as the budget allows.
    """
    telescope, spectacles = circumstances.telescope, circumstances.observer.spectacles
    usual = usual_advice(circumstances)
    offers = weigh_offers(
        year,
        circumstances,
        kit,
        (
            *have,
            *(priced.eyepieces if priced else ()),
            *market(telescope, spectacles=spectacles, barrel=barrel),
        ),
        barlow=barlow,
        usual=usual,
    )
    rungs = offers.rungs
    kept = tuple(k for k, eyepiece in enumerate(offers.eyepieces) if eyepiece in have)
    if priced is None:
        members = set_of(rungs, count, kept)
        added = _best_addition(rungs, members, of=np.flatnonzero(rungs.useful).tolist())
    else:
        costs = [priced.cost(eyepiece, have) for eyepiece in offers.eyepieces]
        members = within_budget(rungs, costs, priced.budget, kept=kept)
        listed = [k for k, e in enumerate(offers.eyepieces) if e in priced.eyepieces]
        added = _best_addition(rungs, members, of=listed)
    is_free = barrel is None and priced is None
    small_worth = _small_worth(offers, len(members), have) if is_free else None
    three = set_of(rungs, max(3, len(kept)), kept)
    worth = rungs.value(members)
    lowest = [
        k for k in np.flatnonzero(rungs.useful) if rungs.field_deg[k] >= rungs.widest_deg - 1e-9
    ]
    return Start(
        choices=_in_order(offers, members, kept),
        asked=count,
        powers=tuple(rungs.powers(members)),
        widest_deg=rungs.widest_deg,
        lowest_power=float(min((rungs.power[k] for k in lowest), default=0.0)),
        is_whole=covers(rungs, members),
        worth=worth / offers.whole,
        most=rungs.value(range(len(offers.eyepieces))) / offers.whole,
        usual=choices_of(offers, usual),
        highest_power=rungs.highest_power,
        usual_worth=_value_of(offers, usual),
        three_worth=rungs.value(three) / offers.whole,
        small_worth=small_worth,
        next=None if added is None else offers.eyepieces[added],
        next_worth=(worth if added is None else rungs.value([*members, added])) / offers.whole,
    )


def weigh_offers(
    year: Year,
    circumstances: Circumstances,
    kit: Kit,
    eyepieces: Sequence[Eyepiece],
    *,
    barlow: float | None = None,
    usual: Sequence[Eyepiece] = (),
) -> Offers:
    """Rate eyepieces over a year, with the kit's filters and a Barlow if there is one.

    ``usual`` are rated beside them and are no columns.
    """
    telescope = circumstances.telescope
    amplifiers = () if barlow is None else (barlow_of(barlow, telescope),)
    bare = replace(kit, eyepieces=tuple(dict.fromkeys((*eyepieces, *usual))), amplifiers=amplifiers)
    rated = rate_year(year, circumstances, make_trains(telescope, bare))
    trains = [t for t in rated.trains if not t.filter]
    alone = {t.eyepiece: t for t in trains if not t.amplifier}
    amplified = {t.eyepiece for t in trains if t.amplifier}
    taken = tuple(e for e in eyepieces if e in alone)
    own = [alone[eyepiece] for eyepiece in taken]
    highest = circumstances.highest_power
    widest_mm = circumstances.conditions.pupil_mm * WIDE_BEAM
    rungs = Rungs(
        score=rated.of_eyepieces(taken),
        weight=rated.weight,
        power=np.array([t.magnification for t in own]),
        field_deg=np.array([t.true_field_arcmin / 60.0 for t in own]),
        # The barrel first, then the mass.
        burden=np.array([10_000.0 * e.barrel.inches + (e.mass_g or 0.0) for e in taken]),
        useful=np.array(
            [t.exit_pupil_mm <= widest_mm and t.magnification <= highest for t in own], dtype=bool
        ),
        factor=barlow or 1.0,
        amplified=np.array([eyepiece in amplified for eyepiece in taken], dtype=bool),
        highest_power=highest,
    )
    return Offers(taken, rated, rungs, float(rated.weight.sum()))


def usual_advice(circumstances: Circumstances) -> tuple[Eyepiece, ...]:
    """Return the usual advice: two of 1.25 inch and one long one of 2 inch.

    Where the focuser takes no 2 inch, the long one is of the largest barrel. Each is the usual pair
    that comes nearest, and none wastes light.
    """
    telescope, pupil_mm = circumstances.telescope, circumstances.conditions.pupil_mm
    offers = market(telescope, spectacles=circumstances.observer.spectacles)
    fitting = {offer.barrel for offer in offers if offer.barrel.inches <= Barrel.TWO.inches}
    small, large = (most(fitting, key=lambda barrel: barrel.inches) for most in (min, max))
    chosen: dict[Eyepiece, None] = {}
    for pupil, field_deg in zip(USUAL_EXIT_PUPILS_MM, USUAL_FIELDS_DEG, strict=True):
        barrel = large if pupil == USUAL_EXIT_PUPILS_MM[-1] else small
        own = [offer for offer in offers if offer.barrel == barrel]
        longest_mm = telescope.focal_ratio * pupil_mm * WIDE_BEAM
        own = [offer for offer in own if offer.focal_lengths_mm[0] <= longest_mm] or own
        asked = (telescope.focal_ratio * min(pupil, pupil_mm), field_deg)
        chosen[min(own, key=lambda offer: _distance(offer, *asked))] = None
    return tuple(chosen)


def choices_of(offers: Offers, chosen: Sequence[Eyepiece]) -> tuple[SetEyepiece, ...]:
    """Say what each eyepiece of a set does, from short to long."""
    score = offers.rated.of_eyepieces(chosen)
    best = np.argmax(score, axis=1)
    choices = []
    for column, eyepiece in enumerate(chosen):
        train = offers.bare(eyepiece)
        role = "short" if train.exit_pupil_mm < SHORT_BELOW_MM else "medium"
        choices.append(
            SetEyepiece(
                eyepiece=eyepiece,
                role="long" if train.exit_pupil_mm >= LONG_FROM_MM else role,
                looks=int(offers.rated.year.count[best == column].sum()),
                exit_pupil_mm=train.exit_pupil_mm,
                true_field_deg=train.true_field_arcmin / 60.0,
                magnification=train.magnification,
            )
        )
    return tuple(sorted(choices, key=lambda choice: choice.eyepiece.focal_lengths_mm))


def set_of(rungs: Rungs, count: int | None, kept: tuple[int, ...] = ()) -> tuple[int, ...]:
    """Return the best ladder of so many.

    Without a number that is the least that reaches from end to end, and more as long as each is
    worth it. Where there are not so many to be had, it is as many as there can be.
    """
    if count is None:
        found = None
        for size in range(max(len(kept), 1), MOST_EYEPIECES + 1):
            larger = best_ladder(rungs, size, kept=kept, whole=True)
            if found is not None and (
                larger is None or rungs.value(larger) < (1.0 + ENOUGH_SHARE) * rungs.value(found)
            ):
                return found
            found = larger or found
    for size in range(count or MOST_EYEPIECES, len(kept), -1):
        for whole in (True, False):
            found = best_ladder(rungs, size, kept=kept, whole=whole)
            if found is not None:
                return found
    return kept


def _best_addition(rungs: Rungs, members: Sequence[int], *, of: Sequence[int]) -> int | None:
    """Return which of some adds most to a set and keeps its distance from what is in it."""
    apart = [k for k in of if k not in members and stands_apart(rungs, members, k)]
    worth = rungs.value(members)
    best = max(apart, key=lambda k: (rungs.value([*members, k]), -k), default=None)
    return best if best is not None and rungs.value([*members, best]) > worth else None


def _small_worth(offers: Offers, count: int, have: Sequence[Eyepiece]) -> float | None:
    """Return what as many reach that are no larger than 1.25 inch."""
    small = Barrel.ONE_AND_A_QUARTER.inches
    fits = np.array([e in have or e.barrel.inches <= small for e in offers.eyepieces], dtype=bool)
    if fits.all() or not fits.any():
        return None
    rungs = replace(offers.rungs, useful=offers.rungs.useful & fits)
    members = set_of(rungs, count, tuple(range(len(have))))
    return rungs.value(members) / offers.whole


def _in_order(
    offers: Offers, members: Sequence[int], kept: Sequence[int]
) -> tuple[SetEyepiece, ...]:
    """Say what each does, and number those to buy: always the one that adds most next."""
    rungs, order, adds = offers.rungs, list(kept), dict[int, float]()
    for member in kept:
        others = [k for k in kept if k != member]
        adds[member] = rungs.value(kept) - rungs.value(others)
    while len(order) < len(members):
        rest = [k for k in members if k not in order]
        best = max(rest, key=lambda k: rungs.value([*order, k]))
        adds[best] = rungs.value([*order, best]) - rungs.value(order)
        order.append(best)
    place = {offers.eyepieces[k]: (k, order.index(k) + 1 - len(kept)) for k in members}
    return tuple(
        replace(
            choice,
            is_there=place[choice.eyepiece][0] in kept,
            number=max(place[choice.eyepiece][1], 0),
            adds=adds[place[choice.eyepiece][0]] / offers.whole,
        )
        for choice in choices_of(offers, [offers.eyepieces[k] for k in members])
    )


def _value_of(offers: Offers, chosen: Sequence[Eyepiece]) -> float:
    score = offers.rated.of_eyepieces(chosen)
    return set_value(score, offers.rated.weight, range(len(chosen))) / offers.whole


def _distance(offer: Eyepiece, focal_mm: float, field_deg: float) -> float:
    octaves = abs(float(np.log2(offer.focal_lengths_mm[0] / focal_mm)))
    return OCTAVE_DEG * octaves + abs(offer.apparent_fields_deg[0] - field_deg)
