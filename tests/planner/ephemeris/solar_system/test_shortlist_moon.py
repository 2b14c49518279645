"""Which features of the Moon are looked into, by what was asked for."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import numpy as np

from planner.config.settings import example_settings
from planner.ephemeris.almanac import find_night
from planner.ephemeris.kernel import Ephemeris
from planner.ephemeris.tracks import track_instants
from planner.planning.shortlist import shortlist
from planner.request.circumstances import circumstances_of
from planner.request.options import Readings
from targets.catalogue.catalogue import load_catalogue
from targets.model import Kind


def test_nobody_is_offered_craters_unasked(sky: Ephemeris) -> None:
    """All the catalogue leaves them out; a choice of that kind keeps each of them."""
    settings = example_settings(today=date(2026, 12, 20))
    site, circumstances = circumstances_of(settings, site=None, telescope=None, readings=Readings())
    night = find_night(sky, site, date(2026, 12, 20))
    start = datetime(2026, 12, 20, 18, tzinfo=UTC)
    grid = track_instants(sky, night, [start, start + timedelta(hours=1)])
    catalogue = load_catalogue()
    craters = np.flatnonzero(catalogue.of_kind(Kind.LUNAR_FEATURE))
    every = shortlist(catalogue, grid, circumstances, rows=None, keep_all=False)
    assert not np.isin(craters, every).any()
    assert catalogue.index_of("Moon") in every
    asked = shortlist(catalogue, grid, circumstances, rows=craters, keep_all=False)
    assert asked.tolist() == craters.tolist()
