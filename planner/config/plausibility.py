"""Doubts about a kit that may be typing errors, in plain sentences."""

from __future__ import annotations

from planner.formulas.optics import LARGEST_FIELD_STOP_MM, field_stop_from_apparent_mm
from planner.model.kit import Eyepiece, Kit, Telescope

# Apparent fields are printed rounded and with distortion: an ordinary 32 mm of 50 to 52 deg and a
# 40 mm of 43 deg, both with a stop of 27 mm, ask for 3 to 11 percent more by the arc law (stops as
# observers quote them). More than this does not go into the barrel.
BARREL_TOLERANCE = 0.12
# Distortion and rounding explain a stop 10 to 12 percent off the arc law (common practice).
STOP_TOLERANCE = 0.15
FASTEST_FOCAL_RATIO, SLOWEST_FOCAL_RATIO = 2.0, 40.0


def doubts(kit: Kit) -> tuple[str, ...]:
    """Return a sentence for every figure in the kit that is possible but odd."""
    found = [_telescope_doubt(telescope) for telescope in kit.telescopes]
    found += [eyepiece_doubt(eyepiece) for eyepiece in kit.eyepieces]
    return tuple(sentence for sentence in found if sentence)


def _telescope_doubt(telescope: Telescope) -> str | None:
    if FASTEST_FOCAL_RATIO <= telescope.focal_ratio <= SLOWEST_FOCAL_RATIO:
        return None
    return (
        f"{telescope.name}: aperture {telescope.aperture_mm:g} mm and focal length "
        f"{telescope.focal_length_mm:g} mm make f/{telescope.focal_ratio:.1f}, which is unusual; "
        "check both."
    )


def eyepiece_doubt(eyepiece: Eyepiece) -> str | None:
    """Say why an eyepiece's field and barrel, or field and stop, do not go together."""
    ends = zip(eyepiece.focal_lengths_mm, eyepiece.apparent_fields_deg, strict=True)
    implied_mm, focal_mm, field_deg = max(
        (float(field_stop_from_apparent_mm(focal_mm, field_deg)), focal_mm, field_deg)
        for focal_mm, field_deg in ends
    )
    claim = f"{eyepiece.name}: {focal_mm:g} mm with {field_deg:g} deg asks for a field stop of"
    if eyepiece.field_stop_mm is not None:
        if abs(eyepiece.field_stop_mm / implied_mm - 1.0) <= STOP_TOLERANCE:
            return None
        return (
            f"{claim} about {implied_mm:.1f} mm, but {eyepiece.field_stop_mm:g} mm is stated; "
            "the true field is taken from the stop."
        )
    largest_mm = LARGEST_FIELD_STOP_MM[eyepiece.barrel]
    if implied_mm <= largest_mm * (1.0 + BARREL_TOLERANCE):
        return None
    return (
        f"{claim} {implied_mm:.1f} mm, but a {eyepiece.barrel} barrel holds {largest_mm:g} mm; "
        "the true field is reckoned with that."
    )
