"""A configuration that is being made, and its text."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import field, replace
from datetime import date
from typing import Any

from planner.config.checks import Table
from planner.config.setup.towns import Town
from planner.model.kit import Mount
from targets.frozen import frozen

Entry = Mapping[str, Any]

HEADER = """\
# Configuration of fieldstop, written by "fieldstop setup". Change it as you
# like: every unit is in the name of its key. The README says what else may
# stand here, such as a skyline, and more sites and telescopes.
"""
# What a key means, for whoever opens the file later.
COMMENTS = {
    "dark_pupil_mm": "as measured",
    "birth_year": "gives the usual pupil; or dark_pupil_mm",
    "spectacles": "true if they stay on at the eyepiece",
    "longitude_deg": "east is positive",
    "elevation_m": "above the sea",
    "bortle": "if measured at the zenith, sky_mag_arcsec2",
    "sky_mag_arcsec2": "zenith, no Moon",
    "obstruction_mm": "of the secondary mirror; 0: refractor",
    "focuser": "the largest barrel that it takes",
    "orientation": "as seen: upright, inverted, mirrored",
    "driven": "true if motors follow the sky",
    "field_stop_mm": "measured: the true field is exact",
    "factor": "of the magnification",
}


@frozen
class Draft:
    """Tables of the configuration as far as they are known, by the names that the file has."""

    observer: Entry = field(default_factory=dict)
    site: Entry = field(default_factory=dict)
    telescope: Entry = field(default_factory=dict)
    eyepieces: tuple[Entry, ...] = ()
    amplifiers: tuple[Entry, ...] = ()
    filters: tuple[Entry, ...] = ()

    def with_site(self, **values: Any) -> Draft:
        """Put values into the site."""
        return replace(self, site={**self.site, **values})

    def with_telescope(self, **values: Any) -> Draft:
        """Put values into the telescope."""
        return replace(self, telescope={**self.telescope, **values})

    def with_observer(self, **values: Any) -> Draft:
        """Put values into the observer."""
        return replace(self, observer={**self.observer, **values})


def draft_toml(draft: Draft) -> str:
    """Write a draft as a configuration file with comments."""
    parts = [
        ("[observer]", [draft.observer]),
        ("[[site]]", [draft.site]),
        ("[[telescope]]", [draft.telescope]),
        ("[[eyepiece]]", draft.eyepieces),
        ("[[amplifier]]", draft.amplifiers),
        ("[[filter]]", draft.filters),
    ]
    tables = [_table(head, entry) for head, entries in parts for entry in entries if entry]
    return HEADER + "\n" + "\n\n".join(tables) + "\n"


def _table(head: str, entry: Entry) -> str:
    return "\n".join([head, *(_line(key, value) for key, value in entry.items())])


def _line(key: str, value: Any) -> str:
    line = f"{key} = {_value(value)}"
    comment = COMMENTS.get(key)
    if key == "mount":
        comment = f'the other kind: "{next(kind for kind in Mount if kind != value)}"'
    return f"{line:<30} # {comment}" if comment else line


def _value(value: Any) -> str:
    """Write a value as TOML; its strings are those of JSON, apart from what no name may hold."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    if isinstance(value, list):
        return f"[{', '.join(map(_value, value))}]"
    return f"{int(value)}" if value == int(value) else f"{value}"


YES, NO = {"y", "yes"}, {"n", "no"}


@frozen
class Taken:
    """What an answer came to: the draft, what to say of it, and whether to ask again."""

    draft: Draft
    said: tuple[str, ...] = ()
    again: bool = False
    choices: tuple[Town, ...] = ()


@frozen
class Question:
    """A question, what an empty answer means, and what takes the answer.

    ``ask`` and ``default`` may follow from the draft; a default of None means that an answer is
    needed, and an empty one that an empty answer goes on. ``take`` raises ValueError with
    sentences.
    """

    ask: str | Callable[[Draft], str]
    default: str | Callable[[Draft], str | None] | None
    take: Callable[[Draft, str, date], Taken]

    def ask_of(self, draft: Draft) -> str:
        """Return the question for a draft."""
        return self.ask if isinstance(self.ask, str) else self.ask(draft)

    def default_of(self, draft: Draft) -> str | None:
        """Return what an empty answer means for a draft."""
        return self.default(draft) if callable(self.default) else self.default


def checked(read: Callable[[Table], Any], entry: Entry, place: str) -> Any:
    """Read a table as the configuration does; ValueError with all faults, a line for each."""
    faults: list[str] = []
    table = Table(entry, place, faults)
    value = read(table)
    table.finish()
    if faults:
        raise ValueError("\n".join(faults))
    return value


def without(entry: Entry, *keys: str) -> dict[str, Any]:
    """Return a table without some keys."""
    return {key: value for key, value in entry.items() if key not in keys}


def read_yes(text: str) -> bool:
    """Read y or n."""
    word = text.lower()
    if word not in YES | NO:
        raise ValueError("Answer y or n.")
    return word in YES


def read_number(text: str, allowed: str) -> float:
    """Read a number; ValueError says what is allowed."""
    try:
        return float(text.strip().replace(",", "."))
    except ValueError:
        raise ValueError(f'"{text}" is not a number; write {allowed}.') from None
