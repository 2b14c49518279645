"""What is kept in a file counts only while its sources are the same and nothing is damaged."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from targets.array_cache import Arrays, kept, texts_array, texts_of
from targets.bright_stars import load_bright_stars
from targets.files import Shelf

NAMES = ("Vega", "Ζαύρακ", "")


@pytest.fixture
def shelf(tmp_path: Path) -> Iterator[Path]:
    """Return the folder in which files are kept; it does not exist yet."""
    Shelf.folder = tmp_path / "cache" / "deeper"
    yield Shelf.folder
    Shelf.folder = None


class Maker:
    """Makes arrays out of a source, and counts how often."""

    def __init__(self, source: Path) -> None:
        self.source, self.times = source, 0
        source.write_text("3.5")

    def __call__(self) -> float:
        """Return the number of the source, by way of the file that is kept."""
        arrays = kept("some", lambda: [self.source], self._make)
        assert texts_of(arrays["names"]) == list(NAMES)
        return float(arrays["number"][0])

    def _make(self) -> Arrays:
        self.times += 1
        number = np.array([float(self.source.read_text())])
        return {"number": number, "names": texts_array(NAMES)}


@pytest.fixture
def maker(tmp_path: Path) -> Maker:
    """Return a maker of arrays."""
    return Maker(tmp_path / "source")


def test_what_was_made_once_is_read(shelf: Path, maker: Maker) -> None:
    """The second time nothing is made, and only the file of that name is in the folder."""
    assert [maker(), maker()] == [3.5, 3.5]
    assert maker.times == 1
    assert [path.name for path in shelf.iterdir()] == ["some.npz"]


def test_a_changed_source_makes_it_anew(shelf: Path, maker: Maker) -> None:
    """Length and name of the source stay the same; and what is new is kept in its turn."""
    assert maker() == 3.5
    maker.source.write_text("4.5")
    assert [maker(), maker()] == [4.5, 4.5]
    assert maker.times == 2
    assert len(list(shelf.iterdir())) == 1


def test_no_damage_reaches_the_arrays(shelf: Path, maker: Maker) -> None:
    """A wrong bit anywhere, a file cut off or an empty one is made anew."""
    maker()
    file = shelf / "some.npz"
    whole = file.read_bytes()
    wrong = [
        whole[:place] + bytes([whole[place] ^ 16]) + whole[place + 1 :]
        for place in range(0, len(whole), 37)
    ]
    for content in (*wrong, whole[:100], whole[:-1], b"", whole + b"x"):
        file.write_bytes(content)
        before = maker.times
        assert maker() == 3.5
        assert maker.times == before + 1
        assert file.read_bytes() == whole


@pytest.mark.parametrize("there", ["a file for the folder", "a folder for the file"])
def test_where_nothing_can_be_kept_it_is_made(shelf: Path, maker: Maker, there: str) -> None:
    """Neither reading nor writing works, and nothing is said or left behind."""
    if there == "a file for the folder":
        shelf.parent.write_text("in the way")
    else:
        (shelf / "some.npz").mkdir(parents=True)
    assert [maker(), maker()] == [3.5, 3.5]
    assert maker.times == 2
    if shelf.is_dir():
        assert [path.name for path in shelf.iterdir()] == ["some.npz"]


def test_without_a_folder_nothing_is_kept(tmp_path: Path, maker: Maker) -> None:
    """So it is in this process as long as nobody names one."""
    assert [maker(), maker()] == [3.5, 3.5]
    assert maker.times == 2
    assert [path.name for path in tmp_path.iterdir()] == ["source"]


def test_kept_stars_are_those_of_the_table(shelf: Path) -> None:
    """Numbers and words are the same before and after they went through a file."""
    made, read = (load_bright_stars.__wrapped__() for _ in range(2))
    assert (shelf / "bright-stars.npz").is_file()
    for name in made.__slots__:
        np.testing.assert_array_equal(getattr(made, name), getattr(read, name))
