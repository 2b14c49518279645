"""Keeps lists in a folder, one file each, written whole or not at all.

Short lists and those of orbits are JSON with an entry in each line; long ones are written by
columns (`targets.userlists.blocks`).
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import asdict, fields
from pathlib import Path
from typing import Any

from targets.characters import harmless
from targets.elements import Elements
from targets.files import FOR_THE_OWNER, draft_of, make_folder
from targets.model import Kind, Origin, Target
from targets.programmes import PROGRAMMES
from targets.userlists.blocks import BOUNDS, block_lines, entries_of
from targets.userlists.blocks import SCHEMA as LONG_SCHEMA
from targets.userlists.cells import FIXED_KINDS
from targets.userlists.records import ListEntry, ListError, OwnList

SCHEMA = "fieldstop.list/1"
FOLDER = "lists"
ORBITS = ".orbits.json"
TARGETS = ".list.json"
LONG = ".list.jsonl"
LONG_COUNT = 5_000
_ENDINGS = (ORBITS, TARGETS, LONG)
_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9_.-]{0,39}")


def lists_folder(data: Path) -> Path:
    """Return where lists are in the folder of what the program keeps."""
    return data / FOLDER


def check_name(name: str) -> str:
    """Return a name that a list may have, or ListError with what is allowed."""
    if not _NAME.fullmatch(name):
        raise ListError(
            "a name of a list has up to 40 letters, digits, hyphens, dots and underscores, such as"
            " spring-galaxies"
        )
    if name.casefold() in PROGRAMMES:
        raise ListError(f'"{name}" is the name of a programme that comes with fieldstop')
    return name


def name_for(path: Path) -> str:
    """Make a name for a list from that of its file."""
    plain = re.sub(r"[^A-Za-z0-9_.]+", "-", path.stem).strip("-_.").casefold()
    return check_name(plain[:40].rstrip("-_.") or "list")


def kept_names(folder: Path) -> dict[str, Path]:
    """Find all lists without opening them: name to file, in order of names.

    Raises ListError when the folder may not be read.
    """
    try:
        inside = list(folder.iterdir())
    except (FileNotFoundError, NotADirectoryError):
        return {}
    except OSError as error:
        raise ListError(f'the folder "{folder}" cannot be read: {error.strerror}') from None
    files = [path for path in inside if path.name.endswith(_ENDINGS) and path.is_file()]
    found = {_stem(path.name): path for path in files}
    return dict(sorted(found.items()))


def _stem(name: str) -> str:
    return next(name.removesuffix(ending) for ending in _ENDINGS if name.endswith(ending))


def find_name(folder: Path, name: str) -> tuple[str, Path] | None:
    """Find a list by its name in capitals or not; None when there is none."""
    word = name.casefold()
    return next((pair for pair in kept_names(folder).items() if pair[0].casefold() == word), None)


def check_free(folder: Path, name: str) -> None:
    """Raise ListError when there is a list of this name already."""
    if find_name(folder, name) is not None:
        raise ListError(
            f'there is a list "{name}" already; give another --name, or remove that one first'
        )


def keep_list(folder: Path, kept: OwnList) -> Path:
    """Write a list that is not there yet.

    Raises ListError when there is one of this name, or the file cannot be written; nothing is
    changed then.
    """
    check_name(kept.name)
    check_free(folder, kept.name)
    is_long = not kept.orbits and len(kept.entries) > LONG_COUNT
    ending = ORBITS if kept.orbits else LONG if is_long else TARGETS
    path = folder / f"{kept.name}{ending}"
    lines = _long_lines(kept) if is_long else _lines(kept)
    try:
        make_folder(folder)
        with draft_of(path, lines, rights=FOR_THE_OWNER) as draft:
            draft.replace(path)
    except OSError as error:
        raise ListError(f'the list cannot be kept in "{folder}": {error.strerror}') from None
    return path


def read_list(path: Path) -> OwnList:
    """Read a list that is kept.

    Raises ListError when the file is not one that `keep_list` wrote, or somebody has changed it
    since.
    """
    try:
        text = path.read_text("utf-8")
        return _long_list(text) if path.name.endswith(LONG) else _own_list(json.loads(text))
    except OSError as error:
        raise ListError(f'the list in "{path}" cannot be read: {error.strerror}') from None
    except (KeyError, TypeError, ValueError, AttributeError, RecursionError, OverflowError):
        raise ListError(f'"{path}" is damaged: it is not a list as fieldstop keeps it') from None


def remove_list(folder: Path, name: str) -> str:
    """Remove a list and give its name as it was; ListError when there is none."""
    found = find_name(folder, name)
    if found is None:
        raise ListError(no_list(folder, name))
    try:
        found[1].unlink()
    except OSError as error:
        raise ListError(f'the list "{found[0]}" cannot be removed: {error.strerror}') from None
    return found[0]


def no_list(folder: Path, name: str) -> str:
    """Say that there is no list of a name, and which there are."""
    names = list(kept_names(folder))
    there = f"there is {', '.join(names)}" if names else "none is kept"
    return f'no list of your own is called "{name}"; {there}'


def _lines(kept: OwnList) -> Iterator[str]:
    """Write a list as JSON, an entry in each line."""
    about = {"schema": SCHEMA, "name": kept.name, "source": kept.source, "orbits": kept.orbits}
    yield f'{json.dumps(about)[:-1]}, "entries": ['
    for number, entry in enumerate(kept.entries):
        yield (",\n" if number else "\n") + json.dumps(_entry_document(entry), allow_nan=False)
    yield "\n]}\n"


def _long_lines(kept: OwnList) -> Iterator[str]:
    about = {"name": kept.name, "source": kept.source}
    return block_lines(about, kept.columns())


def _entry_document(entry: ListEntry) -> dict[str, Any]:
    written: dict[str, Any] = {"id": entry.id, "note": entry.note}
    own = entry.own
    if own is not None:
        names = ("id", "name", *BOUNDS, "constellation", "aliases")
        written["own"] = {"kind": str(own.kind)} | {name: getattr(own, name) for name in names}
        if own.elements is not None:
            written["own"]["elements"] = asdict(own.elements)
    return written


def _own_list(document: Mapping[str, Any]) -> OwnList:
    if document["schema"] != SCHEMA:
        raise ValueError(document["schema"])
    entries = tuple(_entry(written) for written in document["entries"])
    return OwnList(
        check_name(_text(document["name"])),
        _text(document["source"]),
        entries,
        orbits=bool(document["orbits"]),
    )


def _long_list(text: str) -> OwnList:
    first, *lines = text.splitlines()
    about = json.loads(first)
    if about["schema"] != LONG_SCHEMA:
        raise ValueError(about["schema"])
    entries = entries_of(lines, about["count"])
    return OwnList(check_name(_text(about["name"])), _text(about["source"]), entries)


def _entry(written: Mapping[str, Any]) -> ListEntry:
    own = written.get("own")
    return ListEntry(
        _text(written["id"]),
        _text(written["note"]),
        None if own is None else _own_target(own, _text(written["note"])),
    )


def _own_target(written: Mapping[str, Any], note: str) -> Target:
    numbers: dict[str, Any] = {
        name: _number(written.get(name), *bounds) for name, bounds in BOUNDS.items()
    }
    kind, elements = Kind(written["kind"]), written.get("elements")
    if elements is None and (
        kind not in FIXED_KINDS or numbers["ra_deg"] is None or numbers["dec_deg"] is None
    ):
        raise ValueError(kind)
    if elements is not None and kind not in (Kind.COMET, Kind.ASTEROID):
        raise ValueError(kind)
    return Target(
        id=_text(written["id"]),
        name=_text(written["name"]),
        kind=kind,
        constellation=written["constellation"] and _text(written["constellation"]),
        **numbers,
        size_origin=Origin.UNKNOWN if numbers["major_arcmin"] is None else Origin.CATALOGUE,
        magnitude_origin=Origin.UNKNOWN if numbers["magnitude"] is None else Origin.CATALOGUE,
        aliases=tuple(_text(alias) for alias in written["aliases"]),
        own_note=note or None,
        elements=None if elements is None else _elements(elements),
    )


def _elements(written: Mapping[str, Any]) -> Elements:
    found = {item.name: _number(written[item.name], -1e9, 1e9) for item in fields(Elements)}
    optional = {"epoch_jd", "absolute_mag", "slope"}
    if any(value is None for name, value in found.items() if name not in optional):
        raise ValueError("elements")
    elements = Elements(**found)  # type: ignore[arg-type]
    if not (elements.perihelion_au > 0.0 and elements.eccentricity >= 0.0):
        raise ValueError("elements")
    return elements


def _number(value: Any, low: float, high: float) -> float | None:
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise TypeError(value)
    if not (math.isfinite(value) and low <= value <= high):
        raise ValueError(value)
    return float(value)


def _text(value: Any) -> str:
    if not isinstance(value, str):
        raise TypeError(value)
    return harmless(value, instead=" ")
