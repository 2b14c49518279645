"""What the tests of advice share: the example's observer, and a year of few nights."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np
import pytest

from planner.advice.year import Year, year_of_looks
from planner.advice.year_targets import targets_of_year
from planner.config.settings import Settings, example_settings
from planner.ephemeris.kernel import Ephemeris
from planner.model.kit import Barrel, Eyepiece, Kit
from planner.model.site import Site
from planner.planning.circumstances import Circumstances
from planner.request.circumstances import circumstances_of
from planner.request.options import Readings
from targets.catalogue.catalogue import Catalogue, load_catalogue

FIRST = date(2026, 11, 25)
# Nine nights stand for the year: in all seasons, at all phases of the Moon.
FEW_NIGHTS_DAYS = 43

MakeYear = Callable[..., Year]


@pytest.fixture(scope="session")
def catalogue() -> Catalogue:
    """Return all targets."""
    return load_catalogue()


@pytest.fixture(scope="session")
def settings() -> Settings:
    """Return the built-in example."""
    return example_settings(today=FIRST)


@pytest.fixture(scope="session")
def circumstances(settings: Settings) -> Circumstances:
    """Return the example's observer with the reflector."""
    return circumstances_of(settings, site=None, telescope=None, readings=Readings())[1]


@pytest.fixture(scope="session")
def garden(settings: Settings) -> Site:
    """Return the example's first site."""
    return settings.site()


@pytest.fixture(scope="session")
def kit(settings: Settings) -> Kit:
    """Return the example's kit."""
    return settings.kit


@pytest.fixture(scope="session")
def make_year(
    catalogue: Catalogue, ephemeris: Ephemeris, garden: Site, circumstances: Circumstances
) -> MakeYear:
    """Return a function that gathers a year of few nights, for names of targets or for all."""

    def make(
        *names: str,
        site: Site = garden,
        who: Circumstances = circumstances,
        every_days: int = FEW_NIGHTS_DAYS,
        first: date = FIRST,
        **rest: Any,
    ) -> Year:
        rows = np.array([catalogue.find_index(name) for name in names], dtype=np.intp)
        return year_of_looks(
            catalogue,
            ephemeris,
            site,
            who,
            rows=rows if names else targets_of_year(catalogue, site, who),
            first=first,
            every_days=every_days,
            **rest,
        )

    return make


@pytest.fixture(scope="session")
def year(make_year: MakeYear) -> Year:
    """Return the year of all that plans would hold."""
    return make_year()


@pytest.fixture(scope="session")
def driven(circumstances: Circumstances) -> Circumstances:
    """Return the same observer with a driven mount, which holds a planet in any field."""
    return replace(circumstances, telescope=replace(circumstances.telescope, driven=True))


@pytest.fixture(scope="session")
def eyepiece() -> Callable[..., Eyepiece]:
    """Return a function that makes an eyepiece."""

    def make(focal_mm: float, field_deg: float, barrel: Barrel, **rest: Any) -> Eyepiece:
        return Eyepiece(f"{focal_mm:g}/{field_deg:g}", (focal_mm,), (field_deg,), barrel, **rest)

    return make
