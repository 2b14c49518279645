"""A telescope, a train and a place to draw fields with; all invented."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime

import pytest

from planner.config.conditions import conditions_tonight
from planner.config.settings import example_settings
from planner.ephemeris.kernel import load_ephemeris
from planner.matcher.trains import make_trains
from planner.model.kit import Mount, Orientation, Train
from planner.model.site import Site
from planner.output.drawing.field import ViewedSky
from targets.catalogue.catalogue import Catalogue, load_catalogue

NORTH = Site("Garden", 51.2, -2.4, 210.0, "Europe/London", 20.9)
SOUTH = Site("Southern hills", -33.9, 150.5, 300.0, "Australia/Sydney", 21.5)
POLE = Site("Pole", 90.0, 0.0, 0.0, "UTC", 21.5)
SITES = {"north": NORTH, "south": SOUTH, "pole": POLE}
EVENING = datetime(2026, 12, 8, 20, 0, tzinfo=UTC)

TrainMaker = Callable[..., Train]
Around = Callable[..., ViewedSky]


@pytest.fixture(scope="session")
def catalogue() -> Catalogue:
    """Return all there is."""
    return load_catalogue()


@pytest.fixture
def train() -> TrainMaker:
    """Return a function that makes a train of the example's kit with a field of so many arcmin."""

    def train(
        orientation: Orientation = Orientation.UPRIGHT,
        mount: Mount = Mount.EQUATORIAL,
        field_arcmin: float = 60.0,
    ) -> Train:
        kit = example_settings(today=date(2026, 12, 8)).kit
        telescope = replace(kit.telescopes[0], mount=mount, orientation=orientation)
        plain = next(t for t in make_trains(telescope, kit) if not (t.amplifier or t.filter))
        return replace(plain, true_field_arcmin=field_arcmin)

    return train


@pytest.fixture
def around() -> Around:
    """Return a function that makes the circumstances of a site and an instant."""

    def around(site: str = "north", instant: datetime = EVENING) -> ViewedSky:
        place = SITES[site]
        observer = example_settings(today=date(2026, 12, 8)).observer
        return ViewedSky(load_ephemeris(), place, instant, conditions_tonight(place, observer))

    return around
