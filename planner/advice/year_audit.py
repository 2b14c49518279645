"""The faults of a kit as a year of looks sees them, each with what mending it would bring."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from planner.advice.audit import GAP_RATIO, NEAR_STEP, KitReport, alike
from planner.advice.gains import WORTH_NOTING_SHARE, Addition, Gains, gain_by_adapters
from planner.advice.ladder_set import LEAST_STEP
from planner.formulas.optics import LARGEST_FIELD_STOP_MM, true_field_from_stop_deg
from planner.formulas.pupil import WIDE_BEAM
from planner.model.kit import Amplifier, FilterKind, Kit, Train, train_words
from planner.planning.circumstances import Circumstances

# Less than this is not worth a sentence of its own [share of a year].
LEAST_TOLD_SHARE = 0.005
# A kit stops short of what the air bears, or of the widest field, from these ratios on: our choice.
SHORT_OF_POWER, SHORT_OF_FIELD = 1.5, 1.25
# More near-doubles than these are told in one sentence.
MOST_PAIRS = 3
# Filters that pass lines want a wide beam: from here on [mm] (common practice: 3 to 6 mm).
LINE_FILTERS = (FilterKind.NARROWBAND, FilterKind.OIII, FilterKind.HBETA)
LINE_PUPIL_MM = 3.0


def year_faults(
    report: KitReport, gains: Gains, circumstances: Circumstances, kit: Kit
) -> tuple[str, ...]:
    """Return sentences on what a kit lacks and has twice, with shares of a year.

    Parameters
    ----------
    report : KitReport
        Its faults are told elsewhere; its trains are looked over here.
    gains : Gains
        The kit beside the table of usual pairs.
    circumstances, kit
        Who looks through which telescope with what.
    """
    usable = [train for train in report.trains if train.usable]
    if not usable:
        best = gains.best()
        return () if best is None else (f"To begin with: {best.words}.",)
    found = [
        *_short_of_power(usable, gains, circumstances),
        *_short_of_field(usable, gains, circumstances),
        *_gaps(usable, gains, circumstances),
        *_narrow_beams(gains, kit, circumstances),
        *_near_pairs(usable, gains, circumstances),
        *_amplifiers(usable, gains, kit, circumstances),
        *_idle_eyepieces(usable, gains),
        *_adapters(report, gains, circumstances, kit),
    ]
    best = gains.best()
    if best is not None and best.share > WORTH_NOTING_SHARE:
        named = any(f"{best.train.eyepiece.name} (" in sentence for sentence in found)
        if not named:
            found.append(f"Of all that is commonly to be had, {best.words}.")
    return tuple(dict.fromkeys(found))


def most_words(gains: Gains) -> str:
    """Say what the most is that any usual eyepiece would add, where that is not worth noting."""
    best = gains.best()
    if best is None:
        return "Nothing that is commonly to be had would add anything."
    if best.share > WORTH_NOTING_SHARE:
        return ""
    return f"Of all that is commonly to be had, {best.words}: no more than that."


def _short_of_power(
    usable: list[Train], gains: Gains, circumstances: Circumstances
) -> Iterator[str]:
    highest = circumstances.highest_power
    own = max((t.magnification for t in usable if t.magnification <= highest), default=0.0)
    lowest = min(t.magnification for t in usable)
    if lowest > highest:
        yield (
            f"Your lowest power, {lowest:.0f}x, is more than the {highest:.0f}x that aperture and "
            f"air bear{_addition(gains.best())}."
        )
        return
    best = gains.best(lambda train: own < train.magnification <= highest)
    if own * SHORT_OF_POWER < highest and _is_told(best):
        yield (
            f"Your highest power of use, {own:.0f}x, stops short of the {highest:.0f}x that "
            f"aperture and air bear{_addition(best)}."
        )


def _short_of_field(
    usable: list[Train], gains: Gains, circumstances: Circumstances
) -> Iterator[str]:
    pupil_mm, telescope = circumstances.conditions.pupil_mm, circumstances.telescope
    own = max(t.true_field_arcmin for t in usable)
    best = gains.best(
        lambda t: t.true_field_arcmin > own and t.exit_pupil_mm <= pupil_mm * WIDE_BEAM
    )
    widest = max(
        (t.true_field_arcmin for t in gains.trains if t.exit_pupil_mm <= pupil_mm * WIDE_BEAM),
        default=0.0,
    )
    if widest > SHORT_OF_FIELD * own and _is_told(best):
        stop_mm = LARGEST_FIELD_STOP_MM[telescope.focuser]
        holds = float(true_field_from_stop_deg(stop_mm, telescope.focal_length_mm))
        yield (
            f"Your widest field is {own / 60.0:.2f} deg, where the focuser would let {holds:.2f} "
            f"through: large clusters and nebulae do not fit{_addition(best)}."
        )
    largest = max(t.exit_pupil_mm for t in usable)
    low = gains.best(lambda t: largest < t.exit_pupil_mm <= pupil_mm * WIDE_BEAM)
    if largest * SHORT_OF_POWER < pupil_mm and low is not best and _is_told(low):
        yield (
            f"Your lowest power is {telescope.aperture_mm / largest:.0f}x, an exit pupil of "
            f"{largest:.1f} mm, where your eye takes {pupil_mm:.1f}{_addition(low)}."
        )


def _gaps(usable: list[Train], gains: Gains, circumstances: Circumstances) -> Iterator[str]:
    highest = circumstances.highest_power
    powers = sorted({round(t.magnification, 3) for t in usable if t.magnification <= highest})
    for low, high in pairwise(powers):
        if high > GAP_RATIO * low:
            best = gains.best(lambda t, low=low, high=high: low < t.magnification < high)  # type: ignore[misc]
            if best is not None and _is_told(best):
                yield f"In the gap between {low:.0f}x and {high:.0f}x {best.words}."


def _narrow_beams(gains: Gains, kit: Kit, circumstances: Circumstances) -> Iterator[str]:
    """Say for which filters the kit has no beam that is wide enough."""
    pupil_mm = circumstances.conditions.pupil_mm
    if pupil_mm < LINE_PUPIL_MM:
        return
    for filter_ in kit.filters:
        pupils = [t.exit_pupil_mm for t in gains.rated.trains if t.filter == filter_]
        if filter_.kind not in LINE_FILTERS or not pupils or max(pupils) >= LINE_PUPIL_MM:
            continue
        best = gains.best(lambda t: LINE_PUPIL_MM <= t.exit_pupil_mm <= pupil_mm * WIDE_BEAM)
        yield (
            f"{filter_.name} wants an exit pupil of {LINE_PUPIL_MM:.0f} to 6 mm; the widest that "
            f"it gets is {max(pupils):.1f}{_addition(best)}."
        )


def _near_pairs(usable: list[Train], gains: Gains, circumstances: Circumstances) -> Iterator[str]:
    """Name eyepieces whose powers are hardly a step apart, though their fields differ."""
    highest = circumstances.highest_power
    bare = [t for t in usable if t.amplifier is None and t.magnification <= highest]
    pairs: dict[frozenset[str], tuple[Train, Train]] = {}
    for one, other in pairwise(sorted(bare, key=lambda t: t.magnification)):
        names = frozenset({one.eyepiece.name, other.eyepiece.name})
        if len(names) > 1 and _step(one, other) < NEAR_STEP and not alike(one, other):
            pairs.setdefault(names, (one, other))
    if len(pairs) > MOST_PAIRS:
        named = ", ".join(f"{one.magnification:.0f}x" for one, _ in pairs.values())
        last = list(pairs.values())[-1][1].magnification
        yield (
            f"{len(pairs)} pairs of neighbours are hardly a step apart, less than {NEAR_STEP:g}: "
            f"{named}, {last:.0f}x."
        )
        return
    for one, other in pairs.values():
        lost = " and ".join(
            f"{100.0 * gains.lost_without(t.eyepiece):.1f} percent without {t.eyepiece.name}"
            for t in (one, other)
        )
        yield (
            f"{train_words(one)} ({one.magnification:.0f}x) and {train_words(other)} "
            f"({other.magnification:.0f}x) are hardly a step apart; the kit would lose {lost}."
        )


def _amplifiers(
    usable: list[Train], gains: Gains, kit: Kit, circumstances: Circumstances
) -> Iterator[str]:
    """Say which amplifiers make powers that are there without them.

    A binoviewer is not had for its powers.
    """
    highest = circumstances.highest_power
    bare = [t for t in usable if t.amplifier is None and t.magnification <= highest]
    for amplifier in kit.amplifiers:
        own = [t for t in usable if t.amplifier == amplifier and t.magnification <= highest]
        twins = [(t, near) for t in own if (near := _nearest(t, bare)) is not None]
        if twins and amplifier.eyes == 1:
            yield _twin_words(amplifier, twins, len(own), gains)


def _nearest(train: Train, bare: list[Train]) -> Train | None:
    """Return the bare eyepiece less than a step away in power that shows no smaller field."""
    near = [t for t in bare if _step(t, train) < LEAST_STEP * (1.0 - 1e-9)]
    return min(near, key=lambda t: _step(t, train), default=None)


def _step(one: Train, other: Train) -> float:
    ratio = one.magnification / other.magnification
    return max(ratio, 1.0 / ratio)


def _twin_words(
    amplifier: Amplifier, twins: list[tuple[Train, Train]], powers: int, gains: Gains
) -> str:
    pairs = ", ".join(
        f"{one.magnification:.0f}x beside {other.magnification:.0f}x ({train_words(other)})"
        for one, other in twins
    )
    lost = f"without it the kit would lose {100.0 * gains.lost_without(amplifier):.1f} percent"
    if len(twins) == powers:
        return f"{amplifier.name} makes no power of its own, only {pairs}; {lost}."
    return f"{amplifier.name} makes near-doubles, {pairs}; {lost}."


def _idle_eyepieces(usable: list[Train], gains: Gains) -> Iterator[str]:
    """Name eyepieces without which next to nothing is lost, where there are more than two."""
    eyepieces = list(dict.fromkeys(t.eyepiece for t in usable))
    lost = {eyepiece.name: gains.lost_without(eyepiece) for eyepiece in eyepieces}
    idle = [name for name, share in lost.items() if share < 0.1 * LEAST_TOLD_SHARE]
    if len(eyepieces) > 2 and idle:
        yield (
            f"Hardly missed if it were not there: {', '.join(idle)}. The kit would lose less "
            f"than {10.0 * LEAST_TOLD_SHARE:.2f} percent of a year."
        )


def _adapters(
    report: KitReport, gains: Gains, circumstances: Circumstances, kit: Kit
) -> Iterator[str]:
    if not any(" adapter in the " in fault for t in report.trains for fault in t.faults):
        return
    share = gain_by_adapters(gains.rated.year, circumstances, kit)
    if np.isfinite(share):
        yield f"Adapters for what does not fit would add {100.0 * share:.1f} percent in a year."


def _is_told(best: Addition | None) -> bool:
    return best is not None and best.share >= LEAST_TOLD_SHARE


def _addition(best: Addition | None) -> str:
    return "" if best is None else f"; {best.words}"
