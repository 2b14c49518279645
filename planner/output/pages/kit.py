"""The kit on one page: fields to scale, the ladder of powers, a table, balance."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from markupsafe import Markup

from planner.advice.audit import KitReport
from planner.advice.market import barrels_of
from planner.formulas.optics import LARGEST_FIELD_STOP_MM, true_field_from_stop_deg
from planner.model.kit import Barrel, Train, train_words
from planner.output.drawing.field_circles import SkyShape, field_circles_svg
from planner.output.drawing.ladder import Ladder, Rung, ladder_of, ladder_svg, mark_of, marks_of
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
        rows=[_row(train, mark_of(train, marks)) for train in trains],
        remarks=remarks,
        whole=verdict,
        year=year,
    )


def step_words(ladder: Ladder) -> list[str]:
    """Return sentences on gaps and near-doubles."""
    gaps, near = ladder.steps()

    def pair(one: Rung, two: Rung) -> str:
        return f"{one.magnification:.0f}x ({one.mark}) and {two.magnification:.0f}x ({two.mark})"

    return [
        *(f"A gap of more than 2 lies between {pair(*each)}." for each in gaps),
        *(
            [f"Near-doubles, less than 1.2 apart: {'; '.join(pair(*each) for each in near)}."]
            if near
            else []
        ),
    ]


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
            if barrel in barrels_of(telescope)
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
    return [("Telescope", optics), ("Of use", useful), *_balance(report)]


def _balance(report: KitReport) -> list[tuple[str, str]]:
    """Say what the eyepieces weigh, and which change the mount bears."""
    masses = {t.mass_g: t.eyepiece.name for t in report.trains if t.mass_g and not t.amplifier}
    if len(masses) < 2:
        return []
    light, heavy = min(masses), max(masses)
    words = (
        f"{light:.0f} g ({masses[light]}) to {heavy:.0f} g ({masses[heavy]}), a change of "
        f"{heavy - light:.0f} g"
    )
    bears_g = report.telescope.balance_g
    if bears_g is None:
        return [("Balance", words)]
    more = "no more" if heavy - light <= bears_g else "more"
    return [("Balance", f"{words}: {more} than the {bears_g:.0f} g that the mount bears")]


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
