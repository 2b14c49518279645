"""The sky of a site, by meter readings and by the faintest stars seen."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import Any

import pytest
from numpy.testing import assert_allclose

from planner.journal.records import JournalSession, new_id
from planner.journal.site_sky import site_skies
from planner.output.text.own_eye import sky_lines


def session(evening: date, site: str = "Garden", **values: Any) -> JournalSession:
    """Return a session of an evening."""
    start = datetime(evening.year, evening.month, evening.day, 20, tzinfo=UTC)
    return JournalSession(new_id(), evening, site, "UTC", start, **values)


def test_each_site_and_half_year_has_its_own_sky() -> None:
    """The middle of the readings counts, and one far from it is named."""
    winter = [21.0, 21.1, 19.2, 21.0]
    sessions = [
        session(date(2026, 1, day), sky_mag_arcsec2=sky) for day, sky in enumerate(winter, start=10)
    ]
    sessions += [
        session(date(2026, 6, 10), sky_mag_arcsec2=20.4),
        session(date(2026, 2, 1), "Hill"),
    ]
    summer, cold = site_skies(sessions)
    assert (summer.months, cold.months) == ("Apr-Sep", "Oct-Mar")
    assert_allclose(cold.meter_mag_arcsec2, 21.0)
    assert_allclose(summer.meter_mag_arcsec2, 20.4)
    assert cold.doubtful == ("2026-01-12",)
    assert any("21.0 mag/arcsec2 by meter (4 nights)" in line for line in sky_lines([cold]))


@pytest.mark.parametrize("eye_mag", [0.0, 0.4])
def test_a_deep_eye_needs_no_dark_sky(eye_mag: float) -> None:
    """A star of 6.18 mag is the limit of the ordinary eye at 21.83 mag/arcsec2.

    A. Crumey 2014, MNRAS 442, 2600, for a field factor of 2 (second-hand); the same for a deeper
    eye and a star as much fainter.
    """
    (sky,) = site_skies(
        [session(date(2026, 1, 10), faintest_star_mag=6.18 + eye_mag)], eye_mag=eye_mag
    )
    assert_allclose(sky.star_mag_arcsec2, 21.83, atol=0.05)
