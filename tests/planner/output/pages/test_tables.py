"""The plan as a table, read back by the libraries that people read tables with."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable

import pandas as pd
import pytest
from astropy import units
from astropy.table import Table
from hypothesis import given
from hypothesis import strategies as st

from planner.model.plan import Plan
from planner.output.pages.tables import plan_csv, plan_ecsv, plan_frame
from planner.text import guarded, unguarded

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")  # OWASP, "CSV Injection"


def test_csv_has_a_row_for_each_look(autumn_plan: Plan) -> None:
    """The standard library's reader finds the looks, in order, with their eyepieces."""
    rows = list(csv.DictReader(io.StringIO(plan_csv(autumn_plan), newline="")))
    assert [row["target_id"] for row in rows] == [look.target.id for look in autumn_plan.looks]
    trains = [look.view.train for look in autumn_plan.looks]
    assert [row["eyepiece"] for row in rows] == [train.eyepiece.name for train in trains]
    pupils = [float(row["exit_pupil_mm"]) for row in rows]
    assert pupils == pytest.approx([train.exit_pupil_mm for train in trains], abs=0.001)


def test_ecsv_reads_back_with_units(autumn_plan: Plan) -> None:
    """Angles are degrees and arcminutes, pupils millimetres, waits minutes."""
    table = Table.read(plan_ecsv(autumn_plan), format="ascii.ecsv")
    assert len(table) == len(autumn_plan.looks)
    expected = {
        "altitude_deg": units.deg,
        "true_field_arcmin": units.arcmin,
        "exit_pupil_mm": units.mm,
        "slack_minutes": units.min,
        "magnitude": units.mag,
    }
    assert {name: table[name].unit for name in expected} == expected
    altitude = [look.altitude_deg for look in autumn_plan.looks]
    assert list(table["altitude_deg"].to("rad").value) == pytest.approx(
        [degrees * 0.017453292519943295 for degrees in altitude], abs=1e-3
    )
    assert table.meta["night"]["site"] == "Garden"


def test_an_unknown_value_is_missing_and_never_nought(autumn_plan: Plan) -> None:
    """What has no minor axis has none in the table either."""
    unknown = [look.target.minor_arcmin is None for look in autumn_plan.looks]
    assert any(unknown)
    assert list(plan_frame(autumn_plan)["minor_arcmin"].isna()) == unknown
    masked = Table.read(plan_ecsv(autumn_plan), format="ascii.ecsv")["minor_arcmin"].mask
    assert list(masked) == unknown


@pytest.mark.parametrize(
    "name", ["=1+1", "+a", "-b", "@c", "\tq", '"x",y', "a\r\nb", "'=x", "\u202e"]
)
def test_no_cell_is_a_formula(named: Callable[[str], Plan], name: str) -> None:
    """A spreadsheet finds text where a name begins like a formula, and we find the name again."""
    text = plan_csv(named(name))
    (row,) = csv.DictReader(io.StringIO(text, newline=""))
    assert not row["target_name"].startswith(FORMULA_STARTS)
    assert unguarded(row["target_name"]) == name
    frame = pd.read_csv(io.StringIO(text, newline=""))
    assert len(frame) == 1


@given(st.text())
def test_the_guard_is_taken_off_again(text: str) -> None:
    """Whatever a cell holds survives the guard, and nothing that is guarded is run."""
    assert unguarded(guarded(text)) == text
    assert not guarded(text).startswith(FORMULA_STARTS)
