"""What is best at a moment, with the eyepiece that is in and with any, and what is nearly lost."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import numpy as np
import pytest

from planner.formulas.visibility_limit import GRADES
from planner.planning.windows import window_closing
from planner.session.course import tick
from planner.session.look_list import look_lines
from planner.session.moves.clouds import cloud_here
from planner.session.moves.looks import done, skip
from planner.session.moves.targets import veto_target
from planner.session.night import key_of
from planner.session.offers import (
    best_in_focuser,
    offers_by_group,
    spare_words,
    views_for,
)
from planner.session.state import CloudKind, Status

MINUTE = timedelta(minutes=1)


@pytest.fixture
def later(spring: Any) -> Any:
    """Return the spring night in its second look."""
    state, _ = done(spring.night, spring.begun, spring.plan.looks[0].end)
    return tick(spring.night, state, spring.plan.looks[1].start + MINUTE)[0]


def test_with_what_is_in_the_focuser(spring: Any, later: Any) -> None:
    """Every view is through that train; nothing is offered before there is one."""
    offers = best_in_focuser(spring.night, later, later.clock)
    assert 0 < len(offers) <= 5
    column = spring.night.column_of[later.focuser]
    train = spring.night.circumstances.table.trains[column]
    assert all(offer.view.train == train for offer in offers)
    assert best_in_focuser(spring.night, spring.begun, spring.begun.clock) == ()


def test_with_any_is_at_least_as_good(spring: Any, later: Any) -> None:
    """The best of all trains beats, or equals, what is in."""
    one = best_in_focuser(spring.night, later, later.clock)
    _, every, _ = offers_by_group(spring.night, later, later.clock)
    worths = [offer.worth for offer in every]
    assert worths == sorted(worths, reverse=True)
    assert every[0].worth >= one[0].worth
    assert len({offer.view.train for offer in every}) > 1


def test_what_is_done_refused_or_under_way_is_not_offered(spring: Any, later: Any) -> None:
    """Only what could still come."""
    _, (best, *_), _ = offers_by_group(spring.night, later, later.clock)
    first = best.target.id
    state, _ = veto_target(spring.night, later, later.clock, first)
    state, _ = skip(spring.night, state, state.clock)
    gone = {look.target_id for look in state.looks if look.status in {"done", "skipped", "now"}}
    _, every, _ = offers_by_group(spring.night, state, state.clock)
    offered = {offer.target.id for offer in every}
    assert first not in offered
    assert not offered & gone


def test_nothing_behind_cloud_is_offered(spring: Any, later: Any) -> None:
    """With the west closed all stand in the east; with all closed there is nothing."""
    state, _ = cloud_here(spring.night, later, later.clock, direction="west half")
    sky = spring.night.roster.tracks.azimuth_deg
    step = int(spring.night.minute(state.clock) // 5)
    for offer in offers_by_group(spring.night, state, state.clock)[1]:
        assert sky[spring.night.row_of[offer.target.id], step] < 180.0
    state, _ = cloud_here(spring.night, state, state.clock)
    assert offers_by_group(spring.night, state, state.clock) == ((), (), ())


def test_nearly_lost_closes_within_half_an_hour(spring: Any) -> None:
    """At some moment of the night there is something; each closes soon, and says what closes it."""
    found = 0
    for minutes in range(0, 200, 20):
        now = spring.after(minutes)
        step = int(spring.night.minute(now) // 5)
        *_, offers = offers_by_group(spring.night, spring.begun, now)
        ends = []
        for offer in offers:
            row = spring.night.row_of[offer.target.id]
            closing = window_closing(spring.night.roster.windows, row, step, floor_deg=0.0)
            assert closing is not None
            ends.append(closing.last_step)
            assert offer.worth >= 0.3  # less is not missed, a showpiece being worth 1
            cause = closing.cause.partition("below")[0]  # the floor follows the culmination
            assert cause in offer.reason
            assert ", back at" not in offer.reason
        assert ends == sorted(ends)
        assert all((end - step) * 5.0 <= 30.0 for end in ends)
        found += len(offers)
    assert found > 0


def test_each_look_that_waits_has_its_slack(spring: Any, later: Any) -> None:
    """In words; none is negative."""
    words = spare_words(spring.night, later)
    assert set(words) == {look.target_id for look in later.waiting}
    endings = ("can wait until", "now or never", ", back at ")
    assert all(any(ending in text for ending in endings) for text in words.values())
    assert not any("-" in text.split(" min")[0] for text in words.values())


def test_cloud_ahead_is_named(spring: Any) -> None:
    """A target that drifts into a closed part is not told to fade."""
    state, _ = cloud_here(spring.night, spring.begun, spring.after(60), direction="west half")
    reasons = [
        offer.reason
        for minutes in range(60, 220, 20)
        for offer in offers_by_group(spring.night, state, spring.after(minutes))[1]
    ]
    assert any("goes behind cloud" in reason for reason in reasons)


def test_worth_is_finite_through_the_night(spring: Any) -> None:
    """Whatever stands in the sky, to the last step and beyond it."""
    for minutes in (0, 239, 240, 600, 2000):
        for offers in offers_by_group(spring.night, spring.begun, spring.after(minutes)):
            assert all(np.isfinite(offer.worth) for offer in offers)


def test_thin_cloud_is_in_the_grades(spring: Any) -> None:
    """What it takes makes some of the looks harder and none easier; rows and eyepieces agree."""
    night, state = spring.night, spring.at(10)
    thin, _ = cloud_here(night, state, state.clock, kind=CloudKind.THIN, loss_mag=2.0)
    clear = {line.look.target_id: line.grade for line in look_lines(night, state)}
    order = [*GRADES]
    worse = 0
    for line in look_lines(night, thin):
        before = clear.get(line.look.target_id)
        if before is None or line.look.status is not Status.WAITING:
            continue
        assert order.index(line.grade) <= order.index(before)
        worse += line.grade is not before
        at = line.look.start + (line.look.end - line.look.start) / 2
        views = views_for(night, thin, line.look, at)
        assert next(x for x in views if key_of(x.train) == line.look.train).grade is line.grade
    assert worse
