"""Reads what somebody thinks of buying: eyepieces, amplifiers and filters that are not owned."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from planner.cli.kit.options import CandidateOptions
from planner.config.checks import Table, list_tables, note_doubles, unknown_tables
from planner.config.fields import Bounds, optional
from planner.config.kit_sections import read_amplifier, read_eyepiece, read_filter
from planner.config.plausibility import STOP_TOLERANCE
from planner.config.toml_syntax import TomlError, read_toml
from planner.formulas.optics import LARGEST_FIELD_STOP_MM, field_stop_from_apparent_mm
from planner.model.errors import InputError
from planner.model.kit import Amplifier, Barrel, Eyepiece, Filter, Kit
from planner.text import listed, show
from targets.files import NotTextError, typed_text
from targets.frozen import frozen

Part = Eyepiece | Amplifier | Filter

MOST_CANDIDATES = 20
LARGEST_FILE_BYTES = 100_000
TABLES: dict[str, Callable[[Table], Part]] = {
    "eyepiece": read_eyepiece,
    "amplifier": read_amplifier,
    "filter": read_filter,
}
COST = optional("cost", Bounds(0, 1e9))
# The options of an eyepiece and the keys of the configuration that they stand for.
OPTION_OF = {
    "focal_length_mm": "--focal-length",
    "apparent_field_deg": "--apparent-field",
    "barrel": "--barrel",
    "field_stop_mm": "--field-stop",
    "eye_relief_mm": "--eye-relief",
    "mass_g": "--mass",
    "name": "--name",
    "kind": "--filter",
}


@frozen
class Purchases:
    """What somebody thinks of buying, and what it costs by his or her own figures.

    Parameters
    ----------
    parts : tuple of Part
        Each with a name that nothing in the kit and no other has.
    costs : dict of str to float
        By name, for those whose cost is stated; in whatever currency.
    """

    parts: tuple[Part, ...]
    costs: dict[str, float]


def read_candidates(texts: CandidateOptions, kit: Kit) -> Purchases:
    """Read all candidates; raises InputError with a sentence for everything that cannot be used."""
    faults: list[str] = []
    found = [*_by_options(texts, faults), *_by_words(texts.candidates, faults)]
    costs: list[float | None] = [None] * len(found)
    if texts.file is not None:
        own, stated = _by_file(Path(texts.file), faults)
        found += own
        costs += stated
    if not faults:
        faults += [fault for part in found if (fault := contradiction(part))]
    if not faults and not found:
        faults.append(
            "Nothing to try: give --focal-length with --apparent-field and --barrel, --candidate "
            '"17 72 1.25in", --barlow, --reducer, --corrector, --filter, or --file.'
        )
    if len(found) > MOST_CANDIDATES:
        faults.append(f"{len(found)} candidates are too many; allowed are {MOST_CANDIDATES}.")
    if faults:
        raise InputError(faults)
    parts = _with_own_names(found, kit)
    named = zip(parts, costs, strict=True)
    return Purchases(parts, {part.name: cost for part, cost in named if cost is not None})


def read_owned(texts: Sequence[str]) -> tuple[Eyepiece, ...]:
    """Read the eyepieces that ``--have`` names: ``25 52``, or ``25 52 1.25in``.

    Without a barrel it is the smallest that holds the field.

    Raises InputError with a sentence for everything that cannot be used.
    """
    faults: list[str] = []
    found: list[Part] = []
    for text in texts:
        words = text.split()
        if len(words) not in {2, 3}:
            faults.append(
                f"--have {show(text)}: allowed are focal length [mm] and apparent field [degrees], "
                'as in "25 52", and a barrel where it is not the smallest that holds them.'
            )
            continue
        values = {
            "focal_length_mm": _numbers(words[0]),
            "apparent_field_deg": _numbers(words[1]),
            "barrel": words[2] if len(words) == 3 else Barrel.TWO.value,
            "name": _name(words[0], words[1]),
        }
        own = _read("eyepiece", values, f"--have {show(text)}", faults)
        found += own if len(words) == 3 else [_in_smallest_barrel(part) for part in own]
    faults += [fault for part in found if (fault := contradiction(part))]
    if faults:
        raise InputError(faults)
    return tuple(part for part in _with_own_names(found, None) if isinstance(part, Eyepiece))


def _in_smallest_barrel(part: Part) -> Part:
    sizes = (replace(part, barrel=b) for b in Barrel if b is not Barrel.SMALL)
    return next((sized for sized in sizes if contradiction(sized) is None), part)


def contradiction(part: Part) -> str | None:
    """Say why an eyepiece cannot be: its barrel does not hold the field that is claimed."""
    if not isinstance(part, Eyepiece):
        return None
    ends = zip(part.focal_lengths_mm, part.apparent_fields_deg, strict=True)
    stop_mm, focal_mm, field_deg = max(
        (float(field_stop_from_apparent_mm(focal, field)), focal, field) for focal, field in ends
    )
    largest_mm = LARGEST_FIELD_STOP_MM[part.barrel]
    if stop_mm <= largest_mm * (1.0 + STOP_TOLERANCE):
        return None
    widest_deg = field_deg * largest_mm / stop_mm
    holding = [b for b in Barrel if stop_mm <= LARGEST_FIELD_STOP_MM[b] * (1.0 + STOP_TOLERANCE)]
    instead = f", or give {holding[0]}" if holding else ""
    return (
        f"{part.name}: {focal_mm:g} mm with {field_deg:g} degrees asks for a field stop of "
        f"{stop_mm:.1f} mm, but a {part.barrel} barrel holds {largest_mm:g} mm; allowed are up to "
        f"{widest_deg:.0f} degrees{instead}."
    )


def _by_options(texts: CandidateOptions, faults: list[str]) -> list[Part]:
    found: list[Part] = []
    barrel = texts.barrel or Barrel.ONE_AND_A_QUARTER.value
    shared = {"mass_g": _number(texts.mass)} if texts.mass is not None else {}
    amplifiers = ("barlow", texts.barlow), ("reducer", texts.reducer)
    for kind, factor in (*amplifiers, ("corrector", texts.corrector)):
        if factor is not None:
            size = texts.barrel or (Barrel.TWO.value if kind == "corrector" else barrel)
            values = {"kind": kind, "factor": _number(factor), "barrel": size, **shared}
            name = texts.name or f"{_plain(factor)}x {kind.capitalize()}"
            found += _read("amplifier", {"name": name, **values}, "", faults)
    if texts.filter is not None:
        values = {"kind": texts.filter, "barrel": barrel}
        found += _read(
            "filter", {"name": texts.name or f"New {texts.filter}", **values}, "", faults
        )
    optics = (texts.focal_length, texts.apparent_field, texts.field_stop, texts.eye_relief)
    rest = (texts.barrel, texts.mass, texts.name)
    others = (texts.barlow, texts.reducer, texts.corrector, texts.filter)
    asked = optics if any(text is not None for text in others) else (*optics, *rest)
    if any(text is not None for text in asked):
        found += _eyepiece(texts, faults)
    return found


def _eyepiece(texts: CandidateOptions, faults: list[str]) -> list[Part]:
    given = {
        "focal_length_mm": _numbers(texts.focal_length),
        "apparent_field_deg": _numbers(texts.apparent_field),
        "barrel": texts.barrel,
        "field_stop_mm": _number(texts.field_stop),
        "eye_relief_mm": _number(texts.eye_relief),
        "mass_g": _number(texts.mass),
        "name": texts.name or _name(texts.focal_length, texts.apparent_field),
    }
    values = {key: value for key, value in given.items() if value is not None}
    return _read("eyepiece", values, "", faults)


def _by_words(candidates: Sequence[str], faults: list[str]) -> list[Part]:
    """Read ``17 72 1.25in``: focal length, apparent field, barrel."""
    found: list[Part] = []
    for text in candidates:
        words = text.split()
        if len(words) != 3:
            faults.append(
                f"--candidate {show(text)}: allowed are focal length [mm], apparent field "
                '[degrees] and barrel, as in "17 72 1.25in"; a zoom as "8-20 62-46 1.25in".'
            )
            continue
        values = {
            "focal_length_mm": _numbers(words[0]),
            "apparent_field_deg": _numbers(words[1]),
            "barrel": words[2],
            "name": _name(words[0], words[1]),
        }
        found += _read("eyepiece", values, f"--candidate {show(text)}", faults)
    return found


def _by_file(path: Path, faults: list[str]) -> tuple[list[Part], list[float | None]]:
    """Read a file with the tables of the configuration for what can be bought.

    Beside the keys of the configuration each may have its ``cost``.
    """
    raw = _toml(path, faults)
    own = [f"{fault}." for fault in unknown_tables(raw, TABLES)]
    found: list[Part] = []
    costs: list[float | None] = []
    for key, read in TABLES.items():
        tables = list_tables(raw, key, own)
        for table in tables:
            costs.append(table.fields([COST])["cost"])
            found.append(read(table))
            table.finish()
        note_doubles(tables)
    if not found and not own and not faults:
        own.append(
            f"no candidate in it; needed is at least one {listed(f'[[{k}]]' for k in TABLES)}."
        )
    faults += [f'--file "{path}": {fault}' for fault in own]
    return (found, costs) if not own else ([], [])


def _toml(path: Path, faults: list[str]) -> dict[str, Any]:
    where = f'--file "{path}"'
    try:
        with path.open("rb") as file:
            content = file.read(LARGEST_FILE_BYTES + 1)
        if len(content) > LARGEST_FILE_BYTES:
            faults.append(f"{where} is larger than {LARGEST_FILE_BYTES // 1000} kB.")
            return {}
        return read_toml(typed_text(content, needed="a TOML file in UTF-8"))
    except OSError as error:
        faults.append(f"{where} cannot be read: {error.strerror}.")
    except NotTextError as error:
        faults.append(f"{where} cannot be read: {error}.")
    except TomlError as error:
        faults.append(f"{where} cannot be read: {error}.")
    except ValueError:  # a path with a zero byte
        faults.append(f"{where} cannot be read: this is not a path to a file.")
    return {}


def _read(kind: str, values: dict[str, Any], place: str, faults: list[str]) -> list[Part]:
    """Read one candidate as the configuration would, in the words of the options."""
    own: list[str] = []
    part = TABLES[kind](Table(values, "", own))
    for fault in own:
        told = fault.removeprefix(", ")
        told = told.replace('"factor"', f"--{values.get('kind')}")
        told = told.replace("a list of two", "two with a hyphen, as in 8-20")
        for key, option in OPTION_OF.items():
            told = told.replace(f'"{key}"', option if not place else key)
        faults.append(f"{place}, {told}." if place else f"{told}.")
    return [] if own else [part]


def _number(text: str | None) -> float | str | None:
    """Return a number; a text that is none as it is, for the reader to refuse."""
    try:
        return None if text is None else float(text)
    except ValueError:
        return text


def _numbers(text: str | None) -> float | str | list[float | str | None] | None:
    """Return a number, or the two ends of a zoom, written ``8-20``."""
    if text is not None and "-" in text[1:]:
        return [_number(part) for part in text.split("-")]
    return _number(text)


def _plain(text: str) -> str:
    value = _number(text)
    return f"{value:g}" if isinstance(value, float) else text


def _name(focal_length: str | None, apparent_field: str | None) -> str:
    return f"{(focal_length or '?').strip()} mm {(apparent_field or '?').strip()} deg"


def _with_own_names(parts: Sequence[Part], kit: Kit | None) -> tuple[Part, ...]:
    owned: tuple[Part, ...] = () if kit is None else (*kit.eyepieces, *kit.amplifiers, *kit.filters)
    taken = {part.name.casefold() for part in owned}
    named = []
    for part in parts:
        name, number = part.name, 1
        while name.casefold() in taken:
            number += 1
            name = f"{part.name} (new)" if number == 2 else f"{part.name} (new {number - 1})"
        taken.add(name.casefold())
        named.append(replace(part, name=name))
    return tuple(named)
