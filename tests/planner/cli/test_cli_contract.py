"""The JSON that other programs may rely on: every key, every type, every unit's range."""

from __future__ import annotations

from datetime import datetime
from typing import Any

import pytest

NUMBER = (int, float)
OPTIONAL_TEXT = (str, type(None))
OPTIONAL_NUMBER = (int, float, type(None))

NIGHT = {
    "date": str, "site": str, "timezone": str, "sunset": OPTIONAL_TEXT, "sunrise": OPTIONAL_TEXT,
    "dark_start": OPTIONAL_TEXT, "dark_end": OPTIONAL_TEXT, "moonrise": OPTIONAL_TEXT,
    "moonset": OPTIONAL_TEXT, "moon_illuminated": NUMBER, "window_start": OPTIONAL_TEXT,
    "window_end": OPTIONAL_TEXT, "note": OPTIONAL_TEXT,
}  # fmt: skip
TARGET = {
    "id": str, "name": str, "kind": str, "constellation": OPTIONAL_TEXT, "ra_deg": OPTIONAL_NUMBER,
    "dec_deg": OPTIONAL_NUMBER, "major_arcmin": OPTIONAL_NUMBER, "minor_arcmin": OPTIONAL_NUMBER,
    "magnitude": OPTIONAL_NUMBER,
}  # fmt: skip
VIEW = {
    "telescope": str, "eyepiece": str, "eyepiece_focal_length_mm": NUMBER,
    "amplifier": OPTIONAL_TEXT, "filter": OPTIONAL_TEXT, "magnification": NUMBER,
    "true_field_arcmin": NUMBER, "exit_pupil_mm": NUMBER, "framing": OPTIONAL_NUMBER,
    "fits": (bool, type(None)), "score": NUMBER, "grade": str, "reasons": list, "warnings": list,
}  # fmt: skip
LOOK = {
    "start": str, "end": str, "target": dict, "altitude_deg": NUMBER, "azimuth_deg": NUMBER,
    "view": dict,
}  # fmt: skip
REPORT = {
    "schema": str, "target": dict, "at": str, "altitude_deg": NUMBER, "azimuth_deg": NUMBER,
    "rise": OPTIONAL_TEXT, "transit": OPTIONAL_TEXT, "set": OPTIONAL_TEXT,
    "transit_altitude_deg": OPTIONAL_NUMBER, "views": list,
}  # fmt: skip
TIMES = {
    "sunset", "sunrise", "dark_start", "dark_end", "moonrise", "moonset", "window_start",
    "window_end", "start", "end", "at", "rise", "transit", "set",
}  # fmt: skip
POSITIVE = {
    "major_arcmin", "minor_arcmin", "magnification", "true_field_arcmin", "exit_pupil_mm",
    "eyepiece_focal_length_mm", "framing",
}  # fmt: skip


def _check(found: dict[str, Any], wanted: dict[str, Any]) -> None:
    """Check keys and types, and that times carry an offset and unknown sizes are no zeros."""
    for key, kind in wanted.items():
        assert key in found, key
        assert isinstance(found[key], kind), (key, found[key])
        assert isinstance(found[key], bool) == (key == "fits" and found[key] is not None), key
        if key in TIMES and found[key] is not None:
            assert datetime.fromisoformat(found[key]).utcoffset() is not None
        if key in POSITIVE and found[key] is not None:
            assert found[key] > 0, key


def _check_target(target: dict[str, Any]) -> None:
    _check(target, TARGET)
    assert " " not in target["id"]
    if target["ra_deg"] is not None:
        assert 0.0 <= target["ra_deg"] < 360.0
        assert -90.0 <= target["dec_deg"] <= 90.0


def _check_view(view: dict[str, Any]) -> None:
    _check(view, VIEW)
    assert 0.0 <= view["score"] <= 1.0
    assert all(isinstance(text, str) and text for text in view["reasons"] + view["warnings"])


