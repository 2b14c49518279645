"""How faint the stars are that a drawing shows."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from planner.ephemeris.almanac import find_night
from planner.ephemeris.tracks import track_instants
from planner.model.kit import Filter, FilterKind
from planner.output.drawing.field import draw_field
from planner.output.drawing.limiting_magnitude import faintest_star_mag, sky_behind, zenith_of
from targets.model import Kind, Target
from targets.sphere import separation_deg

CLEAR, HAZY = 0.15, 0.45


def _at_zenith(circumstance: Any) -> Target:
    ra_deg, dec_deg = zenith_of(circumstance)
    return Target("X", "X", Kind.OPEN_CLUSTER, ra_deg=ra_deg, dec_deg=dec_deg)


def test_haze_takes_its_extinction(train: Any, around: Any) -> None:
    """In the zenith extinction is that of one air mass, so the loss is the difference.

    The sky's own light changes a little with the haze: a tenth of a magnitude is left for that.
    """
    circumstance = around()
    target = _at_zenith(circumstance)
    limits = [
        faintest_star_mag(
            target,
            train(),
            replace(
                circumstance,
                conditions=replace(circumstance.conditions, extinction_mag=extinction_mag),
            ),
        )
        for extinction_mag in (CLEAR, HAZY)
    ]
    assert limits[0] - limits[1] == pytest.approx(HAZY - CLEAR, abs=0.1)


def test_low_stars_are_lost_first(train: Any, around: Any) -> None:
    """The same telescope shows fainter stars in the zenith than 75 degrees away from it."""
    circumstance = around()
    high = _at_zenith(circumstance)
    low = replace(high, dec_deg=(high.dec_deg or 0.0) - 75.0)
    limits = [faintest_star_mag(target, train(), circumstance) for target in (high, low)]
    assert limits[0] - limits[1] > 0.5


def test_a_line_filter_takes_stars(train: Any, around: Any) -> None:
    """An O III filter passes little of a star's light."""
    circumstance, plain = around(), train()
    filtered = replace(plain, filter=Filter("O III", FilterKind.OIII, plain.eyepiece.barrel))
    target = _at_zenith(circumstance)
    limits = [faintest_star_mag(target, t, circumstance) for t in (plain, filtered)]
    assert limits[0] - limits[1] > 0.5


def test_daylight_leaves_few_stars(train: Any, around: Any) -> None:
    """By day a drawing has no faint stars and says how faint the faintest are."""
    night, day = around(), around("north", datetime(2026, 12, 8, 12, 0, tzinfo=UTC))
    alcyone = Target("X", "X", Kind.OPEN_CLUSTER, ra_deg=56.87117, dec_deg=24.10514)
    dark, light = draw_field(alcyone, train(), night), draw_field(alcyone, train(), day)
    assert dark.faintest_mag == 10.0
    assert light.faintest_mag is not None
    assert light.faintest_mag < 8.0
    assert len(light.stars) < len(dark.stars) / 2


# In twilight, and under a gibbous Moon.
@pytest.mark.parametrize(("day", "hour"), [(8, 16.4), (20, 20.0)])
def test_the_sky_of_a_night_tells_what_the_ephemeris_would(
    around: Any, day: int, hour: float
) -> None:
    """Read from the night's polynomials or asked of skyfield at the instant: the same sky."""
    evening = datetime(2026, 12, day, tzinfo=UTC)
    asked = around(instant=evening + timedelta(hours=hour))
    night = find_night(asked.ephemeris, asked.site, evening.date())
    read = replace(asked, grid=track_instants(asked.ephemeris, night, [asked.instant]))
    ra_deg, dec_deg = zenith_of(asked)
    assert float(separation_deg(*zenith_of(read), ra_deg, dec_deg)) * 3600.0 < 1.0
    for kind, beside_deg in ((Kind.OPEN_CLUSTER, 50.0), (Kind.GALAXY, 10.0), (Kind.MOON, 80.0)):
        target = Target("X", "X", kind, ra_deg=ra_deg, dec_deg=dec_deg - beside_deg)
        one, other = sky_behind(target, read), sky_behind(target, asked)
        assert one.altitude_deg == pytest.approx(other.altitude_deg, abs=1e-3)
        assert one.luminance_cd_m2 == pytest.approx(other.luminance_cd_m2, rel=1e-3)
        assert one.loss_mag == pytest.approx(other.loss_mag, abs=1e-3)
