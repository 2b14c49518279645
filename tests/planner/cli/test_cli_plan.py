"""``fieldstop plan``: every option does what its help says."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

PLAN = ("plan", "--format", "json")


def _start(result: Any) -> str:
    return str(result.json["night"]["window_start"])


def test_plan_needs_nothing_but_the_configuration(run: Any) -> None:
    """The night, the kit and the reasons are there, and nothing is said beside them."""
    result = run("plan")
    assert result.status == 0
    assert result.err == ""
    assert result.out.startswith("Wed 25 / Thu 26 Nov 2026\n")
    assert "Garden, 51.20 N 2.40 W; times are Europe/London, UTC+0" in result.out
    assert "4 hours from dusk; --from and --until change it" in result.out
    assert "never point a telescope or finder at the Sun" in result.out


def test_without_a_configuration_the_example_serves_and_one_line_says_so(
    run: Any, tmp_path: Any
) -> None:
    """It names the place where a configuration would be read."""
    nowhere = tmp_path / "none" / "fieldstop.toml"
    result = run("plan", "--count", "1", home=nowhere)
    assert result.status == 0
    assert str(nowhere) in result.err
    assert len(result.err.splitlines()) == 1


def test_looks_are_in_order_inside_the_session_and_do_not_overlap(run: Any) -> None:
    """Times of one site compare as instants."""
    plan = run(*PLAN).json
    times = [plan["night"]["window_start"]]
    for look in plan["looks"]:
        times += [look["start"], look["end"]]
    times.append(plan["night"]["window_end"])
    instants = [datetime.fromisoformat(time) for time in times]
    assert instants == sorted(instants)


@pytest.mark.parametrize(
    ("now", "start"),
    [
        ("2026-11-25T12:30", "2026-11-25T16:48"),  # before dusk: dusk
        ("2026-11-25T20:01", "2026-11-25T20:05"),  # in the night: now, rounded up
        ("2026-11-26T02:00", "2026-11-26T02:00"),  # still the same night
        ("2026-11-26T09:00", "2026-11-26T16:48"),  # it is over: the coming one
    ],
)
def test_tonight_begins_at_dusk_or_now(run: Any, now: str, start: str) -> None:
    """Without --date and --from the clock decides."""
    at = datetime.fromisoformat(now).replace(tzinfo=UTC)
    assert _start(run(*PLAN, now=at)).startswith(start)


def test_a_date_is_planned_from_dusk_whatever_the_clock_says(run: Any) -> None:
    """Even tonight's own date."""
    night = datetime(2026, 11, 25, 23, 0, tzinfo=UTC)
    assert "T16:48" in _start(run(*PLAN, "--date", "2026-11-25", now=night))
    other = run(*PLAN, "--date", "2027-01-08").json
    assert other["night"]["date"] == "2027-01-08"


def test_from_and_until_set_the_session(run: Any) -> None:
    """Times after midnight belong to the same night."""
    night = run(*PLAN, "--from", "22:30", "--until", "1:15").json["night"]
    assert night["window_start"] == "2026-11-25T22:30:00+00:00"
    assert night["window_end"] == "2026-11-26T01:15:00+00:00"
    assert "from 22:30 until 01:15" in run("plan", "--from", "22:30", "--until", "01:15").out


def test_a_session_ends_after_four_hours_or_at_dawn(run: Any) -> None:
    """Civil dawn there and then is at 07:06 (see the almanac's own tests for its truth)."""
    night = run(*PLAN, "--from", "20:00").json["night"]
    assert night["window_end"].startswith("2026-11-26T00:00:00")
    late = run("plan", "--from", "05:00")
    assert "05:00-07:06, from 05:00 to dawn" in late.out


def test_count_is_the_most_looks(run: Any) -> None:
    """Two asked for, two planned."""
    assert len(run(*PLAN, "--count", "2").json["looks"]) == 2


