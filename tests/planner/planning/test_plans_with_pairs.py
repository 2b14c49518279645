"""Double stars in plans: fillers of dusk and moonlight, which leave the dark to the deep sky."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta

import pytest

from planner.ephemeris.kernel import Ephemeris
from planner.model.night import Night
from planner.model.plan import Grade, Look
from planner.planning.circumstances import Circumstances, Wishes
from planner.planning.plan import plan_night
from targets.catalogue.catalogue import Catalogue
from targets.double_stars.doubles import julian_year
from targets.model import Kind, Origin

FOUR_HOURS = timedelta(hours=4)
# A quarter of the looks in the dark, at most: common practice keeps dark hours for the deep sky.
MOST_IN_THE_DARK = 0.25


@pytest.fixture(scope="module")
def looks_of(
    catalogue: Catalogue,
    ephemeris: Ephemeris,
    night_of: Callable[[str, str], Night],
    circumstances_of: Callable[..., Circumstances],
) -> Callable[[str], tuple[Night, tuple[Look, ...]]]:
    """Return four hours from the end of civil twilight, in an open field."""
    done: dict[str, tuple[Night, tuple[Look, ...]]] = {}

    def looks(day: str) -> tuple[Night, tuple[Look, ...]]:
        if day not in done:
            night = night_of("open field", day)
            assert night.civil_dusk
            plan = plan_night(
                catalogue,
                ephemeris,
                night,
                start=night.civil_dusk,
                end=night.civil_dusk + FOUR_HOURS,
                circumstances=circumstances_of("open field"),
                wishes=Wishes(),
            )
            done[day] = night, plan.looks
        return done[day]

    return looks


def pairs(looks: tuple[Look, ...], start: datetime, end: datetime) -> list[Look]:
    """Return the looks at pairs that begin between two instants."""
    chosen = [look for look in looks if start <= look.start < end]
    return [look for look in chosen if look.target.kind is Kind.DOUBLE_STAR]


@pytest.mark.parametrize("day", ["2027-06-15", "2026-12-08", "2026-10-05", "2027-03-10"])
def test_dusk_is_filled(day: str, looks_of: Callable[..., tuple[Night, tuple[Look, ...]]]) -> None:
    """Between civil and nautical dusk and a little beyond, there is a pair to look at."""
    night, looks = looks_of(day)
    assert night.civil_dusk
    assert pairs(looks, night.civil_dusk, night.civil_dusk + timedelta(minutes=75))


@pytest.mark.parametrize("day", ["2026-12-08", "2026-10-05", "2027-03-10"])
def test_the_dark_belongs_to_the_deep_sky(
    day: str, looks_of: Callable[..., tuple[Night, tuple[Look, ...]]]
) -> None:
    """On moonless nights few pairs once it is dark."""
    night, looks = looks_of(day)
    assert night.dark_start
    assert night.dark_end
    dark = [look for look in looks if look.start >= night.dark_start]
    assert dark
    few = pairs(looks, night.dark_start, night.dark_end)
    assert len(few) <= MOST_IN_THE_DARK * len(dark)


def test_a_moonlit_night_has_pairs(
    looks_of: Callable[..., tuple[Night, tuple[Look, ...]]],
) -> None:
    """Under a full Moon two and more."""
    night, looks = looks_of("2026-12-24")
    assert night.moon_illuminated > 0.95
    assert len(pairs(looks, night.start, night.end)) >= 2


@pytest.mark.parametrize("day", ["2027-06-15", "2026-12-24", "2027-03-10"])
def test_each_pair_is_split_and_is_as_it_is_tonight(
    day: str, looks_of: Callable[..., tuple[Night, tuple[Look, ...]]]
) -> None:
    """None is planned that cannot be parted, and orbits are of the night's date."""
    night, looks = looks_of(day)
    for look in pairs(looks, night.start, night.end):
        assert look.view.grade in (Grade.EASY, Grade.FAIR, Grade.HARD)
        assert any('" are wide' in r or "x splits" in r for r in look.view.reasons)
        assert look.view.brief.startswith("splits ")
        if look.target.orbit:
            assert look.target.size_origin is Origin.COMPUTED
            assert look.target.epoch_yr == pytest.approx(julian_year(look.start), abs=1e-4)
