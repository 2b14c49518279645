"""Writes a kit report as text."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from planner.advice.audit import AuditedTrain, KitReport
from planner.formulas.optics import longest_useful_focal_length_mm
from planner.formulas.resolution import dawes_limit_arcsec, rayleigh_limit_arcsec
from planner.model.kit import Train, train_words
from planner.output.drawing.ladder import ladder_lines, ladder_of, mark_of, marks_of
from planner.text import WIDTH, fit, text_of, wrap

NAME_WIDTH = 40
BAR_WIDTH, BAR_NAME_WIDTH, LADDER_LABEL = 55, 20, 10
# For scale, the usual sizes (common knowledge) [arcmin].
SKY_SIZES = (("the Moon", 31.0), ("Pleiades", 110.0))


def kit_text(report: KitReport, verdict: Sequence[str]) -> str:
    """Write the report for a screen of 80 columns.

    ``verdict`` holds the sentences on the kit as a whole.
    The trains stand in order of power, those that do not fit last; a line with an asterisk has
    a remark. Apart from the names in the configuration it is plain ASCII.
    """
    usable = sorted(
        (entry for entry in report.entries if entry.train.usable),
        key=lambda entry: entry.train.magnification,
    )
    lines = [*_heading(report), ""]
    if usable:
        lines += [_columns("train", "power", "field", "exit pupil", "barrel"), *map(_row, usable)]
    if any(not entry.train.true_field_is_exact for entry in usable):
        lines += ["", "~ from the apparent field: 5 to 10 percent off"]
    trains = [entry.train for entry in usable]
    lines += [*_drawn(trains, report), *_steps(trains)]
    remarks = [f"{train_words(one.train)}: {told}" for one in usable for told in one.remarks]
    misfits = dict.fromkeys(fault for train in report.trains for fault in train.faults)
    lines += _section("* Remarks", remarks)
    lines += _section("Does not go together", list(misfits))
    lines += _section("The kit as a whole", verdict)
    return text_of(lines)


def _drawn(trains: list[Train], report: KitReport) -> list[str]:
    """Draw fields as bars and powers as a ladder; nothing where there is nothing to compare."""
    bare = [train for train in trains if train.amplifier is None]
    if len(bare) < 2:
        return []
    marks = marks_of(trains)
    fields = {(mark_of(t, marks), t.eyepiece.name): t.true_field_arcmin for t in bare}
    wide = {("", name): size for name, size in SKY_SIZES}
    widest = max(*fields.values(), *wide.values())
    lines = ["", "Fields, to scale"]
    for (mark, name), size in (*fields.items(), *wide.items()):
        bar = "=" * max(round(BAR_WIDTH * size / widest), 1)
        lines.append(
            f"{mark:<2}{fit(name, BAR_NAME_WIDTH)} {bar if mark else bar.replace('=', '.')}"
        )
    pupil_mm = report.observer.dark_pupil_mm
    ladder = ladder_of(trains, report.telescope, pupil_mm, report.highest_power)
    powers, rail, pupils = ladder_lines(ladder, WIDTH - LADDER_LABEL)
    return [
        *lines,
        "",
        "Powers, on a scale of ratios; small letters with an amplifier, dots of no use",
        f"{'power':<{LADDER_LABEL}}{powers}",
        f"{'':<{LADDER_LABEL}}{rail}",
        f"{'pupil mm':<{LADDER_LABEL}}{pupils}",
    ]


def _steps(usable: list[Train]) -> list[str]:
    """Write the powers of the bare eyepieces, each with the step from the one before."""
    bare = {round(t.magnification, 3): t for t in usable if t.amplifier is None}
    powers = list(bare)
    if len(powers) < 2:
        return []
    steps = ", ".join(f"{high / low:.2f}" for low, high in pairwise(powers))
    pupils = ", ".join(f"{train.exit_pupil_mm:.1f}" for train in bare.values())
    words = (
        f"Steps of power without amplifier: {steps}; 1.3 to 2 is usual. Exit pupils: {pupils} mm."
    )
    return ["", *wrap(words)]


def _heading(report: KitReport) -> list[str]:
    observer, telescope = report.observer, report.telescope
    longest_mm = longest_useful_focal_length_mm(telescope.focal_ratio, observer.dark_pupil_mm)
    numbers = (
        f"{telescope.aperture_mm:g} mm aperture, {telescope.focal_length_mm:g} mm focal length, "
        f"f/{telescope.focal_ratio:.1f}"
    )
    dawes_arcsec = dawes_limit_arcsec(telescope.aperture_mm)
    rayleigh_arcsec = rayleigh_limit_arcsec(telescope.aperture_mm)
    parts = (
        f"In steady air it parts equal stars {dawes_arcsec:.2f} arcsec apart (Dawes), clearly "
        f"from {rayleigh_arcsec:.2f} (Rayleigh)."
    )
    limits = (
        f"Your pupil of {observer.dark_pupil_mm:.1f} mm ({observer.pupil_source}) allows eyepieces "
        f"up to {longest_mm:.0f} mm; the aperture and the air (seeing {report.seeing}) bear up to "
        f"{report.highest_power:.0f}x overhead."
    )
    return [fit(telescope.name, WIDTH), numbers, *wrap(f"{limits} {parts}")]


def _row(entry: AuditedTrain) -> str:
    train = entry.train
    about = " " if train.true_field_is_exact else "~"
    return _columns(
        train_words(train),
        f"{train.magnification:.0f}x",
        f"{about}{train.true_field_arcmin / 60.0:.2f} deg",
        f"{train.exit_pupil_mm:.1f} mm",
        (train.amplifier or train.eyepiece).barrel,  # goes into the focuser
        mark="*" if entry.remarks else " ",
    )


def _columns(name: str, power: str, field: str, pupil: str, barrel: str, *, mark: str = " ") -> str:
    return f"{mark} {fit(name, NAME_WIDTH)} {power:>6} {field:>9} {pupil:>10}  {barrel}"


def _section(title: str, sentences: Sequence[str]) -> list[str]:
    """Write a heading and a list under it; nothing when there is nothing to list."""
    if not sentences:
        return []
    items = (wrap(sentence, first="- ", rest="  ") for sentence in sentences)
    return ["", title, *(line for item in items for line in item)]
