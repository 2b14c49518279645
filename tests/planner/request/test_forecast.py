"""Forecasts from a file: what is read, what is refused, and what a plan makes of it."""

from __future__ import annotations

import json
from datetime import UTC, datetime, time, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.model.errors import InputError
from planner.model.forecast import Forecast
from planner.model.site import Site
from planner.request.forecast_file import read_forecast

SITE = Site("Garden", 51.2, -2.4, timezone="Europe/London")
EVENING = datetime(2026, 11, 25, 17, 0, tzinfo=UTC)
HEAD = "time,cloud_percent,seeing,dew_risk_percent\n"


def read(tmp_path: Path, text: str, name: str = "sky.csv") -> Forecast:
    """Write a file and read it."""
    path = tmp_path / name
    path.write_text(text, "utf-8")
    return read_forecast("--forecast", path, SITE)


def test_csv_and_json_say_the_same(tmp_path: Path) -> None:
    """Site time where a time has no offset; empty cells say nothing."""
    table = read(
        tmp_path,
        f"# issued 2026-11-25T06:00+00:00\n{HEAD}"
        "2026-11-25T18:00,25,II,\n2026-11-25T20:00+01:00,,3,80\n",
    )
    document = {
        "issued": "2026-11-25T06:00+00:00",
        "hours": [
            {"time": "2026-11-25T18:00", "cloud_percent": 25, "seeing": "II"},
            {"time": "2026-11-25T20:00+01:00", "seeing": 3, "dew_risk_percent": 80},
        ],
    }
    same = read(tmp_path, json.dumps(document), "sky.json")
    for one in (table, same):
        np.testing.assert_array_equal(one.unix_s, [EVENING.timestamp() + 3600 * k for k in (1, 2)])
        np.testing.assert_array_equal(one.clear_share, [0.75, np.nan])
        np.testing.assert_array_equal(one.dew_risk, [np.nan, 0.8])
        assert one.seeing == (2, 3)
        assert one.issued == datetime(2026, 11, 25, 6, tzinfo=UTC)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (HEAD + "2026-11-25T18:00,101,II,0\n", "line 2, cloud_percent"),
        (HEAD + "2026-11-25T18:00,nan,II,0\n", "line 2, cloud_percent"),
        (HEAD + "2026-11-25T18:00,1,VI,0\n", "line 2, seeing"),
        (HEAD + "at six,1,II,0\n", "line 2, time"),
        ("\n" + HEAD + "\n2026-11-25T18:00,1\n", "line 4 has 2 cells"),
        ("time,clouds\n2026-11-25T18:00,1\n", '"clouds" is not a column'),
        ("cloud_percent\n1\n", "time and one column more"),
        (HEAD, "no hours"),
        ("", "time and one column more"),
        ('{"hours": 3}', "a list of objects"),
        ("[{]", "line 1 is no JSON"),
        ('[{"time": "2026-11-25T18:00", "cloud_percent": true}]', "hour 1, cloud_percent"),
    ],
)
def test_what_is_wrong_is_named_with_its_line(tmp_path: Path, text: str, said: str) -> None:
    """Nothing of such a file is used."""
    with pytest.raises(InputError) as caught:
        read(tmp_path, text)
    assert said in " ".join(caught.value.faults)


def forecast(clear: list[float], issued: datetime | None = None) -> Forecast:
    """Return a forecast by the hour from the evening on."""
    count = len(clear)
    return Forecast(
        "sky.csv",
        EVENING.timestamp() + 3600.0 * np.arange(count),
        np.array(clear),
        np.full(count, np.nan),
        (None,) * count,
        issued,
    )


def test_an_old_forecast_counts_for_less() -> None:
    """In full for a day, a fifth after a week, and even odds for the rest (common practice)."""
    hours = forecast([1.0, 0.0]).unix_s
    fresh = forecast([1.0, 0.0], EVENING - timedelta(hours=12))
    np.testing.assert_allclose(fresh.clear_at(hours), [1.0, 0.0])
    old = forecast([1.0, 0.0], EVENING - timedelta(hours=200))
    np.testing.assert_allclose(old.clear_at(hours), [0.6, 0.4])


