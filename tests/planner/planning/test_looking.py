"""What is said of one target on one night where there is no ordinary rising or setting."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import fields, replace
from datetime import UTC, datetime, timedelta, timezone

import pytest

from planner.ephemeris.almanac import find_night
from planner.ephemeris.kernel import Ephemeris
from planner.model.night import Night
from planner.model.site import Site
from planner.planning.circumstances import Circumstances
from planner.planning.look import LookReport, look_at
from targets.catalogue.catalogue import Catalogue
from targets.model import Kind, Target

Looker = Callable[..., LookReport]


@pytest.fixture(scope="module")
def look(
    ephemeris: Ephemeris,
    catalogue: Catalogue,
    night_of: Callable[[str, str], Night],
    circumstances_of: Callable[..., Circumstances],
) -> Looker:
    """Look at a target by name from a site in a night."""

    def build(
        name: str | Target,
        site: str,
        day: str,
        *,
        at: datetime | None = None,
        kit: str = "reflector",
    ) -> LookReport:
        night = night_of(site, day)
        target = name if isinstance(name, Target) else catalogue.find(name)
        return look_at(target, ephemeris, night, circumstances_of(site, kit), at=at)

    return build


@pytest.mark.parametrize(
    ("name", "site"), [("M81", "open field"), ("NGC 104", "south pole"), ("M13", "arctic coast")]
)
def test_what_never_sets_culminates_all_the_same(look: Looker, name: str, site: str) -> None:
    """No rising and no setting, a sentence instead, and a culmination."""
    report = look(name, site, "2026-12-08")
    assert report.rise is None
    assert report.set is None
    assert report.course == "does not set"
    assert report.transit is not None
    assert report.transit_altitude_deg is not None
    assert report.transit_altitude_deg > 0.0


@pytest.mark.parametrize(("name", "site"), [("NGC 104", "open field"), ("M81", "south pole")])
def test_what_never_rises_says_so(look: Looker, name: str, site: str) -> None:
    """No times, no views, and the reason."""
    report = look(name, site, "2026-06-15")
    assert report.rise is None
    assert report.set is None
    assert report.course == "does not rise"
    assert report.windows == ()
    assert report.hindrance == "below the horizon tonight while it is dark enough"
    assert report.views == ()
    assert report.hazard is None


def test_what_rises_needs_no_such_sentence(look: Looker) -> None:
    """The times are enough."""
    assert look("M42", "open field", "2026-12-08").course is None


def test_a_target_at_the_pole_stands_still(look: Looker) -> None:
    """At the south pole altitude is declination turned round, plus refraction.

    NGC 104 has a declination of -72 degrees 4.9 minutes (J2000; Harris 1996, from memory).
    """
    nutation_and_precession_deg = 0.2  # in 27 years at most 0.15 degrees of declination
    report = look("NGC 104", "south pole", "2026-06-15")
    assert report.altitude_deg == pytest.approx(72.08, abs=nutation_and_precession_deg)
    assert report.transit_altitude_deg == pytest.approx(report.altitude_deg, abs=0.02)


def test_what_sets_twice_in_a_long_night_sets_after_it_rises(
    look: Looker, night_of: Callable[[str, str], Night], elsewhere: Callable[..., object]
) -> None:
    """In the 25 hours when clocks go back, a target that sets at half past noon sets again."""
    night = night_of("open field", "2026-10-24")
    observer = elsewhere(night.site).observer(night.start, air=False)  # type: ignore[attr-defined]
    ra_deg = (math.degrees(observer.sidereal_time()) + 7.5 - 90.0) % 360.0
    target = Target("X1", "X1", Kind.OPEN_CLUSTER, ra_deg=ra_deg, dec_deg=0.0, major_arcmin=5.0)
    report = look(target, "open field", "2026-10-24")
    assert report.rise is not None
    assert report.set is not None
    assert night.end - report.set < timedelta(hours=1)
    assert report.rise < report.set


def test_no_darkness_is_no_window(look: Looker) -> None:
    """In polar day a galaxy has no window; the reason is the light and not the altitude."""
    report = look("M81", "arctic coast", "2026-06-15")
    assert report.windows == ()
    assert report.hindrance == "the sky does not get dark enough for it tonight"
    assert report.views  # what the trains would show of it is still told


def test_the_best_moment_is_dark_rather_than_high(
    look: Looker, elsewhere: Callable[..., object]
) -> None:
    """M73 sinks through a December dusk: when it is highest, at 17:20, it hardly shows.

    By PyEphem the Sun is then some 11 degrees down; a faint group wants it well below 12, the end
    of nautical twilight.
    """
    report = look("M73", "open field", "2026-12-08")
    opens = report.windows[0][0]
    there = elsewhere(report.night.site)
    assert there.sun_altitude_deg(opens) > -12.0  # type: ignore[attr-defined]
    assert there.sun_altitude_deg(report.at) < -13.0  # type: ignore[attr-defined]
    early = look("M73", "open field", "2026-12-08", at=opens)
    assert early.altitude_deg > report.altitude_deg
    assert early.views[0].margin_dex + 0.2 < report.views[0].margin_dex


@pytest.mark.parametrize("name", ["Saturn", "Moon"])
def test_without_a_time_the_best_of_the_windows_is_taken(look: Looker, name: str) -> None:
    """Inside a window; what shows well all night is best where it stands highest."""
    report = look(name, "open field", "2026-12-17")
    assert any(begin <= report.at <= end for begin, end in report.windows)
    for begin, end in report.windows:
        for instant in (begin, begin + (end - begin) / 2, end):
            there = look(name, "open field", "2026-12-17", at=instant)
            assert there.altitude_deg <= report.altitude_deg + 0.01


def test_a_time_in_another_offset_is_the_same_moment(look: Looker) -> None:
    """What comes in with an offset leaves as UTC."""
    at = datetime(2026, 12, 9, 3, 0, tzinfo=timezone(timedelta(hours=5)))
    report = look("M42", "open field", "2026-12-08", at=at)
    assert report.at == at
    assert report.at.tzinfo is UTC
    utc = look("M42", "open field", "2026-12-08", at=at.astimezone(UTC))
    assert report.altitude_deg == utc.altitude_deg


@pytest.mark.parametrize("hours", [-1, 25])
def test_a_time_outside_the_night_is_refused(
    look: Looker, night_of: Callable[[str, str], Night], hours: int
) -> None:
    """With a sentence that names the night."""
    night = night_of("open field", "2026-12-08")
    with pytest.raises(ValueError, match="is outside the night of 2026-12-08"):
        look("M42", "open field", "2026-12-08", at=night.start + timedelta(hours=hours))


def test_a_time_without_a_zone_is_refused(look: Looker) -> None:
    """It would pass for a time of the computer's own zone."""
    with pytest.raises(ValueError, match="no time zone"):
        look("M42", "open field", "2026-12-08", at=datetime(2026, 12, 8, 22, 0))  # noqa: DTZ001


