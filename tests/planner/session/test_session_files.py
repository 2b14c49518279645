"""A session on disk: exact, whole at every moment, and not trusted when it is read."""

from __future__ import annotations

import json
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from planner.session.files import load_state, previous_path, put_aside, save_state
from planner.session.json_readers import SessionFileError
from planner.session.moves.clouds import cloud_here
from planner.session.moves.looks import done, skip
from planner.session.state import SessionState
from planner.session.state_json import (
    from_json,
    salvaged,
    to_json,
)

# Saves until it is killed. What it writes grows and shrinks, so that a half would be seen.
SAVE_FOR_EVER = """
import sys
from pathlib import Path
from planner.session.files import load_state, save_state
from planner.session.state import undo
path = Path(sys.argv[1])
long = load_state(path)[0]
short = undo(undo(long)[0])[0]
print("ready", flush=True)
while True:
    save_state(path, short)
    save_state(path, long)
"""


@pytest.fixture(scope="module")
def moved(spring: Any) -> SessionState:
    """Return a session after some moves, with cloud and a past."""
    state, _ = done(spring.night, spring.begun, spring.after(12.5))
    state, _ = cloud_here(
        spring.night,
        state,
        spring.after(20) + timedelta(microseconds=123456),
        direction="W",
        until=spring.after(45),
    )
    return skip(spring.night, state, spring.after(30))[0]


def test_json_gives_back_the_same_state(moved: SessionState) -> None:
    """With its past, to the microsecond; in plain ASCII."""
    text = to_json(moved)
    assert from_json(text) == moved
    assert text.isascii()
    assert len(moved.past) == 3


def test_a_night_of_an_older_program_is_read(moved: SessionState) -> None:
    """Its looks have no cause; nothing else is missing."""
    content = json.loads(to_json(moved))
    for state in (content, *content["past"]):
        for look in state["looks"]:
            assert look.pop("cause") in {None, "cloud", "window", "no room", "too faint"}
    read = from_json(json.dumps(content))
    assert [replace(look, cause=None) for look in moved.looks] == list(read.looks)
    assert len(read.past) == len(moved.past)


def test_a_file_gives_back_the_same_state(moved: SessionState, tmp_path: Path) -> None:
    """And the one before is kept beside it."""
    path = tmp_path / "session.json"
    save_state(path, moved.past[0])
    save_state(path, moved)
    assert load_state(path) == (moved, ())
    assert from_json(previous_path(path).read_text()) == moved.past[0]
    kept = sorted(item.name for item in tmp_path.iterdir())
    assert kept == ["session.json", "session.json.previous"]


@pytest.mark.skipif(sys.platform == "win32", reason="no SIGKILL")
def test_a_kill_at_any_moment_leaves_a_whole_state(moved: SessionState, tmp_path: Path) -> None:
    """Killed twelve times at different moments while it saves, it is never torn."""
    path = tmp_path / "session.json"
    for n in range(12):
        save_state(path, moved)
        with subprocess.Popen(
            [sys.executable, "-c", SAVE_FOR_EVER, str(path)], stdout=subprocess.PIPE
        ) as process:
            assert process.stdout is not None
            assert process.stdout.readline() == b"ready\n"
            time.sleep(0.003 * n)
            process.send_signal(signal.SIGKILL)
        state, words = load_state(path)
        assert words == ()
        assert state.looks in (moved.looks, moved.past[1].looks)


@pytest.mark.parametrize("left", ["fresh only", "fresh and previous"])
def test_a_kill_between_two_renames_loses_nothing(
    moved: SessionState, tmp_path: Path, left: str
) -> None:
    """The new state is whole under its other name before the old one is touched."""
    path = tmp_path / "session.json"
    save_state(path, moved.past[0])
    path.replace(previous_path(path))
    path.with_name("session.json.new").write_text(to_json(moved))
    if left == "fresh only":
        previous_path(path).unlink()
    assert load_state(path) == (moved, ())


