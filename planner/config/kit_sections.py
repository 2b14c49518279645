"""Turns the tables of the configuration that hold the kit into telescopes, eyepieces and so on."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from planner.config.checks import Table
from planner.config.fields import Bounds, Choice, Field, Flag, Name, ZoomEnds, numbers, optional
from planner.formulas.optics import LARGEST_FIELD_STOP_MM
from planner.model.kit import (
    USUAL_FINDER,
    Amplifier,
    AmplifierKind,
    Barrel,
    Eyepiece,
    Filter,
    FilterKind,
    Finder,
    FinderKind,
    Mount,
    Orientation,
    Pointing,
    Telescope,
)
from planner.text import listed

# The filter threads (M28.5 and M48) leave up to this much more than the usual largest stop.
FIELD_STOP_ALLOWANCE = 1.05

FACTOR_BOUNDS = {
    AmplifierKind.BARLOW: Bounds(1.01, 10),
    AmplifierKind.REDUCER: Bounds(0.1, 0.99),
    AmplifierKind.CORRECTOR: Bounds(0.8, 1.5),
    AmplifierKind.BINOVIEWER: Bounds(0.8, 5),
}
ANY_FACTOR = Bounds(0.1, 10)

# Common practice: the largest ring that a finder without power projects on the sky.
UNIT_POWER_FIELD_DEG = 4.0
# A straight finder turns the view by half a turn; one with a diagonal exchanges left and right.
FINDER_ORIENTATION = {
    FinderKind.STRAIGHT: Orientation.INVERTED,
    FinderKind.RIGHT_ANGLE: Orientation.MIRRORED,
    FinderKind.UNIT_POWER: Orientation.UPRIGHT,
}

NAME = Field("name", Name())
BARREL = Field("barrel", Choice(Barrel))
MASS_G = optional("mass_g", Bounds(1, 5000, "g"))
TELESCOPE = (
    NAME,
    Field("aperture_mm", Bounds(20, 3000, "mm")),
    Field("focal_length_mm", Bounds(50, 60000, "mm")),
    Field("obstruction_mm", Bounds(0, 3000, "mm"), 0.0),
    Field("focuser", Choice(Barrel)),
    Field("transmission", Bounds(0.1, 1), 0.80),
    Field("mount", Choice(Mount), Mount.ALTAZIMUTH),
    Field("driven", Flag(), default=False),
    optional("balance_g", Bounds(1, 20000, "g")),
    optional("orientation", Choice(Orientation)),
    Field("pointing", Choice(Pointing), Pointing.HAND),
    optional("eyepiece_height_cm", numbers(2, Bounds(0, 600, "cm"))),
)
EYEPIECE = (
    NAME,
    Field("focal_length_mm", ZoomEnds(Bounds(1.5, 100, "mm"))),
    Field("apparent_field_deg", ZoomEnds(Bounds(10, 120, "degrees"))),
    BARREL,
    optional("field_stop_mm", Bounds(1, 76, "mm")),
    optional("eye_relief_mm", Bounds(1, 60, "mm")),
    MASS_G,
    Field("count", Bounds(1, 4, whole=True), 1),
)
FILTER = (NAME, Field("kind", Choice(FilterKind)), BARREL)
FINDER = (
    optional("name", Name()),
    Field("kind", Choice(FinderKind), FinderKind.STRAIGHT),
    optional("aperture_mm", Bounds(10, 200, "mm")),
    optional("magnification", Bounds(1, 50)),
    optional("power", Bounds(1, 50)),  # another word for the same
    optional("field_deg", Bounds(0.5, 40, "degrees")),
    optional("orientation", Choice(Orientation)),
)


def read_telescope(table: Table) -> Telescope:
    """Read one telescope."""
    found = table.fields(TELESCOPE)
    aperture_mm, obstruction_mm = found["aperture_mm"], found["obstruction_mm"]
    if aperture_mm and obstruction_mm and obstruction_mm >= aperture_mm:
        table.wrong("obstruction_mm", f"less than the aperture of {aperture_mm:g} mm")
    # A refractor is used with a star diagonal, a reflector without one (common practice).
    usual = Orientation.INVERTED if obstruction_mm else Orientation.MIRRORED
    return Telescope(
        **found
        | {
            "adapters": _adapters(table, found["focuser"]),
            "orientation": found["orientation"] or usual,
        }
    )


def _adapters(table: Table, focuser: Barrel | None) -> tuple[Barrel, ...]:
    """Read the smaller barrels that the focuser takes; all of them when not stated."""
    allowed = tuple(one for one in Barrel if focuser is None or one.inches < focuser.inches)
    if not table.has("adapters"):
        return allowed
    value = table.values["adapters"]
    if isinstance(value, list) and all(item in allowed for item in value):
        return tuple(barrel for barrel in Barrel if barrel in value)
    words = f"a list of {listed(allowed)}" if allowed else f'an empty list beside "{focuser}"'
    table.wrong("adapters", words)
    return ()


def read_eyepiece(table: Table) -> Eyepiece:
    """Read one eyepiece; a zoom comes out with its short end first."""
    found = table.fields(EYEPIECE)
    focal_lengths_mm = found.pop("focal_length_mm") or ()
    apparent_fields_deg = found.pop("apparent_field_deg") or ()
    if focal_lengths_mm and apparent_fields_deg:
        _check_zoom(table, focal_lengths_mm, apparent_fields_deg)
    if list(focal_lengths_mm) != sorted(focal_lengths_mm):
        focal_lengths_mm, apparent_fields_deg = focal_lengths_mm[::-1], apparent_fields_deg[::-1]
    if found["field_stop_mm"] is not None and found["barrel"] is not None:
        _check_field_stop(table, found, is_zoom=len(focal_lengths_mm) > 1)
    return Eyepiece(
        focal_lengths_mm=focal_lengths_mm, apparent_fields_deg=apparent_fields_deg, **found
    )


def _check_zoom(table: Table, focal_lengths_mm: Any, apparent_fields_deg: Any) -> None:
    """Note a zoom whose two lists do not go together."""
    if len(focal_lengths_mm) != len(apparent_fields_deg):
        number = "two numbers, one for each end" if len(focal_lengths_mm) == 2 else "one number"
        table.wrong("apparent_field_deg", f"{number}, as in focal_length_mm")
    if len(set(focal_lengths_mm)) < len(focal_lengths_mm):
        table.wrong("focal_length_mm", "two different ends for a zoom")


def _check_field_stop(table: Table, found: Mapping[str, Any], *, is_zoom: bool) -> None:
    """Note a field stop that the barrel cannot hold, or that turns with a zoom."""
    key, barrel = "field_stop_mm", found["barrel"]
    largest_mm = LARGEST_FIELD_STOP_MM[barrel] * FIELD_STOP_ALLOWANCE
    if found[key] > largest_mm:
        table.wrong(key, f"at most {largest_mm:.1f} mm, which a {barrel} barrel leaves clear")
    if is_zoom:
        table.wrong(key, "none for a zoom, whose stop changes as it turns: leave it out")


def read_amplifier(table: Table) -> Amplifier:
    """Read one Barlow, reducer, corrector or binoviewer."""
    stated = table.values.get("kind")
    bounds = next((bounds for kind, bounds in FACTOR_BOUNDS.items() if kind == stated), ANY_FACTOR)
    kind = Field("kind", Choice(AmplifierKind))
    fields = [NAME, kind, Field("factor", bounds), BARREL, MASS_G]
    if stated == AmplifierKind.CORRECTOR:
        fields.append(Field("always", Flag(), default=True))
    if stated == AmplifierKind.BINOVIEWER:
        fields.append(optional("clear_aperture_mm", Bounds(5, 60, "mm")))
    return Amplifier(**table.fields(tuple(fields)))


def read_filter(table: Table) -> Filter:
    """Read one filter."""
    return Filter(**table.fields(FILTER))


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
