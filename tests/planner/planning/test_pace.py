"""The pace of a session: as it is configured, for one night, and learned from the journal."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

import pytest

from planner.model.pace import ObservingPace, Tempo
from planner.request.journal_leaning import gaps_between_looks_min

ARGV = ("plan", "--date", "2026-11-28", "--format", "json")


def test_a_calm_night_has_fewer_looks_than_a_quick_one(run: Any) -> None:
    """A beginner's four or five to a runner's twenty in four hours (common practice)."""
    counts = [len(run(*ARGV, "--pace", tempo).json["looks"]) for tempo in Tempo]
    assert counts == sorted(counts)
    assert counts[0] <= 10
    assert counts[-1] >= 15
    assert "calm" in run(*ARGV, "--pace", "slow").err


@pytest.mark.parametrize(
    ("change", "holds"),
    [
        ("look_minutes = 25", lambda usual, own: len(own) < len(usual)),
        ("find_minutes = 12", lambda usual, own: len(own) < len(usual)),
        ("looks_an_hour = 1", lambda _, own: len(own) <= 4),
        (
            "variety = 3.0",
            lambda usual, own: len({kind for _, kind in own}) >= len({kind for _, kind in usual}),
        ),
    ],
)
def test_a_session_is_as_one_likes_it(
    change: str, holds: Any, run: Any, write: Any, example_text: str
) -> None:
    """The keys of [session] in the configuration."""

    def looks(text: str) -> list[tuple[str, str]]:
        found = run(*ARGV, "--config", write("own.toml", text)).json["looks"]
        return [(look["target"]["id"], look["target"]["kind"]) for look in found]

    key = change.split(" = ", maxsplit=1)[0]
    lines = [line for line in example_text.splitlines() if not line.startswith(key)]
    text = "\n".join(lines).replace("[session] ", f"[session]\n{change}\n#")
    assert holds(looks(example_text), looks(text))


def test_who_likes_it_easy_gets_no_challenges(run: Any, write: Any, example_text: str) -> None:
    """Under a town's sky."""
    easy = example_text.replace("easy_share = 0.5", "easy_share = 1.0")
    found = run(*ARGV, "--sky", "19", "--config", write("easy.toml", easy)).json["looks"]
    assert found
    assert {look["view"]["grade"] for look in found} == {"easy"}


def times(*minutes: float, evening: str = "a") -> list[tuple[str, str]]:
    """Return looks of an evening, the latest first."""
    start = datetime.fromisoformat("2026-11-28T18:00:00+00:00")
    instants = [(evening, (start + timedelta(minutes=m)).isoformat()) for m in minutes]
    return instants[::-1]


def test_gaps_are_those_of_one_evening() -> None:
    """Breaks, and what was entered at once afterwards, tell no pace."""
    evenings = times(0, 12, 25, 25.2, 100, 110) + times(5, 16, evening="b")
    assert gaps_between_looks_min(evenings) == pytest.approx([10.0, 13.0, 12.0, 11.0])


def test_a_pace_is_learned_from_ten_gaps() -> None:
    """Twelve minutes from look to look: five at the eyepiece, six to find, one to change."""
    usual = ObservingPace()
    assert usual.learned([12.0] * 9, driven=False) is None
    found = usual.learned([12.0] * 10, driven=False)
    assert found is not None
    assert found.look_min == pytest.approx(5.0)
    assert usual.at(Tempo.CALM).learned([12.0] * 10, driven=False) is not None
    assert ObservingPace(look_min=20.0).learned([12.0] * 10, driven=False) is None
