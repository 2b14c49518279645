"""Double and variable stars at the command line: found, described, split or not, and in JSON."""

from __future__ import annotations

from typing import Any

import pytest

LOOK = ("look", "--date", "2027-02-10")


def test_a_pair_is_described_as_it_is_tonight(run: Any) -> None:
    """Separation, direction, when they hold and both magnitudes, in place of size and light."""
    lines = run(*LOOK, "Castor").out.splitlines()
    assert lines[0] == "Castor (alpha Gem)"
    assert lines[1] == (
        'double star in Gemini; 5.7" apart toward 48 deg (by orbit, 2027.1), magnitudes'
    )
    text = " ".join(run(*LOOK, "Castor").out.split())
    assert 'its 5.7" are wide apart at' in text


def test_a_pair_that_will_not_part_says_why(run: Any) -> None:
    """Sirius: the glare; a very close pair: the aperture."""
    assert "mag fainter, its companion asks for some" in " ".join(run(*LOOK, "Sirius").out.split())
    assert "is closer than the" in run(*LOOK, "zeta Boo").out


def test_a_variable_star_tells_its_range(run: Any) -> None:
    """Both ends, and what is worked with; a star has no size."""
    result = run(*LOOK, "Hind's", "Crimson", "Star")
    assert result.status == 0
    lines = result.out.splitlines()
    assert lines[0] == "Hind's Crimson Star (R Lep)"
    assert lines[1] == "star in Lepus; magnitude 5.5 to 11.7; the middle, 8.6, is assumed"
    assert "size" not in lines[1]


def test_json_tells_what_a_pair_has(run: Any) -> None:
    """More keys, and null where they mean nothing."""
    pair = run(*LOOK, "--format", "json", "61", "Cyg").json["target"]
    assert pair["id"] == "61Cyg"
    assert pair["kind"] == "double star"
    assert pair["separation_arcsec"] == pytest.approx(60.0 * pair["major_arcmin"], abs=0.01)
    assert pair["position_angle_deg"] == pytest.approx(154.0, abs=2.0)
    assert pair["companion_magnitude"] == 6.03
    assert pair["epoch_yr"] == pytest.approx(2027.11, abs=0.01)
    assert pair["magnitude_range"] is None
    star = run(*LOOK, "--format", "json", "mu", "Cep").json["target"]
    assert star["magnitude_range"] == [3.43, 5.10]
    for key in ("separation_arcsec", "companion_magnitude", "epoch_yr", "major_arcmin"):
        assert star[key] is None


@pytest.mark.parametrize(("word", "kind"), [("double-star", "double star"), ("stars", "star")])
def test_a_plan_of_pairs_or_stars_alone(run: Any, word: str, kind: str) -> None:
    """``--kind`` knows both, in the plural too."""
    plan = run("plan", "--date", "2026-12-08", "--kind", word, "--format", "json").json
    assert plan["looks"]
    assert {look["target"]["kind"] for look in plan["looks"]} == {kind}


def test_a_star_that_is_not_there_gets_a_sentence(run: Any) -> None:
    """Wrong input, one line, no traceback."""
    result = run(*LOOK, "beta", "Cygnus", "Prime")
    assert result.status == 2
    assert "no target is called" in result.err
