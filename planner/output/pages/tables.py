"""A plan as a table: comma-separated for spreadsheets, and with units for scientific software."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING, Any

import pandas as pd

from planner.model.plan import Plan
from planner.output.contracts.plan import plan_json
from planner.text import guarded

if TYPE_CHECKING:
    from astropy.table import Column, MaskedColumn

TARGET_COLUMNS = (
    "id", "name", "kind", "constellation", "ra_deg", "dec_deg", "major_arcmin", "minor_arcmin",
    "magnitude",
)  # fmt: skip
VIEW_COLUMNS = (
    "telescope", "eyepiece", "eyepiece_focal_length_mm", "amplifier", "filter", "magnification",
    "true_field_arcmin", "exit_pupil_mm", "framing", "fits", "score", "grade",
)  # fmt: skip
UNITS = {"_deg": "deg", "_arcmin": "arcmin", "_mm": "mm", "_minutes": "min", "magnitude": "mag"}
# Of the columns without a unit; the others are text.
KINDS: dict[str, type] = {"magnification": float, "framing": float, "score": float, "fits": bool}


def plan_frame(plan: Plan) -> pd.DataFrame:
    """Return the looks of a plan as a table, a row for each in time order.

    Returns
    -------
    DataFrame
        ``start``, ``end`` (ISO 8601, with the site's offset); `TARGET_COLUMNS`, ``id`` and ``name``
        with ``target_`` before them; ``altitude_deg``, ``azimuth_deg``; `VIEW_COLUMNS`;
        ``slack_minutes``, ``reasons``. Unknown values are missing; units are in the names.
    """
    return pd.DataFrame([_row(look) for look in plan_json(plan)["looks"]], columns=_columns())


def plan_csv(plan: Plan) -> str:
    """Write the looks of a plan as comma-separated values (RFC 4180) that no spreadsheet runs."""
    frame = plan_frame(plan)
    for column in frame.columns:
        frame[column] = [guarded(cell) if isinstance(cell, str) else cell for cell in frame[column]]
    return frame.to_csv(index=False, lineterminator="\r\n")


def plan_ecsv(plan: Plan) -> str:
    """Write the looks of a plan as an Enhanced Character-Separated Values table, with units."""
    from astropy.table import Table  # noqa: PLC0415  # a third of a second, for this format alone

    frame = plan_frame(plan)
    table = Table({name: _column(name, list(frame[name])) for name in frame.columns})
    table.meta["night"] = {
        name: value for name, value in plan_json(plan)["night"].items() if value is not None
    }
    text = io.StringIO()
    table.write(text, format="ascii.ecsv", delimiter=",")
    return text.getvalue()


def _columns() -> list[str]:
    targets = [_target_column(name) for name in TARGET_COLUMNS]
    places = ["altitude_deg", "azimuth_deg"]
    return ["start", "end", *targets, *places, *VIEW_COLUMNS, "slack_minutes", "reasons"]


def _target_column(name: str) -> str:
    return f"target_{name}" if name in {"id", "name"} else name


def _row(look: dict[str, Any]) -> dict[str, Any]:
    """Lay an entry of the JSON contract out flat."""
    kept = ("start", "end", "altitude_deg", "azimuth_deg", "slack_minutes")
    return {
        **{name: look[name] for name in kept},
        **{_target_column(name): look["target"][name] for name in TARGET_COLUMNS},
        **{name: look["view"][name] for name in VIEW_COLUMNS},
        "reasons": "; ".join([*look["view"]["reasons"], *look["view"]["warnings"]]),
    }


def _column(name: str, cells: list[Any]) -> Column | MaskedColumn:
    """Make a column of numbers with their unit, or of text; what is unknown is masked."""
    from astropy.table import MaskedColumn  # noqa: PLC0415

    missing = [bool(pd.isna(cell)) for cell in cells]
    unit = next((unit for end, unit in UNITS.items() if name.endswith(end)), None)
    dtype = KINDS.get(name, float if unit else str)
    filled = [dtype() if gone else dtype(cell) for cell, gone in zip(cells, missing, strict=True)]
    return MaskedColumn(filled, name=name, unit=unit, mask=missing, dtype=dtype)