def test_near_the_sun_by_day_is_a_hazard(
    look: Looker, elsewhere: Callable[..., object], night_of: Callable[[str, str], Night]
) -> None:
    """M44 stands 8 degrees from the Sun at noon on 2026-08-09: no views, and why not.

    The Sun passes M44 at the start of August (right ascension 8 h 40 m; any star chart).
    """
    noon = night_of("open field", "2026-08-09").start
    report = look("M44", "open field", "2026-08-09", at=noon)
    assert report.hazard is not None
    assert report.hazard.endswith("deg from the Sun, and the Sun is up")
    assert report.hazard.startswith("M44")
    away = float(report.hazard.split(" is ")[1].split()[0])
    assert away < 20.0  # what is kept from the Sun by day
    assert report.views == ()
    assert elsewhere(report.night.site).sun_altitude_deg(noon) > 50.0  # type: ignore[attr-defined]


@pytest.mark.parametrize("name", ["Venus", "Mercury"])
def test_inner_planets_are_not_for_the_day(
    look: Looker, night_of: Callable[[str, str], Night], name: str
) -> None:
    """Whatever their distance from the Sun, there are no views of them while it is up."""
    noon = night_of("open field", "2026-08-14").start + timedelta(hours=2)
    report = look(name, "open field", "2026-08-14", at=noon)
    assert report.altitude_deg > 0.0
    assert report.hazard is not None
    assert report.views == ()


