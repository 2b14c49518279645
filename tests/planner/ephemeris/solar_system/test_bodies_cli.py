"""What ``look`` and ``plan`` say of the Moon, its features and the planets."""

from __future__ import annotations

import re
from typing import Any

import pytest

NIGHT = ("--date", "2026-12-20")
TEXT = (*NIGHT, "--fields", "0")
SPOT = "[jupiter]\nred_spot_longitude_deg = 75\nred_spot_date = 2026-10-01\n"


def line(out: str, label: str) -> str:
    """Return the text beside a label, with the lines that go on from it."""
    found = re.search(rf"^{label} +(.*(?:\n {{9}}\S.*)*)", out, re.MULTILINE)
    assert found, f"{label} is missing in:\n{out}"
    return " ".join(found[1].split())


def test_look_at_a_crater_tells_its_light(run: Any) -> None:
    """Where it is, how the Sun stands there, libration, and when the light comes back."""
    out = run("look", "schiller", *TEXT).out
    assert line(out, "There").startswith("crater, 51.7 S 39.8 W, 179 km, ")
    assert "3 to 15 deg show it best" in line(out, "Light")
    assert "libration" in line(out, "Turned")
    assert "morning light" in line(out, "Back")
    assert "evening light" in out
    assert "magnitude" not in out.split("Mon 21")[0]


def test_a_crater_in_the_night_says_so(run: Any) -> None:
    """Grimaldi, at the western limb, waits for its sunrise on that evening."""
    result = run("look", "grimaldi", "--date", "2026-12-18", "--fields", "0")
    assert result.status == 1
    assert re.search(r"Grimaldi cannot be seen at \d\d:\d\d: in the Moon's night", result.err)
    assert "none: in the Moon's night" in result.out
    assert "eyepiece" not in result.out
    assert "it is night there" in line(result.out, "Light")


def test_a_crater_under_a_high_sun_says_so(run: Any) -> None:
    """Theophilus at full Moon has no shadows; Tycho has its rays."""
    full = ("--date", "2026-12-23", "--fields", "0")
    assert "the Sun stands too high over it on the Moon" in run("look", "theophilus", *full).out
    assert re.search(r"^Window +\d\d:\d\d-", run("look", "tycho", *full).out, re.MULTILINE)


def test_the_best_moment_follows_the_light(run: Any) -> None:
    """The Sun climbs out of what suits Copernicus: earlier than the Moon is highest."""
    look = run("look", "copernicus", "--date", "2026-11-20", "--format", "json").json
    assert look["windows"][0]["start"] <= look["at"] < look["transit"]
    heights = look["feature"]["window_sun_altitudes_deg"]
    assert heights[0] < look["feature"]["sun_altitude_deg"] < heights[1]


def test_json_of_a_feature(run: Any) -> None:
    """Numbers of the light and the spans in which it comes back; no magnitude of its own."""
    look = run("look", "plato", *NIGHT, "--format", "json").json
    assert look["target"]["kind"] == "lunar feature"
    assert look["target"]["magnitude"] is None
    assert look["feature"]["form"] == "crater"
    assert look["feature"]["latitude_deg"] == 51.6
    assert {span["is_morning"] for span in look["feature"]["comes_back"]} == {True, False}
    assert 0.0 <= look["moon"]["colongitude_deg"] < 360.0


def test_look_at_the_moon_names_what_is_best_lit(run: Any) -> None:
    """Names with the Sun's height, in text and JSON the same ones."""
    out = run("look", "moon", *TEXT).out
    names = re.findall(r"([A-Z][A-Za-z. ]+) \((\d+) deg\)", line(out, "Best lit"))
    told = run("look", "moon", *NIGHT, "--format", "json").json["moon"]["best_lit"]
    assert [name for name, _ in names] == [light["name"] for light in told]
    assert names


def test_features_are_planned_when_asked_for(run: Any) -> None:
    """Each under the right Sun, with the height told."""
    plan = run("plan", "--kind", "lunar feature", *NIGHT, "--count", "4", "--format", "json").json
    assert len(plan["looks"]) == 4
    assert {look["target"]["kind"] for look in plan["looks"]} == {"lunar feature"}
    assert all("the Sun stands" in look["shows"][0]["text"] for look in plan["looks"])


