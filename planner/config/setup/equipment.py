"""Telescopes, eyepieces and the rest as people write them: in millimetres or inches."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from typing import Any

from planner.config.checks import Table
from planner.config.kit_sections import read_amplifier, read_eyepiece, read_filter, read_telescope
from planner.config.plausibility import eyepiece_doubt
from planner.config.setup.draft import Draft, Entry, Taken, checked, read_yes, without
from planner.formulas.optics import LARGEST_FIELD_STOP_MM, field_stop_from_apparent_mm
from planner.model.kit import AmplifierKind, Barrel, FilterKind, Mount, Orientation
from planner.text import listed

MM_PER_INCH = 25.4
SIZE = re.compile(r"\s*([0-9]+(?:[.,][0-9]+)?)\s*(mm|cm|m|in|inch|inches|\"|'')?\s*", re.IGNORECASE)
RATIO = re.compile(r"\s*f\s*/?\s*([0-9]+(?:[.,][0-9]+)?)\s*", re.IGNORECASE)
UNIT_MM = {"mm": 1.0, "cm": 10.0, "m": 1000.0}
# What may stand behind the three numbers of an eyepiece.
EXTRAS = {
    "field_stop_mm": re.compile(r"\bstop\s*([0-9]+(?:\.[0-9]+)?)(?:\s*mm)?", re.IGNORECASE),
    "eye_relief_mm": re.compile(r"\brelief\s*([0-9]+(?:\.[0-9]+)?)(?:\s*mm)?", re.IGNORECASE),
    "mass_g": re.compile(r"\b([0-9]+(?:\.[0-9]+)?)\s*g\b", re.IGNORECASE),
}
RANGE = r"([0-9]+(?:\.[0-9]+)?)(?:\s*-\s*([0-9]+(?:\.[0-9]+)?))?"
EYEPIECE = re.compile(
    rf"\s*{RANGE}\s*(?:mm)?[\s,;]+{RANGE}\s*(?:deg(?:rees)?|°)?(?:[\s,;]+(.*))?", re.IGNORECASE
)
BARREL = re.compile(r"\s*(0\.965|1\.25|2|3|1\s*1/4|1¼)\s*(?:in|inch|\"|'')?\s*", re.IGNORECASE)
# A focal length, with a barrel or without, and nothing else.
LENGTH = re.compile(
    r"\s*([0-9]+(?:[.][0-9]+)?)\s*(?:mm)?(?:[\s,;]+((?:0\.965|1\.25|2|3)\s*(?:in|inch|\"|'')))?\s*",
    re.IGNORECASE,
)
LENGTHS = re.compile(r"\s*[0-9.]+\s*mm(?:\s*,\s*[0-9.]+\s*mm)+\s*", re.IGNORECASE)
AND = re.compile(r"\s+and\s+|\s*[&;]\s*", re.IGNORECASE)
# The apparent field of plain eyepieces, which come with most telescopes [deg] (common practice).
USUAL_FIELD_DEG = 50.0
# Focusers of smaller telescopes mostly take 1.25 inch only [mm] (common practice).
SMALL_APERTURE_MM = 130.0
# Field stops beside the largest that 1.25 inch holds; between these it may be either.
SURELY_SMALL, SURELY_LARGE = 0.95, 1.25
BARRELS = {"1¼": "1.25", "11/4": "1.25"}


def read_size_mm(text: str) -> float:
    """Read a length: ``200``, ``8 in``, ``8"``, ``20 cm``; without a unit millimetres are meant.

    Raises ValueError with a sentence that says what is allowed.
    """
    found = SIZE.fullmatch(text)
    if not found:
        raise ValueError(f'"{text}" is not a size; write millimetres, or inches as in 8 in.')
    unit = (found[2] or "mm").lower()
    if unit in UNIT_MM:
        return round(_number(found[1]) * UNIT_MM[unit], 1)
    return float(round(_number(found[1]) * MM_PER_INCH))  # inches of a telescope are nominal


def read_focal_length_mm(text: str, aperture_mm: float) -> float:
    """Read a focal length, or a focal ratio: ``1200``, ``48 in``, ``f/6``."""
    ratio = RATIO.fullmatch(text)
    return round(aperture_mm * _number(ratio[1]), 1) if ratio else read_size_mm(text)


def read_barrel(text: str) -> Barrel:
    """Read the size of a barrel: ``1.25``, ``2 in``, ``1 1/4"``."""
    found = BARREL.fullmatch(text)
    if not found:
        raise ValueError(f'"{text}" is not a barrel; allowed is {listed(Barrel)}.')
    number = found[1].replace(" ", "")
    return Barrel(f"{BARRELS.get(number, number)}in")


