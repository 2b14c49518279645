"""Plans through the year are nights that a practised observer would have (common practice)."""

from __future__ import annotations

from functools import cache

import pytest
from practice_nights import SITES, Expectation, expectations, holds, plan_of

from planner.model.plan import Grade, Plan

# Of the rows of the table; the rest may be a matter of taste.
LEAST_SHARE = 0.92
TABLES = ("night_practice.csv", "night_practice_judged.csv")
planned = cache(plan_of)


def plan(row: Expectation) -> Plan:
    """The plan of a row, each night once."""
    return planned(row.site, row.date, row.kit, row.sky, row.until)


def test_the_tables_are_long_enough() -> None:
    """So many expectations, and none of the judged ones on a night of the first table."""
    first, judged = (expectations(table) for table in TABLES)
    assert len(first) >= 70
    assert len(judged) >= 150
    assert not {(row.site, row.date) for row in first} & {(row.site, row.date) for row in judged}


@pytest.mark.parametrize(
    ("table", "every"),
    [
        pytest.param(TABLES[0], 3, id="a third"),
        pytest.param(TABLES[1], 4, id="judged, a quarter"),
        *(pytest.param(table, 1, id=f"all of {table}", marks=pytest.mark.slow) for table in TABLES),
    ],
)
@pytest.mark.parametrize("site", SITES)
def test_the_nights_are_those_of_a_practised_observer(site: str, table: str, every: int) -> None:
    """Season, latitude, Moon, town and pace row by row; nothing hopeless; the session is used."""
    rows = [row for row in expectations(table) if row.site == site]
    dates = list(dict.fromkeys(row.date for row in rows))[::every]
    rows = [row for row in rows if row.date in dates]
    missed = [row for row in rows if not holds(plan(row), row.rule, row.names)]
    assert len(missed) <= (1.0 - LEAST_SHARE) * len(rows), missed
    looks = [look for row in rows for look in plan(row).looks]
    poor = {Grade.VERY_HARD, Grade.UNLIKELY}
    assert not [look.target.name for look in looks if look.view.grade in poor]
    # Nothing hard is planned while something easy is free.
    hard = [look.target.name for look in looks if look.view.grade is Grade.HARD]
    assert len(hard) <= 0.02 * len(looks), hard
    # The last look ends within half an hour of the end, or the plan says why not.
    assert not [
        row
        for row in rows
        if (plan(row).end - plan(row).looks[-1].end).total_seconds() > 1800
        and not any(note.startswith("The plan ends ") for note in plan(row).notes)
    ]
