"""What the report tells beside the fit: sides of the sky, choices against the plan, charts."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

import numpy as np
import pytest

from planner.config.preferences import preferences_with
from planner.journal.records import Outcome, logged_target, new_id
from planner.journal.store.journal import open_journal
from planner.model.own_eye import EyeChoice, OwnEye
from planner.request.own_eye.directions import SIDES, skies_toward
from targets.catalogue.catalogue import load_catalogue

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture
def journal(run: Any, simulate: Any, tmp_path: Path) -> Path:
    """Return the journal of an observer who sees half a magnitude deeper, where the program is."""
    del run
    path: Path = simulate(tmp_path / "home" / "data" / "journal.sqlite", eye_mag=0.5, count=60)
    return path


def test_a_bright_side_of_the_sky_is_found(looks_of: Any, journal: Path) -> None:
    """Where much less is seen than elsewhere the sky is taken as brighter, elsewhere it is not."""
    looks = looks_of(journal)
    side = np.rint(looks.scene.azimuth_deg / 90.0).astype(int) % 4
    town = int(np.argmax(np.bincount(side, minlength=4)))
    eye = OwnEye(0.5, 0.1, 60, width_mag=0.3)
    depth = np.where(side == town, 0.5 - 0.6, 0.5)
    judged = replace(looks.judged, seen=(looks.judged.margin_mag + depth > 0.0).astype(float))
    skies = list(skies_toward(replace(looks, judged=judged), eye, preferences_with({})))
    found = {sky.toward: sky for sky in skies}
    assert found[SIDES[town]].darker_mag < -0.3
    others = [sky.darker_mag for name, sky in found.items() if name != SIDES[town]]
    assert all(abs(mag) < 0.3 for mag in others)
    assert sum(sky.looks for sky in skies) <= 60


@pytest.mark.usefixtures("journal")
def test_the_charts_hold_what_the_report_tells(run: Any) -> None:
    """A dot for each band, as far right and up as predicted and seen; the words are those above."""
    bands = run("journal", "report", "--format", "json").json["eye"]["bands"]
    drawn = ET.fromstring(run("journal", "report", "--format", "svg").out)  # noqa: S314  # our own
    dots = [dot for dot in drawn.iter(f"{SVG}circle") if float(dot.attrib["cx"]) < 330.0]
    assert len(dots) == len(bands)
    places = [(float(dot.attrib["cx"]), -float(dot.attrib["cy"])) for dot in dots]
    assert all(one[0] < other[0] for one, other in pairwise(places))
    ranks = np.argsort([band["seen"] for band in bands], kind="stable")
    heights = np.array([place[1] for place in places])[ranks]
    assert np.all(np.diff(heights) >= 0.0)
    assert any("60 looks" in (text.text or "") for text in drawn.iter(f"{SVG}text"))


def test_without_an_eye_there_is_nothing_to_draw(run: Any, simulate: Any, tmp_path: Path) -> None:
    """A sentence says so."""
    simulate(tmp_path / "home" / "data" / "journal.sqlite", eye_mag=0.0, count=5)
    result = run("journal", "report", "--format", "svg")
    assert result.status == 1
    assert "too little" in result.err


def test_choices_against_the_plan_are_judged(run: Any, journal: Path) -> None:
    """What would have been seen in the planned eyepiece stands beside what was seen."""
    with open_journal(journal) as opened:
        hard = [e for e in opened.entries() if e.outcome is Outcome.SEEN and not e.train.amplifier]
        for entry in hard[:6]:
            opened.amend(entry.id, changed_at=entry.at, planned_train="5 mm 60")
    choices = run("journal", "report", "--format", "json").json["eye"]["choices"]
    assert 1 <= sum(one["looks"] for one in choices) <= 6
    for one in choices:
        assert one["planned"] == "5 mm 60"
        assert one["seen"] == one["looks"]
        assert 0.0 <= one["expected_planned"] <= one["looks"]
    assert re.search(r"^Chosen +.* for 5 mm 60: seen", run("journal", "report").out, re.MULTILINE)


@pytest.mark.parametrize(
    ("seen", "verdict"), [(9.0, "right"), (5.0, "no better, no worse"), (1.0, "wrong")]
)
def test_a_verdict_needs_more_than_chance(seen: float, verdict: str) -> None:
    """Of ten looks with even chances five are expected, give or take one and a half."""
    assert EyeChoice("a", "b", 10, seen, 5.0, 6.0).verdict == verdict


def test_of_doubles_the_closest_counts(run: Any, journal: Path) -> None:
    """How faint a pair is says nothing; how close it is does. Albireo: 34 arcsec (handbooks)."""
    with open_journal(journal) as opened:
        entry = opened.entries()[0]
        for name in ("Albireo", "Mizar"):
            pair = logged_target(load_catalogue().find(name))
            opened.add(replace(entry, id=new_id(), target=pair, outcome=Outcome.SEEN))
    kinds = run("journal", "report", "--format", "json").json["kinds"]
    (pairs,) = [kind for kind in kinds if kind["kind"] == "double star"]
    assert pairs["faintest_mag"] is None
    assert pairs["closest"] == "Mizar (zeta UMa)"
    assert 14.0 < pairs["closest_arcsec"] < 15.0  # 14.4 arcsec in handbooks
    (line,) = [x for x in run("journal", "report").out.splitlines() if x.startswith("double star ")]
    assert "closest: 14." in line
    assert " mag" not in line


def test_no_telescope_passes_more_than_all_of_the_light(run: Any, journal: Path) -> None:
    """One in which far less is seen passes less than is stated, the other no more than all."""
    with open_journal(journal) as opened:
        for number, entry in enumerate(opened.entries()[::2]):
            dull = replace(entry.train, telescope="80 mm f/6 refractor")
            seen = Outcome.NOT_SEEN if number % 4 else entry.outcome
            opened.amend(entry.id, changed_at=entry.at, train=dull, outcome=seen)
    learned = run("journal", "report", "--format", "json").json["eye"]["learned"]
    factors = {one["name"]: one["light_factor"] for one in learned["telescopes"]}
    assert factors["80 mm f/6 refractor"] < 1.0 < factors["200 mm f/6 reflector"]
    assert factors["200 mm f/6 reflector"] <= 1.0 / 0.8  # the example states no other share
