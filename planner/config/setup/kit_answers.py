"""Answers about the telescope and what goes into it."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from typing import Any

from planner.config.checks import Table
from planner.config.plausibility import eyepiece_doubt
from planner.config.sections import read_amplifier, read_eyepiece, read_filter, read_telescope
from planner.config.setup.draft import Draft, Entry, Taken, checked, read_yes, without
from planner.config.setup.equipment import (
    eyepiece_name,
    read_amplifier_line,
    read_barrel,
    read_eyepiece_line,
    read_filter_line,
    read_focal_length_mm,
    read_size_mm,
)
from planner.model.kit import Barrel, Mount, Orientation

# The usual central obstruction of a reflector, a quarter of its aperture (common practice).
USUAL_OBSTRUCTION = 0.25


def usual_obstruction(draft: Draft) -> str:
    """Give the secondary mirror that a reflector of that aperture usually has [mm]."""
    return f"{draft.telescope['aperture_mm'] * USUAL_OBSTRUCTION:.0f}"


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
    """Take an eyepiece and ask for another, or go on."""
    if not text:
        return Taken(draft)
    entry, said = read_eyepiece_line(text)
    entry = {"name": _free_name(eyepiece_name(entry), draft.eyepieces), **entry}
    eyepiece = checked(read_eyepiece, entry, "eyepiece")
    _check_double(entry, draft.eyepieces)
    doubt = eyepiece_doubt(eyepiece)
    powers = [draft.telescope["focal_length_mm"] / mm for mm in eyepiece.focal_lengths_mm[::-1]]
    told = f"{entry['name']}: {'-'.join(f'{power:.0f}' for power in powers)}x in this telescope."
    after = replace(draft, eyepieces=(*draft.eyepieces, entry))
    return Taken(after, tuple(filter(None, (told, said, doubt))), again=True)


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
