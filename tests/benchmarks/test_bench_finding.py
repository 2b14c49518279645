"""How long ways take to find: printed, nothing is asserted by time."""

from __future__ import annotations

import time
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest

from planner.config.settings import example_settings
from planner.ephemeris.almanac import find_night
from planner.ephemeris.kernel import load_ephemeris
from planner.ephemeris.tracks import track_instants
from planner.planning.finding.of_targets import find_targets
from planner.request.circumstances import circumstances_of
from planner.request.options import Readings
from targets.bright_stars import load_bright_stars
from targets.catalogue.catalogue import load_catalogue

LOOKS, ROUNDS = 20, 5


@pytest.mark.benchmark
def test_the_ways_of_a_night() -> None:
    """Ways to 20 looks that follow each other, and the stars read; best of five."""
    site, circumstances = circumstances_of(
        example_settings(today=date(2026, 12, 8)), site=None, telescope=None, readings=Readings()
    )
    site = replace(site, horizon=())
    night = find_night(load_ephemeris(), site, date(2026, 12, 8))
    instants = [
        datetime(2026, 12, 8, 20, tzinfo=UTC) + timedelta(minutes=15 * k) for k in range(LOOKS)
    ]
    grid = track_instants(load_ephemeris(), night, instants)
    catalogue = load_catalogue()
    fixed = np.flatnonzero(~catalogue.moves & (catalogue.visual_rating >= 4))
    altitude = grid.altitudes(catalogue.ra_deg[fixed], catalogue.dec_deg[fixed]).min(axis=1)
    targets = [catalogue.target(int(row)) for row in fixed[altitude > 25.0][:LOOKS]]
    ways, reads = [], []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        load_bright_stars.__wrapped__()
        read = time.perf_counter()
        find_targets(targets, grid, circumstances)
        ways.append(time.perf_counter() - read)
        reads.append(read - start)
    print(f"\n{LOOKS} ways: {1000 * min(ways):.0f} ms; reading: {1000 * min(reads):.0f} ms")
