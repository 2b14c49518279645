"""Files of orbital elements in the two formats that the Minor Planet Center publishes.

Skyfield reads the columns. It knows nothing of lines, and a bad one would spoil a whole column:
so each is looked over first, and the good ones are handed on.

References
----------
Minor Planet Center, "Ephemerides and Orbital Elements Format" (comets) and "Export Format for
Minor-Planet Orbits", https://www.minorplanetcenter.net/iau/info/CometOrbitFormat.html and
MPOrbitFormat.html.
"""

from __future__ import annotations

import io
import math
import re
from collections.abc import Callable, Iterator, Sequence
from typing import Any

import numpy as np

from planner.ephemeris.kepler import mean_motion_deg
from targets.elements import Elements
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
_HEADER_LINES = 60


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
    name, check, load, body = form
    reading = Reading(name, orbits=True)
    good: list[tuple[str, str]] = []
    for place, line in lines:
        faults = check(line)
        if faults:
            reading.refused.append(Remark(place, "; ".join(faults)))
        else:
            good.append((place, line))
    table = load([line for _, line in good])
    taken: dict[str, tuple[ListEntry, Remark]] = {}
    for (place, _), row in zip(good, table, strict=True):
        _take(reading, taken, place, row, body)
        if len(taken) > MOST_KEPT:
            raise ListError(
                f"more than {MOST_KEPT:,} of its bodies come within reach of telescopes, a list"
                f" holds at most that many; {place} is the first too many: take a file of the"
                " bright ones only"
            )
    reading.entries = [entry for entry, _ in taken.values()]
    reading.read = [remark for _, remark in taken.values()]
    return reading


_Form = tuple[
    str,
    Callable[[str], list[str]],
    Callable[[Sequence[str]], list[Any]],
    Callable[[Any], Target],
]


def _form_of(text: str) -> _Form | None:
    for _, line in _lines(text):
        if _COMET_START.match(line):
            name = "comet elements of the Minor Planet Center"
            return name, _comet_faults, _load_comets, _comet
        if _MINOR_START.match(line):
            name = "minor planet elements of the Minor Planet Center"
            return name, _minor_faults, _load_minor, _minor_planet
        return None
    return None


def _lines(text: str) -> Iterator[tuple[str, str]]:
    """Return the lines of a file with their places, without a header that ends in dashes."""
    lines = text.splitlines()
    dashes = [n for n, line in enumerate(lines[:_HEADER_LINES]) if line.startswith("-----")]
    start = dashes[0] + 1 if dashes else 0
    for number, line in enumerate(lines[start:], start=start + 1):
        if line.strip():
            yield f"line {number}", line


def _comet_faults(line: str) -> list[str]:
    return _faults(line, _COMET_START, _COMET_NEEDED, _COMET_OPTIONAL, name=(102, 158))


def _minor_faults(line: str) -> list[str]:
    return _faults(line, _MINOR_START, _MINOR_NEEDED, _MINOR_OPTIONAL, name=(0, 7))


def _faults(
    line: str,
    start: re.Pattern[str],
    needed: dict[str, tuple[int, int]],
    optional: dict[str, tuple[int, int]],
    *,
    name: tuple[int, int],
) -> list[str]:
    if not line.isascii() or not line.isprintable():
        return ["holds characters that the format does not have"]
    if not start.match(line):
        return ["its columns are not those of the format"]
    faults = [
        f'{what} "{line[low:high].strip()}" in columns {low + 1} to {high} is not a number'
        for what, (low, high) in (needed | optional).items()
        if not _NUMBER.fullmatch(line[low:high].strip())
        and (what in needed or line[low:high].strip())
    ]
    if not line[slice(*name)].strip():
        faults.append("has no designation")
    return faults


def _load_comets(lines: Sequence[str]) -> list[Any]:
    from skyfield.data import mpc  # noqa: PLC0415  # loads pandas

    return _rows(mpc.load_comets_dataframe_slow, lines)


def _load_minor(lines: Sequence[str]) -> list[Any]:
    from skyfield.data import mpc  # noqa: PLC0415  # loads pandas

    return _rows(mpc.load_mpcorb_dataframe, lines)


def _rows(load: Callable[[io.BytesIO], Any], lines: Sequence[str]) -> list[Any]:
    if not lines:
        return []
    frame = load(io.BytesIO("".join(f"{line}\n" for line in lines).encode("ascii")))
    return list(frame.itertuples(index=False))


def _take(
    reading: Reading,
    taken: dict[str, tuple[ListEntry, Remark]],
    place: str,
    row: Any,
    body: Callable[[Any], Target],
) -> None:
    try:
        target = body(row)
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


def _comet(row: Any) -> Target:
    perihelion = day_jd(
        int(row.perihelion_year), int(row.perihelion_month), float(row.perihelion_day)
    )
    if perihelion is None:
        raise ListError("its day of perihelion is not in the calendar")
    name = words(row.designation)
    elements = Elements(
        perihelion_jd=perihelion,
        perihelion_au=float(row.perihelion_distance_au),
        eccentricity=float(row.eccentricity),
        argument_deg=float(row.argument_of_perihelion_degrees),
        node_deg=float(row.longitude_of_ascending_node_degrees),
        inclination_deg=float(row.inclination_degrees),
        epoch_jd=_epoch(row),
        absolute_mag=_known(row.magnitude_g),
        slope=_known(row.magnitude_k),
    )
    _check(elements)
    designation, _, discoverer = name.removesuffix(")").partition(" (")
    numbered = re.fullmatch(r"(\d+[A-Z])/(.+)", name)
    aliases = numbered.groups() if numbered else (designation, discoverer)
    identifier = "".join((name if numbered else designation).split())
    return Target(
        identifier, name, Kind.COMET, aliases=tuple(filter(None, aliases)), elements=elements
    )


def _epoch(row: Any) -> float | None:
    parts = [_known(getattr(row, f"perturbed_epoch_{part}")) for part in ("year", "month", "day")]
    if None in parts:
        return None
    year, month, day = (int(part) for part in parts if part is not None)
    return day_jd(year, month, day)


def _minor_planet(row: Any) -> Target:
    epoch = unpack_date_jd(str(row.epoch_packed))
    semi_major_au, eccentricity = float(row.semimajor_axis_au), float(row.eccentricity)
    if epoch is None:
        raise ListError(f'its epoch "{row.epoch_packed}" is not a packed date')
    if not (semi_major_au > 0.0 and 0.0 <= eccentricity < 1.0):
        raise ListError("its orbit is not an ellipse")
    anomaly_deg = (float(row.mean_anomaly_degrees) + 180.0) % 360.0 - 180.0
    elements = Elements(
        perihelion_jd=epoch - anomaly_deg / float(mean_motion_deg(np.asarray(semi_major_au))),
        perihelion_au=semi_major_au * (1.0 - eccentricity),
        eccentricity=eccentricity,
        argument_deg=float(row.argument_of_perihelion_degrees),
        node_deg=float(row.longitude_of_ascending_node_degrees),
        inclination_deg=float(row.inclination_degrees),
        epoch_jd=epoch,
        absolute_mag=_known(row.magnitude_H),
        slope=_known(row.magnitude_G),
    )
    _check(elements)
    written = row.designation if isinstance(row.designation, str) else None
    name = words(written or unpack_designation(str(row.designation_packed)) or "")
    if not name:
        raise ListError(f'its designation "{row.designation_packed}" is not understood')
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


def _known(value: Any) -> float | None:
    number = float(value)
    return None if math.isnan(number) else number