def test_a_cut_off_file_gives_the_copy_before_it(moved: SessionState, tmp_path: Path) -> None:
    """A sentence says so, and what is left of the damaged file is put aside."""
    path = tmp_path / "session.json"
    save_state(path, moved.past[1])
    save_state(path, moved)
    half = path.read_text()[: len(to_json(moved)) // 2]
    path.write_text(half)
    state, words = load_state(path)
    assert state == moved.past[1]
    assert words[0].startswith(f"{path}: The session is damaged or cut off half way.")
    assert "session.json.damaged" in words[0]
    assert path.with_name(f"{path.name}.damaged").read_text() == half
    save_state(path, state)
    assert from_json(previous_path(path).read_text()) == moved.past[1]


def test_a_damaged_file_without_a_copy_stays(tmp_path: Path) -> None:
    """Nothing is put in its place."""
    path = tmp_path / "session.json"
    path.write_bytes(b"\xff\xfe{")
    with pytest.raises(SessionFileError, match=r"other than plain text.*no earlier copy"):
        load_state(path)
    assert path.read_bytes() == b"\xff\xfe{"
    with pytest.raises(SessionFileError, match=r"There is no such session"):
        load_state(tmp_path / "none.json")


def _changed(key: str, value: Any) -> Callable[[dict[str, Any]], None]:
    return lambda content: content.__setitem__(key, value)


def _in_look(key: str, value: Any) -> Callable[[dict[str, Any]], None]:
    return lambda content: content["looks"][0].__setitem__(key, value)


HOSTILE = {
    "another schema": (_changed("schema", "fieldstop.session/9"), "is of the schema"),
    "an unknown key": (_changed("shell", "rm"), "allowed is an object with kit, site"),
    "a terminal escape": (_in_look("name", "M31\x1b[2J"), "printable"),
    "a name too long": (_in_look("name", "x" * 201), "at most 200"),
    "an unknown status": (_in_look("status", "eaten"), '"waiting", "now", "done"'),
    "a time without a zone": (_in_look("start", "2026-03-18T19:00:00"), "a time with its offset"),
    "a time that is none": (_in_look("start", 5), "a time with its offset"),
    "an end before the start": (_in_look("end", "2020-01-01T00:00:00+00:00"), "ends before"),
    "a date that is none": (_changed("evening", "18 March"), "a date of the calendar"),
    "a number for a flag": (_in_look("chosen", 1), "true or false"),
    "too many looks": (_changed("looks", [{}] * 1001), "at most 1000 entries"),
    "a number for a list": (_changed("vetoed", 3), "a list of at most"),
    "a past in the past": (
        lambda c: c["past"][0].__setitem__("past", c["past"][1:]),
        "at most 0 entries",
    ),
    "an azimuth beyond the circle": (
        lambda c: c["closures"][0].__setitem__("azimuth_to_deg", 361.0),
        "a number from 0 to 360",
    ),
    "a target twice": (lambda c: c["looks"].append(c["looks"][0]), "comes twice"),
    "two looks under way": (
        lambda c: [look.__setitem__("status", "now") for look in c["looks"]],
        "two looks are under way",
    ),
}


@pytest.mark.parametrize(("change", "words"), HOSTILE.values(), ids=HOSTILE)
def test_what_cannot_be_is_refused_with_its_place(
    moved: SessionState, change: Callable[[dict[str, Any]], Any], words: str
) -> None:
    """One sentence that is safe to print."""
    content = json.loads(to_json(moved))
    change(content)
    with pytest.raises(SessionFileError, match=words) as caught:
        from_json(json.dumps(content))
    assert str(caught.value).isprintable()
    assert len(str(caught.value)) < 400


@pytest.mark.parametrize(
    "text",
    ["", "[]", "null", '"x"', "{}", "[" * 100_000, '{"schema": NaN}', "1" * 5000],
    ids=["empty", "list", "null", "text", "object", "deep", "NaN", "long number"],
)
def test_other_json_is_no_session(text: str) -> None:
    """However it is made."""
    with pytest.raises(SessionFileError, match="session"):
        from_json(text)


def test_a_huge_file_is_not_parsed() -> None:
    """It is refused by its size."""
    with pytest.raises(SessionFileError, match="larger than 8 MB"):
        from_json(" " * 8_000_001)


def test_overlapping_looks_are_refused(moved: SessionState) -> None:
    """A file that was changed by hand cannot bring the plan out of order."""
    content = json.loads(to_json(moved))
    waiting = [look for look in content["looks"] if look["status"] == "waiting"]
    waiting[1]["start"] = waiting[0]["start"]
    with pytest.raises(SessionFileError, match="two looks overlap"):
        from_json(json.dumps(content))


@pytest.mark.parametrize("place", [0.1, 0.3, 0.5, 0.7, 0.9, 0.999])
def test_cut_off_anywhere_it_is_refused(moved: SessionState, place: float) -> None:
    """Never half a state."""
    text = to_json(moved)
    with pytest.raises(SessionFileError, match="damaged or cut off"):
        from_json(text[: int(len(text.rstrip()) * place)])


def test_damaged_files_are_put_aside_over_no_other(tmp_path: Path) -> None:
    """Three nights in a row: three copies, each as it was."""
    path = tmp_path / "night.json"
    names = []
    for content in ("one", "two", "three"):
        path.write_text(content, "utf-8")
        names.append(put_aside(path).name)
    assert names == ["night.json.damaged", "night.json.damaged2", "night.json.damaged3"]
    assert [(tmp_path / name).read_text("utf-8") for name in names] == ["one", "two", "three"]


SPARED = {
    "a text with an escape": _in_look("name", "M31\x1b[2J"),
    "a reason that is none": _in_look("reason", 5),
    "a status that is none": _in_look("status", "eaten"),
    "a cause that is none": _in_look("cause", "eaten"),
    "a field too many": _changed("shell", "rm"),
    "a list that is none": _changed("vetoed", 3),
    "a target twice": lambda c: c["looks"].append(c["looks"][0]),
    "a faulty sector": lambda c: c["closures"][0].__setitem__("azimuth_to_deg", 361.0),
    "a clock that is none": _changed("clock", "noon"),
    "a kit that is none": _changed("kit", 5),
    "a site that is none": _changed("site", None),
    "a move of the past": lambda c: c["past"][1].__setitem__("clock", None),
}


@pytest.mark.parametrize("change", SPARED.values(), ids=SPARED)
def test_a_faulty_field_is_lost_and_not_the_night(
    moved: SessionState, tmp_path: Path, change: Callable[[dict[str, Any]], Any]
) -> None:
    """Both copies have the fault: all other looks stay, and the file itself is kept aside."""
    content = json.loads(to_json(moved))
    change(content)
    path = tmp_path / "session.json"
    for copy in (path, previous_path(path)):
        copy.write_text(json.dumps(content))
    state, words = load_state(path)
    assert set(moved.looks[1:]) <= set(state.looks)
    assert (state.evening, state.end, state.focuser) == (moved.evening, moved.end, moved.focuser)
    assert "goes on without what cannot be read" in words[0]
    assert path.with_name(f"{path.name}.damaged").exists()
    assert from_json(to_json(state)) == state, "what is left is a night that can be saved"


def test_looks_that_cannot_be_read_are_those_before_the_last_move(moved: SessionState) -> None:
    """One move is lost then, not the list."""
    content = json.loads(to_json(moved))
    content["looks"] = "none"
    state, _ = salvaged(json.dumps(content))
    assert state.looks == moved.past[-1].looks
    assert state.looks


def test_what_is_lost_is_named(moved: SessionState) -> None:
    """A sentence for each place; a whole session loses nothing."""
    assert salvaged(to_json(moved)) == (moved, ())
    content = json.loads(to_json(moved))
    content["looks"][0]["name"] = "M31\u202e"
    content["vetoed"] = [3]
    state, lost = salvaged(json.dumps(content))
    assert state.looks[0].name == "M31?"
    assert [sentence.split(": ")[0] for sentence in lost] == [
        'The session, session, "looks" 1, "name"',
        'The session, session, "vetoed" 1',
    ]