def test_venus_in_the_evening_is_no_hazard(look: Looker) -> None:
    """Greatest elongation east is on 2026-08-15; from the south Venus stands well up at dusk."""
    report = look("Venus", "southern hills", "2026-08-14")
    assert report.hazard is None
    assert report.windows
    assert report.views[0].train.usable


def test_jupiter_by_day_far_from_the_sun_has_views(
    look: Looker, night_of: Callable[[str, str], Night]
) -> None:
    """The Sun is up, but far away: a warning is not needed."""
    at = night_of("southern hills", "2026-03-20").start + timedelta(hours=4)
    report = look("Jupiter", "southern hills", "2026-03-20", at=at)
    assert report.altitude_deg > 0.0
    assert report.hazard is None
    assert report.views


def test_the_moon_comes_with_its_size_of_that_moment(look: Looker) -> None:
    """It measures 29.3 to 34.1 arcminutes (Meeus 1998, ch. 48); its note tells the phase."""
    report = look("Moon", "open field", "2026-11-24")
    assert report.target.major_arcmin is not None
    assert 29.3 <= report.target.major_arcmin <= 34.2
    assert report.target.note is not None
    assert report.target.note.startswith("100% lit")
    assert report.night.moonrise == report.rise
    assert report.night.moonset == report.set


def test_the_moon_of_a_year_sometimes_does_not_rise_and_still_sets(
    look: Looker, night_of: Callable[[str, str], Night]
) -> None:
    """Its days are longer than ours: in half a month a night lacks one of its times."""
    lacking = 0
    for day in range(1, 13):
        report = look("Moon", "open field", f"2026-11-{day:02d}")
        lacking += (report.rise is None) + (report.set is None) + (report.transit is None)
        assert report.rise or report.set
        assert report.course is None
        assert night_of("open field", f"2026-11-{day:02d}").moonrise == report.rise
    assert lacking >= 1


@pytest.mark.parametrize(
    ("name", "site"),
    [("Moon", "open field"), ("Saturn", "equator"), ("M31", "arctic coast"), ("M7", "south pole")],
)
def test_every_number_is_a_number_and_every_time_utc(look: Looker, name: str, site: str) -> None:
    """Nothing on the screen may be NaN, nor a time without its zone."""
    report = look(name, site, "2026-10-24")
    for item in fields(report):
        value = getattr(report, item.name)
        if isinstance(value, float):
            assert math.isfinite(value), item.name
        if isinstance(value, datetime):
            assert value.tzinfo is UTC, item.name
    for view in report.views:
        numbers = [view.score, *view.parts.values(), view.framing, view.margin_dex]
        assert all(math.isfinite(number) for number in numbers if number is not None)
        assert not any("nan" in words for words in (*view.reasons, *view.warnings))


def test_no_eyepiece_means_no_views(look: Looker) -> None:
    """Where it stands is still told."""
    report = look("M42", "open field", "2026-12-08", kit="no eyepiece fits")
    assert report.views == ()
    assert report.windows


def test_a_window_cut_by_the_skyline_is_two(
    ephemeris: Ephemeris,
    catalogue: Catalogue,
    site_of: Callable[[str], Site],
    circumstances_of: Callable[..., Circumstances],
) -> None:
    """A tower in the south hides M42 while it culminates: before and after remain."""
    tower = ((0.0, 0.0), (165.0, 0.0), (166.0, 60.0), (194.0, 60.0), (195.0, 0.0))
    site = replace(site_of("open field"), horizon=tower)
    night = find_night(ephemeris, site, datetime(2026, 12, 8, tzinfo=UTC).date())
    report = look_at(catalogue.find("M42"), ephemeris, night, circumstances_of("open field"))
    (_, hidden_from), (back_from, _) = report.windows
    assert report.transit is not None
    assert hidden_from < report.transit < back_from
