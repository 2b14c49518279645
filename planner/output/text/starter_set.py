"""Writes a set to buy as text of 80 columns."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from planner.advice.ladder_set import LEAST_STEP, WIDEST_STEP
from planner.advice.market import pair_of
from planner.advice.results import SetEyepiece, Start, YearHeading
from planner.advice.starter_set import Priced
from planner.matcher.scoring import EYE_RELIEF_LEAST_WITH_SPECTACLES_MM
from planner.model.kit import Barrel
from planner.output.text.advice import MEASURE, year_words
from planner.text import text_of, wrap

# From here on an apparent field is called wide [deg].
WIDE_DEG = 80.0
USUAL_PAIRS = (
    "Lengths and fields stand for classes of eyepieces that are commonly to be had: a neighbouring "
    "length, or a field some degrees off, serves as well. Eye relief and mass are what is usual in "
    "the class."
)
NUMBERS = (
    "Power is the focal length of the telescope over that of the eyepiece; exit pupil, the width "
    "of the beam into the eye, is aperture over power; true field is how much sky one sees. Points "
    "are hundredths of a year in which every look had the eyepiece that suits it perfectly."
)


def start_text(
    start: Start, heading: YearHeading, *, barlow: float | None, priced: Priced | None = None
) -> str:
    """Write a set, in which order to buy it, and what it is worth beside the usual advice."""
    pupil_mm = heading.circumstances.conditions.pupil_mm
    beside = "" if barlow is None else f" beside a {barlow:g}x Barlow"
    lines = [
        *year_words(heading),
        "",
        f"The best {_eyepieces(len(start.choices))}{beside}, for a pupil of {pupil_mm:.1f} mm",
        "",
        "buy  length apparent barrel  power  pupil     field eye relief       mass  adds",
        *map(_row, start.choices),
    ]
    for paragraph in _paragraphs(start, heading, barlow, priced):
        lines += ["", *wrap(paragraph)]
    return text_of(lines)


def _row(choice: SetEyepiece) -> str:
    eyepiece, pair = choice.eyepiece, pair_of(choice.eyepiece)
    relief, mass = (pair.eye_relief_mm, pair.mass_g) if pair else (None, None)
    return (
        f"{'own' if choice.is_there else choice.number:<4}"
        f"{eyepiece.focal_lengths_mm[0]:>5g} mm{eyepiece.apparent_fields_deg[0]:>5.0f} deg "
        f"{eyepiece.barrel:<6}{choice.magnification:>6.0f}x{choice.exit_pupil_mm:>4.1f} mm"
        f"{choice.true_field_deg:>6.2f} deg{_range(relief, 'mm', eyepiece.eye_relief_mm):>11}"
        f"{_range(mass, 'g', eyepiece.mass_g):>11}{100.0 * choice.adds:>6.1f}"
    )


def _range(span: tuple[float, float] | None, unit: str, stated: float | None) -> str:
    if span is None:
        return "" if stated is None else f"{stated:g} {unit}"
    return f"{span[0]:g}-{span[1]:g} {unit}"


def _paragraphs(
    start: Start, heading: YearHeading, barlow: float | None, priced: Priced | None
) -> Iterator[str]:
    yield _set_words(start, barlow)
    if priced is not None:
        yield _cost_words(start, priced)
    yield _next_words(start)
    yield _ladder_words(start, barlow)
    yield from _spectacles_words(heading)
    yield from _mass_words(start, heading)
    if priced is None:
        yield _usual_words(start, barlow)
    fields_deg = [choice.eyepiece.apparent_fields_deg[0] for choice in start.choices]
    if not heading.circumstances.telescope.driven and max(fields_deg, default=0.0) >= WIDE_DEG:
        yield (
            "Wide fields gain here also because the telescope is moved by hand: they hold a "
            "target longer."
        )
    yield f"{NUMBERS} {MEASURE}"
    if priced is None:
        yield USUAL_PAIRS


def _set_words(start: Start, barlow: float | None) -> str:
    words = (
        f"They reach {100.0 * start.worth:.1f} points of 100; everything that can be had"
        f"{'' if barlow is None else ' with the Barlow'} reaches {100.0 * start.most:.1f}."
    )
    bought = sum(not choice.is_there for choice in start.choices)
    if bought > 1:
        words = f"Buy them in the order of the first column: each adds most next. {words}"
    if not bought:
        words = f"What is there reaches from end to end already. {words}"
    if start.asked is not None and len(start.choices) < start.asked:
        words += f" There is no room for {start.asked}: more would stand too close."
    if start.small_worth is not None:
        words += f" As many in 1.25 inch alone reach {100.0 * start.small_worth:.1f}."
    return words


def _next_words(start: Start) -> str:
    if start.next is None:
        return (
            "No more is worth buying: nothing that keeps its distance from these adds anything "
            "that you would notice."
        )
    adds = 100.0 * (start.next_worth - start.worth)
    words = f"One more, {start.next.name}, would add {adds:.1f} to {100.0 * start.next_worth:.1f}"
    return (
        f"No more is worth buying: {words[0].lower()}{words[1:]}."
        if start.is_enough
        else f"{words}."
    )


def _ladder_words(start: Start, barlow: float | None) -> str:
    steps = [high / low for low, high in pairwise(start.powers)]
    told = f"The powers are {', '.join(f'{power:.0f}x' for power in start.powers)}"
    if barlow is not None:
        told += ", the Barlow's up to what the air bears among them"
    if steps:
        told += (
            f"; from one to the next a factor of {', '.join(f'{step:.2f}' for step in steps)}, "
            f"where {LEAST_STEP:g} to {WIDEST_STEP:g} is usual"
        )
    reach = (
        f"from the widest field that wastes no light here ({start.widest_deg:.2f} deg, at "
        f"{start.lowest_power:.0f}x) to the {start.highest_power:.0f}x that aperture and air bear "
        "overhead"
    )
    if start.is_whole and max(start.powers) * LEAST_STEP >= start.highest_power * (1.0 - 1e-9):
        return f"{told}. They reach {reach}, or within a step of it."
    if start.is_whole:
        more = "a shorter one" if barlow is not None else "a Barlow"
        return f"{told}. They do not reach {reach}: that takes {more}."
    if start.asked is None:
        return f"{told}. They do not reach {reach}: nothing more keeps its distance from these."
    return f"{told}. They do not reach {reach}: that takes more eyepieces, or a Barlow."


def _spectacles_words(heading: YearHeading) -> Iterator[str]:
    if heading.circumstances.observer.spectacles:
        least = EYE_RELIEF_LEAST_WITH_SPECTACLES_MM
        yield (
            f"With spectacles ask for {least:.0f} mm of eye relief or more, the upper end of each "
            "range; only classes that come with as much are proposed. Below an exit pupil of 1.7 "
            "mm most eyes can do without the glasses."
        )


def _mass_words(start: Start, heading: YearHeading) -> Iterator[str]:
    balance_g = heading.circumstances.telescope.balance_g
    masses = [c.eyepiece.mass_g for c in start.choices if c.eyepiece.mass_g is not None]
    if balance_g is None or len(masses) < 2:
        return
    change_g = max(masses) - min(masses)
    if change_g > balance_g:
        yield (
            f"From the lightest to the heaviest the mass changes by about {change_g:.0f} g, and "
            f"the mount bears {balance_g:.0f} g: a counterweight is needed, or balancing anew; "
            "the minutes for that are counted."
        )


def _cost_words(start: Start, priced: Priced) -> str:
    bought = [c for c in start.choices if not c.is_there]
    costs = {choice.eyepiece.name: priced.cost(choice.eyepiece, ()) for choice in bought}
    whole = sum(costs.values())
    each = ", ".join(f"{name} ({cost:g})" for name, cost in costs.items()) if costs else "nothing"
    return f"Within {priced.budget:g} that is {each}, {whole:g} in all, by your own figures."


def _usual_words(start: Start, barlow: float | None) -> str:
    names = ", ".join(choice.eyepiece.name for choice in start.usual)
    gain = 100.0 * (start.three_worth - start.usual_worth)
    has_two = any(c.eyepiece.barrel.inches >= Barrel.TWO.inches for c in start.usual)
    advice = (
        "two of 1.25 inch and one long 2 inch"
        if has_two
        else "short, medium and as long as your focuser takes"
    )
    beside = "" if barlow is None else ", both beside the Barlow"
    words = (
        f"The usual advice, {advice}, is here {names}: {100.0 * start.usual_worth:.1f} points. "
        f"The best three reach {100.0 * start.three_worth:.1f}, {abs(gain):.1f} "
        f"{'more' if gain >= 0.0 else 'less, for the sake of even steps'}{beside}."
    )
    short = start.usual[0]
    if short.magnification > start.highest_power:
        words += (
            f" Its short one gives {short.magnification:.0f}x, and the air of your site bears "
            f"{start.highest_power:.0f}x overhead."
        )
    return words


def _eyepieces(count: int) -> str:
    return "single eyepiece" if count == 1 else f"{count} eyepieces"
