"""The catalogue that is kept in a file is the one that was put together."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from targets.catalogue.assembly import assemble
from targets.catalogue.catalogue import load_catalogue
from targets.catalogue.columns import COLUMNS
from targets.files import Shelf


def test_the_kept_catalogue_is_the_very_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Every column with its type, every name, star and feature, and the order of the names."""
    made = assemble()
    monkeypatch.setattr(Shelf, "folder", tmp_path)
    load_catalogue.__wrapped__()
    monkeypatch.setattr("targets.catalogue.assembly.assemble", None)
    read = load_catalogue.__wrapped__()
    for name in COLUMNS:
        np.testing.assert_array_equal(getattr(read, name), getattr(made, name))
        assert getattr(read, name).dtype == getattr(made, name).dtype
        assert not getattr(read, name).flags.writeable
    assert read.texts == made.texts
    assert (read.stars, read.lunar) == (made.stars, made.lunar)
    for name in ("titles", "labels", "note", "messier", "dropped"):
        assert list(getattr(read.texts, name)) == list(getattr(made.texts, name))
