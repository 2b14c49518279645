"""Files are written whole or not at all, and never over another."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import pytest

from planner.cli import result as delivery
from planner.model.errors import InputError


def test_a_disk_that_fills_up_leaves_no_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Neither the file nor its draft; the sentence names the file and the reason."""

    class Full(io.BytesIO):
        def write(self, _: Any) -> int:
            raise OSError(28, "No space left on device")

        writelines = write  # type: ignore[assignment]  # it fills up either way

    def filling(draft: Path, *_: object, **__: object) -> Full:
        draft.write_bytes(b"a p")
        return Full()

    monkeypatch.setattr("targets.files.open", filling, raising=False)
    with pytest.raises(InputError, match=r'plan.txt" cannot be written: No space left on device'):
        delivery.write_new_file(tmp_path / "plan.txt", "a plan")
    assert list(tmp_path.iterdir()) == []


def test_a_file_that_has_come_to_be_there_is_kept(tmp_path: Path) -> None:
    """Between the first check and the writing a plan is computed: time enough."""
    path = tmp_path / "plan.txt"
    assert delivery.read_output("--output", str(path)) == path
    path.write_text("mine", "utf-8")
    with pytest.raises(InputError, match="is there already and is not overwritten"):
        delivery.write_new_file(path, "a plan")
    assert path.read_text("utf-8") == "mine"
    assert [entry.name for entry in tmp_path.iterdir()] == ["plan.txt"]


def test_a_new_file_is_as_readable_as_any_other(tmp_path: Path) -> None:
    """The result has the rights that the user's other files have."""
    (tmp_path / "usual").touch()
    delivery.write_new_file(tmp_path / "plan.txt", "a plan \u2605")
    usual = (tmp_path / "usual").stat().st_mode
    assert (tmp_path / "plan.txt").stat().st_mode == usual
    assert (tmp_path / "plan.txt").read_text("utf-8") == "a plan \u2605"
