"""How long a look can wait, and the words for it."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np
import pytest

from planner.model.plan import Slack
from planner.model.site import Site
from planner.output.contracts.plan import plan_json
from planner.output.contracts.writing import json_text
from planner.output.night_words import slack_words
from planner.output.text.plan import plan_text
from planner.planning.circumstances import STEP_MIN
from planner.planning.slack import slack_of
from planner.session.open_sky import open_sky

SITE = Site("Here", 51.2, -2.4)
AT = datetime(2026, 3, 18, 19, 12, tzinfo=UTC)


@pytest.mark.parametrize(
    ("slack", "words"),
    [
        (Slack(8.0, AT, "sinks below 20 deg", 0.3), "now or never: sinks below 20 deg at 19:12"),
        (
            Slack(40.0, AT, "sets behind the skyline", 0.02),
            "can wait until 18:40: sets behind the skyline at 19:12",
        ),
        (
            Slack(8.0, AT, "nears the zenith", 0.0, AT + timedelta(minutes=83)),
            "nears the zenith at 19:12, back at 20:35",
        ),
        (
            Slack(25.0, AT, "goes behind cloud", 0.0, AT + timedelta(minutes=60)),
            "can wait until 18:25: goes behind cloud at 19:12, back at 20:12",
        ),
        (Slack(90.0, None, "", 0.0), "can wait until 19:30"),
        (Slack(90.0, None, "", 0.25), "can wait until 19:30, but 25% less in half an hour"),
        (
            Slack(40.0, AT, "dawn", 0.25),
            "can wait until 18:40: dawn at 19:12",
        ),
        (Slack(5.0, None, "", 0.0), "can wait until 18:05"),
    ],
)
def test_words(slack: Slack, words: str) -> None:
    """In the site's time; the last chance is told as such only when the sky ends it."""
    assert slack_words(slack, SITE, AT - timedelta(minutes=72)) == words


@pytest.mark.parametrize("name", ["spring", "winter", "southern", "moonlit"])
def test_slack_is_what_the_window_leaves(evening_of: Any, name: str) -> None:
    """Later by its slack a look still lies in its window, and five minutes more are too many."""
    evening = evening_of(name)
    night = evening.night
    for look in evening.plan.looks:
        assert look.slack is not None
        row = night.row_of[look.target.id]
        is_open = night.roster.windows.open[row]
        latest = look.end + timedelta(minutes=look.slack.slack_min)
        first = int(night.minute(look.start) // STEP_MIN)
        last = int(night.minute(latest) // STEP_MIN)
        assert latest <= evening.plan.end
        assert is_open[first : last + 1].all()
        if look.slack.closes is None:
            assert evening.plan.end - latest < timedelta(minutes=1)
        elif look.slack.cause != "fades":
            assert not is_open[first : last + 2].all()


@pytest.mark.parametrize("name", ["spring", "winter", "southern", "moonlit"])
def test_what_comes_back_is_open_for_a_whole_look(evening_of: Any, name: str) -> None:
    """From the time that is named, and never between the closing and that time."""
    night, found = evening_of(name).night, 0
    sky = open_sky(night, evening_of(name).begun, night.start)
    for row, target in enumerate(night.roster.targets):
        is_open = sky.candidates.open[row]
        for first in np.flatnonzero(np.diff(np.concatenate([[0], is_open.astype(int)])) > 0):
            slack = slack_of(
                sky.roster, sky.candidates, sky.session,
                row=row, start_min=first * STEP_MIN, origin=sky.origin,
                floor_deg=float(night.floors_deg[row]),
            )  # fmt: skip
            dwell = math.ceil(night.dwell(target.id) / timedelta(minutes=STEP_MIN)) + 1
            runs = [is_open[k : k + dwell].all() for k in range(len(is_open) - dwell + 1)]
            closes = len(is_open)
            if slack.closes is not None:
                closes = round(night.minute(slack.closes) / STEP_MIN) + 1
            later = [k for k in range(closes, len(runs)) if runs[k]]
            again = None if not later else night.instant(later[0] * STEP_MIN)
            assert slack.opens_again == again
            found += again is not None
    assert found > 0 or name != "winter"


def test_what_closes_is_true(evening_of: Any) -> None:
    """Each cause is found again in the sky at the time that it names."""
    night = evening_of("winter").night
    causes = set()
    for look in evening_of("winter").plan.looks:
        slack, row = look.slack, night.row_of[look.target.id]
        if slack.closes is None:
            continue
        step = round(night.minute(slack.closes) / STEP_MIN) + 1
        altitude = night.roster.tracks.altitude_deg[row, step]
        if slack.cause.startswith("sinks below"):
            assert altitude < night.floors_deg[row]
        elif slack.cause == "nears the zenith":
            assert altitude > 80.0
        causes.add(slack.cause)
    assert len(causes) >= 2


def test_the_sheet_and_the_json_tell_it(evening_of: Any) -> None:
    """Minutes before the eyepiece, the last chance first of all; both keys for every look."""
    evening = evening_of("spring")
    circumstances = evening.night.circumstances
    text = plan_text(evening.plan, circumstances=circumstances, session="4 hours from dusk")
    assert max(map(len, text.splitlines())) <= 80
    assert "can wait     eyepiece" in text
    told = json.loads(json_text(plan_json(evening.plan)))["looks"]
    for look, entry in zip(evening.plan.looks, told, strict=True):
        assert entry["slack_minutes"] == round(look.slack.slack_min)
        site = evening.plan.night.site
        latest = (look.start + timedelta(minutes=round(look.slack.slack_min))).astimezone(site.zone)
        assert f"\nuntil {latest:%H:%M}  " in text
        words = slack_words(look.slack, site, look.start)
        assert entry["why_now"].endswith(words)
        assert entry["why_now"].removesuffix(words).removesuffix("; ") == look.timing
        if look.slack.closes and look.slack.slack_min <= 15.0:
            assert f"             {words}" in text


def test_the_loss_counts_from_the_middle_of_the_look(evening_of: Any) -> None:
    """Worth falls from the tenth minute on: 20 minutes begun at 0 have their middle there.

    From the middle, a half hour takes 0.3 of 1; from the start it would take 0.2 only.
    """
    night = evening_of("spring").night
    sky = open_sky(night, evening_of("spring").begun, night.start)
    minutes = np.arange(sky.candidates.quality.shape[1]) * STEP_MIN
    falling = 1.0 - np.clip((minutes - 10.0) / 100.0, 0.0, 0.9)
    candidates = replace(
        sky.candidates,
        quality=np.broadcast_to(falling, sky.candidates.quality.shape),
        open=np.ones_like(sky.candidates.open),
        dwell_min=np.full_like(sky.candidates.dwell_min, 20.0),
    )
    slack = slack_of(
        sky.roster, candidates, sky.session,
        row=0, start_min=0.0, origin=sky.origin, floor_deg=20.0,
    )  # fmt: skip
    np.testing.assert_allclose(slack.loss, 0.3, atol=1e-9)
