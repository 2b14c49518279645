"""The example file and a fixed day, for all tests of the kit."""

from datetime import date
from importlib.resources import files

import pytest

from planner.config.settings import Settings, read_settings


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
