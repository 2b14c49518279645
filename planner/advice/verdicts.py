"""What is said of a candidate: what speaks against it whatever it wins, and the verdict."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from planner.advice.audit import WIDE_PUPIL_WORDS, eye_relief_remark, train_remarks
from planner.advice.results import Part, Trial
from planner.config.plausibility import eyepiece_doubt
from planner.formulas.seeing import seeing_power_cap
from planner.model.kit import Eyepiece, Kit, Train
from planner.planning.survey import Circumstances

# Shares of what the kit is worth in a year: below the first a change is not worth naming, and an
# eyepiece whose loss costs no more is not needed; from the second on it is a large one.
NOTHING_SHARE, LARGE_SHARE = 0.005, 0.03
# The smallest number that is told [percent].
LEAST_PERCENT = 0.1


def remarks_on(
    part: Part, circumstances: Circumstances, kit: Kit, trains: Sequence[Train]
) -> Iterator[str]:
    """Give what speaks against an eyepiece whatever it wins."""
    if not isinstance(part, Eyepiece):
        return
    telescope, conditions = circumstances.telescope, circumstances.conditions
    doubt, relief = eyepiece_doubt(part), eye_relief_remark(part, circumstances.observer)
    yield from filter(None, (doubt, relief))
    cap = float(
        seeing_power_cap(
            conditions.seeing_step, altitude_deg=90.0, aperture_mm=telescope.aperture_mm
        )
    )
    bare = [t for t in trains if t.eyepiece == part and not t.amplifier and not t.filter]
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