def test_relief_goes_before_rays_and_seas(run: Any) -> None:
    """What the evening's light alone shows is planned before what looks the same for days."""
    wishes = ("--kind", "lunar feature", *NIGHT, "--count", "3", "--format", "json")
    for look in run("plan", *wishes).json["looks"]:
        height = int(re.findall(r"stands (\d+) deg", look["shows"][0]["text"])[0])
        assert 3 <= height <= 25  # rays and seas ask for more than 40


@pytest.mark.parametrize(("begin", "until"), [("16:10", "17:00"), ("17:00", "23:00")])
def test_a_plain_plan_has_no_craters(run: Any, begin: str, until: str) -> None:
    """They are named beside the Moon, are not missed, and do not fill the twilight either."""
    plan = run("plan", "--from", begin, "--until", until, *NIGHT, "--format", "json").json
    every = [*plan["looks"], *plan["left_out"]]
    assert "lunar feature" not in {entry["target"]["kind"] for entry in every}


def test_the_plans_moon_names_three(run: Any) -> None:
    """On one line below its eyepiece."""
    out = run("plan", "--kind", "moon", "--from", "18:00", "--until", "20:00", *NIGHT).out
    (told,) = re.findall(r"^ {13}best lit: (.*)$", out, re.MULTILINE)
    assert len(told.split(", ")) == 3


def test_jupiters_moons_on_a_line(run: Any) -> None:
    """All four, or said where they are; east and west at the ends; nothing wider than a screen."""
    out = run("look", "jupiter", *TEXT).out
    (drawn,) = re.findall(r"^ {9}(east .* west|west .* east)$", out, re.MULTILINE)
    assert "(O)" in drawn
    for initial, name in zip("IEGC", ("Io", "Europa", "Ganymede", "Callisto"), strict=True):
        assert name in out
        assert initial in drawn  # none is hidden at that moment
    assert max(map(len, out.splitlines())) <= 80


@pytest.mark.parametrize(("latitude", "left"), [(51.2, "east"), (-34.0, "west")])
def test_the_line_is_the_sky_of_the_hemisphere(run: Any, latitude: float, left: str) -> None:
    """Whoever looks south at Jupiter has east to the left; whoever looks north, to the right."""
    out = run("look", "jupiter", *TEXT, latitude=latitude, up="upright").out
    (drawn,) = re.findall(r"^ {9}(east .* west|west .* east)$", out, re.MULTILINE)
    assert drawn.startswith(left)
    west = {m[0]: float(m[1]) for m in re.findall(r"(Io|Callisto) ([\d.]+) [EW]", out)}
    assert west["Callisto"] > west["Io"]


def test_the_line_is_drawn_as_the_telescope_shows_it(run: Any) -> None:
    """Half a turn and a mirror both put the right to the left; what it is like stands below."""
    seen = {}
    for up in ("upright", "inverted", "mirrored"):
        out = run("look", "jupiter", *TEXT, up=up).out
        (seen[up],) = re.findall(r"^ {9}((?:east .* west|west .* east))$", out, re.MULTILINE)
        assert f"as this telescope shows it: {up}" in " ".join(out.split())
    back = {"(": ")", ")": "("}
    parts = re.findall(r"east|west|.", seen["upright"])
    assert seen["inverted"] == "".join(back.get(part, part) for part in reversed(parts))
    assert seen["mirrored"] == seen["inverted"]


def test_the_red_spot_is_asked_for_and_then_told(run: Any) -> None:
    """Without a longitude it says what to write; with one, when it passes."""
    assert "red_spot_longitude_deg and red_spot_date" in line(
        run("look", "jupiter", *TEXT).out, "Spot"
    )
    told = line(run("look", "jupiter", *TEXT, more=SPOT).out, "Spot")
    assert re.match(r"the Red Spot passes the middle \d\d:\d\d", told)
    assert "half a year" not in told


def test_an_old_longitude_of_the_spot_is_doubted(run: Any) -> None:
    """More than half a year away each degree of drift counts."""
    old = SPOT.replace("2026-10-01", "2024-10-01")
    assert "half a year away" in line(run("look", "jupiter", *TEXT, more=old).out, "Spot")


