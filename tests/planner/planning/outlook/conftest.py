"""What the tests of the coming nights share: sites, a kit, and the program run in-process."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date

import pytest
from kept_work import kept

from planner.config.settings import example_settings
from planner.ephemeris.kernel import Ephemeris
from planner.model.site import Site
from planner.planning.circumstances import Circumstances
from planner.planning.outlook.best_night import NightOutlook
from planner.planning.outlook.coming_nights import NightsAsked, coming_nights
from planner.request.circumstances import circumstances_of
from planner.request.options import Readings
from targets.catalogue.catalogue import Catalogue, load_catalogue

once = kept(coming_nights)
Look = Callable[..., tuple[NightOutlook, ...]]


@pytest.fixture(scope="session")
def catalogue() -> Catalogue:
    """Return all targets."""
    return load_catalogue()


@pytest.fixture(scope="session")
def sites() -> dict[str, Site]:
    """Return places all over the Earth, by name; dark ones, with a flat horizon."""
    places = {
        "Garden": (51.2, -2.4, "Europe/London"),
        "Tromso": (69.6, 18.9, "Europe/Oslo"),
        "Svalbard": (78.2, 15.6, "Arctic/Longyearbyen"),
        "Pole": (-90.0, 0.0, "Antarctica/McMurdo"),
        "Quito": (-0.2, -78.5, "America/Guayaquil"),
        "Sydney": (-33.9, 151.2, "Australia/Sydney"),
    }
    return {
        name: Site(name, latitude, longitude, timezone=zone, sky_mag_arcsec2=21.0)
        for name, (latitude, longitude, zone) in places.items()
    }


@pytest.fixture(scope="session")
def circumstances() -> Circumstances:
    """Return the example's observer, with the example's reflector and eyepieces."""
    settings = example_settings(today=date(2026, 11, 25))
    return circumstances_of(settings, site=None, telescope=None, readings=Readings())[1]


@pytest.fixture(scope="session")
def look_ahead(
    catalogue: Catalogue, ephemeris: Ephemeris, sites: dict[str, Site], circumstances: Circumstances
) -> Look:
    """Return a function that looks ahead from a site, with targets by their names."""

    def look(
        site: str,
        first: str,
        count: int = 1,
        *,
        wishes: Sequence[str] | None = None,
        target: str | None = None,
        **rest: object,
    ) -> tuple[NightOutlook, ...]:
        asked = NightsAsked(
            first=date.fromisoformat(first),
            count=count,
            target=None if target is None else catalogue.find(target),
        )
        if wishes is not None:
            rest["rows"] = [catalogue.find_index(name) for name in wishes]
        return once(catalogue, ephemeris, sites[site], circumstances, replace(asked, **rest))

    return look