def read_eyepiece_line(text: str) -> tuple[dict[str, Any], str]:
    """Read an eyepiece in a line: ``30 70 2in``, ``12 mm 60``, ``8-20 62-46 1.25 relief 15``.

    Returns
    -------
    dict
        As it stands in the configuration, without a name that was not given.
    str
        What was taken for granted, in a sentence; may be empty.

    Raises
    ------
    ValueError
        With a sentence that says what is allowed.
    """
    rest, entry = text.replace("\u2013", "-"), dict[str, Any]()
    for key, pattern in EXTRAS.items():
        found = pattern.search(rest)
        if found:
            entry[key] = _plain(float(found[1]))
            rest = rest[: found.start()] + rest[found.end() :]
    alone = LENGTH.fullmatch(rest)
    if alone:
        rest = f"{alone[1]} {USUAL_FIELD_DEG:g} {alone[2] or ''}"
    found = EYEPIECE.fullmatch(rest.rstrip(" ,;"))
    if not found:
        raise ValueError(
            f'"{text}" is not an eyepiece; write focal length, apparent field and barrel, as in '
            '"12 60 1.25", or for a zoom "8-20 62-46 1.25".'
        )
    focal, field = _ends(found[1], found[2]), _ends(found[3], found[4])
    entry = {"focal_length_mm": focal, "apparent_field_deg": field} | entry
    wide = f"Taken to show {USUAL_FIELD_DEG:g} degrees, as plain ones do; " if alone else ""
    wide += f"if it says otherwise on it, write as in {focal} 60. " if alone else ""
    if found[5] and found[5].strip():
        return {**entry, "barrel": str(read_barrel(found[5]))}, wide.strip()
    barrel = _likely_barrel(focal, field)
    return {**entry, "barrel": str(barrel)}, f"{wide}Taken to have a {barrel} barrel."


def eyepiece_parts(text: str) -> list[str]:
    """Return the eyepieces that stand in one line: ``25 mm and 9 mm``, ``25 mm, 9 mm``."""
    parts = [part.strip() for part in AND.split(text)]
    if len(parts) == 1 and LENGTHS.fullmatch(text):
        parts = [part.strip() for part in text.split(",")]
    return [part for part in parts if part]


def eyepiece_name(entry: dict[str, Any]) -> str:
    """Name an eyepiece by its numbers: ``12 mm 60``, ``8-20 mm zoom``."""
    focal = entry["focal_length_mm"]
    if isinstance(focal, list):
        return f"{min(focal):g}-{max(focal):g} mm zoom"
    return f"{focal:g} mm {entry['apparent_field_deg']:g}"


def read_amplifier_line(text: str) -> dict[str, Any]:
    """Read a Barlow, reducer or corrector in a line: ``2x 1.25``, ``corrector 1.15 2in``."""
    words = text.replace(",", " ").split()
    kinds = [word.lower() for word in words if word.lower() in list(AmplifierKind)]
    numbers = [word for word in words if word.lower() not in kinds]
    factor = re.fullmatch(r"([0-9]+(?:\.[0-9]+)?)x?", numbers[0].lower()) if numbers else None
    if not factor or len(kinds) > 1 or len(numbers) < 2:
        raise ValueError(
            f'"{text}" is not a Barlow or reducer; write factor and barrel, as in "2x 1.25", and '
            'before them "corrector" for a coma corrector.'
        )
    value = float(factor[1])
    kind = kinds[0] if kinds else str(AmplifierKind.BARLOW if value > 1 else AmplifierKind.REDUCER)
    name = f"{value:g}x {kind.capitalize() if kind == AmplifierKind.BARLOW else kind}"
    barrel = str(read_barrel(" ".join(numbers[1:])))
    return {"name": name, "kind": kind, "factor": _plain(value), "barrel": barrel}