@pytest.mark.parametrize(
    "site",
    [
        None,
        (69.6, 18.9, "Europe/Oslo", "2026-06-21"),  # polar day
        (69.6, 18.9, "Europe/Oslo", "2026-12-21"),  # polar night
        (59.9, 30.3, "Europe/Moscow", "2026-06-21"),  # no darkness
        (-41.3, 174.8, "Pacific/Auckland", "2026-04-04"),  # the clocks go back
        (0.0, 0.0, "Etc/UTC", "2026-03-20"),
        (-90.0, 0.0, "Etc/UTC", "2026-06-21"),
    ],
)
def test_a_plan_keeps_the_contract(run: Any, site_file: Any, site: Any) -> None:
    """Wherever and whenever it is made."""
    where = () if site is None else ("--config", site_file(*site[:3]), "--date", site[3])
    plan = run("plan", "--format", "json", *where).json
    assert plan["schema"] == "fieldstop.plan/1"
    _check(plan["night"], NIGHT)
    assert 0.0 <= plan["night"]["moon_illuminated"] <= 1.0
    for look in plan["looks"]:
        _check(look, LOOK)
        _check_target(look["target"])
        _check_view(look["view"])
        assert -1.0 < look["altitude_deg"] <= 90.0
        assert 0.0 <= look["azimuth_deg"] < 360.0
    for left in plan["left_out"]:
        _check_target(left["target"])
        assert isinstance(left["reason"], str)
        assert left["reason"]


@pytest.mark.parametrize(
    "target", ["M31", "M45", "C14", "Moon", "Saturn", "IC 434", "M40", "NGC 104", "NGC 133"]
)
def test_a_look_keeps_the_contract(run: Any, target: str) -> None:
    """For every sort of target, up or not."""
    report = run("look", target, "--format", "json", "--date", "2026-11-25").json
    assert report["schema"] == "fieldstop.look/1"
    _check(report, REPORT)
    _check_target(report["target"])
    for view in report["views"]:
        _check_view(view)
        assert isinstance(view["usable"], bool)


def test_a_look_by_day_says_where_the_sun_stands(run: Any) -> None:
    """At 51.2 N on 29 November at 09:30 it is 10 deg up in the south-east; by night it is null.

    Declination -21.5 deg and equation of time +11.5 minutes (both from memory): hour angle -37 deg,
    altitude 10.6 deg, azimuth 145 deg.
    """
    by_day = run("look", "Jupiter", "--at", "2026-11-29T09:30", "--format", "json").json["sun"]
    assert set(by_day) == {"altitude_deg", "azimuth_deg", "separation_deg"}
    assert by_day["altitude_deg"] == pytest.approx(10.6, abs=0.5)
    assert by_day["azimuth_deg"] == pytest.approx(145.0, abs=1.5)
    assert 20.0 < by_day["separation_deg"] < 180.0
    by_night = run("look", "Jupiter", "--at", "2026-11-29T02:30", "--format", "json").json
    assert by_night["sun"] is None


def test_times_carry_the_offset_of_the_site(run: Any, site_file: Any) -> None:
    """Kathmandu is 5 h 45 min ahead of Greenwich (IANA time zone database)."""
    path = site_file(27.7, 85.3, "Asia/Kathmandu")
    night = run("plan", "--format", "json", "--config", path).json["night"]
    assert night["sunset"].endswith("+05:45")


def test_identifiers_and_names_are_those_of_the_contract(run: Any) -> None:
    """``NGC224`` is the primary designation, ``M31 Andromeda Galaxy`` what an observer says."""
    for name, identifier, spoken in (
        ("m31", "NGC224", "M31 Andromeda Galaxy"),
        ("jupiter", "Jupiter", "Jupiter"),
        ("moon", "Moon", "Moon"),
        ("pleiades", "M45", "M45 Pleiades"),
    ):
        target = run("look", name, "--format", "json").json["target"]
        assert (target["id"], target["name"]) == (identifier, spoken)


def test_json_is_plain_ascii_whatever_the_names_are(
    run: Any, write: Any, example_text: str
) -> None:
    """Any terminal and any program can take it; the name comes out whole."""
    path = write(
        "names.toml", example_text.replace('name = "Garden"', 'name = "H\u00fctte \u661f"')
    )
    result = run("plan", "--format", "json", "--config", path, "--count", "1")
    assert result.out.isascii()
    assert result.json["night"]["site"] == "H\u00fctte \u661f"
