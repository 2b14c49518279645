"""What the tests of the planner share: the ephemeris, the example file, astropy kept offline."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from importlib.resources import files

import pytest

from planner.config.settings import Settings, read_settings
from planner.ephemeris.kernel import Ephemeris, load_ephemeris


@pytest.fixture(scope="session")
def ephemeris() -> Ephemeris:
    """DE421."""
    return load_ephemeris()


@pytest.fixture(scope="session")
def astropy_offline() -> Iterator[None]:
    """Keep astropy to the Earth rotation table in its own package, whatever the date is."""
    from astropy.utils import data, iers  # noqa: PLC0415  # half a second, for a few tests only

    with (
        iers.conf.set_temp("auto_download", value=False),
        iers.conf.set_temp("auto_max_age", value=None),
        iers.conf.set_temp("iers_degraded_accuracy", value="warn"),
        data.conf.set_temp("allow_internet", value=False),
    ):
        yield


@pytest.fixture(scope="session")
def today() -> date:
    """Give the day on which the tests take place."""
    return date(2026, 3, 1)


@pytest.fixture(scope="session")
def example_text() -> str:
    """Give the text of the example file."""
    return files("planner.config").joinpath("example.toml").read_text("utf-8")


@pytest.fixture(scope="session")
def example(example_text: str, today: date) -> Settings:
    """Give the example as settings."""
    return read_settings(example_text, source="example.toml", today=today)
