"""A plan across the night in which clocks go back, made once."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime

import pytest

from planner.config.settings import example_settings
from planner.ephemeris.almanac import find_night
from planner.ephemeris.kernel import load_ephemeris
from planner.model.plan import Plan
from planner.planning.circumstances import Wishes
from planner.planning.plan import plan_night
from planner.request.circumstances import circumstances_of
from planner.request.options import Readings
from targets.catalogue.catalogue import load_catalogue

Named = Callable[[str], Plan]


@pytest.fixture(scope="session")
def autumn_plan() -> Plan:
    """Return the example's plan for 24 to 25 October 2026; British clocks go back at 01:00 UTC."""
    settings = example_settings(today=date(2026, 10, 24))
    site, circumstances = circumstances_of(settings, site=None, telescope=None, readings=Readings())
    return plan_night(
        load_catalogue(),
        load_ephemeris(),
        find_night(load_ephemeris(), site, date(2026, 10, 24)),
        start=datetime(2026, 10, 24, 23, 0, tzinfo=UTC),
        end=datetime(2026, 10, 25, 4, 0, tzinfo=UTC),
        circumstances=circumstances,
        wishes=Wishes(),
    )


@pytest.fixture
def named(autumn_plan: Plan) -> Named:
    """Return a function that puts a name of somebody's own into target, eyepiece and reasons."""

    def named(name: str) -> Plan:
        look = autumn_plan.looks[0]
        view = look.view
        eyepiece = replace(view.train.eyepiece, name=name)
        train = replace(view.train, eyepiece=eyepiece)
        view = replace(view, train=train, brief=name, reasons=(name,))
        look = replace(look, target=replace(look.target, name=name), view=view)
        return replace(autumn_plan, looks=(look,))

    return named
