"""Files of orbital elements in the two formats that the Minor Planet Center publishes.

Each line is looked over first, so that a bad one costs itself alone.

References
----------
Minor Planet Center, "Ephemerides and Orbital Elements Format" (comets) and "Export Format for
Minor-Planet Orbits", https://www.minorplanetcenter.net/iau/info/CometOrbitFormat.html and
MPOrbitFormat.html.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator
from typing import Any

import numpy as np

from planner.ephemeris.kepler import mean_motion_deg
from targets.elements import Elements
from targets.frozen import frozen
from targets.model import Kind, Target
from targets.naming.packed import day_jd, unpack_date_jd, unpack_designation
from targets.userlists.cells import words
from targets.userlists.records import ListEntry, ListError, Reading, Remark

MOST_LINES = 20_000
MOST_KEPT = 3_000
# What never gets brighter than this is not kept [mag]: no amateur's telescope shows it to the eye.
FAINTEST_EVER_MAG = 16.0
# How near the Earth a body that crosses its orbit is taken to come at best [au].
NEAREST_AU = 0.05

_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)", re.ASCII)
_COMET_NEEDED = {
    "year of perihelion": (14, 18),
    "month of perihelion": (19, 21),
    "day of perihelion": (22, 29),
    "perihelion distance": (30, 39),
    "eccentricity": (41, 49),
    "argument of perihelion": (51, 59),
    "node": (61, 69),
    "inclination": (71, 79),
}
_COMET_OPTIONAL = {"epoch": (81, 89), "absolute magnitude": (91, 95), "slope": (96, 100)}
_MINOR_NEEDED = {
    "mean anomaly": (26, 35),
    "argument of perihelion": (37, 46),
    "node": (48, 57),
    "inclination": (59, 68),
    "eccentricity": (70, 79),
    "semi-major axis": (92, 103),
}
_MINOR_OPTIONAL = {"H": (8, 13), "G": (14, 19)}
_COMET_START = re.compile(r"[ 0-9]{4}[CPDXIA].{9}[ \d-]{4} [ \d]\d ")
_MINOR_START = re.compile(r".{20}[IJK]\d\d[1-9A-C][1-9A-V] +[\d.]+ ")
_COMET_DESIGNATION, _PACKED = (102, 158), (0, 7)
_HEADER_LINES = 60
# By what they are; None where an optional one is not there.
_Numbers = dict[str, Any]


def is_element_file(text: str) -> bool:
    """Tell whether a text holds orbital elements in one of the two formats."""
    return _form_of(text) is not None


def read_elements(text: str) -> Reading:
    """Read comets or minor planets from a file of elements.

    Returns
    -------
    Reading
        With a word about every line. Bodies that never come within reach are passed over.

    Raises
    ------
    ListError
        When it is no such file, or holds more than a list may.
    """
    form = _form_of(text)
    if form is None:
        raise ListError("these are no orbital elements in a format of the Minor Planet Center")
    lines = list(_lines(text))
    if len(lines) > MOST_LINES:
        raise ListError(
            f"it holds {len(lines):,} bodies, a list is made of at most {MOST_LINES:,}; take a file"
            " of the bright ones only"
        )
    reading = Reading(form.name, orbits=True)
    taken: dict[str, tuple[ListEntry, Remark]] = {}
    for place, line in lines:
        _take(reading, taken, place, line, form)
        if len(taken) > MOST_KEPT:
            raise ListError(
                f"more than {MOST_KEPT:,} of its bodies come within reach of telescopes, a list"
                f" holds at most that many; {place} is the first too many: take a file of the"
                " bright ones only"
            )
    reading.entries = [entry for entry, _ in taken.values()]
    reading.read = [remark for _, remark in taken.values()]
    return reading


@frozen
class _Form:
    """One of the formats: how its lines begin, where its numbers stand, and what makes a body."""

    name: str
    start: re.Pattern[str]
    needed: dict[str, tuple[int, int]]
    optional: dict[str, tuple[int, int]]
    designation: tuple[int, int]
    body: Callable[[str, _Numbers], Target]


def _form_of(text: str) -> _Form | None:
    first = next((line for _, line in _lines(text)), "")
    return next((form for form in _forms() if form.start.match(first)), None)


def _lines(text: str) -> Iterator[tuple[str, str]]:
    """Return the lines of a file with their places, without a header that ends in dashes."""
    lines = text.splitlines()
    dashes = [n for n, line in enumerate(lines[:_HEADER_LINES]) if line.startswith("-----")]
    start = dashes[0] + 1 if dashes else 0
    for number, line in enumerate(lines[start:], start=start + 1):
        if line.strip():
            yield f"line {number}", line


def _faults(line: str, form: _Form) -> list[str]:
    if not line.isascii() or not line.isprintable():
        return ["holds characters that the format does not have"]
    if not form.start.match(line):
        return ["its columns are not those of the format"]
    faults = [
        f'{what} "{line[low:high].strip()}" in columns {low + 1} to {high} is not a number'
        for what, (low, high) in (form.needed | form.optional).items()
        if not _NUMBER.fullmatch(line[low:high].strip())
        and (what in form.needed or line[low:high].strip())
    ]
    if not _part(line, form.designation):
        faults.append("has no designation")
    return faults


def _part(line: str, columns: tuple[int, int]) -> str:
    return line[slice(*columns)].strip()


def _number(line: str, columns: tuple[int, int]) -> float | None:
    """Read a number that was looked over; None where its columns are blank."""
    text = _part(line, columns)
    return float(text) if text else None


def _take(
    reading: Reading, taken: dict[str, tuple[ListEntry, Remark]], place: str, line: str, form: _Form
) -> None:
    faults = _faults(line, form)
    if faults:
        reading.refused.append(Remark(place, "; ".join(faults)))
        return
    numbers = {what: _number(line, at) for what, at in (form.needed | form.optional).items()}
    try:
        target = form.body(line, numbers)
    except ListError as error:
        reading.refused += [Remark(place, fault) for fault in error.faults]
        return
    key = target.id.casefold()
    if key in taken:
        reading.passed_over.append(Remark(place, f"{target.name} again"))
    elif (brightest := _brightest_mag(target)) > FAINTEST_EVER_MAG:
        text = f"{target.name} never gets brighter than {brightest:.0f}: not kept"
        reading.passed_over.append(Remark(place, text))
    else:
        entry = ListEntry(target.id, "", target)
        taken[key] = entry, Remark(place, f"{target.name}, {target.kind}")


def _comet(line: str, numbers: _Numbers) -> Target:
    year, month, day = (numbers[f"{part} of perihelion"] for part in ("year", "month", "day"))
    perihelion = day_jd(int(year), int(month), day)
    if perihelion is None:
        raise ListError("its day of perihelion is not in the calendar")
    name = words(line[slice(*_COMET_DESIGNATION)])
    elements = Elements(
        perihelion_jd=perihelion,
        perihelion_au=numbers["perihelion distance"],
        eccentricity=numbers["eccentricity"],
        argument_deg=numbers["argument of perihelion"],
        node_deg=numbers["node"],
        inclination_deg=numbers["inclination"],
        epoch_jd=_epoch(line),
        absolute_mag=numbers["absolute magnitude"],
        slope=numbers["slope"],
    )
    _check(elements)
    designation, _, discoverer = name.removesuffix(")").partition(" (")
    numbered = re.fullmatch(r"(\d+[A-Z])/(.+)", name)
    aliases = numbered.groups() if numbered else (designation, discoverer)
    identifier = "".join((name if numbered else designation).split())
    return Target(
        identifier, name, Kind.COMET, aliases=tuple(filter(None, aliases)), elements=elements
    )


def _epoch(line: str) -> float | None:
    year, month, day = (_number(line, columns) for columns in ((81, 85), (85, 87), (87, 89)))
    if year is None or month is None or day is None:
        return None
    return day_jd(int(year), int(month), int(day))


def _minor_planet(line: str, numbers: _Numbers) -> Target:
    packed, dated, written = (_part(line, at) for at in (_PACKED, (20, 25), (166, 194)))
    epoch = unpack_date_jd(dated)
    semi_major_au, eccentricity = numbers["semi-major axis"], numbers["eccentricity"]
    if epoch is None:
        raise ListError(f'its epoch "{dated}" is not a packed date')
    if not (semi_major_au > 0.0 and 0.0 <= eccentricity < 1.0):
        raise ListError("its orbit is not an ellipse")
    anomaly_deg = (numbers["mean anomaly"] + 180.0) % 360.0 - 180.0
    elements = Elements(
        perihelion_jd=epoch - anomaly_deg / float(mean_motion_deg(np.asarray(semi_major_au))),
        perihelion_au=semi_major_au * (1.0 - eccentricity),
        eccentricity=eccentricity,
        argument_deg=numbers["argument of perihelion"],
        node_deg=numbers["node"],
        inclination_deg=numbers["inclination"],
        epoch_jd=epoch,
        absolute_mag=numbers["H"],
        slope=numbers["G"],
    )
    _check(elements)
    name = words(written or unpack_designation(packed) or "")
    if not name:
        raise ListError(f'its designation "{packed}" is not understood')
    numbered = re.fullmatch(r"\((\d+)\)(?: (.+))?", name)
    shown = name if numbered is None else " ".join(filter(None, numbered.groups()))
    aliases = (name,) if numbered is None else (name, numbered[2] or "")
    return Target(
        "".join(shown.split()),
        shown,
        Kind.ASTEROID,
        aliases=tuple(filter(None, aliases)),
        elements=elements,
    )


def _check(elements: Elements) -> None:
    """Refuse an orbit that cannot be."""
    faults = [
        f"{what} {value:g} is outside {low:g} to {high:g}"
        for what, value, low, high in (
            ("perihelion distance", elements.perihelion_au, 0.001, 100.0),
            ("eccentricity", elements.eccentricity, 0.0, 20.0),
            ("argument of perihelion", elements.argument_deg, 0.0, 360.0),
            ("node", elements.node_deg, 0.0, 360.0),
            ("inclination", elements.inclination_deg, 0.0, 180.0),
        )
        if not low <= value <= high
    ]
    if faults:
        raise ListError("; ".join(faults))


def _brightest_mag(target: Target) -> float:
    """A bound on how bright a body ever gets: at its perihelion, the Earth in line with it."""
    elements = target.elements
    if elements is None or elements.absolute_mag is None:
        return -math.inf
    away_au = max(abs(elements.perihelion_au - 1.0), NEAREST_AU)
    slope = 5.0
    if target.kind is Kind.COMET:
        slope = 2.5 * (4.0 if elements.slope is None else elements.slope)
    distances = 5.0 * math.log10(away_au) + slope * math.log10(elements.perihelion_au)
    return elements.absolute_mag + distances


def _forms() -> tuple[_Form, _Form]:
    return (
        _Form(
            "comet elements of the Minor Planet Center",
            _COMET_START, _COMET_NEEDED, _COMET_OPTIONAL, _COMET_DESIGNATION, _comet,
        ),
        _Form(
            "minor planet elements of the Minor Planet Center",
            _MINOR_START, _MINOR_NEEDED, _MINOR_OPTIONAL, _PACKED, _minor_planet,
        ),
    )  # fmt: skip