def test_kind_keeps_only_that_kind(run: Any) -> None:
    """Repeated, it keeps both."""
    plan = run(*PLAN, "--kind", "globular-clusters", "--kind", "planetary_nebulae").json
    kinds = {look["target"]["kind"] for look in plan["looks"]}
    assert kinds == {"globular cluster", "planetary nebula"}


@pytest.mark.parametrize(("name", "number"), [("messier", 110), ("Caldwell", 109)])
def test_a_known_list_is_planned_or_explained_whole(run: Any, name: str, number: int) -> None:
    """Each target of the list is a look or left out with a reason; M102 is M101 again."""
    plan = run(*PLAN, "--list", name).json
    told = [entry["target"]["id"] for entry in (*plan["looks"], *plan["left_out"])]
    assert len(told) == len(set(told))
    assert number - 1 <= len(told) <= number


def test_a_list_from_a_file_is_planned_or_explained_whole(run: Any, write: Any) -> None:
    """Comments and empty lines count for nothing, a double entry once."""
    path = write("mine.txt", "# mine\n\nM31\nring nebula  # M57\nngc224\n")
    plan = run(*PLAN, "--list", path).json
    told = {entry["target"]["id"] for entry in (*plan["looks"], *plan["left_out"])}
    assert told == {"NGC224", "NGC6720"}


def test_constellation_keeps_only_what_is_there(run: Any) -> None:
    """The name does as well as the letters."""
    for name in ("cas", "Cassiopeia"):
        plan = run(*PLAN, "--constellation", name).json
        assert {look["target"]["constellation"] for look in plan["looks"]} == {"Cas"}


def test_min_altitude_is_the_floor_for_all(run: Any) -> None:
    """Each look's middle stands above it."""
    plan = run(*PLAN, "--min-altitude", "55").json
    assert plan["looks"]
    assert all(look["altitude_deg"] >= 55.0 for look in plan["looks"])


def test_site_and_telescope_go_by_their_names(run: Any) -> None:
    """In any case of letters."""
    plan = run(*PLAN, "--site", "garden", "--telescope", "80 MM F/6 refractor").json
    assert plan["night"]["site"] == "Garden"
    assert {look["view"]["telescope"] for look in plan["looks"]} == {"80 mm f/6 refractor"}


def test_readings_of_the_night_replace_the_usual_ones(run: Any) -> None:
    """The heading shows them; thick haze adds 0.8 mag to the extinction given."""
    asked = ("--sky", "19.4", "--seeing", "iv", "--transparency", "1", "--extinction", "0.3")
    out = run("plan", *asked).out
    # Schaefer 1990, PASP 102, 212, worked from the formula: 5.07 for 19.4.
    sky = "19.4 mag/arcsec2 at the moonless zenith (tonight's reading), stars to about 5.6 by eye"
    assert sky in " ".join(out.split())
    assert "extinction 1.10 mag per air mass; seeing IV" in " ".join(out.split())


def test_output_goes_to_a_new_file_and_standard_output_stays_empty(run: Any, tmp_path: Any) -> None:
    """The file holds what would have been printed, and nothing else is left in the folder."""
    folder = tmp_path / "sheets"
    folder.mkdir()
    result = run("plan", "--output", str(folder / "plan.txt"))
    assert (result.status, result.out) == (0, "")
    assert (folder / "plan.txt").read_text("utf-8") == run("plan", "--output", "-").out
    assert [path.name for path in folder.iterdir()] == ["plan.txt"]


def test_polar_day_is_told_and_the_json_is_valid(run: Any, site_file: Any) -> None:
    """69 degrees north in June: no session, no looks, exit status 1."""
    path = site_file(69.6, 18.9, "Europe/Oslo")
    result = run(*PLAN, "--config", path, "--date", "2026-06-21")
    assert result.status == 1
    assert "The Sun does not set" in result.err
    assert result.json["looks"] == []
    assert result.json["night"]["window_start"] is None
    sheet = run("plan", "--config", path, "--date", "2026-06-21").out
    assert sheet.count("The Sun does not set") == 1


