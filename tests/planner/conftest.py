"""What the tests of the planner share: the ephemeris, and astropy kept from the network."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from planner.ephemeris.kernel import Ephemeris, load_ephemeris


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
