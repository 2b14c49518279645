"""An ephemeris, sites and instants for the tests of the bodies' faces."""

from __future__ import annotations

import json
import random
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from planner.cli.main import main
from planner.ephemeris.kernel import Ephemeris, load_ephemeris
from planner.model.site import Site
from planner.request.options import Surroundings


@pytest.fixture(scope="session")
def sky() -> Ephemeris:
    """Return the ephemeris."""
    return load_ephemeris()


@pytest.fixture(scope="session")
def at_tt(sky: Ephemeris) -> Callable[..., datetime]:
    """Return what turns a date of dynamical time, as almanacs print it, into an instant (UTC)."""

    def instant(year: int, month: int, day: int, hour: int = 0) -> datetime:
        found: datetime = sky.timescale.tt(year, month, day, hour).utc_datetime()
        return found

    return instant


@pytest.fixture(scope="session")
def nights() -> list[datetime]:
    """Return 50 instants of the years for which the second library has tables of the moons."""
    chance = random.Random(8)  # noqa: S311  # no secret
    first = datetime(1999, 3, 1, tzinfo=UTC)
    return [first + timedelta(days=chance.uniform(0.0, 7400.0)) for _ in range(50)]


def site_at(latitude_deg: float, longitude_deg: float = 0.0) -> Site:
    """Return a site."""
    return Site("Place", latitude_deg, longitude_deg, 0.0, "UTC", sky_mag_arcsec2=21.0)


@pytest.fixture
def north() -> Site:
    """Return a site in Europe."""
    return site_at(51.2, -2.4)


@pytest.fixture
def south() -> Site:
    """Return a site in southern Africa."""
    return site_at(-34.0, 18.5)


@pytest.fixture
def pole() -> Site:
    """Return a site near the north pole."""
    return site_at(89.9)


KIT = """
[[telescope]]
name = "Tube"
aperture_mm = 200
focal_length_mm = 1200
obstruction_mm = 50
focuser = "2in"
{orientation}
[[eyepiece]]
name = "Ten"
focal_length_mm = 10
apparent_field_deg = 60
barrel = "1.25in"
[[site]]
name = "Place"
latitude_deg = {latitude}
longitude_deg = {longitude}
timezone = "UTC"
{more}
"""


@dataclass(frozen=True)
class Result:
    """What came of a run."""

    status: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        """What standard output holds as JSON."""
        return json.loads(self.out)


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> Callable[..., Result]:
    """A function that runs the program at a latitude, with one telescope and one eyepiece."""

    def run(
        *argv: str, latitude: float = 51.2, longitude: float = 0.0, more: str = "", up: str = ""
    ) -> Result:
        home = tmp_path / "fieldstop.toml"
        orientation = f'orientation = "{up}"' if up else ""
        text = KIT.format(
            latitude=latitude, longitude=longitude, more=more, orientation=orientation
        )
        home.write_text(text, "utf-8")
        now = datetime(2026, 11, 25, 15, tzinfo=UTC)
        status = main(argv, surroundings=Surroundings(now, home, tmp_path / "data"))
        out, err = capsys.readouterr()
        return Result(status, out, err)

    return run
