"""A night's file whose bits turn or whose end is cut off: some of it is read, or a sentence."""

from __future__ import annotations

import random
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from planner.session.files import load_state, previous_path, save_state
from planner.session.json_readers import SessionFileError
from planner.session.moves.looks import done, skip
from planner.session.state import SessionState

FEW, MANY = 60, 3000


@pytest.fixture
def saved(spring: Any, tmp_path: Path) -> tuple[Path, SessionState, SessionState]:
    """Return the file of a night after two moves, and the states that it and its copy hold."""
    path = tmp_path / "night.json"
    first, _ = done(spring.night, spring.begun, spring.after(12.5))
    second, _ = skip(spring.night, first, spring.after(30))
    save_state(path, first)
    save_state(path, second)
    return path, second, first


@pytest.mark.parametrize("times", [FEW, pytest.param(MANY, marks=pytest.mark.slow)])
@pytest.mark.parametrize("kind", ["flip", "cut", "noise"])
@pytest.mark.parametrize("hits_copy", [False, True], ids=["file", "both"])
def test_damage_costs_at_most_a_move(
    times: int, kind: str, hits_copy: bool, saved: tuple[Path, SessionState, SessionState]
) -> None:
    """With its copy sound, the night stands where it did or one move earlier.

    Where both are damaged there is a state or a sentence, and what was damaged is kept.
    """
    path, _, first = saved
    sound = {place: place.read_bytes() for place in (path, previous_path(path))}
    read = refused = 0
    for seed in range(times):
        chance = random.Random(seed)  # noqa: S311  # places, not secrets
        for place, content in sound.items():
            is_hit = hits_copy or place == path
            place.write_bytes(damaged(chance, content, kind) if is_hit else content)
        try:
            state, said = load_state(path)
        except SessionFileError as error:
            refused += hits_copy and str(error).startswith(f"{path}: ")
            continue
        read += 1
        if said:
            assert list(path.parent.glob("night.json.damaged*"))
        if not hits_copy and said:
            assert replace(state, clock=first.clock) == first
        for left in path.parent.glob("night.json.damaged*"):
            left.unlink()
    print(f"\n{kind}, {'both' if hits_copy else 'file'}: {times} tried, {refused} refused")  # noqa: T201  # the figures
    assert read + refused == times  # nothing is refused while the copy is sound


def damaged(chance: random.Random, content: bytes, kind: str) -> bytes:
    """Return a file with one bit turned, cut off, or with noise in it."""
    place = chance.randrange(len(content))
    if kind == "cut":
        return content[:place]
    changed = bytearray(content)
    if kind == "flip":
        changed[place] ^= 1 << chance.randrange(8)
    else:
        changed[place : place + 50] = chance.randbytes(50)
    return bytes(changed)
