"""Pages of advice before buying: candidates beside what is owned, as targets will look."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from markupsafe import Markup

from planner.advice.barrels import Barrels
from planner.advice.candidate import kit_with
from planner.advice.results import Gain, JudgedCandidates, Trial, YearHeading
from planner.ephemeris.almanac import evening_date
from planner.ephemeris.kernel import Ephemeris
from planner.matcher.trains import make_trains
from planner.model.kit import Kit, Train, train_words
from planner.output.appearance.words import MODEL, SCALE
from planner.output.drawing.ladder import ladder_of, ladder_svg, marks_of
from planner.output.drawing.light_path import LightPath, light_path_svg, path_words
from planner.output.drawing.limiting_magnitude import ViewedSky
from planner.output.pages.kit import step_words
from planner.output.pages.page import page
from planner.output.pages.views import view_figures
from planner.output.text.advice import (
    MEASURE,
    MOST_NAMED,
    TRIAL_NUMBERS,
    barrel_answer,
    barrel_paragraphs,
    cost_words,
    duel_sentences,
    part_words,
    year_words,
)
from planner.output.words import arc, clock, double_date


def trials_html(
    judged: JudgedCandidates, heading: YearHeading, kit: Kit, ephemeris: Ephemeris, *, views: int
) -> str:
    """Return what candidates would change, as a page.

    Parameters
    ----------
    judged : JudgedCandidates
        The candidates, in the order given.
    heading : YearHeading
        For whom, and which year.
    views : int
        Of how many targets that the first candidate would win most for the views are shown: in the
        best train of today, and beside it in the candidate.
    """
    title, *about = year_words(heading)
    trials = judged.trials
    return page(
        "trials.html.j2",
        cautions=(),
        title=f"Before you buy: {title}",
        about=" ".join(about),
        trials=[
            {**_trial(trial, heading, kit), "cost": cost_words(trial, judged.costs)}
            for trial in trials
        ],
        against=[] if judged.against is None else duel_sentences(judged.against),
        views=[
            _views(gain, heading, ephemeris)
            for gain in trials[0].gains[:views]
            if gain.target.ra_deg is not None
        ],
        model=f"{MODEL} {SCALE}",
        measure=f"{TRIAL_NUMBERS} {MEASURE}",
    )


def barrels_html(barrels: Barrels, heading: YearHeading) -> str:
    """Return what each barrel means for the telescope, as a page with the way of the light."""
    title, *about = year_words(heading)
    paths = [
        LightPath(
            barrel_mm=25.4 * report.barrel.inches,
            stop_mm=report.stop_mm,
            telescope_mm=heading.circumstances.telescope.focal_length_mm,
            eyepiece_mm=barrels.longest_mm,
            field_deg=report.field_deg,
            apparent_deg=report.apparent_field_deg,
        )
        for report in barrels.reports
    ]
    return page(
        "barrels.html.j2",
        cautions=(),
        title=f"What a barrel holds: {title}",
        about=" ".join(about),
        answer=barrel_answer(barrels, heading),
        barrels=[
            {
                "name": report.barrel,
                "drawing": Markup(light_path_svg(path)),  # noqa: S704  # escaped there
                "words": path_words(path),
            }
            for report, path in zip(barrels.reports, paths, strict=True)
        ],
        paragraphs=barrel_paragraphs(barrels, heading),
    )


def _trial(trial: Trial, heading: YearHeading, kit: Kit) -> dict[str, Any]:
    circumstances = heading.circumstances
    part, telescope = trial.part, circumstances.telescope
    kept = kit_with(replace(kit, filters=()), part)
    trains = [train for train in make_trains(telescope, kept) if train.usable and not train.filter]
    new = [train for train in trains if part in (train.eyepiece, train.amplifier)]
    pupil_mm = circumstances.conditions.pupil_mm
    ladder = ladder_of(trains, telescope, pupil_mm, circumstances.highest_power, new)
    return {
        "ladder": Markup(ladder_svg(ladder)) if new else "",  # noqa: S704  # escaped there
        "marks": "; ".join(f"{mark} {name}" for name, mark in marks_of(trains).items()),
        "steps": step_words(ladder),
        "part": part_words(trial.part, heading.circumstances),
        "verdict": trial.verdict,
        "remarks": [*trial.misfits, *trial.remarks],
        "gains": [_gain(gain) for gain in trial.gains[:MOST_NAMED]],
        "more": max(len(trial.gains) - MOST_NAMED, 0),
        "redundant": ", ".join(trial.redundant),
    }


def _gain(gain: Gain) -> dict[str, Any]:
    return {
        "target": gain.target.name,
        "looks": gain.looks,
        "present": train_words(gain.present) if gain.present else "nothing",
        "train": train_words(gain.train),
        "score": f"{100.0 * gain.present_score:.0f} to {100.0 * gain.score:.0f}",
    }


def _views(gain: Gain, heading: YearHeading, ephemeris: Ephemeris) -> dict[str, Any]:
    site, circumstances = heading.site, heading.circumstances
    sky = ViewedSky(ephemeris, site, gain.instant, circumstances.conditions)
    present = [(gain.present, f"now: {_words(gain.present)}")] if gain.present else []
    pair = [*present, (gain.train, f"then: {_words(gain.train)}")]
    return {
        "target": gain.target.name,
        "when": f"{double_date(evening_date(gain.instant, site))}, {clock(gain.instant, site)}",
        "seen": view_figures(gain.target, pair, sky, circumstances.preferences),
    }


def _words(train: Train) -> str:
    return (
        f"{train_words(train)}, {train.magnification:.0f}x, exit pupil "
        f"{train.exit_pupil_mm:.1f} mm, field {arc(train.true_field_arcmin)}"
    )
