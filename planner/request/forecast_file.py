"""Reads a forecast from a file: an open table, as CSV or JSON.

The table has a row for each hour. ``time`` is ISO 8601, site time where it has no offset;
``cloud_percent`` and ``dew_risk_percent`` are 0 .. 100, ``seeing`` is a step of the Antoniadi
scale. All but ``time`` may be missing or empty. A line ``# issued 2027-01-05T12:00+00:00`` before
the header of a CSV, or the key ``issued`` of a JSON object whose ``hours`` is the list of rows,
says when the forecast was made.
"""

from __future__ import annotations

import csv
import json
from collections.abc import Iterator, Mapping
from datetime import datetime
from pathlib import Path
from typing import Any

import numpy as np

from planner.model.antoniadi import antoniadi_step
from planner.model.errors import Faults, InputError
from planner.model.forecast import Forecast
from planner.model.site import Site
from targets.files import NotTextError, typed_text
from targets.frozen import frozen

LARGEST_BYTES = 2_000_000
TIME, CLOUD, SEEING, DEW = "time", "cloud_percent", "seeing", "dew_risk_percent"
COLUMNS = (TIME, CLOUD, SEEING, DEW)
ISSUED = "issued"
# Somebody who gives a wrong file wants to hear of it, not of each of its lines.
MOST_FAULTS = 10


@frozen
class _Hour:
    at: datetime
    cloud: float
    seeing: int | None
    dew: float


def read_forecast(option: str, path: Path, site: Site) -> Forecast:
    """Read a forecast.

    Parameters
    ----------
    option : str
        What names the file, for the messages.
    site : Site
        Whose time it is where a time has no offset.

    Raises
    ------
    InputError
        With a sentence for every line that cannot be used.
    """
    place = f'{option} "{path}"'
    text = _text_of(place, path)
    read_rows = _json_rows if text.lstrip()[:1] in {"[", "{"} else _csv_rows
    rows, issued = read_rows(place, text)
    faults = Faults()
    hours = [faults.attempt(_hour, place, row, site) for place, row in rows]
    if len(faults.found) > MOST_FAULTS:
        rest = "More lines are wrong; the rest is not told."
        raise InputError([*faults.found[:MOST_FAULTS], rest])
    faults.check()
    if not hours:
        raise InputError([f"{place} has no hours; write a row for each."])
    hours.sort(key=lambda hour: hour.at)
    made = None if issued is None else _instant(f"{place}, {ISSUED}", issued, site)
    return Forecast(
        source=path.name,
        unix_s=np.array([hour.at.timestamp() for hour in hours]),
        clear_share=1.0 - np.array([hour.cloud for hour in hours]) / 100.0,
        dew_risk=np.array([hour.dew for hour in hours]) / 100.0,
        seeing=tuple(hour.seeing for hour in hours),
        issued=made,
    )


def _text_of(place: str, path: Path) -> str:
    try:
        with path.open("rb") as file:
            content = file.read(LARGEST_BYTES + 1)
        if len(content) > LARGEST_BYTES:
            raise InputError([f"{place} is larger than {LARGEST_BYTES // 1_000_000} MB."])
        return typed_text(content, needed="a CSV or JSON file in UTF-8")
    except NotTextError as error:
        raise InputError([f"{place}: {error}."]) from None
    except (OSError, ValueError) as error:  # ValueError: a path with a zero byte
        reason = getattr(error, "strerror", None) or "no file has such a name"
        raise InputError([f"{place} cannot be read: {reason}."]) from None


Rows = Iterator[tuple[str, Mapping[str, Any]]]


def _csv_rows(place: str, text: str) -> tuple[Rows, str | None]:
    lines = [(number, line) for number, line in enumerate(text.splitlines(), 1) if line.strip()]
    comments = [line.lstrip("# ") for _, line in lines if line.startswith("#")]
    lines = [(number, line) for number, line in lines if not line.startswith("#")]
    issued = next((c.split(None, 1)[1] for c in comments if c.startswith(f"{ISSUED} ")), None)
    header = [cell.strip() for cell in next(csv.reader([lines[0][1]]))] if lines else []
    _check_columns(f"{place}, line {lines[0][0]}" if lines else place, header)

    def rows() -> Rows:
        for number, line in lines[1:]:
            cells = next(csv.reader([line]))
            where = f"{place}, line {number}"
            if len(cells) != len(header):
                raise InputError([f"{where} has {len(cells)} cells; the header has {len(header)}."])
            yield where, dict(zip(header, (cell.strip() for cell in cells), strict=True))

    return rows(), issued


def _json_rows(place: str, text: str) -> tuple[Rows, str | None]:
    try:
        document = json.loads(text)
    except (ValueError, RecursionError) as error:
        line = f", line {error.lineno}" if isinstance(error, json.JSONDecodeError) else ""
        raise InputError([f"{place}{line} is no JSON."]) from None
    issued = document.get(ISSUED) if isinstance(document, dict) else None
    hours = document.get("hours") if isinstance(document, dict) else document
    if not isinstance(hours, list) or not all(isinstance(row, dict) for row in hours):
        raise InputError([f'{place}: a list of objects is needed, or an object with "hours".'])
    for number, row in enumerate(hours, 1):
        _check_columns(f"{place}, hour {number}", list(row))
    rows = ((f"{place}, hour {number}", row) for number, row in enumerate(hours, 1))
    return rows, None if issued is None else str(issued)


def _check_columns(place: str, names: list[str]) -> None:
    unknown = [name for name in names if name not in COLUMNS]
    allowed = f"allowed are {', '.join(COLUMNS)}"
    if unknown:
        raise InputError([f'{place}: "{unknown[0]}" is not a column of a forecast; {allowed}.'])
    if TIME not in names or len(set(names)) < max(len(names), 2):
        raise InputError([f"{place}: {TIME} and one column more are needed, each once; {allowed}."])


def _hour(place: str, row: Mapping[str, Any], site: Site) -> _Hour:
    faults = Faults()
    at = faults.attempt(_instant, f"{place}, {TIME}", str(row.get(TIME) or ""), site)
    cloud = faults.attempt(_percent, f"{place}, {CLOUD}", row.get(CLOUD))
    dew = faults.attempt(_percent, f"{place}, {DEW}", row.get(DEW))
    seeing = faults.attempt(_seeing, f"{place}, {SEEING}", row.get(SEEING))
    faults.check()
    return _Hour(at, cloud, seeing, dew)


def _instant(place: str, text: str, site: Site) -> datetime:
    try:
        at = datetime.fromisoformat(text)
        return at if at.tzinfo else at.replace(tzinfo=site.zone)
    except ValueError:
        raise InputError(
            [f'{place}: "{text}" is not a time; write it as in 2027-01-07T21:00+00:00.']
        ) from None


def _percent(place: str, value: Any) -> float:
    """Return a percentage; NaN for an empty cell."""
    if value is None or value == "":
        return float("nan")
    try:
        number = float(value)
    except (TypeError, ValueError):
        number = float("nan")
    if isinstance(value, bool) or not 0.0 <= number <= 100.0:
        raise InputError([f'{place}: "{value}" is not allowed; a number from 0 to 100 is.'])
    return number


def _seeing(place: str, value: Any) -> int | None:
    if value is None or value == "":
        return None
    try:
        return antoniadi_step(str(value))
    except ValueError as error:
        raise InputError([f"{place}: {error}"]) from None
