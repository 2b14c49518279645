"""What was worked out of the journal's eye serves again, as long as nothing of it has changed."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from planner.config.settings import Settings
from planner.journal.store.journal import open_journal
from planner.model.own_eye import EyePart, GlassShare, OwnEye
from planner.request.circumstances import circumstances_of
from planner.request.experience import taught
from planner.request.options import Readings
from planner.request.own_eye import learned
from planner.request.own_eye.cache import FILE_NAME, eye_key, keep_eye, kept_eye

EYE = OwnEye(
    deeper_mag=0.4,
    sd_mag=0.1,
    looks=60,
    stated_mag=0.24,
    left_out=(("by another observer", 2),),
    stars=EyePart(0.5, 0.2, 20),
    glows=EyePart(0.3, 0.1, 40),
    glass=(GlassShare("Reflector", 0.9, 0.15, 30),),
)


@pytest.fixture
def journal(tmp_path: Path) -> Path:
    """Return the file of a journal that is there, and empty."""
    path = tmp_path / "journal.sqlite"
    with open_journal(path):
        pass
    return path


@pytest.mark.parametrize("eye", [EYE, replace(EYE, stars=None, glows=None, glass=()), None])
def test_what_is_kept_comes_back(journal: Path, eye: OwnEye | None) -> None:
    """Whole, for its key alone, and for its owner's eyes."""
    keep_eye(journal, "key", eye)
    assert kept_eye(journal, "key") == (True, eye)
    assert kept_eye(journal, "another key") == (False, None)
    assert journal.with_name(FILE_NAME).stat().st_mode & 0o077 == 0


@pytest.mark.parametrize(
    "text",
    ["", "{", "[]", "null", '{"key": "key", "eye": {}}', '{"key": "key", "eye": 3}', "[" * 9999],
)
def test_a_damaged_file_is_as_good_as_none(journal: Path, text: str) -> None:
    """It costs nothing but the time to work the eye out again."""
    journal.with_name(FILE_NAME).write_text(text, encoding="utf-8")
    assert kept_eye(journal, "key") == (False, None)


def test_a_file_that_lies_about_a_number_is_as_good_as_none(journal: Path) -> None:
    """A word where a number belongs is found out."""
    keep_eye(journal, "key", EYE)
    path = journal.with_name(FILE_NAME)
    kept = json.loads(path.read_text())
    kept["eye"]["sd_mag"] = "much"
    path.write_text(json.dumps(kept))
    assert kept_eye(journal, "key") == (False, None)


def test_the_key_changes_with_what_is_in_an_eye(journal: Path, example: Settings) -> None:
    """With observer, sites, telescopes and preferences, and with the journal's file."""
    telescopes = tuple(replace(one, transmission=0.7) for one in example.kit.telescopes)
    sites = tuple(replace(one, sky_mag_arcsec2=18.0) for one in example.sites)
    changed = [
        replace(example, observer=replace(example.observer, dark_pupil_mm=5.0)),
        replace(example, sites=sites),
        replace(example, kit=replace(example.kit, telescopes=telescopes)),
        replace(example, match={"galaxy": {"model": "stars"}}),
    ]
    keys = {eye_key(journal, settings) for settings in (example, *changed)}
    assert len(keys) == len(changed) + 1
    before = eye_key(journal, example)
    with open_journal(journal) as opened:
        opened.sessions()
    assert eye_key(journal, example) == before, "reading is no change"


def test_an_eye_is_worked_out_once(
    simulate: Any, tmp_path: Path, example: Settings, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The second plan takes what the first one found; a new look has it worked out again."""
    path = simulate(tmp_path / "journal.sqlite", eye_mag=0.5, count=40)
    counted = []
    real = learned.fit_eye
    monkeypatch.setattr(learned, "fit_eye", lambda *a, **k: counted.append(1) or real(*a, **k))
    _, circumstances = circumstances_of(example, site=None, telescope=None, readings=Readings())

    def eye() -> OwnEye | None:
        told, _ = taught(circumstances, path, example, leaning=False, own_eye=True)
        return told.eye

    first = eye()
    assert first is not None
    assert eye() == first
    assert len(counted) == 1
    with open_journal(path) as opened:
        opened.remove_entry(opened.entries()[0].id, removed_at=opened.entries()[0].at)
    after = eye()
    assert len(counted) == 2
    assert after is not None
    assert after.looks == first.looks - 1
