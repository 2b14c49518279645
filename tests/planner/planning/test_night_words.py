"""What the heading of a sheet says of the Moon, and of times around noon."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime, timedelta

import pytest

from planner.model.night import Night
from planner.model.site import Site
from planner.output.night_words import heading
from planner.output.words import clock_and_day
from planner.planning.circumstances import Circumstances
from targets.catalogue.catalogue import Catalogue

# The Moon's semidiameter and the almanacs' refraction, which decide over rising [deg].
LIMB_DEG = 0.26 + 34.0 / 60.0


def test_a_moon_that_neither_rises_nor_sets_is_up_or_down(
    catalogue: Catalogue,
    night_of: Callable[[str, str], Night],
    circumstances_of: Callable[..., Circumstances],
    elsewhere: Callable[[Site], object],
) -> None:
    """At 78 degrees north, as PyEphem has it at the night's start; both occur in a month."""
    moon, told = catalogue.find("Moon"), set()
    for day in range(1, 29):
        night = night_of("far north", date(2026, 12, day).isoformat())
        altitude_deg, _ = elsewhere(night.site).moon(moon, night.start)  # type: ignore[attr-defined]
        assert night.moon_starts_up == (altitude_deg > -LIMB_DEG)
        if night.moonrise or night.moonset:
            continue
        (line,) = [
            line
            for line in heading(night, circumstances_of("far north"))
            if line.startswith("Moon ")
        ]
        word = line.split(", ")[1]
        assert word == ("up all night" if altitude_deg > 0.0 else "down all night")
        told.add(word)
    assert len(told) == 2


@pytest.mark.parametrize(
    ("hours", "words"),
    [
        (0.0, "12:00 Tue"),
        (0.75, "12:45 Tue"),
        (3.0, "15:00"),
        (12.0, "00:00"),
        (21.0, "09:00"),
        (23.0, "11:00 Wed"),
        (24.0, "12:00 Wed"),
    ],
)
def test_around_noon_the_day_is_told(
    night_of: Callable[[str, str], Night], hours: float, words: str
) -> None:
    """A night has two noons, and a reader who sees 12:40 cannot know which."""
    night = night_of("open field", "2026-12-08")
    instant: datetime = night.start + timedelta(hours=hours)
    assert clock_and_day(instant, night.site) == words
