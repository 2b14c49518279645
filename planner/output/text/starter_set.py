"""Writes a set from nothing as text of 80 columns."""

from __future__ import annotations

import numpy as np

from planner.advice.starter_set import Start
from planner.model.kit import Barrel
from planner.output.text.advice import MEASURE, YearHeading, text_of, year_words
from planner.output.words import WIDTH
from planner.text import wrap

# Steps between neighbours that are usual (common practice).
USUAL_STEPS = (1.4, 2.0)
# From here on an apparent field is called wide [deg].
WIDE_DEG = 82.0


def start_text(start: Start, frame: YearHeading, *, barlow: float | None) -> str:
    """Write a set from nothing, beside the usual advice."""
    pupil_mm = frame.circumstances.conditions.pupil_mm
    beside = "" if barlow is None else f" beside a {barlow:g}x Barlow"
    lines = [
        *year_words(frame),
        "",
        f"The best {_eyepieces(len(start.choices))}{beside}, for a pupil of {pupil_mm:.1f} mm",
        "",
        "role    focal length  apparent  barrel  power  exit pupil  true field  best for",
    ]
    for choice in start.choices:
        eyepiece = choice.eyepiece
        lines.append(
            f"{choice.role:<7} {eyepiece.focal_lengths_mm[0]:>9g} mm"
            f"{eyepiece.apparent_fields_deg[0]:>6g} deg  {eyepiece.barrel:<6}"
            f"{choice.magnification:>6.0f}x{choice.exit_pupil_mm:>9.1f} mm"
            f"{choice.true_field_deg:>8.2f} deg{choice.looks / max(start.looks, 1):>10.0%}"
        )
    lines += ["", *wrap(_set_words(start, barlow), width=WIDTH)]
    lines += ["", *wrap(_usual_words(start, frame, barlow), width=WIDTH)]
    steps = _step_words(start)
    lines += ["", *wrap(steps, width=WIDTH)] if steps else []
    fields_deg = [choice.eyepiece.apparent_fields_deg[0] for choice in start.choices]
    if not frame.circumstances.telescope.driven and max(fields_deg) >= WIDE_DEG:
        held = "Wide fields gain here also because the telescope is moved by hand: they hold a"
        lines += ["", *wrap(f"{held} target longer.", width=WIDTH)]
    lines += ["", *wrap(MEASURE, width=WIDTH)]
    return text_of(lines)


def _set_words(start: Start, barlow: float | None) -> str:
    words = (
        f"They reach {100.0 * start.worth:.1f} percent of a year of perfect looks; everything that "
        f"can be had{'' if barlow is None else ' with the Barlow'} reaches "
        f"{100.0 * start.most:.1f}."
    )
    if start.small_worth is not None:
        words += f" As many in 1.25 inch alone reach {100.0 * start.small_worth:.1f}."
    if start.next is None:
        return f"{words} One more adds nothing that you would notice."
    return f"{words} One more, {start.next.name}, makes it {100.0 * start.next_worth:.1f}."


def _usual_words(start: Start, frame: YearHeading, barlow: float | None) -> str:
    names = ", ".join(
        f"{choice.eyepiece.name} (best for {choice.looks / max(start.looks, 1):.0%})"
        for choice in start.usual
    )
    gain = 100.0 * (start.three_worth - start.usual_worth)
    has_two = frame.circumstances.telescope.focuser.inches >= Barrel.TWO.inches
    advice = (
        "two of 1.25 inch and one long 2 inch"
        if has_two
        else "two short ones and a long one, as wide as your focuser takes"
    )
    beside = "" if barlow is None else ", both beside the Barlow"
    words = (
        f"The usual advice, {advice}, is here {names}: {100.0 * start.usual_worth:.1f} percent. "
        f"The best three reach {100.0 * start.three_worth:.1f}, {gain:.1f} points more{beside}."
    )
    short = start.usual[0]
    if short.magnification > start.highest_power:
        words += (
            f" The short one gives {short.magnification:.0f}x, and the air of your site bears "
            f"{start.highest_power:.0f}x overhead."
        )
    return words


def _step_words(start: Start) -> str:
    """Compare the steps of the set with the usual ones, and say why they differ."""
    lengths = np.array([choice.eyepiece.focal_lengths_mm[0] for choice in start.choices])
    if len(lengths) < 2:
        return ""
    steps = lengths[1:] / lengths[:-1]
    low, high = USUAL_STEPS
    words = f"Steps of {', '.join(f'{step:.2f}' for step in steps)}; usual are {low:g} to {high:g}."
    if np.any(steps < low):
        words += " Closer steps stand where most of the year's looks are, wider ones elsewhere."
    elif np.any(steps > high):
        words += " With so few the gap lies where the year has the fewest looks."
    return words


def _eyepieces(count: int) -> str:
    return "single eyepiece" if count == 1 else f"{count} eyepieces"