def read_filter_line(text: str) -> dict[str, Any]:
    """Read a filter in a line: ``oiii 2in``, ``narrowband 1.25``."""
    word, _, barrel = text.strip().partition(" ")
    kind = {"o3": "oiii", "o-iii": "oiii", "h-beta": "hbeta"}.get(word.lower(), word.lower())
    if kind not in list(FilterKind):
        raise ValueError(
            f'"{text}" is not a filter; write kind and barrel, as in "oiii 2in"; the kinds are '
            f"{listed(FilterKind)}."
        )
    return {"name": FILTER_NAMES.get(kind, kind.capitalize()), "kind": kind,
            "barrel": str(read_barrel(barrel or "1.25"))}  # fmt: skip


FILTER_NAMES = {"oiii": "O III", "hbeta": "H-beta"}


def _likely_barrel(focal: Any, field: Any) -> Barrel:
    """Return the smallest usual barrel that holds the field stop."""
    longest = max(focal) if isinstance(focal, list) else focal
    widest = field[0] if isinstance(field, list) else field
    stop_mm = field_stop_from_apparent_mm(apparent_field_deg=widest, focal_length_mm=longest)
    small = Barrel.ONE_AND_A_QUARTER
    share = stop_mm / LARGEST_FIELD_STOP_MM[small]
    if SURELY_SMALL < share < SURELY_LARGE:
        raise ValueError(
            f"A field stop of about {stop_mm:.0f} mm: this may be a 1.25 or a 2 inch eyepiece; "
            "add the barrel."
        )
    return small if share <= SURELY_SMALL else Barrel.TWO


def _ends(first: str, second: str | None) -> Any:
    if second is None:
        return _plain(float(first))
    return [_plain(float(first)), _plain(float(second))]


def _plain(value: float) -> int | float:
    """Write 12 and not 12.0 where that is all there is."""
    return int(value) if value == int(value) else value


def _number(text: str) -> float:
    return float(text.replace(",", "."))


# The usual central obstruction of a reflector, a quarter of its aperture (common practice).
USUAL_OBSTRUCTION = 0.25


def usual_obstruction(draft: Draft) -> str:
    """Return the secondary mirror that a reflector of that aperture usually has [mm]."""
    return f"{draft.telescope['aperture_mm'] * USUAL_OBSTRUCTION:.0f}"


def usual_focuser(draft: Draft) -> str:
    """Return the largest barrel that a telescope of that aperture usually takes."""
    small = draft.telescope["aperture_mm"] < SMALL_APERTURE_MM
    return str(Barrel.ONE_AND_A_QUARTER if small else Barrel.TWO)


def usual_diagonal(draft: Draft) -> str:
    """Say yes for a refractor and no for a reflector (common practice)."""
    return "n" if draft.telescope["obstruction_mm"] else "y"


def take_aperture(draft: Draft, text: str, _today: date) -> Taken:
    """Take the aperture, in millimetres or inches."""
    aperture_mm = read_size_mm(text)
    if not 20.0 <= aperture_mm <= 3000.0:
        raise ValueError(f"{aperture_mm:g} mm: an aperture is 20 to 3000 mm, 1 to 118 inches.")
    return Taken(draft.with_telescope(aperture_mm=aperture_mm), (f"{aperture_mm:g} mm.",))


def take_focal_length(draft: Draft, text: str, _today: date) -> Taken:
    """Take the focal length or ratio; it names the telescope."""
    aperture_mm = draft.telescope["aperture_mm"]
    focal_mm = read_focal_length_mm(text, aperture_mm)
    name = f"{aperture_mm:g} mm f/{round(focal_mm / aperture_mm, 1):g}"
    named = {"name": name, **without(draft.telescope, "name"), "focal_length_mm": focal_mm}
    after = replace(draft, telescope=named)
    checked(read_telescope, {**after.telescope, "focuser": str(Barrel.TWO)}, "telescope")
    return Taken(after, (f"{name}, focal length {focal_mm:g} mm.",))


