"""The ladder of powers and exit pupils of a kit, on a scale of ratios, as SVG and as text."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from string import ascii_uppercase

from planner.model.kit import Telescope, Train
from planner.output.drawing.svg import svg_element, svg_text
from targets.frozen import frozen

WIDTH, HEIGHT, LEFT, RIGHT = 800.0, 140.0, 100.0, 20.0
LINE_Y = 80.0
# Steps that leave a gap, and steps that are hardly one (common practice).
GAP_STEP, NEAR_STEP = 2.0, 1.2
POWERS = (10, 20, 30, 50, 70, 100, 150, 200, 300, 500, 700, 1000)


@frozen
class Rung:
    """A power of the kit: its mark, and whether an amplifier makes it or it is a candidate's."""

    mark: str
    magnification: float
    is_amplified: bool = False
    is_new: bool = False


@frozen
class Ladder:
    """Powers, and between which they are of use.

    Parameters
    ----------
    aperture_mm : float
        It makes exit pupils of powers [mm].
    lowest, highest : float
        Below which the beam is wider than the observer's pupil, and above which the air of the
        site shows no more.
    """

    rungs: tuple[Rung, ...]
    aperture_mm: float
    lowest: float
    highest: float

    def steps(self) -> tuple[list[tuple[Rung, Rung]], list[tuple[Rung, Rung]]]:
        """Return gaps and near-doubles among powers of use, each as the rungs beside it."""
        useful = sorted(
            (rung for rung in self.rungs if rung.magnification <= self.highest),
            key=lambda rung: rung.magnification,
        )
        ratios = [
            (one, two, two.magnification / one.magnification) for one, two in pairwise(useful)
        ]
        return (
            [(one, two) for one, two, ratio in ratios if ratio > GAP_STEP],
            [(one, two) for one, two, ratio in ratios if ratio < NEAR_STEP],
        )


def marks_of(trains: Sequence[Train]) -> dict[str, str]:
    """Return a letter for each eyepiece, by the lowest power that it makes alone."""
    bare = sorted((t for t in trains if t.amplifier is None), key=lambda t: t.magnification)
    names = dict.fromkeys(train.eyepiece.name for train in bare)
    return {name: ascii_uppercase[index % 26] for index, name in enumerate(names)}


def ladder_of(
    trains: Sequence[Train],
    telescope: Telescope,
    pupil_mm: float,
    highest: float,
    new: Sequence[Train] = (),
) -> Ladder:
    """Return the ladder of some trains; those that are new are marked as such."""
    marks = marks_of(trains)
    rungs = [
        Rung(mark_of(t, marks), t.magnification, t.amplifier is not None, t in new) for t in trains
    ]
    aperture_mm = telescope.aperture_mm
    return Ladder(tuple(rungs), aperture_mm, aperture_mm / pupil_mm, highest)


def mark_of(train: Train, marks: dict[str, str]) -> str:
    """Return the letter of an eyepiece, with a plus where an amplifier is in."""
    return marks.get(train.eyepiece.name, "?") + ("+" if train.amplifier else "")


def ladder_svg(ladder: Ladder) -> str:
    """Return an SVG element: powers above the line, exit pupils below it, marks on it.

    What is of no use is shaded, a gap is a dashed line, near-doubles are joined by a bracket.
    """
    low, high = _ends(ladder)

    def at(power: float) -> float:
        share = math.log(power / low) / math.log(high / low)
        return LEFT + share * (WIDTH - LEFT - RIGHT)

    ends = (at(low), at(ladder.lowest), at(ladder.highest), at(high))
    gaps, near = ladder.steps()
    parts = [
        *(_shade(*span) for span in (ends[:2], ends[2:])),
        f'<path class="look" d="M {ends[1]:.1f} {LINE_Y:g} H {ends[2]:.1f}"/>',
        *(_scale(power, ladder.aperture_mm, at(power)) for power in POWERS if low < power < high),
        *(_rung(rung, at(rung.magnification)) for rung in ladder.rungs),
        *(_gap(at(one.magnification), at(two.magnification)) for one, two in gaps),
        *(_bracket(at(one.magnification), at(two.magnification)) for one, two in near),
        svg_text(0.0, 128.0, "exit pupil [mm]", anchor="start"),
        svg_text(0.0, 14.0, "power", anchor="start"),
    ]
    return svg_element("ladder", f"0 0 {WIDTH:g} {HEIGHT:g}", "Powers and exit pupils", parts)


def ladder_lines(ladder: Ladder, width: int) -> list[str]:
    """Return the same in three lines of plain characters: powers, rungs, exit pupils.

    A letter is an eyepiece, a small one with an amplifier. Dots are powers of no use, equals signs
    a gap; of rungs in one place the last letter stands.
    """
    low, high = _ends(ladder)
    last = width - 1

    def at(power: float) -> int:
        return round(last * math.log(power / low) / math.log(high / low))

    rail = ["-" if at(ladder.lowest) <= k <= at(ladder.highest) else "." for k in range(width)]
    for one, two in ladder.steps()[0]:
        span = range(at(one.magnification), at(two.magnification))
        for k in span:
            rail[k] = "="
    for rung in ladder.rungs:
        letter = rung.mark[:1].lower() if rung.is_amplified else rung.mark[:1]
        rail[at(rung.magnification)] = letter
    powers, pupils = [" "] * width, [" "] * width
    free = 0
    for power in POWERS:
        words = (f"{power}x", f"{ladder.aperture_mm / power:.2g}")
        place, longest = at(power), max(map(len, words))
        if low < power < high and free <= place <= width - longest:
            for line, word in zip((powers, pupils), words, strict=True):
                line[place : place + len(word)] = word
            free = place + longest + 2
    return ["".join(line).rstrip() for line in (powers, rail, pupils)]


def _ends(ladder: Ladder) -> tuple[float, float]:
    """Return the powers at which the drawing begins and ends."""
    powers = [rung.magnification for rung in ladder.rungs] + [ladder.lowest, ladder.highest]
    return 0.85 * min(powers), 1.18 * max(powers)


def _shade(start: float, end: float) -> str:
    return (
        f'<rect class="darkness" x="{start:.1f}" y="24" width="{max(end - start, 0.0):.1f}" '
        'height="92"/>'
    )


def _scale(power: float, aperture_mm: float, x: float) -> str:
    pupil = f"{aperture_mm / power:.2g}"
    tick = f'<path class="level" d="M {x:.1f} 24 V 116"/>'
    return tick + svg_text(x, 14.0, f"{power}x") + svg_text(x, 128.0, pupil)


def _rung(rung: Rung, x: float) -> str:
    up = not rung.is_amplified
    end = LINE_Y - 28.0 if up else LINE_Y + 16.0
    name = "new-rung" if rung.is_new else "rung"
    line = f'<path class="{name}" d="M {x:.1f} {LINE_Y:g} V {end:g}"/>'
    return line + svg_text(x, end - 5.0 if up else end + 13.0, rung.mark)


def _gap(start: float, end: float) -> str:
    return f'<path class="outline gap" d="M {start:.1f} {LINE_Y - 12:g} H {end:.1f}"/>'


def _bracket(start: float, end: float) -> str:
    return f'<path class="drift near" d="M {start:.1f} {LINE_Y + 3:g} v 7 H {end:.1f} v -7"/>'
