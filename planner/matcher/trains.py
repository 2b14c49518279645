"""Puts telescopes, eyepieces, amplifiers and filters together, and says what does not fit.

The rules (common practice):

- A barrel goes into a focuser of its size, or of a larger size for which there is an adapter.
- An eyepiece goes into an amplifier of its size; into a larger one with that same adapter; never
  into a smaller one.
- A binoviewer takes two eyepieces of a kind, and shows no wider stop than its own clear aperture.
- A filter threads into a barrel of its size. A larger filter serves a smaller eyepiece from the
  adapter or the amplifier ahead of it; a smaller filter serves no larger eyepiece.
- A coma corrector that is always in stays in a telescope faster than f/6, behind which it corrects
  something, for every eyepiece that it takes.
- No more of the telescope's image reaches the eye than the barrels leave clear. Where the apparent
  field promises a wider field stop, the barrel's is taken.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import product

import numpy as np

from planner.formulas.optics import (
    LARGEST_FIELD_STOP_MM,
    exit_pupil_mm,
    field_stop_from_apparent_mm,
    magnification,
    true_field_from_stop_deg,
)
from planner.model.kit import (
    Amplifier,
    AmplifierKind,
    Barrel,
    Eyepiece,
    Filter,
    Kit,
    Telescope,
    Train,
)

COMA_BELOW_FOCAL_RATIO = 6.0  # faster telescopes show it at low power (common practice)
ZOOM_STEP_RATIO = 1.35  # between settings of a zoom: closer than a step that one would notice


def make_trains(telescope: Telescope, kit: Kit, *, with_filters: bool = True) -> tuple[Train, ...]:
    """Combine a telescope with every eyepiece, amplifier and filter.

    Parameters
    ----------
    kit : Kit
        Its eyepieces, amplifiers and filters; the order of the kit is kept, and bare eyepieces
        come first. A zoom counts at its two ends and at even ratios between.
    with_filters : bool
        Whether to combine with filters too.

    Returns
    -------
    tuple of Train
        Those that cannot be put together carry the reasons in ``faults``.
    """
    filters = (None, *kit.filters) if with_filters else (None,)
    corrector = corrector_in(telescope, kit)
    amplifiers = (None, *(part for part in kit.amplifiers if part is not corrector))
    return tuple(
        _assemble(_corrected(telescope, corrector, eyepiece), eyepiece, setting, amplifier, filter_)
        for eyepiece, amplifier, filter_ in product(kit.eyepieces, amplifiers, filters)
        for setting in zoom_settings(eyepiece)
    )


def corrector_in(telescope: Telescope, kit: Kit) -> Amplifier | None:
    """Return the coma corrector that stays in a telescope; None for none."""
    if telescope.focal_length_mm / telescope.aperture_mm >= COMA_BELOW_FOCAL_RATIO:
        return None
    correctors = (part for part in kit.amplifiers if part.kind is AmplifierKind.CORRECTOR)
    return next((c for c in correctors if c.always and _takes(telescope, c.barrel)), None)


def _corrected(telescope: Telescope, corrector: Amplifier | None, eyepiece: Eyepiece) -> Telescope:
    if corrector is None or eyepiece.barrel.inches > corrector.barrel.inches:
        return telescope
    return replace(telescope, focal_length_mm=telescope.focal_length_mm * corrector.factor)


def zoom_settings(eyepiece: Eyepiece) -> tuple[tuple[float, float], ...]:
    """The focal lengths [mm] at which to use an eyepiece, each with its apparent field [deg].

    Both ends of a zoom, and as few steps of one ratio between as keep it at or below 1.35; the
    apparent field runs straight from end to end.
    """
    if not eyepiece.is_zoom:
        return ((eyepiece.focal_lengths_mm[0], eyepiece.apparent_fields_deg[0]),)
    short_mm, long_mm = eyepiece.focal_lengths_mm
    steps = int(np.ceil(np.log(long_mm / short_mm) / np.log(ZOOM_STEP_RATIO)))
    focal_lengths_mm = np.geomspace(short_mm, long_mm, steps + 1)
    fields_deg = np.interp(focal_lengths_mm, (short_mm, long_mm), eyepiece.apparent_fields_deg)
    return tuple(zip(focal_lengths_mm.tolist(), fields_deg.tolist(), strict=True))


def _assemble(
    telescope: Telescope,
    eyepiece: Eyepiece,
    setting: tuple[float, float],
    amplifier: Amplifier | None,
    filter_: Filter | None,
) -> Train:
    focal_length_mm, apparent_field_deg = setting
    factor = amplifier.factor if amplifier else 1.0
    power = float(magnification(telescope.focal_length_mm, focal_length_mm, amplification=factor))
    image_mm, is_exact = _seen_image(eyepiece, setting, amplifier)
    return Train(
        telescope=telescope,
        eyepiece=eyepiece,
        amplifier=amplifier,
        filter=filter_,
        focal_length_mm=focal_length_mm,
        apparent_field_deg=apparent_field_deg,
        magnification=power,
        true_field_arcmin=60.0
        * float(true_field_from_stop_deg(image_mm, telescope.focal_length_mm)),
        true_field_is_exact=is_exact,
        exit_pupil_mm=float(exit_pupil_mm(telescope.aperture_mm, power)),
        faults=tuple(_misfits(telescope, eyepiece, amplifier, filter_)),
    )


def _seen_image(
    eyepiece: Eyepiece, setting: tuple[float, float], amplifier: Amplifier | None
) -> tuple[float, bool]:
    """Return the diameter of the telescope's image that is seen [mm], and whether it is exact."""
    is_exact = eyepiece.field_stop_mm is not None
    implied_mm = float(field_stop_from_apparent_mm(*setting))
    stop_mm = eyepiece.field_stop_mm or min(implied_mm, LARGEST_FIELD_STOP_MM[eyepiece.barrel])
    if amplifier is not None and (amplifier.clear_aperture_mm or stop_mm) < stop_mm:
        stop_mm, is_exact = float(amplifier.clear_aperture_mm or stop_mm), True
    if amplifier is None or amplifier.factor >= 1.0:
        return stop_mm / (amplifier.factor if amplifier else 1.0), is_exact
    # A reducer asks for an image larger than the stop, which has to pass its own barrel.
    wanted_mm, clear_mm = stop_mm / amplifier.factor, LARGEST_FIELD_STOP_MM[amplifier.barrel]
    return min(wanted_mm, clear_mm), is_exact and wanted_mm <= clear_mm


