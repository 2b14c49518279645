"""What the tests of users' lists share: reading from bytes, with places in no constellation."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from targets.catalogue.catalogue import load_catalogue
from targets.userlists.reading import read_table
from targets.userlists.records import Reading

Read = Callable[[str | bytes], Reading]


@pytest.fixture(scope="session")
def read() -> Read:
    """Return a function that reads the content of a file."""

    def read(content: str | bytes) -> Reading:
        plain = content.encode() if isinstance(content, str) else content
        return read_table(plain, load_catalogue(), lambda _ra_deg, _dec_deg: "Ori")

    return read
