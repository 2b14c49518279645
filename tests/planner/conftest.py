"""What the tests of the planner share: the ephemeris, the example, the program to run."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime
from importlib.resources import files
from pathlib import Path
from typing import Any, NamedTuple

import pytest
from kept_work import keep

from planner.cli.main import main
from planner.config.settings import Settings, read_settings
from planner.ephemeris.kernel import Ephemeris, load_ephemeris
from planner.request.options import Surroundings


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
    """Return the day on which the tests take place."""
    return date(2026, 3, 1)


@pytest.fixture(scope="session")
def example_text() -> str:
    """Return the text of the example file."""
    return files("planner.config").joinpath("example.toml").read_text("utf-8")


@pytest.fixture(scope="session")
def example(example_text: str, today: date) -> Settings:
    """Return the example as settings."""
    return read_settings(example_text, source="example.toml", today=today)


# A Wednesday afternoon, the night of 25 November 2026 still ahead.
AFTERNOON = datetime(2026, 11, 25, 15, 0, tzinfo=UTC)


class Result(NamedTuple):
    """What came of a run."""

    status: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        """What standard output holds as JSON; NaN and the like are refused."""
        return json.loads(self.out, parse_constant=_refuse)


def _refuse(word: str) -> None:
    raise AssertionError(f"{word} is no JSON")


Run = Callable[..., Result]
ASKED_OFTEN = (
    "planner.cli.plan_steps.plan_night",
    "planner.cli.two_telescopes.plan_both",
    "planner.cli.look.look_at",
    "planner.cli.nights.coming_nights",
    "planner.cli.kit.advice.year_of_looks",
)


@pytest.fixture
def run(
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    tmp_path: Path,
    example_text: str,
) -> Run:
    """Return a function that runs the program with the example as the user's configuration.

    The same question is worked out once, however often it is asked.
    """
    keep(monkeypatch, *ASKED_OFTEN)
    configuration = tmp_path / "home" / "fieldstop.toml"
    configuration.parent.mkdir()
    configuration.write_text(example_text, "utf-8")

    def run(*argv: str, now: datetime = AFTERNOON, home: Path = configuration) -> Result:
        capsys.readouterr()
        status = main(argv, surroundings=Surroundings(now, home, home.parent / "data"))
        out, err = capsys.readouterr()
        return Result(status, out, err)

    return run


@pytest.fixture
def write(tmp_path: Path) -> Callable[[str, str | bytes], str]:
    """Return a function that writes a file and gives its path."""

    def write(name: str, content: str | bytes) -> str:
        path = tmp_path / name
        path.write_bytes(content.encode() if isinstance(content, str) else content)
        return str(path)

    return write


@pytest.fixture
def site_file(write: Any, example_text: str) -> Callable[..., str]:
    """Return a function that writes the example's kit with another site."""

    def site_file(latitude_deg: float, longitude_deg: float, timezone: str) -> str:
        before, _, rest = example_text.partition("[[site]]")
        _, _, kit = rest.partition("[[telescope]]")
        site = (
            f'[[site]]\nname = "There"\nlatitude_deg = {latitude_deg}\n'
            f'longitude_deg = {longitude_deg}\ntimezone = "{timezone}"\nsky_mag_arcsec2 = 21.2\n\n'
        )
        return write("site.toml", f"{before}{site}[[telescope]]{kit}")

    return site_file