def take_obstruction(draft: Draft, text: str, _today: date) -> Taken:
    """Take the secondary mirror, in millimetres or percent of the aperture."""
    aperture_mm = draft.telescope["aperture_mm"]
    share = re.fullmatch(r"([0-9]+(?:\.[0-9]+)?)\s*%", text)
    size_mm = aperture_mm * float(share[1]) / 100.0 if share else read_size_mm(text)
    if size_mm >= aperture_mm:
        raise ValueError(f"The secondary mirror must be smaller than the {aperture_mm:g} mm.")
    return Taken(draft.with_telescope(obstruction_mm=round(size_mm, 1)))


def take_diagonal(draft: Draft, text: str, _today: date) -> Taken:
    """Take whether left and right are exchanged; the drawings of fields depend on it."""
    seen = Orientation.MIRRORED if read_yes(text) else Orientation.INVERTED
    return Taken(draft.with_telescope(orientation=str(seen)))


def take_focuser(draft: Draft, text: str, _today: date) -> Taken:
    """Take the largest barrel."""
    return Taken(draft.with_telescope(focuser=str(read_barrel(text))))


def take_mount(draft: Draft, text: str, _today: date) -> Taken:
    """Take the mount, by its first letters."""
    kinds = [mount for mount in Mount if text and mount.startswith(text.lower())]
    if len(kinds) != 1:
        raise ValueError('Allowed is "altazimuth" or "equatorial"; a or e will do.')
    return Taken(draft.with_telescope(mount=str(kinds[0])))


def take_driven(draft: Draft, text: str, _today: date) -> Taken:
    """Take whether motors follow the sky."""
    return Taken(draft.with_telescope(driven=read_yes(text)))


def take_eyepiece(draft: Draft, text: str, _today: date) -> Taken:
    """Take an eyepiece, or several, and ask for another, or go on."""
    if not text:
        return Taken(draft)
    said: list[str] = []
    for part in eyepiece_parts(text):
        draft, told = _with_eyepiece(draft, part)
        said += told
    return Taken(draft, tuple(said), again=True)


def _with_eyepiece(draft: Draft, text: str) -> tuple[Draft, list[str]]:
    """Put an eyepiece into a draft, and say what was taken."""
    entry, said = read_eyepiece_line(text)
    entry = {"name": _free_name(eyepiece_name(entry), draft.eyepieces), **entry}
    eyepiece = checked(read_eyepiece, entry, "eyepiece")
    _check_double(entry, draft.eyepieces)
    doubt = eyepiece_doubt(eyepiece)
    powers = [draft.telescope["focal_length_mm"] / mm for mm in eyepiece.focal_lengths_mm[::-1]]
    told = f"{entry['name']}: {'-'.join(f'{power:.0f}' for power in powers)}x in this telescope."
    after = replace(draft, eyepieces=(*draft.eyepieces, entry))
    return after, [words for words in (told, said, doubt) if words]


def take_more(draft: Draft, text: str, _today: date, *, what: str) -> Taken:
    """Take a Barlow or a filter, or go on."""
    if not text:
        return Taken(draft)
    entries: tuple[Entry, ...] = getattr(draft, f"{what}s")
    read_line, read = MORE[what]
    entry = read_line(text)
    entry["name"] = _free_name(str(entry["name"]), entries)
    checked(read, entry, what)
    more: dict[str, Any] = {f"{what}s": (*entries, entry)}
    changed = replace(draft, **more)
    return Taken(changed, (f"{entry['name']}.",), again=True)


MORE: dict[str, tuple[Callable[[str], dict[str, Any]], Callable[[Table], Any]]] = {
    "amplifier": (read_amplifier_line, read_amplifier),
    "filter": (read_filter_line, read_filter),
}


def _check_double(entry: Entry, others: tuple[Entry, ...]) -> None:
    """Refuse an eyepiece that stands there already, number by number."""
    without_name = {key: value for key, value in entry.items() if key != "name"}
    if any(without_name == {k: v for k, v in o.items() if k != "name"} for o in others):
        raise ValueError("This one is on the list already.")


def _free_name(name: str, others: tuple[Entry, ...]) -> str:
    """Put a number behind a name that is taken."""
    taken = {str(other["name"]).casefold() for other in others}
    names = (name if number == 1 else f"{name} ({number})" for number in range(1, 1000))
    return next(free for free in names if free.casefold() not in taken)
