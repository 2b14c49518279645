"""What suits each class of target: the table in ``preferences.toml`` and a user's changes to it."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import field, fields, replace
from functools import cache
from pathlib import Path
from typing import Any

from planner.config.checks import Table
from planner.config.fields import Bounds, Field, Flag, numbers, optional
from planner.formulas.refraction import SUNSET_ALTITUDE_DEG
from planner.model.errors import InputError
from planner.text import hint, show
from targets.frozen import frozen

# Filters that may have ranges of their own in a class.
FILTER_RANGES = ("narrowband", "oiii", "hbeta")


@frozen
class Preference:
    """How one class of target is best shown; see ``preferences.toml`` for the meaning of each."""

    name: str
    words: str
    exit_pupil_ideal_mm: tuple[float, float]
    exit_pupil_ok_mm: tuple[float, float]
    small_in_field: float
    model: str
    wide_field_pays: bool
    sun_altitude_max_deg: float
    moon_clearance_deg: float
    dwell_minutes: float
    own_power: str | None = None
    altitude_min_deg: float = 20.0
    fill_ideal: tuple[float, float] | None = None
    fill_max: float | None = None
    narrowband: tuple[float, float, float, float] | None = None
    oiii: tuple[float, float, float, float] | None = None
    hbeta: tuple[float, float, float, float] | None = None


@frozen
class Weights:
    """Exponents of the parts of a score, and the margin given up for a smaller exit pupil [dex]."""

    framing: float = 1.0
    exit_pupil: float = 1.0
    power: float = 1.0
    visibility: float = 1.0
    comfort: float = 1.0
    margin_given_up_dex: float = 0.2


@frozen
class Preferences:
    """All classes, in the order of their codes, and the weights."""

    classes: tuple[Preference, ...]
    weights: Weights = field(default_factory=Weights)


class PreferenceError(InputError):
    """The ``[match]`` table of a configuration is wrong; ``faults`` holds a sentence for each."""


@cache
def default_preferences() -> Preferences:
    """Read the table that comes with the program."""
    table = tomllib.loads(Path(__file__).with_name("preferences.toml").read_text("utf-8"))
    weights = Weights(**table.pop("weights"))
    return Preferences(
        tuple(Preference(name=name, **_tuples(row)) for name, row in table.items()), weights
    )


def class_words(target_class: str) -> str:
    """Name a class of target in the plural: ``small galaxies``."""
    return next(row.words for row in default_preferences().classes if row.name == target_class)


def _tuples(row: Mapping[str, Any]) -> dict[str, Any]:
    return {key: tuple(map(float, v)) if isinstance(v, list) else v for key, v in row.items()}


def preferences_with(changes: Mapping[str, Any]) -> Preferences:
    """Return the default preferences with a user's changes.

    Parameters
    ----------
    changes : mapping
        The ``[match]`` table of the configuration: class name to keys and values, and ``weights``.

    Raises
    ------
    PreferenceError
        With every fault at once: unknown class or key, a value of the wrong shape or range.
    """
    if not changes:
        return default_preferences()
    default = default_preferences()
    faults: list[str] = []
    classes = {preference.name: preference for preference in default.classes}
    weights = default.weights
    for name, row in changes.items():
        place = f"match.{name}"
        if not isinstance(row, Mapping):
            faults.append(f"{place}: found {show(row)}; allowed is a table of keys and values")
        elif name == "weights":
            weights = replace(weights, **_changes(place, row, WEIGHTS, faults))
        elif name not in classes:
            known = [*classes, "weights"]
            meant = hint(name, known, f"known are {', '.join(known)}")
            faults.append(f"{place}: no such class; {meant}")
        else:
            classes[name] = replace(classes[name], **_changes(place, row, PREFERENCE, faults))
            faults.extend(_disordered(place, classes[name]))
    if faults:
        raise PreferenceError(faults)
    return Preferences(tuple(classes.values()), weights)


# What each key may hold; left out, it keeps the value of the default.
PREFERENCE = (
    optional("wide_field_pays", Flag()),
    *(optional(key, numbers(2, Bounds(0, 100))) for key in ("exit_pupil_ideal_mm", "fill_ideal")),
    optional("exit_pupil_ok_mm", numbers(2, Bounds(0, 100))),
    *(optional(key, numbers(4, Bounds(0, 100))) for key in FILTER_RANGES),
    optional("sun_altitude_max_deg", Bounds(-18, round(SUNSET_ALTITUDE_DEG, 4))),
    optional("moon_clearance_deg", Bounds(0, 180)),
    optional("fill_max", Bounds(0.05, 1)),
    optional("small_in_field", Bounds(0, 1)),
    optional("dwell_minutes", Bounds(1, 120)),
    optional("altitude_min_deg", Bounds(0, 60)),
)
WEIGHTS = tuple(optional(item.name, Bounds(0, 10)) for item in fields(Weights))


def _changes(
    place: str, row: Mapping[str, Any], known: tuple[Field, ...], faults: list[str]
) -> dict[str, Any]:
    """Return what a user's table changes, and add its faults."""
    table = Table(row, place, faults)
    found = table.fields(known)
    table.finish()
    return {key: found[key] for key in row if found.get(key) is not None}


def _disordered(place: str, preference: Preference) -> list[str]:
    """Find ranges that do not go from low to high, or an ideal outside what is acceptable."""
    ideal, ok = preference.exit_pupil_ideal_mm, preference.exit_pupil_ok_mm
    faults = []
    if not 0.0 < ok[0] <= ideal[0] <= ideal[1] <= ok[1]:
        faults.append(
            f"{place}: exit_pupil_ideal_mm {list(ideal)} must rise and lie within "
            f"exit_pupil_ok_mm {list(ok)}"
        )
    fill, largest = preference.fill_ideal, preference.fill_max
    if fill and not fill[0] <= fill[1] <= (largest or 1.0):
        faults.append(f"{place}: fill_ideal {list(fill)} must rise and stay within fill_max")
    for name in FILTER_RANGES:
        span = getattr(preference, name)
        if span and not 0.0 < span[2] <= span[0] <= span[1] <= span[3]:
            faults.append(
                f"{place}: {name} {list(span)} must be ideal low, ideal high, ok low, ok high"
            )
    return faults
