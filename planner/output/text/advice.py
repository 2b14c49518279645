"""Writes trials, barrels and uses as text of 80 columns."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from planner.advice.barrels import AMPLE_SET, BarrelReport, Barrels
from planner.advice.results import (
    Duel,
    EyepieceRole,
    Gain,
    JudgedCandidates,
    Part,
    Trial,
    YearHeading,
    number_of_targets,
)
from planner.advice.year import EVERY_DAYS
from planner.formulas.optics import exit_pupil_mm, magnification, transit_time_s
from planner.model.kit import Amplifier, Barrel, Eyepiece, train_words
from planner.output.words import date_words
from planner.planning.circumstances import Circumstances
from planner.text import WIDTH, first_named, fit, text_of, wrap
from targets.model import Target

# Apparent fields between which eyepieces are made (common practice) [deg].
USUAL_FIELDS_DEG = (40.0, 100.0)
# Below this nobody notices the difference of two sets [points of 100].
LEAST_POINTS = 0.5
# By which the use of a wide field is told: an exit pupil for most things, a plain and a wide field.
EXAMPLE_PUPIL_MM, EXAMPLE_FIELDS_DEG = 2.0, (50.0, 82.0)
NAME_WIDTH, TRAIN_WIDTH = 23, 20
MOST_NAMED = 8
NO_MARK_OF_QUALITY = (
    "The barrel follows from focal length and apparent field: it has to be as wide as their "
    "product asks for. It is no mark of quality; below that product a wider barrel shows nothing "
    "more and only weighs more."
)
# Below this a cost for each percent says nothing [percent].
LEAST_FOR_COST = 0.5
TRIAL_NUMBERS = (
    "Percent are of what your kit makes of the year now; a score of 100 is a look in the eyepiece "
    "that suits it perfectly."
)
MEASURE = (
    "A look counts by how much its target is wanted; what a train makes of it is the matcher's "
    "score. Differences of a percent are for the reckoning, not for the eye."
)


def year_words(heading: YearHeading) -> list[str]:
    """Say which nights stand for the year, and what they hold."""
    year, first = heading.year, heading.first
    telescope = heading.circumstances.telescope.name
    nights = (
        f"A year from {date_words(first)}, one night in "
        f"{EVERY_DAYS}: {year.nights_used} of {year.nights} nights show something, "
        f"{year.looks} looks at {number_of_targets(year)} targets."
    )
    if year.nights_used < year.nights and year.why_none:
        nights += f" Of the others: {year.why_none}"
    return [fit(f"{telescope}, {heading.site.name}", WIDTH).rstrip(), *wrap(nights)]


def trials_text(
    judged: JudgedCandidates, heading: YearHeading, drawings: Sequence[str] = ()
) -> str:
    """Write what candidates would change, in the order given."""
    lines = [*year_words(heading)]
    for trial in judged.trials:
        lines += ["", *_trial(trial, heading.circumstances)]
        lines += wrap(cost_words(trial, judged.costs))
    if judged.against is not None:
        lines += ["", "Against each other"]
        for sentence in duel_sentences(judged.against):
            lines += wrap(sentence, first="- ", rest="  ")
    lines += [*drawings, "", *wrap(TRIAL_NUMBERS), *wrap(MEASURE)]
    return text_of(lines)


def cost_words(trial: Trial, costs: Mapping[str, float]) -> str:
    """Say what a candidate costs for each percent that it adds; nothing where no cost is stated."""
    cost = costs.get(trial.part.name)
    if cost is None:
        return ""
    words = f"It costs {cost:g}, by your own figure"
    percent = 100.0 * trial.gain_share
    if not LEAST_FOR_COST <= percent < math.inf:
        return f"{words}."
    return f"{words}: {cost / percent:.3g} for each percent that it adds."


def duel_sentences(against: Duel) -> list[str]:
    """Say which of two candidates does what better, and what both would add."""
    names = [part.name for part in against.parts]
    sentences = []
    for place, other in ((0, 1), (1, 0)):
        targets = against.targets[place]
        if not targets:
            sentences.append(f"{names[place]} shows nothing better than {names[other]} would.")
            continue
        sentences.append(
            f"{names[place]} is better for {against.looks_won[place]} looks: {_names(targets)}."
        )
    first, second = (100.0 * share for share in against.gain_share)
    both = 100.0 * against.both_share
    sentences.append(
        f"Alone they add {first:.1f} and {second:.1f} percent, both together {both:.1f}: beside "
        f"the first the second adds {both - first:.1f}."
    )
    return sentences


def barrels_text(barrels: Barrels, heading: YearHeading) -> str:
    """Write what each barrel means for the telescope."""
    focal_mm = heading.circumstances.telescope.focal_length_mm
    lines = [
        *year_words(heading),
        "",
        *wrap(barrel_answer(barrels, heading)),
        "",
        f"Largest true field = 2 arctan(field stop / (2 x {focal_mm:g} mm))",
    ]
    lines += [
        f"  {r.barrel:<7} holds a stop of {r.stop_mm:g} mm: {r.field_deg:.2f} deg"
        for r in barrels.reports
    ]
    for paragraph in barrel_paragraphs(barrels, heading):
        lines += ["", *wrap(paragraph)]
    return text_of(lines)


def barrel_answer(barrels: Barrels, heading: YearHeading) -> str:
    """Answer in three sentences which barrel to buy."""
    reports, focal_mm = barrels.reports, heading.circumstances.telescope.focal_length_mm
    if len(reports) < 2:
        only = reports[0]
        return (
            f"{heading.circumstances.telescope.name} takes {only.barrel} alone, so there is "
            f"nothing to choose. Its widest field is {only.field_deg:.2f} deg, whatever the "
            f"eyepiece. {len(only.too_large)} of the {barrels.targets} targets of the year are too "
            "large for it, and all others lose nothing."
        )
    small, large = reports[-2], reports[-1]
    gain = 100.0 * (large.worth - small.worth)
    wins = len(small.too_large) - len(large.too_large)
    fields = (
        f"At {focal_mm:g} mm of focal length a {small.barrel} eyepiece shows at most "
        f"{small.field_deg:.2f} deg of sky and a {large.barrel} one {large.field_deg:.2f} deg; "
        "in nothing else is the wider barrel better."
    )
    year = (
        f"Of the {barrels.targets} targets of the year {wins} need the wider one, and the best "
        f"{AMPLE_SET} eyepieces reach {100.0 * small.worth:.1f} points of 100 in {small.barrel} "
        f"alone, {100.0 * large.worth:.1f} with {large.barrel} among them."
    )
    if gain < LEAST_POINTS:
        verdict = f"So stay in {small.barrel}: for you the wider barrel changes next to nothing."
    else:
        verdict = (
            f"So {large.barrel} is worth {gain:.1f} points to you, in one long eyepiece for the "
            f"largest targets; buy all shorter ones in {small.barrel}."
        )
    return f"{fields} {year} {verdict}"


def width_words(circumstances: Circumstances) -> str:
    """Say what a wider apparent field is good for, with the numbers of the telescope."""
    telescope = circumstances.telescope
    power = round(telescope.aperture_mm / EXAMPLE_PUPIL_MM)
    narrow, wide = (field_deg / power for field_deg in EXAMPLE_FIELDS_DEG)
    words = (
        f"A wider apparent field shows more sky at the same power, and nothing else: at {power}x "
        f"{EXAMPLE_FIELDS_DEG[0]:.0f} deg are {narrow:.2f} deg of sky and "
        f"{EXAMPLE_FIELDS_DEG[1]:.0f} deg are {wide:.2f}. So a large target fits at a higher "
        "power, against a darker sky."
    )
    if telescope.driven:
        return words
    seconds = (float(transit_time_s(field, 0.0)) for field in (narrow, wide))
    first, second = (f"{each / 60.0:.1f}" for each in seconds)
    return (
        f"{words} Moved by hand it also holds a target longer: a star at the equator crosses them "
        f"in {first} and {second} minutes."
    )


def barrel_paragraphs(barrels: Barrels, heading: YearHeading) -> list[str]:
    """Say what follows from the fields of the barrels, a paragraph each."""
    circumstances = heading.circumstances
    longest = (
        f"At f/{circumstances.telescope.focal_ratio:.3g} and a "
        f"{circumstances.conditions.pupil_mm:.1f} mm pupil a {barrels.longest_mm:.3g} mm eyepiece "
        f"is the longest that wastes nothing. At that length "
        f"{', '.join(map(_fill_clause, barrels.reports))}."
    )
    mass = [_mass_words(barrels, heading)] if len(barrels.reports) > 1 else []
    too_large = (_too_large_words(report, barrels) for report in barrels.reports)
    return [
        longest,
        *too_large,
        _worth_words(barrels.reports),
        width_words(circumstances),
        *mass,
        NO_MARK_OF_QUALITY,
    ]


def uses_lines(uses: Sequence[EyepieceRole], heading: YearHeading) -> list[str]:
    """Say what each eyepiece of the kit is for."""
    lines = ["", "What each eyepiece is for", *year_words(heading)[1:]]
    for use in uses:
        name = use.eyepiece.name
        if not use.looks:
            sentence = f"{name}: wins nothing; no target of the year is shown best in it."
        else:
            sentence = (
                f"{name}: best for {use.looks} looks ({use.looks / heading.year.looks:.0%}); "
                f"without it the kit would lose {use.loss_share:.1%}. {_names(use.targets)}."
            )
        lines += wrap(sentence, first="- ", rest="  ")
    return lines


def _trial(trial: Trial, circumstances: Circumstances) -> list[str]:
    lines = [part_words(trial.part, circumstances), *wrap(trial.verdict)]
    for remark in (*trial.misfits, *trial.remarks):
        lines += wrap(remark, first="- ", rest="  ")
    if trial.gains:
        then = f"{fit('now with', TRAIN_WIDTH)} {fit('then with', TRAIN_WIDTH)} score"
        lines += ["", f"{fit('target', NAME_WIDTH)} looks  {then}"]
        lines += map(_gain_row, trial.gains[:MOST_NAMED])
    more = len(trial.gains) - MOST_NAMED
    if more > 0:
        lines.append(f"and {more} more")
    if trial.redundant:
        names = ", ".join(trial.redundant)
        lines += wrap(f"With it these are needed no longer: {names}.")
    return lines


def _gain_row(gain: Gain) -> str:
    now = train_words(gain.present) if gain.present else "nothing"
    return (
        f"{fit(gain.target.name, NAME_WIDTH)} {gain.looks:>5}  {fit(now, TRAIN_WIDTH)} "
        f"{fit(train_words(gain.train), TRAIN_WIDTH)} "
        f"{100.0 * gain.present_score:.0f}->{100.0 * gain.score:.0f}"
    )


def part_words(part: Part, circumstances: Circumstances) -> str:
    """Name a candidate and say what it makes of the telescope, in a line."""
    telescope = circumstances.telescope
    if isinstance(part, Eyepiece):
        powers = [
            magnification(telescope.focal_length_mm, f) for f in reversed(part.focal_lengths_mm)
        ]
        pupils = [exit_pupil_mm(telescope.aperture_mm, power) for power in powers]
        words = (
            f"{part.barrel}, {'-'.join(f'{power:.0f}' for power in powers)}x, exit pupil "
            f"{'-'.join(f'{pupil:.1f}' for pupil in pupils)} mm"
        )
    elif isinstance(part, Amplifier):
        words = f"{part.kind}, {part.factor:g}x, {part.barrel}"
    else:
        words = f"filter, {part.kind}, {part.barrel}"
    return fit(f"{part.name}: {words}", WIDTH).rstrip()


def _fill_clause(report: BarrelReport) -> str:
    narrowest, widest = USUAL_FIELDS_DEG
    if report.apparent_field_deg > widest:
        return f"no usual apparent field fills {report.barrel}: the exit pupil is the limit"
    words = f"{report.apparent_field_deg:.0f} deg of apparent field fills {report.barrel}"
    if report.apparent_field_deg < narrowest:
        return f"{words}: the barrel is the limit, not the pupil"
    return words


def _too_large_words(report: BarrelReport, barrels: Barrels) -> str:
    if not report.too_large:
        return f"{report.barrel} holds all {barrels.targets} targets of the year."
    return (
        f"{len(report.too_large)} of {barrels.targets} targets need more than {report.barrel} "
        f"gives: {', '.join(target.name for target in report.too_large[:MOST_NAMED])}"
        f"{' and others' if len(report.too_large) > MOST_NAMED else ''}."
    )


def _worth_words(reports: Sequence[BarrelReport]) -> str:
    told = ", ".join(f"{100.0 * r.worth:.1f} up to {r.barrel}" for r in reports)
    words = f"The best {AMPLE_SET} eyepieces reach, in percent of a year of perfect looks: {told}."
    small = next((r for r in reports if r.barrel is Barrel.ONE_AND_A_QUARTER), None)
    large = next((r for r in reports if r.barrel is Barrel.TWO), None)
    if small is None or large is None:
        return words
    gain = 100.0 * (large.worth - small.worth)
    if gain < LEAST_POINTS:
        return f"{words} For you 2 inch changes nothing that you would notice."
    return f"{words} For you 2 inch is worth {gain:.1f} points of the year."


def _mass_words(barrels: Barrels, heading: YearHeading) -> str:
    small = barrels.masses_g.get(Barrel.ONE_AND_A_QUARTER)
    large = barrels.masses_g.get(Barrel.TWO)
    balance_g = heading.circumstances.telescope.balance_g
    if small is None or large is None:
        return (
            "What the larger barrel costs in mass the configuration does not tell: give mass_g "
            "for an eyepiece of each barrel."
        )
    change_g = large[1] - small[0]
    words = (
        f"In your kit 1.25 inch weighs {_range(small)} g and 2 inch {_range(large)} g: a change "
        f"of up to {change_g:.0f} g"
    )
    if balance_g is None:
        return f"{words}; balance_g of the telescope would tell whether the mount bears it."
    verdict = "which it bears" if change_g <= balance_g else "so it must be balanced anew"
    return f"{words}, where the mount bears {balance_g:.0f} g, {verdict}."


def _range(span_g: tuple[float, float]) -> str:
    low, high = span_g
    return f"{low:.0f}" if low == high else f"{low:.0f} to {high:.0f}"


def _names(targets: Sequence[Target]) -> str:
    return first_named([target.name for target in targets], MOST_NAMED)
