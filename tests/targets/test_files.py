"""Files are text or the reason is told, and are written whole or not at all."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest

from targets.files import AS_USUAL, FOR_THE_OWNER, NotTextError, draft_of, typed_text, utf8_text


def test_a_mark_before_the_text_is_no_part_of_it() -> None:
    """Some editors write one (Unicode Standard, 23.8: EF BB BF)."""
    assert utf8_text(b"\xef\xbb\xbfcaf\xc3\xa9") == "café"
    assert utf8_text(b"") == ""


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"caf\xe9", "line 1 holds a character that is not UTF-8; save the file as UTF-8"),
        (b"a\nb\r\ncaf\xe9\n\xff", "line 3 holds a character that is not UTF-8"),
        ("café".encode("utf-16"), "text in UTF-16; save it as UTF-8"),
        (b"\xfe\xff" + "café".encode("utf-16-be"), "text in UTF-16"),
    ],
)
def test_what_is_not_utf_8_is_told_with_its_line(content: bytes, told: str) -> None:
    """Of several such characters the first one counts."""
    for read in (utf8_text, lambda given: typed_text(given, needed="a list")):
        with pytest.raises(NotTextError) as caught:
            read(content)
        assert str(caught.value).startswith(told)


def test_a_zero_byte_stands_in_no_typed_text() -> None:
    """What is needed is told instead; elsewhere it is a character like another."""
    with pytest.raises(NotTextError, match=r"^not a text file; a list in UTF-8 is needed$"):
        typed_text(b"M31\0\xe9", needed="a list in UTF-8")
    assert utf8_text(b"M31\0") == "M31\0"


def test_a_draft_holds_the_whole_text_before_the_place_is_touched(tmp_path: Path) -> None:
    """Line ends stay as they are; the old file stands until the draft is moved."""
    path = tmp_path / "list"
    path.write_text("old", "utf-8")
    with draft_of(path, "né\r\nw\ud800\n", rights=AS_USUAL) as draft:
        assert draft.parent == path.parent
        assert draft.read_bytes() == b"n\xc3\xa9\r\nw?\n"
        assert path.read_text("utf-8") == "old"
        draft.replace(path)
    assert [item.name for item in tmp_path.iterdir()] == ["list"]
    assert path.read_bytes().startswith(b"n\xc3\xa9")


def test_a_draft_that_is_not_moved_goes(tmp_path: Path) -> None:
    """Whatever stopped it; nothing else is touched."""
    path = tmp_path / "list"
    path.write_text("old", "utf-8")
    with pytest.raises(KeyError), draft_of(path, "new", rights=AS_USUAL):
        raise KeyError
    assert [item.name for item in tmp_path.iterdir()] == ["list"]
    assert path.read_text("utf-8") == "old"


@pytest.mark.skipif(sys.platform == "win32", reason="no rights of this kind")
@pytest.mark.parametrize(("mask", "usual", "own"), [(0o022, 0o644, 0o600), (0o077, 0o600, 0o600)])
def test_rights_are_those_asked_for_less_the_mask(
    tmp_path: Path, mask: int, usual: int, own: int
) -> None:
    """A private file is so from its first moment, whatever the mask."""
    before = os.umask(mask)
    try:
        for rights, expected in ((AS_USUAL, usual), (FOR_THE_OWNER, own)):
            with draft_of(tmp_path / "list", "new", rights=rights) as draft:
                assert draft.stat().st_mode & 0o777 == expected
    finally:
        os.umask(before)


@pytest.mark.parametrize("lasts", [True, False])
def test_a_text_outlasts_a_power_cut_where_asked(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, *, lasts: bool
) -> None:
    """It is on the disk before the caller moves it."""
    synced: list[int] = []
    monkeypatch.setattr("targets.files.os.fsync", synced.append)
    with draft_of(tmp_path / "list", "new", rights=AS_USUAL, lasts=lasts):
        assert bool(synced) == lasts
