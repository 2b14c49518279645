"""From the looks of a journal to the eye that a plan is made for."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from numpy.testing import assert_allclose

from planner.config.settings import Settings
from planner.ephemeris.almanac import find_night
from planner.ephemeris.kernel import Ephemeris
from planner.journal.records import LoggedTrain, Outcome, logged_target, new_id
from planner.journal.store.journal import open_journal
from planner.model.kit import train_words
from planner.output.text.own_eye import bar
from planner.planning.look import look_at
from planner.request.circumstances import circumstances_of
from planner.request.options import Readings
from planner.session.moves.sky import conditions_under
from planner.session.state import SkyReadings
from targets.catalogue.catalogue import load_catalogue

ONE_PERCENT_OF_A_MAG = 0.01
PLAN = ("plan", "--date", "2026-12-08", "--count", "2")
OFF = "learn_eye = false"


def test_a_look_has_the_margin_that_the_plan_gives_it(
    simulate: Any, looks_of: Any, tmp_path: Path, example: Settings, ephemeris: Ephemeris
) -> None:
    """The journal's margins are those of a look at the same target, train and minute."""
    path = simulate(tmp_path / "journal.sqlite", eye_mag=0.0, count=12)
    looks = looks_of(path)
    with open_journal(path) as journal:
        entries = {entry.id: entry for entry in journal.entries()}
        evenings = {session.id: session.evening for session in journal.sessions()}
    site, circumstances = circumstances_of(example, site=None, telescope=None, readings=Readings())
    for identifier, margin_mag in zip(looks.ids, looks.judged.margin_mag, strict=True):
        entry = entries[identifier]
        night = find_night(ephemeris, site, evenings[entry.session_id])
        target = load_catalogue().find(entry.target.id)
        report = look_at(target, ephemeris, night, circumstances, at=entry.at)
        (margin_dex,) = (
            view.margin_dex
            for view in report.views
            if view.train.magnification == entry.train.magnification
            and train_words(view.train).startswith(entry.train.eyepiece)
            and view.train.filter is None
        )
        assert margin_dex is not None
        expected = 2.5 * margin_dex - circumstances.conditions.eye_mag
        assert_allclose(margin_mag, expected, atol=ONE_PERCENT_OF_A_MAG)


@pytest.mark.parametrize(
    ("changes", "reason"),
    [
        ({"outcome": Outcome.SKIPPED}, "without an outcome"),
        ({"hours": 16}, "by day or in bright twilight"),
        ({"target": "M45"}, "at what nobody could miss"),
        ({"target": "Albireo"}, "at what no threshold decides"),
        ({"target": "Jupiter"}, "at what no threshold decides"),
        ({"target": "M7"}, "at the horizon or below"),
        ({"train": LoggedTrain()}, "without a known eyepiece"),
        ({"observer": "Somebody Else"}, "by another observer"),
        ({"site": "Nowhere"}, "under an unknown sky"),
    ],
)
def test_what_tells_nothing_is_left_out_and_counted(
    changes: dict[str, Any], reason: str, simulate: Any, looks_of: Any, tmp_path: Path
) -> None:
    """A look that says nothing about the threshold is no look of the fit, and has its reason."""
    path = simulate(tmp_path / "journal.sqlite", eye_mag=0.0, count=3)
    of_session = {name: changes[name] for name in ("observer", "site") if name in changes}
    of_entry = {name: changes[name] for name in ("outcome", "train") if name in changes}
    with open_journal(path) as journal:
        entry = journal.entries()[0]
        if "target" in changes:
            of_entry["target"] = logged_target(load_catalogue().find(changes["target"]))
        session = replace(journal.session(entry.session_id), id=new_id(), **of_session)
        hours = timedelta(hours=changes.get("hours", 0))
        doubtful = replace(
            entry, id=new_id(), session_id=session.id, at=entry.at + hours, **of_entry
        )
        journal.add_all([session], [doubtful])
    looks = looks_of(path)
    assert len(looks.ids) == 3
    assert looks.left_out == ((reason, 1),)


@pytest.fixture
def taught(run: Any, simulate: Any, tmp_path: Path) -> Any:
    """Return the program with the journal of an observer who sees half a magnitude deeper."""
    simulate(tmp_path / "home" / "data" / "journal.sqlite", eye_mag=0.5, count=60)
    return run


