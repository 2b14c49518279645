"""The catalogue, read once for all tests of the targets."""

from __future__ import annotations

import pytest

from targets.catalogue.catalogue import Catalogue, load_catalogue


@pytest.fixture(scope="session")
def catalogue() -> Catalogue:
    """Return the one catalogue."""
    return load_catalogue()
