"""Ways to targets, found under chosen skies."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime

import pytest

from planner.config.conditions import conditions_tonight
from planner.config.settings import example_settings
from planner.ephemeris.almanac import evening_date, find_night
from planner.ephemeris.kernel import Ephemeris
from planner.ephemeris.tracks import track_instants
from planner.model.finding import Finding
from planner.model.kit import Mount, Pointing
from planner.model.site import Site
from planner.planning.circumstances import Circumstances
from planner.planning.finding.of_targets import find_targets
from planner.planning.survey import body_at
from planner.request.circumstances import circumstances_of
from planner.request.options import Readings
from targets.catalogue.catalogue import load_catalogue
from targets.model import Target

SETTINGS = example_settings(today=date(2026, 11, 28))
FIELD = Site("Open field", 51.2, -2.4, 210.0, "Europe/London", 20.9)


@dataclass(frozen=True)
class Searched:
    """A way, the target as it was, and the circumstances."""

    target: Target
    finding: Finding | None
    circumstances: Circumstances


def circumstances_under(
    sky_mag_arcsec2: float,
    *,
    mount: Mount = Mount.ALTAZIMUTH,
    pointing: Pointing = Pointing.HAND,
) -> Circumstances:
    """The example's kit and observer under a sky [mag/arcsec2]."""
    base = circumstances_of(SETTINGS, site=None, telescope=None, readings=Readings())[1]
    telescope = replace(base.telescope, mount=mount, pointing=pointing)
    conditions = conditions_tonight(FIELD, base.observer, sky_mag_arcsec2=sky_mag_arcsec2)
    return replace(base, telescope=telescope, conditions=conditions)


@pytest.fixture(scope="session")
def search(ephemeris: Ephemeris) -> Callable[..., list[Searched]]:
    """Return a function that finds the ways to targets, each on its own, at one instant."""

    def search(
        names: Sequence[str],
        at: str,
        *,
        site: Site = FIELD,
        circumstances: Circumstances | None = None,
    ) -> list[Searched]:
        instant = datetime.fromisoformat(at).replace(tzinfo=UTC)
        night = find_night(ephemeris, site, evening_date(instant, site))
        grid = track_instants(ephemeris, night, [instant])
        around = circumstances or circumstances_under(21.0)
        found = []
        for name in names:
            target = body_at(load_catalogue().find(name), ephemeris, grid, instant)
            found.append(Searched(target, find_targets([target], grid, around)[0], around))
        return found

    return search


@pytest.fixture(scope="session")
def under() -> Callable[..., Circumstances]:
    """Return a function that makes circumstances; see `circumstances_under`."""
    return circumstances_under
