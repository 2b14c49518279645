"""The choice among nights, on nights made for it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest

from planner.model.plan import Grade
from planner.output.text.nights import duration, reason_words
from planner.planning.outlook.best_night import (
    NightOutlook,
    TargetMoment,
    TargetOutlook,
    best_night,
    night_for_the_list,
)


@pytest.fixture(scope="module")
def plain(look_ahead: Any) -> NightOutlook:
    """Return a night to be changed: whatever it shows is replaced."""
    return look_ahead("Garden", "2026-12-08", wishes=["M31"])[0]


def shown(
    plain: NightOutlook, quality_dex: float, good_minutes: float, **rest: Any
) -> NightOutlook:
    """Return the night with a target that comes out as said."""
    start = plain.night.dark_start
    assert start is not None
    moment = TargetMoment(
        at=start,
        altitude_deg=rest.get("altitude_deg", 40.0),
        moon_altitude_deg=rest.get("moon_altitude_deg", -10.0),
        moon_separation_deg=rest.get("moon_separation_deg", 60.0),
        grade=Grade.FAIR,
        quality_dex=quality_dex,
        good_minutes=good_minutes,
    )
    window = (start, start + timedelta(minutes=190))
    return replace(plain, target=TargetOutlook((window,), moment, None))


def test_the_clearest_view_wins(plain: NightOutlook) -> None:
    """A night that shows the target better beats one that shows it for longer."""
    nights = [shown(plain, 0.5, 300.0), shown(plain, 0.8, 20.0), shown(plain, 0.6, 300.0)]
    best = best_night(nights)
    assert best is not None
    assert best.outlook is nights[1]


def test_of_nights_alike_the_longest_wins_then_the_first(plain: NightOutlook) -> None:
    """What nobody can tell apart is decided by how long it lasts, and then by the calendar."""
    nights = [shown(plain, 0.80, 20.0), shown(plain, 0.78, 90.0), shown(plain, 0.79, 90.0)]
    best = best_night(nights)
    assert best is not None
    assert best.outlook is nights[1]


def test_of_nights_alike_one_without_moon_wins(plain: NightOutlook) -> None:
    """A little Moon that nobody could tell by the view still yields to none; a better view wins."""
    moonlit = shown(plain, 0.80, 90.0, moon_altitude_deg=20.0)
    moonless = shown(plain, 0.78, 30.0)
    best = best_night([moonlit, moonless])
    assert best is not None
    assert best.outlook is moonless
    best = best_night([moonlit, shown(plain, 0.5, 30.0)])
    assert best is not None
    assert best.outlook is moonlit


def test_no_window_at_all_is_no_best_night(plain: NightOutlook) -> None:
    """Without a window, without a target, or without nights there is none to choose."""
    shut = replace(plain, target=TargetOutlook((), None, "below the horizon"))
    assert best_night([shut]) is None
    assert best_night([plain]) is None
    assert best_night([]) is None
    best = best_night([shut, shown(plain, 0.1, 10.0)])
    assert best is not None
    assert best.outlook.target is not shut.target


def test_the_reason_tells_height_moon_window_and_grade(plain: NightOutlook) -> None:
    """The reason holds what an observer asks, in this order; dark from 18:04 that night."""
    best = best_night([shown(plain, 0.8, 20.0), shown(plain, 0.5, 20.0, altitude_deg=60.0)])
    assert best is not None
    assert reason_words(best) == "40 deg high at 18:05, no Moon then, 3 h 10 min of window, fair"
    best = best_night([shown(plain, 0.8, 20.0, moon_altitude_deg=5.0)])
    assert best is not None
    assert reason_words(best).startswith("highest (40 deg at 18:05), Moon 0% lit and 60 deg away, ")


def test_the_moon_is_not_away_from_itself(plain: NightOutlook) -> None:
    """For the Moon itself the reason tells how much of it is lit, and no distance."""
    best = best_night([shown(plain, 0.8, 20.0, moon_altitude_deg=40.0, moon_separation_deg=0.0)])
    assert best is not None
    assert "0% lit" in reason_words(best)
    assert "away" not in reason_words(best)


def test_the_list_prefers_darkness_among_rich_nights(plain: NightOutlook) -> None:
    """About as many targets in a darker night are better; far fewer are not."""
    bright = replace(plain, well_placed=30, dark_moonless_hours=1.0)
    dark = replace(plain, well_placed=28, dark_moonless_hours=9.0)
    poor = replace(plain, well_placed=12, dark_moonless_hours=12.0)
    assert night_for_the_list([bright, dark, poor]) is dark
    assert night_for_the_list([bright, poor]) is bright


def test_a_list_without_any_target_placed_has_no_night(plain: NightOutlook) -> None:
    """Nothing placed, or no nights: none is best."""
    assert night_for_the_list([replace(plain, well_placed=0)]) is None
    assert night_for_the_list([]) is None


@pytest.mark.parametrize(
    ("minutes", "words"),
    [(0.0, "0 min"), (45.2, "45 min"), (59.6, "1 h 00 min"), (190.0, "3 h 10 min")],
)
def test_durations_read_as_hours_and_minutes(minutes: float, words: str) -> None:
    """Minutes are rounded before hours are taken out of them."""
    assert duration(minutes) == words


def test_mars_is_best_at_its_opposition(look_ahead: Any) -> None:
    """On 19 February 2027, nearest on the 20th with 13.8 arcsec (Meeus's tables; from memory)."""
    nights = look_ahead("Garden", "2027-02-10", 30, wishes=["M31"], target="Mars")
    best = best_night(nights)
    assert best is not None
    assert abs(best.outlook.night.date - date(2027, 2, 20)) <= timedelta(days=2)
    assert best.best.disc_arcsec == pytest.approx(13.8, abs=0.1)
    assert 'disc 13.8"' in reason_words(best)
    assert "Moon" not in reason_words(best)