def test_hours_without_a_forecast_stay_open() -> None:
    """Before its first and behind its last hour nothing is known against the sky."""
    told = forecast([0.0, 0.0])
    times = EVENING.timestamp() + 3600.0 * np.array([-1.0, 0.5, 2.0])
    np.testing.assert_allclose(told.clear_at(times), [1.0, 0.0, 1.0])


@given(st.lists(st.floats(0.0, 1.0), min_size=2, max_size=8), st.floats(0.0, 300.0))
def test_chances_stay_chances(clear: list[float], lead_h: float) -> None:
    """Whatever is told, between 0 and 1, and never farther from even odds than the forecast."""
    told = forecast(clear, EVENING - timedelta(hours=lead_h))
    share = told.clear_at(told.unix_s)
    assert ((share >= 0.0) & (share <= 1.0)).all()
    assert (np.abs(share - 0.5) <= np.abs(np.array(clear) - 0.5) + 1e-12).all()


def looks(result: Any) -> list[tuple[datetime, datetime, str]]:
    """Return start, end and identifier of each look of a plan."""
    return [
        (
            datetime.fromisoformat(look["start"]),
            datetime.fromisoformat(look["end"]),
            look["target"]["id"],
        )
        for look in result.json["looks"]
    ]


@pytest.fixture
def plan(run: Any, write: Any) -> Any:
    """Return a function that plans an evening with the rows of a forecast."""

    def plan(*rows: str) -> Any:
        words = ["--date", "2026-11-25", "--until", "20:30", "--count", "6", "--format", "json"]
        if rows:
            table = "\n".join(["time,cloud_percent", *rows])
            words += ["--forecast", write(f"sky{len(rows)}.csv", table)]
        return run("plan", *words)

    return plan


def test_sure_clearness_changes_nothing_and_sure_cloud_closes_its_hours(plan: Any) -> None:
    """The plan of a clear forecast is the plan without one; under cloud there is no look."""
    clear = plan("2026-11-25T12:00,0", "2026-11-26T12:00,0")
    assert looks(clear) == looks(plan())
    shut = plan(
        "2026-11-25T12:00,0",
        "2026-11-25T18:00,0",
        "2026-11-25T18:01,100",
        "2026-11-25T19:29,100",
        "2026-11-25T19:30,0",
        "2026-11-26T12:00,0",
    )
    found = looks(shut)
    assert found
    for start, end, _ in found:
        assert end.time() <= time(18, 10) or start.time() >= time(19, 20)
    assert any("cloud 18:0" in note for note in shut.json["notes"])


def test_a_night_of_sure_cloud_has_no_looks(plan: Any) -> None:
    """And the reason is told."""
    result = plan("2026-11-25T12:00,100", "2026-11-26T12:00,100")
    assert result.status == 1
    assert result.json["looks"] == []
    assert any("by the forecast" in left["reason"] for left in result.json["left_out"])


def test_nights_tell_how_clear_they_are(run: Any, write: Any) -> None:
    """A night of which the file says nothing has no share; the best night is a clear one."""
    name = write(
        "sky.csv",
        "time,cloud_percent\n2026-11-25T12:00,100\n2026-11-26T11:00,100\n"
        "2026-11-26T12:00,0\n2026-11-27T11:00,0\n",
    )
    options = ["--date", "2026-11-25", "--count", "3", "--forecast", name]
    found = run("nights", *options, "--format", "json").json
    assert [night["clear_share"] for night in found["nights"]] == [0.0, 1.0, None]
    assert found["nights"][0]["well_placed"] == 0
    assert "Forecast, clear in the session: Wed 25 Nov 0%, Thu 26 Nov 100%." in " ".join(
        run("nights", *options).out.split()
    )