def test_json_of_jupiter(run: Any) -> None:
    """Moons, events with the site's time, the spot."""
    look = run("look", "jupiter", *NIGHT, "--format", "json", more=SPOT).json
    jupiter = look["jupiter"]
    assert [moon["name"] for moon in jupiter["moons"]] == ["Io", "Europa", "Ganymede", "Callisto"]
    assert jupiter["red_spot"]["transits"]
    assert {"at", "moon", "phenomenon", "begins"} == set(jupiter["events"][0])


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ("[jupiter]\nred_spot_longitude_deg = 400\nred_spot_date = 2026-10-01", "from 0 to 360"),
        ("[jupiter]\nred_spot_longitude_deg = 40", '"red_spot_date": missing'),
        ('[jupiter]\nred_spot_longitude_deg = 4\nred_spot_date = "May"', 'found "May"'),
        ("[jupiter]\nred_spot_date = 2026-10-01", '"red_spot_longitude_deg": missing'),
        ("[jupiter]\nred_spot = 4", "no such key"),
    ],
)
def test_a_wrong_spot_gets_a_sentence(run: Any, more: str, said: str) -> None:
    """Where, what was found, what is allowed."""
    result = run("look", "jupiter", *TEXT, more=more)
    assert result.status == 2
    assert said in result.err


def test_saturn_tells_rings_and_moons(run: Any) -> None:
    """Titan before the fainter ones, each with its direction."""
    out = run("look", "saturn", *TEXT).out
    assert re.match(r"\d+\.\d deg open, southern face", line(out, "Rings"))
    assert re.match(r"Titan \(8\.4\) \d+\" [EW] \d+\" [NS], Rhea", line(out, "Moons"))
    saturn = run("look", "saturn", *NIGHT, "--format", "json").json["saturn"]
    assert [moon["name"] for moon in saturn["moons"]] == ["Titan", "Rhea", "Tethys", "Dione"]


def test_venus_tells_phase_and_sky(run: Any) -> None:
    """West of the Sun in the morning, with its greatest elongation to come on 3 January 2027."""
    out = run("look", "venus", *TEXT).out
    assert "lit and growing" in line(out, "Phase")
    assert re.search(r"west, in the morning sky; next greatest elongation 3 Jan 2027, 47\.0 deg",
                     line(out, "From Sun"))  # fmt: skip


def test_mars_tells_its_meridian(run: Any) -> None:
    """Longitude, tilt and pole."""
    assert re.match(r"longitude \d+ deg, tilted \d+ deg to the north", line(
        run("look", "mars", *TEXT).out, "Middle"))  # fmt: skip


@pytest.mark.parametrize("latitude", [-90.0, 0.0, 89.9])
@pytest.mark.parametrize("name", ["moon", "tycho", "jupiter", "saturn", "mercury"])
def test_at_the_ends_of_the_earth(run: Any, latitude: float, name: str) -> None:
    """No traceback, no number that is none, nothing wider than 80 cells."""
    result = run("look", name, *TEXT, latitude=latitude)
    assert result.status in {0, 1}
    assert "nan" not in result.out
    assert max(map(len, result.out.splitlines())) <= 80


def test_a_page_tells_the_same(run: Any) -> None:
    """The facts about Saturn stand in the page for the telephone too."""
    page = run("look", "saturn", *NIGHT, "--format", "html").out
    assert "deg open, southern face" in page


def test_others_have_no_such_lines(run: Any) -> None:
    """A galaxy's report is what it was."""
    assert "moon" not in run("look", "m31", *NIGHT, "--format", "json").json


def test_a_feature_of_the_moon_is_in_no_constellation(run: Any) -> None:
    """It is on the Moon, whatever stars the Moon stands among."""
    lines = run("look", "mare crisium", *TEXT).out.splitlines()
    assert lines[1] == "lunar feature"


def test_a_sea_that_a_high_sun_shows_has_no_morning_or_evening(run: Any) -> None:
    """It is lit well for days; a crater has its morning and its evening light."""
    assert not re.search("(morning|evening) light", run("look", "mare crisium", *TEXT).out)
    assert "Back     well lit" in run("look", "mare crisium", *TEXT).out
    assert re.search("(morning|evening) light", run("look", "copernicus", *TEXT).out)
