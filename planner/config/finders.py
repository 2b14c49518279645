"""Finders in the configuration: what one aims with, and what is usual where a figure is missing."""

from __future__ import annotations

from planner.config.checks import Table
from planner.config.fields import Bounds, Choice, Field, Name, optional
from planner.model.kit import USUAL_FINDER, Finder, FinderKind, Orientation

# Common practice: the largest ring that a finder without power projects on the sky.
UNIT_POWER_FIELD_DEG = 4.0
# A straight finder turns the view by half a turn; one with a diagonal exchanges left and right.
FINDER_ORIENTATION = {
    FinderKind.STRAIGHT: Orientation.INVERTED,
    FinderKind.RIGHT_ANGLE: Orientation.MIRRORED,
    FinderKind.UNIT_POWER: Orientation.UPRIGHT,
}

FINDER = (
    optional("name", Name()),
    Field("kind", Choice(FinderKind), FinderKind.STRAIGHT),
    optional("aperture_mm", Bounds(10, 200, "mm")),
    optional("magnification", Bounds(1, 50)),
    optional("power", Bounds(1, 50)),  # another word for the same
    optional("field_deg", Bounds(0.5, 40, "degrees")),
    optional("orientation", Choice(Orientation)),
)


def read_finder(table: Table) -> Finder:
    """Read one finder; what is not stated is as usual for its kind."""
    found = table.fields(FINDER)
    table.exclude("magnification", "power")
    kind = found["kind"] or FinderKind.STRAIGHT
    stated = found["magnification"] or found["power"]
    if kind is FinderKind.UNIT_POWER:
        _check_unit_power(table, stated)
        aperture_mm, magnification, field_deg = None, 1.0, UNIT_POWER_FIELD_DEG
        usual_name = "unit-power finder"
    else:
        aperture_mm = found["aperture_mm"] or USUAL_FINDER.aperture_mm
        magnification = stated or USUAL_FINDER.magnification
        field_deg = USUAL_FINDER.field_deg
        usual_name = f"{magnification:g}x{aperture_mm:g} finder"
    return Finder(
        name=found["name"] or usual_name,
        kind=kind,
        aperture_mm=aperture_mm,
        magnification=magnification,
        field_deg=found["field_deg"] or field_deg,
        orientation=found["orientation"] or FINDER_ORIENTATION[kind],
    )


def _check_unit_power(table: Table, magnification: float | None) -> None:
    """Note figures that a finder without power does not have."""
    if table.has("aperture_mm"):
        table.wrong("aperture_mm", "none for a finder of unit power: leave it out")
    if magnification not in {None, 1.0}:
        key = "magnification" if table.has("magnification") else "power"
        table.wrong(key, "1 for a finder of unit power, or leave it out")
