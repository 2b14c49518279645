"""An evening for guests: what is shown, through what, for how long, and what is told of it."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from typing import Any

import pytest
from lxml import html

from planner.model.kit import Telescope
from planner.model.pace import ObservingPace
from planner.request.circumstances import circumstances_of
from planner.request.guests import for_guests
from planner.request.options import Readings
from targets.catalogue.catalogue import load_catalogue
from targets.catalogue.parallax import cluster_distance_ly

EVENING = ["--date", "2026-12-18", "--until", "19:30"]


@pytest.fixture(scope="module")
def circumstances(example: Any) -> Any:
    """Return the example's reflector, which is moved by hand."""
    return circumstances_of(example, site=None, telescope=None, readings=Readings())[1]


def test_every_guest_gets_a_minute_or_two() -> None:
    """Common practice; and the host needs some time himself."""
    for guests in (1, 5, 12, 30):
        minutes = replace(ObservingPace(), guests=guests).dwell_min(10.0)
        assert guests * 1.0 <= minutes <= guests * 2.0 + 5.0


def test_trains_have_no_filter_hold_a_target_and_are_easy_to_look_into(circumstances: Any) -> None:
    """By hand: a star crosses 15 arcmin a minute, so 30 arcmin hold it for one."""
    trains = for_guests(circumstances, 6).table.trains
    assert trains
    for train in trains:
        assert train.filter is None
        assert train.true_field_arcmin >= 30.0
        assert (train.eyepiece.eye_relief_mm or 20.0) >= 12.0


def test_a_kit_that_has_nothing_of_the_kind_still_shows_something(circumstances: Any) -> None:
    """Short eye relief everywhere: the trains with enough field are left."""
    short = [
        replace(train, eyepiece=replace(train.eyepiece, eye_relief_mm=5.0))
        for train in circumstances.table.trains
    ]
    from planner.matcher.train_table import tabulate_trains  # noqa: PLC0415  # for this test alone

    table = tabulate_trains(short)
    poor = replace(circumstances, table=table)
    assert for_guests(poor, 6).table.trains


def test_a_plan_for_guests_has_easy_targets_without_changes(run: Any) -> None:
    """All easy, one eyepiece each, as long as the guests need."""
    looks = run("plan", *EVENING, "--guests", "10", "--format", "json").json["looks"]
    assert looks
    for look in looks:
        assert look["view"]["grade"] == "easy"
        assert look["views"] == []
        start, end = (datetime.fromisoformat(look[key]) for key in ("start", "end"))
        assert 10.0 <= (end - start).total_seconds() / 60.0 <= 25.0


def test_the_sheet_warns_first_and_tells_facts(run: Any) -> None:
    """Sun, steps and lasers in its head; distances with their source; no line too long."""
    result = run("plan", *EVENING, "--guests", "10")
    assert result.out.splitlines()[0].endswith("for 10 guests, 1.5 minutes each")
    head, _, rest = result.out.partition("\n\n")[2].partition("\n\n")
    for word in ("Sun", "steps", "cables", "Laser", "rules"):
        assert word in head
    assert "light is" in rest
    assert max(map(len, result.out.splitlines())) <= 80
    page = html.fromstring(run("plan", *EVENING, "--guests", "10", "--format", "html").out)
    assert len(page.xpath("//h2")) == rest.count("deg high in")


def test_light_from_the_moon_is_a_second_old(run: Any) -> None:
    """356,500 to 406,700 km (perigee and apogee; Meeus, Astronomical Algorithms, chapter 50)."""
    out = run("plan", *EVENING, "--guests", "10").out
    (line,) = (
        line for line in out.splitlines() if "km away" in line and "1." in line.split(";")[1]
    )
    assert 350_000 <= int(line.split()[1].replace(",", "")) <= 410_000
    assert 1.1 <= float(line.split("light is")[1].split()[0]) <= 1.4


@pytest.mark.parametrize(
    ("name", "light_years"),
    # M44 187 pc, M67 860 pc (Gaia Collaboration 2018, A&A 616, A10, tables 1a and 1b: from memory).
    [("M44", 610.0), ("M67", 2800.0)],
)
def test_clusters_stand_where_their_parallaxes_say(name: str, light_years: float) -> None:
    """Within a tenth; nothing is told of a galaxy, whose parallax is that of a star before it."""
    assert cluster_distance_ly(load_catalogue().find(name)) == pytest.approx(light_years, rel=0.1)
    assert cluster_distance_ly(load_catalogue().find("M31")) is None


def test_the_height_of_the_eyepiece_follows_the_tube(example: Any) -> None:
    """By hand: 60 cm level and 130 cm upright are 95 cm at 30 deg."""
    telescope: Telescope = replace(example.telescope(), eyepiece_height_cm=(60.0, 130.0))
    assert telescope.eyepiece_at_cm(30.0) == pytest.approx(95.0)
    assert example.telescope().eyepiece_at_cm(30.0) is None
