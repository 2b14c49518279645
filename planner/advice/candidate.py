"""What a candidate would change: the year's looks with it and without it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from planner.advice.audit import WIDE_PUPIL_WORDS, eye_relief_remark, train_remarks
from planner.advice.rating import Rated, rate_year
from planner.advice.results import EyepieceRole, Gain, Part, Trial
from planner.advice.year import Year
from planner.config.plausibility import eyepiece_doubt
from planner.matcher.trains import corrector_in, make_trains
from planner.model.kit import Amplifier, AmplifierKind, Eyepiece, Kit, Telescope, Train
from planner.planning.circumstances import Circumstances

# Our choice, as is the measure itself: nobody sees the difference between two trains whose scores
# are closer than this.
WINS_BY = 1.02
# A look whose best score is below this comes to nothing. The Andromeda Galaxy, twice as
# long as the widest field, keeps more: it is worth a sweep.
LEAST_SCORE = 0.01


def kit_with(kit: Kit, part: Part) -> Kit:
    """Return a kit with another part."""
    if isinstance(part, Eyepiece):
        return replace(kit, eyepieces=(*kit.eyepieces, part))
    if isinstance(part, Amplifier):
        return replace(kit, amplifiers=(*kit.amplifiers, part))
    return replace(kit, filters=(*kit.filters, part))


def try_candidate(year: Year, circumstances: Circumstances, kit: Kit, part: Part) -> Trial:
    """Judge a candidate.

    Parameters
    ----------
    circumstances : Circumstances
        Who looks through which telescope; its own trains play no part.
    kit : Kit
        What is owned; it may have no eyepieces that fit.
    part : Eyepiece, Amplifier or Filter
        The candidate, with a name that nothing in the kit has.
    """
    trains = make_trains(circumstances.telescope, kit_with(kit, part))
    rated = _rated_beside(year, circumstances, kit, trains)
    new = np.array([_holds(train, part, circumstances.telescope) for train in rated.trains])
    new = new.astype(bool)
    misfits = () if new.any() else _misfits(trains, part)
    before, after = rated.best(~new), rated.best(new)
    won = (after > WINS_BY * before) & (after >= LEAST_SCORE)
    worth = float(rated.weight @ before)
    gained = float(rated.weight @ np.maximum(after - before, 0.0))
    share = gained / worth if worth > 0.0 else (np.inf if gained > 0.0 else 0.0)
    gains = _gains(rated, new, won, worth)
    counts = year.count[won]
    ratio = (
        np.average(after[won] / np.maximum(before[won], LEAST_SCORE), weights=counts)
        if (won.any())
        else 1.0
    )
    redundant = _made_redundant(rated, new, kit) if won.any() else ()
    trial = Trial(
        part=part,
        looks=year.looks,
        looks_won=int(counts.sum()),
        gain_share=share,
        gain_where_won=float(ratio) - 1.0,
        gains=gains,
        redundant=redundant,
        misfits=misfits,
        remarks=() if misfits else tuple(remarks_on(part, circumstances, kit, trains)),
        verdict="",
    )
    return replace(trial, verdict=verdict_on(trial))


def uses_in(rated: Rated, kit: Kit) -> tuple[EyepieceRole, ...]:
    """Say what each eyepiece of a kit, whose trains are rated, is for, in the order of the kit."""
    year = rated.year
    score, weight = rated.of_eyepieces(kit.eyepieces), rated.weight
    whole = np.max(score, axis=1, initial=0.0)
    worth = max(float(weight @ whole), 1e-12)
    best = np.argmax(score, axis=1) if kit.eyepieces else np.zeros(len(score), dtype=np.intp)
    uses = []
    for column, eyepiece in enumerate(kit.eyepieces):
        loss = weight * (whole - np.max(np.delete(score, column, axis=1), axis=1, initial=0.0))
        own = np.flatnonzero((best == column) & (whole >= LEAST_SCORE))
        ranked = own[np.argsort(-loss[own], kind="stable")]
        names = dict.fromkeys(year.targets[row].id for row in ranked)
        first = {year.targets[row].id: year.targets[row] for row in reversed(ranked)}
        uses.append(
            EyepieceRole(
                eyepiece,
                int(year.count[own].sum()),
                float(loss.sum()) / worth,
                tuple(first[name] for name in names),
            )
        )
    return tuple(uses)


def _rated_beside(
    year: Year, circumstances: Circumstances, kit: Kit, trains: Sequence[Train]
) -> Rated:
    """Rate the trains of a kit with another part, and those of the kit without it.

    The latter differ from the former only where the part is a corrector that stays in.
    """
    rated = rate_year(year, circumstances, trains)
    telescope = circumstances.telescope
    if corrector_in(telescope, kit) is not None or not any(
        _corrected(t, telescope) for t in trains
    ):
        return rated
    now = rate_year(year, circumstances, make_trains(telescope, kit))
    return Rated(year, (*now.trains, *rated.trains), np.hstack([now.score, rated.score]))


def _corrected(train: Train, telescope: Telescope) -> bool:
    return train.telescope.focal_length_mm != telescope.focal_length_mm


def _holds(train: Train, part: Part, telescope: Telescope) -> bool:
    if isinstance(part, Amplifier) and part.kind is AmplifierKind.CORRECTOR:
        return part is train.amplifier or _corrected(train, telescope)
    return part in (train.eyepiece, train.amplifier, train.filter)


def _misfits(trains: Sequence[Train], part: Part) -> tuple[str, ...]:
    """Say why a part goes together with nothing."""
    own = [t for t in trains if part in (t.eyepiece, t.amplifier, t.filter)]
    plain = [train for train in own if sum(map(bool, (train.amplifier, train.filter))) <= 1]
    if isinstance(part, Eyepiece):
        plain = [train for train in own if train.is_bare]
    return tuple(dict.fromkeys(fault for train in plain for fault in train.faults))


def _gains(
    rated: Rated, new: NDArray[np.bool_], won: NDArray[np.bool_], worth: float
) -> tuple[Gain, ...]:
    year = rated.year
    rows: dict[str, list[int]] = {}
    for row in np.flatnonzero(won):
        rows.setdefault(year.targets[row].id, []).append(int(row))
    old_score = np.where(new, -1.0, rated.score)
    new_score = np.where(new, rated.score, -1.0)
    gains = []
    for own in rows.values():
        each = rated.weight[own] * (
            new_score[own].max(axis=1) - np.maximum(old_score[own].max(axis=1), 0.0)
        )
        most = own[int(np.argmax(each))]
        old, best = int(np.argmax(old_score[most])), int(np.argmax(new_score[most]))
        has_old = bool((~new).any())
        gains.append(
            Gain(
                target=year.targets[most],
                instant=year.instants[most],
                present=rated.trains[old] if has_old else None,
                train=rated.trains[best],
                present_score=float(rated.score[most, old]) if has_old else 0.0,
                score=float(rated.score[most, best]),
                looks=int(year.count[own].sum()),
                worth=float(each.sum()) / worth if worth > 0.0 else np.inf,
            )
        )
    return tuple(sorted(gains, key=lambda gain: -gain.worth))


def _made_redundant(rated: Rated, new: NDArray[np.bool_], kit: Kit) -> tuple[str, ...]:
    """Name the needed eyepieces that may all go together once the candidate is there."""
    whose = {
        eyepiece.name: np.array([t.eyepiece == eyepiece for t in rated.trains], dtype=bool)
        for eyepiece in kit.eyepieces
    }
    needed = [name for name, own in whose.items() if _loss_share(rated, ~new, own) > NOTHING_SHARE]
    gone, names = np.zeros_like(new), list[str]()
    everything = np.ones_like(new)
    while True:
        losses = [
            (_loss_share(rated, everything, gone | whose[name]), name)
            for name in needed
            if name not in names
        ]
        loss, name = min(losses, default=(np.inf, ""))
        if loss > NOTHING_SHARE:
            return tuple(name for name in needed if name in names)
        gone |= whose[name]
        names.append(name)


def _loss_share(rated: Rated, kept: NDArray[np.bool_], own: NDArray[np.bool_]) -> float:
    """Return what trains are worth of all that are kept, 0 .. 1."""
    whole, rest = rated.best(kept), rated.best(kept & ~own)
    worth = float(rated.weight @ whole)
    return float(rated.weight @ (whole - rest)) / worth if worth > 0.0 else 0.0


# Shares of what the kit is worth in a year: below the first a change is not worth naming, and an
# eyepiece whose loss costs no more is not needed; from the second on it is a large one.
NOTHING_SHARE, LARGE_SHARE = 0.005, 0.03
# What no score tells.
CORRECTOR_WORDS = (
    "What a corrector is for, stars that stay points to the edge of the field, no score counts: "
    "faster than f/6 the coma of a paraboloid shows at low power, and this telescope is "
    "f/{ratio:.1f}. Counted is only that it changes powers and fields."
)
# The smallest number that is told [percent].
LEAST_PERCENT = 0.1


def remarks_on(
    part: Part, circumstances: Circumstances, kit: Kit, trains: Sequence[Train]
) -> Iterator[str]:
    """Return what is to be said of a part whatever it wins."""
    if isinstance(part, Amplifier) and part.kind is AmplifierKind.CORRECTOR:
        yield CORRECTOR_WORDS.format(ratio=circumstances.telescope.focal_ratio)
    if not isinstance(part, Eyepiece):
        return
    telescope, conditions = circumstances.telescope, circumstances.conditions
    doubt, relief = eyepiece_doubt(part), eye_relief_remark(part, circumstances.observer)
    yield from filter(None, (doubt, relief))
    cap = circumstances.highest_power
    bare = [t for t in trains if t.eyepiece == part and t.is_bare]
    remarks = [train_remarks(t, circumstances.observer, cap, conditions.seeing) for t in bare]
    ends = (remarks[0], remarks[-1]) if remarks else ()
    yield from dict.fromkeys(remark for told in ends for remark in told)
    masses_g = [eyepiece.mass_g for eyepiece in kit.eyepieces if eyepiece.mass_g is not None]
    if part.mass_g is None or telescope.balance_g is None or not masses_g:
        return
    change_g = max(abs(part.mass_g - mass_g) for mass_g in masses_g)
    if change_g > telescope.balance_g:
        yield (
            f"Beside your other eyepieces the mass changes by up to {change_g:.0f} g; the mount "
            f"bears {telescope.balance_g:.0f} g."
        )


def wastes_light(trial: Trial) -> bool:
    """Whether one of the remarks is that the exit pupil is wider than the eye's."""
    return any(remark.startswith(WIDE_PUPIL_WORDS) for remark in trial.remarks)