def test_the_plan_is_made_for_the_own_eye(taught: Any) -> None:
    """The head says how deep it sees and from what; JSON has the numbers."""
    words = r"^Eye +your eye: 0\.[3-7] \+- 0\.[12] mag deeper than the average, from 60 looks$"
    assert re.search(words, taught(*PLAN).out, re.MULTILINE)
    eye = taught(*PLAN, "--format", "json").json["eye"]
    assert eye["looks"] == 60
    assert_allclose(eye["deeper_mag"], 0.5, atol=0.2)
    assert_allclose(eye["stated_deeper_mag"], 0.24)


@pytest.mark.parametrize("way", ["--average-eye", "--no-leaning", OFF])
def test_the_own_eye_can_be_switched_off(
    taught: Any, write: Any, example_text: str, way: str
) -> None:
    """An option or the configuration lets the stated experience stand."""
    text = example_text.replace("learn_eye = true", OFF)
    argv = [way] if way.startswith("--") else ["--config", write("off.toml", text)]
    result = taught(*PLAN, *argv, "--format", "json")
    assert result.json["eye"] is None
    assert "your eye" not in taught(*PLAN, *argv).out


def test_why_tells_what_the_own_eye_changed(taught: Any) -> None:
    """Asked about an eyepiece, a look says what the stated experience would have made of it."""
    argv = ("look", "M74", "--date", "2026-12-08", "--why", "12")
    own = taught(*argv, "--format", "json").json
    (told,) = [answer for answer in own["why"] if answer.startswith("Your eye")]
    usual = taught(*argv, "--format", "json", "--average-eye").json
    assert not [answer for answer in usual["why"] if answer.startswith("Your eye")]

    def grades(look: dict[str, Any]) -> dict[str, str]:
        return {
            f"{view['eyepiece']} {view['amplifier']} {view['filter']}": view["grade"]
            for view in look["views"]
        }

    before = grades(usual)
    changed = [name for name, grade in grades(own).items() if before[name] != grade]
    assert changed
    assert f"another grade in {len(changed)} of the other trains" in told


def test_readings_at_the_telescope_leave_the_eye_as_it_is(example: Settings) -> None:
    """What the sky is like by now says nothing about the eye."""
    site, who = circumstances_of(example, site=None, telescope=None, readings=Readings())
    who = replace(who, conditions=replace(who.conditions, eye_mag=0.7))
    under = conditions_under(who, site, SkyReadings(seeing="II"))
    assert under.eye_mag == 0.7
    assert under.seeing == "II"


def test_the_report_holds_predictions_against_outcomes(taught: Any) -> None:
    """What should be seen more often is seen more often, and every look is in one band."""
    eye = taught("journal", "report", "--format", "json").json["eye"]
    assert sum(band["looks"] for band in eye["bands"]) == eye["looks"] == 60
    expected = [band["expected"] for band in eye["bands"]]
    assert expected == sorted(expected)
    assert eye["bands"][0]["seen"] < 0.5 < eye["bands"][-1]["seen"]
    lines = taught("journal", "report").out.splitlines()
    assert any(re.match(r"Eye +your eye: 0\.[3-7] \+- 0\.[12] mag deeper", line) for line in lines)
    assert sum("|" in line for line in lines) == len(eye["bands"]) + 1


def test_a_surprising_outcome_is_named(taught: Any, tmp_path: Path) -> None:
    """An easy target that was not seen may be a typing error; its entry can be found by its id."""
    path = tmp_path / "home" / "data" / "journal.sqlite"
    looks = taught("journal", "report", "--format", "json").json["eye"]["surprises"]
    with open_journal(path) as journal:
        entry = journal.entries()[-1]
        easy = replace(
            entry,
            id=new_id(),
            target=logged_target(load_catalogue().find("M81")),
            outcome=Outcome.NOT_SEEN,
        )
        journal.add(easy)
    after = taught("journal", "report", "--format", "json").json["eye"]["surprises"]
    assert [one["entry_id"] for one in after if one not in looks][:1] == [easy.id]
    assert f"({easy.id[:8]})" in taught("journal", "report").out


def test_a_bad_configuration_costs_only_the_eye(taught: Any, write: Any) -> None:
    """The rest of the report needs none, and is written."""
    result = taught("journal", "report", "--config", write("bad.toml", "[observer]\nname = 3\n"))
    assert result.status == 0
    assert "60 looks" not in result.out
    assert "Looks     60" in result.out
    assert "Nothing is told of your eye." in result.err


def test_a_bar_marks_what_was_predicted() -> None:
    """A bar is as long as the share that was seen, with a mark where it should end."""
    assert bar(0.5, 0.25) == "#" * 10 + "|" + "#" * 9
    assert bar(0.0, 1.0) == " " * 39 + "|"
