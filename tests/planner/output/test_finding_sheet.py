"""Ways to targets as they are written: under each look, move by move, as JSON, on a page."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from planner.output.contracts.finding import finding_json

Run = Callable[..., Any]
NIGHT = ("--date", "2026-12-08")
POINT = {"name", "ra_deg", "dec_deg", "magnitude"}
STEP = {
    "from", "to", "separation_deg", "position_angle_deg", "direction", "instrument", "text",
}  # fmt: skip


@pytest.fixture
def goto_file(write: Any, example_text: str) -> str:
    """The example with motors that find."""
    return str(write("goto.toml", example_text.replace('pointing = "hand"', 'pointing = "goto"')))


def test_each_look_of_a_plan_has_its_way_as_json(run: Run) -> None:
    """The keys of the contract; each chain from the start to the target of the look."""
    looks = run("plan", *NIGHT, "--format", "json").json["looks"]
    assert len(looks) > 5
    lengths = set()
    for look in looks:
        finding = look["finding"]
        assert set(finding["start"]) == POINT
        chain = [finding["start"], *(step["to"] for step in finding["steps"])]
        assert chain[-1]["name"] == look["target"]["name"]
        for step, begin in zip(finding["steps"], chain, strict=False):
            assert set(step) == STEP
            assert step["from"] == begin
        lengths.add(len(finding["steps"]))
    assert min(lengths) == 0 < max(lengths)


def test_each_look_of_a_plan_has_its_way_on_the_sheet(run: Run) -> None:
    """A line under each, none wider than the sheet; a plain target says that it is."""
    sheet = run("plan", *NIGHT).out
    count = len(run("plan", *NIGHT, "--format", "json").json["looks"])
    assert sheet.count("find: ") == count
    assert "find: plain to the naked eye" in sheet
    assert max(map(len, sheet.splitlines())) <= 80


def test_the_page_tells_the_way_too(run: Run) -> None:
    """Under each look on paper, and among the facts of a target."""
    assert "find: from Enif (epsilon Peg)" in run("plan", *NIGHT, "--format", "html").out
    page = run("look", "M1", *NIGHT, "--format", "html").out
    assert "<dt>Find it</dt><dd>from Tien Kwan (zeta Tau)" in page


def test_how_tells_move_by_move(run: Run) -> None:
    """M51 from the end of the handle; without the word, one line says that there is more."""
    told = run("look", "M51", *NIGHT, "--how", "--fields", "0").out
    assert "Find it  From Alkaid (eta UMa), magnitude 1.9" in told
    assert (
        "\n 1  From Alkaid (eta UMa) 2.2 deg (0.3 fields of the 6x30 finder) up and right" in told
    )
    assert "\n 2  From there 2.0 deg" in told
    short = run("look", "M51", *NIGHT, "--fields", "0").out
    assert "Find it  from Alkaid (eta UMa) 2.2 deg" in short
    assert "(--how tells more)" in short


def test_a_look_has_its_way_as_json(run: Run) -> None:
    """The same as in a plan; null for what is below the horizon."""
    finding = run("look", "M51", *NIGHT, "--format", "json").json["finding"]
    assert finding["by"] == "hops"
    assert finding["steps"][-1]["to"]["name"] == "M51 Whirlpool Galaxy"
    assert run("look", "M6", *NIGHT, "--format", "json").json["finding"] is None


def test_motors_get_coordinates_of_date(run: Run, goto_file: str) -> None:
    """It moves by 3.61 s and 2.2 arcsec a year (Meeus 1998, ch. 21): 84.04 and 22.03 in 2026."""
    answer = run("look", "M1", *NIGHT, "--config", goto_file, "--format", "json").json
    finding = answer["finding"]
    assert (finding["by"], finding["start"], finding["steps"]) == ("goto", None, [])
    assert finding["of_date"]["ra_deg"] == pytest.approx(84.04, abs=0.02)
    assert finding["of_date"]["dec_deg"] == pytest.approx(22.03, abs=0.02)
    assert finding["azimuth_deg"] == pytest.approx(answer["azimuth_deg"], abs=0.05)
    told = run("look", "M1", *NIGHT, "--config", goto_file, "--how", "--fields", "0").out
    assert "RA 5h 36.2m, Dec +22 deg 02' (of date)" in told
    sheet = run("plan", *NIGHT, "--config", goto_file).out
    assert "find: by the motors. RA" in sheet
    assert "motors find the targets" in " ".join(sheet.split())


def test_no_way_is_null() -> None:
    """Not an empty object."""
    assert finding_json(None) is None
