"""Plans through the year are nights that a practised observer would have (common practice)."""

from __future__ import annotations

from functools import cache

import pytest
from practice_nights import Expectation, expectations, holds, plan_of

from planner.model.plan import Grade, Plan

# Of the rows of the table; the rest may be a matter of taste.
LEAST_SHARE = 0.92
planned = cache(plan_of)


def plan(row: Expectation) -> Plan:
    """The plan of a row, each night once."""
    return planned(row.site, row.date, row.kit, row.sky, row.until)


def test_the_table_is_long_enough() -> None:
    """So many expectations, at three latitudes."""
    assert len(expectations()) >= 70


@pytest.mark.parametrize("every", [2, pytest.param(1, marks=pytest.mark.slow)], ids=["half", "all"])
@pytest.mark.parametrize("site", ["50N", "33N", "34S"])
def test_the_nights_are_those_of_a_practised_observer(site: str, every: int) -> None:
    """Season, latitude, Moon, town and pace row by row; nothing hopeless; the session is used."""
    rows = [row for row in expectations() if row.site == site]
    dates = list(dict.fromkeys(row.date for row in rows))[::every]
    rows = [row for row in rows if row.date in dates]
    missed = [row for row in rows if not holds(plan(row), row.rule, row.names)]
    assert 1.0 - len(missed) / len(rows) >= LEAST_SHARE, missed
    looks = [look for row in rows for look in plan(row).looks]
    poor = {Grade.VERY_HARD, Grade.UNLIKELY}
    assert not [look.target.name for look in looks if look.view.grade in poor]
    # Nothing hard is planned while something easy is free.
    hard = [look.target.name for look in looks if look.view.grade is Grade.HARD]
    assert len(hard) <= 0.02 * len(looks), hard
    # The last look ends within half an hour of the end.
    assert not [
        row for row in rows if (plan(row).end - plan(row).looks[-1].end).total_seconds() > 1800
    ]