def _misfits(
    telescope: Telescope, eyepiece: Eyepiece, amplifier: Amplifier | None, filter_: Filter | None
) -> Iterator[str]:
    """Return a sentence for every pair of parts that does not fit."""
    first = amplifier or eyepiece
    if not _takes(telescope, first.barrel):
        yield _no_way_in(telescope, first)
    if amplifier and eyepiece.barrel.inches > amplifier.barrel.inches:
        yield (
            f"{eyepiece.name} ({eyepiece.barrel}) does not go into "
            f"{amplifier.name} ({amplifier.barrel})."
        )
    elif (
        amplifier and eyepiece.barrel != amplifier.barrel and not _takes(telescope, eyepiece.barrel)
    ):
        yield f"{eyepiece.name} needs a {eyepiece.barrel} adapter in {amplifier.name}."
    if amplifier and amplifier.eyes > eyepiece.count:
        yield f"{amplifier.name} needs two of {eyepiece.name}; count tells how many you have."
    if filter_ and filter_.barrel != eyepiece.barrel:
        yield from _filter_misfits(telescope, eyepiece, filter_)


def _takes(telescope: Telescope, barrel: Barrel) -> bool:
    return barrel == telescope.focuser or barrel in telescope.adapters


def _no_way_in(telescope: Telescope, part: Amplifier | Eyepiece) -> str:
    if part.barrel.inches > telescope.focuser.inches:
        return f"{part.name} ({part.barrel}) does not go into the {telescope.focuser} focuser."
    return f"{part.name} needs a {part.barrel} adapter in the {telescope.focuser} focuser."


def _filter_misfits(telescope: Telescope, eyepiece: Eyepiece, filter_: Filter) -> Iterator[str]:
    """Say why a filter of another size than the eyepiece's cannot serve it."""
    if filter_.barrel.inches < eyepiece.barrel.inches:
        yield (
            f"{filter_.name} ({filter_.barrel}) does not thread into "
            f"{eyepiece.name} ({eyepiece.barrel})."
        )
    elif not _takes(telescope, filter_.barrel):
        yield (
            f"{filter_.name} ({filter_.barrel}) has no place ahead of {eyepiece.name} "
            f"({eyepiece.barrel}) in the {telescope.focuser} focuser."
        )
