"""``fieldstop kit`` and the program itself: help, version, the fast ways out."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from targets.errors import DatabaseError


@pytest.fixture(autouse=True)
def few_nights(monkeypatch: pytest.MonkeyPatch) -> None:
    """Four nights stand for the year."""
    monkeypatch.setattr("planner.cli.kit.advice.EVERY_DAYS", 91)


def test_kit_shows_the_first_telescope_and_names_the_others(run: Any) -> None:
    """The report on standard output, the hint beside it."""
    result = run("kit")
    assert result.status == 0
    assert result.out.startswith("200 mm f/6 reflector\n200 mm aperture")
    assert '--telescope shows "80 mm f/6 refractor"' in result.err


def test_kit_of_a_named_telescope_as_json(run: Any) -> None:
    """The contract's keys, the telescope asked for."""
    result = run("kit", "--telescope", "80 mm f/6 refractor", "--format", "json")
    assert result.err == ""
    kit = result.json
    assert kit["schema"] == "fieldstop.kit/1"
    assert {train["telescope"] for train in kit["trains"]} == {"80 mm f/6 refractor"}
    assert all(isinstance(fault, str) for fault in kit["faults"])
    wanted = {
        "telescope": str, "eyepiece": str, "amplifier": str | None, "magnification": float,
        "true_field_deg": float, "exit_pupil_mm": float, "usable": bool, "reasons": list,
    }  # fmt: skip
    for train in kit["trains"]:
        for key, kind in wanted.items():
            assert isinstance(train[key], kind), key


def test_kit_goes_to_a_file(run: Any, tmp_path: Any) -> None:
    """As the other commands' results do."""
    path = tmp_path / "kit.txt"
    assert run("kit", "--output", str(path)).out == ""
    assert path.read_text("utf-8") == run("kit").out


def test_the_program_alone_plans_where_no_screen_can_be(run: Any) -> None:
    """Without a terminal the plan comes as text, and a sentence says why."""
    result = run("--date", "2026-12-08")
    assert result.status == 0
    assert "need a terminal" in result.err
    assert result.out.startswith("Tue 8 / Wed 9 Dec 2026")


def test_options_before_a_command_are_refused(run: Any) -> None:
    """They would be lost: a sentence says where they belong."""
    result = run("--site", "Garden", "plan")
    assert result.status == 2
    assert 'behind "plan"' in result.err


def test_the_help_names_every_command(run: Any) -> None:
    """Each on a line of its own."""
    result = run("--help")
    assert result.status == 0
    for command in ("plan", "look", "kit", "journal", "targets", "setup"):
        assert f"\n  {command} " in result.out


@pytest.mark.parametrize("command", ["plan", "look", "kit"])
def test_every_option_is_explained(run: Any, command: str) -> None:
    """Each has words behind its name, and a line has at most 80 columns."""
    result = run(command, "--help")
    assert result.status == 0
    options = [line for line in result.out.splitlines() if line.startswith("  -")]
    assert len(options) > 4
    assert all(len(line) <= 80 for line in result.out.splitlines())
    assert all(line.rstrip().endswith(".") for line in options), "cut off or without help"


def test_the_version_is_told(run: Any) -> None:
    """A name and a number."""
    result = run("--version")
    assert result.status == 0
    assert result.out.startswith("fieldstop 0.")


def test_an_interrupt_is_quiet(run: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """Control-C while it computes: status 130 as shells have it, no words."""

    def interrupt(*_: Any, **__: Any) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("planner.cli.plan_steps.plan_night", interrupt)
    result = run("plan")
    assert (result.status, result.out, result.err) == (130, "", "")


def test_an_interrupt_while_it_prints_is_quiet_too(
    run: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """By then the command itself is done."""

    def interrupt(*_: Any) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("planner.cli.main.deliver", interrupt)
    assert run("kit").status == 130


@pytest.mark.parametrize("kind", [ValueError, LookupError, RuntimeError])
def test_a_fault_of_the_program_is_one_sentence(
    run: Any, monkeypatch: pytest.MonkeyPatch, kind: type[Exception]
) -> None:
    """It names the fault and asks for a report; no traceback, and no blame for the user."""

    def fail(*_: Any, **__: Any) -> None:
        raise kind("by nothing")

    monkeypatch.setattr("planner.cli.plan_steps.plan_night", fail)
    result = run("plan")
    assert result.status == 70  # EX_SOFTWARE of the BSD sysexits
    assert result.err.splitlines() == [
        f"fieldstop: a fault of the program itself, {kind.__name__}: by nothing. Please report it."
    ]


def test_a_database_that_does_not_fit_is_told(run: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """As it is, without the words for a fault in the code."""

    def fail(*_: Any, **__: Any) -> None:
        raise DatabaseError("The database has no row NGC7089.")

    monkeypatch.setattr("planner.request.user_targets.load_catalogue", fail)
    result = run("plan")
    assert (result.status, result.out) == (70, "")
    assert result.err.splitlines()[-1] == "fieldstop: The database has no row NGC7089."


def test_the_air_is_that_of_the_site(run: Any, tmp_path: Path, example_text: str) -> None:
    """A site with better air bears more power; one that does not exist is named."""
    steady = tmp_path / "two.toml"
    hill = '[[site]]\nname = "Hill"\nlatitude_deg = 51.0\nlongitude_deg = -2.0\nseeing = "I"\n'
    steady.write_text(example_text.replace("[[telescope]]", f"{hill}\n[[telescope]]", 1), "utf-8")
    bears = {
        site: run("kit", "--config", steady, "--site", site).out for site in ("Garden", "Hill")
    }
    assert bears["Garden"] != bears["Hill"]
    refused = run("kit", "--config", steady, "--site", "Hall")
    assert refused.status == 2
    assert "Hill" in refused.err


def test_an_odd_figure_is_told_by_the_kit_and_not_at_every_command(
    run: Any, write: Any, example_text: str
) -> None:
    """A 22 mm of 82 degrees in 1.25 inch: who knows of it is not told again for each look."""
    odd = '\n[[eyepiece]]\nname = "Odd"\nfocal_length_mm = 22\napparent_field_deg = 82\n'
    config = ["--config", write("odd.toml", f'{example_text}{odd}barrel = "1.25in"\n')]
    assert "Odd: 22 mm with 82 deg asks for" in " ".join(run("kit", *config).out.split())
    look = run("look", "M57", "--at", "2026-11-25T20:00", *config)
    assert look.status == 0
    assert "odd" not in look.err.casefold()