def test_polar_night_begins_at_a_usual_hour(run: Any, site_file: Any) -> None:
    """78 degrees north in December: dark at noon, and the session begins at six."""
    path = site_file(78.2, 15.6, "Arctic/Longyearbyen")
    result = run("plan", "--config", path, "--date", "2026-12-21")
    assert result.status == 0
    assert "18:00-22:00, 4 hours from 18:00" in result.out
    assert "Sun      nautical dusk 12:" in result.out  # the steps that do take place


def test_the_sun_just_below_the_horizon_all_night_is_no_polar_day(run: Any, site_file: Any) -> None:
    """At the south pole on 25 March 2026 the Sun stands near -1.6 deg: the Moon may be seen."""
    path = site_file(-90.0, 0.0, "Etc/UTC")
    result = run(*PLAN, "--config", path, "--date", "2026-03-25")
    assert result.json["night"]["window_start"] is not None
    assert "does not set" not in result.err


def test_a_night_without_any_target_says_why(run: Any) -> None:
    """A list of southern targets, from the north."""
    result = run("plan", "--list", "caldwell", "--constellation", "Tuc")
    assert result.status == 1
    assert "Nothing to look at" in result.err
    assert "never above the horizon of this site: " in result.out


def test_clocks_that_go_back_are_told(run: Any) -> None:
    """25 October 2026, 02:00 BST is 01:00 GMT (Summer Time Order 2002: last Sunday of October)."""
    result = run(*PLAN, "--date", "2026-10-24", "--from", "01:30", "--until", "03:00")
    assert "01:30 comes twice as the clocks go back that night; the first is taken." in result.err
    night = result.json["night"]
    assert night["window_start"] == "2026-10-25T01:30:00+01:00"
    assert night["window_end"] == "2026-10-25T03:00:00+00:00"
    length = datetime.fromisoformat(night["window_end"]) - datetime.fromisoformat(
        night["window_start"]
    )
    assert length == timedelta(hours=2, minutes=30)
    sheet = run("plan", "--date", "2026-10-24").out
    assert "UTC+1 in the evening, UTC+0 in the morning" in " ".join(sheet.split())


def test_an_hour_that_comes_twice_is_told_apart(run: Any) -> None:
    """On every sheet and page: no look ends before it begins, and no column bursts."""
    night = ("--date", "2026-10-24")
    sheet = run("plan", *night, "--from", "00:45", "--until", "02:30").out
    assert re.search(r"01:\d\d BST-01:\d\d GMT ", sheet)
    assert re.search(r"02:\d\d-02:\d\d  ", sheet)
    assert not re.search(r"01:\d\d(?! BST| GMT)", sheet)
    assert max(len(line) for line in sheet.splitlines()) <= 80
    page = run("plan", *night, "--from", "00:45", "--until", "02:30", "--format", "html").out
    assert re.search(r"01:\d\d BST-01:\d\d GMT", page)
    look = run("look", "M31", "--at", "2026-10-25T01:30:00+00:00").out
    assert "At 01:30 GMT: 60 deg up" in look
    # In spring an hour is left out; none comes twice.
    assert "BST" not in run("plan", "--date", "2027-03-27", "--from", "00:30").out


def test_odd_figures_in_the_configuration_are_pointed_at(
    run: Any, write: Any, example_text: str
) -> None:
    """A field stop that contradicts the apparent field is told by ``kit``, and by nothing else."""
    odd = write("odd.toml", example_text.replace("field_stop_mm = 20.1", "field_stop_mm = 26.9"))
    result = run("plan", "--config", odd, "--count", "1")
    assert result.status == 0
    assert result.err == ""
    assert "26.9" in run("kit", "--config", odd).out
