"""A list over the season: what a programme promises, and what the command says of it."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, time
from typing import Any

import astropy.units as u
import numpy as np
import pytest
import vobject
from astropy.coordinates import AltAz, EarthLocation, SkyCoord
from astropy.time import Time
from lxml import html

from planner.output.pages.ics import programme_ics
from planner.output.pages.programme import programme_html
from planner.output.text.programme import programme_text
from planner.planning.outlook.coming_nights import NightsAsked
from planner.planning.outlook.programme import NightsToFinish, finish_list

# Two in one field, one of the spring, which rises late, and one too far south (M7).
LIST = ["M81", "M82", "M27", "M42", "M35", "M1", "M65", "M31", "M7"]
FIRST, COUNT = date(2026, 12, 1), 16


@pytest.fixture(scope="session")
def finish(catalogue: Any, ephemeris: Any, sites: Any, circumstances: Any) -> Any:
    """Return a function that plans how to finish the list from the garden."""

    def finish(**changes: Any) -> NightsToFinish:
        rows = np.array([catalogue.find_index(name) for name in LIST])
        asked = replace(
            NightsAsked(first=FIRST, count=COUNT, rows=rows, until=time(23, 30)), **changes
        )
        return finish_list(catalogue, ephemeris, sites["Garden"], circumstances, asked)

    return finish


@pytest.fixture(scope="session")
def programme(finish: Any) -> NightsToFinish:
    """Return the programme of the garden."""
    return finish()  # type: ignore[no-any-return]


def names(programme: NightsToFinish) -> list[str]:
    """Return the Messier numbers that are looked at, in order."""
    targets = [target for look in programme.looks for target in look.targets]
    return [target.name.split()[0] for target in targets]


def test_every_target_is_in_one_look_or_out_of_reach(programme: NightsToFinish) -> None:
    """M7 culminates at 4 deg in latitude 51.2, M65 in the evenings of spring."""
    assert sorted(names(programme)) == sorted(set(LIST) - {"M7", "M65"})
    out = {one.target.name.split()[0]: one.why for one in programme.out_of_reach}
    assert set(out) == {"M7", "M65"}
    assert out["M7"] == "below the horizon on all of these nights while it is dark enough"
    assert len(programme.nights) == 1


def test_looks_stand_in_their_session_one_after_the_other(programme: NightsToFinish) -> None:
    """M81 and M82, 37 arcmin apart, are one look."""
    for night in programme.nights:
        assert night.session.start <= night.looks[0].start
        assert night.looks[-1].end <= night.session.end
        for one, following in zip(night.looks, night.looks[1:], strict=False):
            assert one.end <= following.start
    together = [look for look in programme.looks if len(look.targets) == 2]
    assert [sorted(t.id for t in look.targets) for look in together] == [["NGC3031", "NGC3034"]]


def test_of_nights_that_would_do_a_dark_one_is_taken(finish: Any, catalogue: Any) -> None:
    """Clusters in Auriga stand a little higher toward the full Moon of 24 December than before."""
    rows = np.array([catalogue.find_index(name) for name in ("M36", "M37", "M38")])
    (night,) = finish(rows=rows, first=date(2026, 12, 4), count=20, until=time(22, 0)).nights
    assert night.night.moon_illuminated < 0.3


@pytest.mark.usefixtures("astropy_offline")
def test_heights_agree_with_astropy(programme: NightsToFinish) -> None:
    """The height that is told is that of the middle of the look, within refraction (0.1 deg)."""
    garden = EarthLocation(lat=51.2 * u.deg, lon=-2.4 * u.deg)
    for look in programme.looks:
        middle = Time(look.start + (look.end - look.start) / 2)
        places = SkyCoord(
            [t.ra_deg for t in look.targets] * u.deg, [t.dec_deg for t in look.targets] * u.deg
        )
        lowest = min(places.transform_to(AltAz(obstime=middle, location=garden)).alt.deg)
        assert look.altitude_deg == pytest.approx(lowest, abs=0.1)


def test_a_lost_night_is_made_up_for(programme: NightsToFinish, finish: Any) -> None:
    """Without its night the list is finished on another, one of its stand-ins among them."""
    lost = programme.nights[0].night.date
    again = finish(not_on=frozenset([lost]))
    assert lost not in {night.night.date for night in again.nights}
    assert sorted(names(again)) == sorted(names(programme))
    assert programme.nights[0].stand_ins


def test_the_chance_is_that_of_any_of_the_nights(programme: NightsToFinish) -> None:
    """Three nights of 40 percent: 1 - 0.6^3 = 0.784."""
    three = replace(programme.nights[0], stand_ins=programme.nights[0].stand_ins[:2])
    assert three.chance(0.4) == pytest.approx(0.784)


def test_what_leaves_is_told(catalogue: Any, finish: Any) -> None:
    """M27 is gone from the evenings after January, M42 is not (common practice)."""
    rows = np.array([catalogue.find_index(name) for name in ("M27", "M42")])
    (leaving,) = finish(rows=rows, first=date(2026, 12, 28), count=62).leaving
    assert leaving.target.id == "NGC6853"
    assert date(2026, 12, 31) < leaving.last <= date(2027, 1, 20)


def test_the_calendar_has_a_tentative_event_a_night(programme: NightsToFinish, sites: Any) -> None:
    """Read back with another library; RFC 5545, 3.8.1.11."""
    text = programme_ics(
        programme, title="mine", site=sites["Garden"], now=datetime(2026, 11, 28, tzinfo=UTC)
    )
    events = list(vobject.readOne(text).vevent_list)
    assert [event.status.value for event in events] == ["TENTATIVE"] * len(programme.nights)
    assert events[0].dtstart.value == programme.nights[0].session.start


def test_the_page_marks_every_target_in_the_sky(programme: NightsToFinish, sites: Any) -> None:
    """A number for what a night shows, a cross for what none does."""
    tree = html.fromstring(
        programme_html(programme, title="mine", site=sites["Garden"], seen=(), clear_share=0.4)
    )
    assert len(tree.xpath("//svg/text[@class='number']")) == len(names(programme))
    assert len(tree.xpath("//svg/path[@class='cross']")) == 2


def test_the_sheet_has_no_line_too_long(programme: NightsToFinish, sites: Any) -> None:
    """And says how many nights it takes."""
    sheet = programme_text(programme, title="mine", site=sites["Garden"], seen=3, clear_share=0.4)
    assert max(map(len, sheet.splitlines())) <= 80
    assert "1 night for 7 targets" in " ".join(sheet.split())
    assert "3 seen already" in sheet


def test_the_command_leaves_out_what_was_seen(run: Any, write: Any) -> None:
    """What the journal has as seen is not planned again, and counts as seen."""
    targets = write("mine.txt", "M42\nM35\n")
    run("journal", "add", "M42", "--date", "2026-11-20", "--at", "23:00", "--eyepiece", "18 mm 65")
    found = run("nights", "--finish", "--list", targets, "--count", "5", "--format", "json").json
    assert found["schema"] == "fieldstop.programme/1"
    assert found["seen_before"] == 1
    looks = [
        target["id"]
        for night in found["nights"]
        for look in night["looks"]
        for target in look["targets"]
    ]
    assert looks == ["NGC2168"]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--finish"], "--finish needs --list"),
        (["M42", "--finish", "--list", "messier"], "leave the target out"),
        (["--format", "ics"], "need --finish"),
        (["--not-on", "2026-12-01"], "need --finish"),
        (["--finish", "--list", "messier", "--clear-chance", "0"], "from 1 to 100"),
    ],
)
def test_what_a_programme_cannot_do_is_said(run: Any, words: list[str], said: str) -> None:
    """A sentence and status 2."""
    result = run("nights", *words)
    assert result.status == 2
    assert said in result.err