def verdict_on(trial: Trial) -> str:
    """Say in a sentence what the candidate is worth."""
    waste = " It wastes light." if wastes_light(trial) else ""
    return f"{_verdict_on_looks(trial)}{waste}"


def _verdict_on_looks(trial: Trial) -> str:
    name = trial.part.name
    if trial.misfits:
        return f"{name} cannot be used with this telescope and kit."
    if trial.looks_won == 0:
        return f"{name} changes nothing: what you own serves every look of the year as well."
    first = trial.gains[0].target.name
    won = f"it would win {trial.looks_won} of {trial.looks} looks"
    if math.isinf(trial.gain_share):
        return f"{name} is needed: without it the kit shows none of these targets, and {won}."
    percent = 100.0 * trial.gain_share
    share = f"{percent:.1f} percent" if percent >= LEAST_PERCENT else "less than 0.1 percent"
    if trial.gain_share < NOTHING_SHARE:
        nothing = f"{name} changes next to nothing: {won}, worth {share} of the year's looks"
        if trial.redundant:
            return f"{nothing}; but it takes the place of {', '.join(trial.redundant)}."
        return f"{nothing}."
    size = "much" if trial.gain_share >= LARGE_SHARE else "a little"
    return f"{name} adds {size}: {won}, worth {share} more in a year; most for {first}."
