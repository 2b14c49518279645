"""The kit on one page: fields to scale, the ladder of powers, a table, balance."""

from __future__ import annotations

from collections.abc import Sequence
from string import ascii_uppercase
from typing import Any

from markupsafe import Markup

from planner.advice.audit import KitReport
from planner.formulas.optics import LARGEST_FIELD_STOP_MM, true_field_from_stop_deg
from planner.model.kit import Barrel, Telescope, Train, train_words
from planner.output.drawing.field_circles import SkyShape, field_circles_svg
from planner.output.drawing.ladder import Ladder, Rung, ladder_svg
from planner.output.pages.page import page
from planner.output.words import arc
from targets.catalogue.catalogue import Catalogue

# For scale: the long one first, the others from large to small. Of the two that are in no
# catalogue the usual size (common knowledge) [arcmin].
NAMED = (("M31", "M31"), ("M45", "Pleiades"), ("M13", "M13"), ("M57", "M57"))
MOON, JUPITER = SkyShape("Moon", 31.0, 31.0), SkyShape("Jupiter", 0.7, 0.7)


def kit_html(
    report: KitReport, catalogue: Catalogue, verdict: Sequence[str], year: Sequence[str] = ()
) -> str:
    """Return the report as a page that stands alone.

    Parameters
    ----------
    report : KitReport
    catalogue : Catalogue
        For what is shown to scale.
    verdict : sequence of str
        On the kit as a whole.
    year : sequence of str
        What each eyepiece is for in a year, a sentence each; empty where that was not asked.
    """
    trains = sorted((t for t in report.trains if t.usable), key=lambda t: t.magnification)
    bare = [train for train in trains if train.amplifier is None]
    marks = marks_of(trains)
    pupil_mm = report.observer.dark_pupil_mm
    ladder = ladder_of(trains, report.telescope, pupil_mm, report.highest_power)
    remarks = [
        f"{train_words(e.train)}: {r}" for e in report.entries for r in e.remarks if e.train.usable
    ]
    return page(
        "kit.html.j2",
        cautions=(),
        title=f"The kit with {report.telescope.name}",
        facts=_facts(report),
        circles=Markup(_circles(bare, marks, catalogue)),  # noqa: S704  # escaped there
        ladder=Markup(ladder_svg(ladder)),  # noqa: S704  # escaped there
        steps=step_words(ladder),
        rows=[_row(train, _mark(train, marks)) for train in trains],
        remarks=remarks,
        whole=verdict,
        year=year,
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
        Rung(_mark(t, marks), t.magnification, t.amplifier is not None, t in new) for t in trains
    ]
    aperture_mm = telescope.aperture_mm
    return Ladder(tuple(rungs), aperture_mm, aperture_mm / pupil_mm, highest)


def step_words(ladder: Ladder) -> list[str]:
    """Return sentences on gaps and near-doubles."""
    gaps, near = ladder.steps()

    def pair(one: Rung, two: Rung) -> str:
        return f"{one.magnification:.0f}x ({one.mark}) and {two.magnification:.0f}x ({two.mark})"

    return [
        *(f"A gap of more than 2 lies between {pair(*each)}." for each in gaps),
        *(f"Near-doubles, less than 1.2 apart: {pair(*each)}." for each in near),
    ]


def _mark(train: Train, marks: dict[str, str]) -> str:
    """Return the letter of an eyepiece, with a plus where an amplifier is in."""
    return marks.get(train.eyepiece.name, "?") + ("+" if train.amplifier else "")


def _circles(bare: Sequence[Train], marks: dict[str, str], catalogue: Catalogue) -> str:
    shapes = []
    for name, words in NAMED:
        target = catalogue.find(name)
        major = target.major_arcmin or 1.0
        shapes.append(SkyShape(words, major, target.minor_arcmin or major))
    largest: list[tuple[str, float]] = []
    if bare:
        telescope = bare[0].telescope
        largest = [
            (f"{barrel} at most", _largest_field_arcmin(barrel, telescope.focal_length_mm))
            for barrel in Barrel
            if barrel in (telescope.focuser, *telescope.adapters)
        ]
    fields = [(marks[train.eyepiece.name], train.true_field_arcmin) for train in bare]
    long, pleiades, *small = shapes
    return field_circles_svg(fields, largest, [long, pleiades, MOON, *small, JUPITER])


def _largest_field_arcmin(barrel: Barrel, focal_length_mm: float) -> float:
    stop_mm = LARGEST_FIELD_STOP_MM[barrel]
    return 60.0 * float(true_field_from_stop_deg(stop_mm, focal_length_mm))


def _facts(report: KitReport) -> list[tuple[str, str]]:
    telescope, observer = report.telescope, report.observer
    optics = (
        f"{telescope.aperture_mm:g} mm aperture, {telescope.focal_length_mm:g} mm focal length, "
        f"f/{telescope.focal_ratio:.1f}"
    )
    lowest = telescope.aperture_mm / observer.dark_pupil_mm
    useful = (
        f"{lowest:.0f}x, where the exit pupil is your {observer.dark_pupil_mm:.1f} mm, to "
        f"{report.highest_power:.0f}x, what aperture and air (seeing {report.seeing}) bear overhead"
    )
    return [("Telescope", optics), ("Of use", useful)]


def _row(train: Train, mark: str) -> dict[str, Any]:
    about = "" if train.true_field_is_exact else "about "
    return {
        "mark": mark,
        "train": train_words(train),
        "power": f"{train.magnification:.0f}x",
        "field": f"{about}{arc(train.true_field_arcmin)}",
        "pupil": f"{train.exit_pupil_mm:.1f} mm",
        "barrel": str((train.amplifier or train.eyepiece).barrel),
        "mass": "" if train.mass_g is None else f"{train.mass_g:.0f} g",
    }
