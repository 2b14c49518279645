"""What can be looked at from a moment on: parts of the night that is known, worked out anew."""

from __future__ import annotations

from dataclasses import fields
from typing import Any

import numpy as np
import pytest

from planner.planning.candidates import candidates_of
from planner.planning.plan import STEP_MIN
from planner.planning.scheduling.candidates import Candidates
from planner.session.moves.clouds import cloud_here
from planner.session.moves.looks import use_train
from planner.session.open_sky import OpenSky, open_sky
from planner.session.state import CloudKind, SessionState


def _all_anew(evening: Any, sky: OpenSky) -> Candidates:
    """Work every target out, each in the train and under the cloud that it has."""
    shares = evening.night.shares[np.arange(len(sky.columns)), sky.columns]
    return candidates_of(sky.roster, evening.night.circumstances, sky.columns, shares)


def _under_thin_cloud(evening: Any) -> SessionState:
    state = evening.begun
    what = {"direction": "E", "kind": CloudKind.THIN, "loss_mag": 1.5}
    return cloud_here(evening.night, state, state.clock, **what)[0]


def _with_another_train(evening: Any) -> SessionState:
    state = evening.begun
    look = state.waiting[0]
    other = next(key for key in evening.night.column_of if key.eyepiece != look.train.eyepiece)
    return use_train(evening.night, state, state.clock, other, look.target_id)[0]


@pytest.mark.parametrize("make", [_under_thin_cloud, _with_another_train])
@pytest.mark.parametrize("minutes", [0, 75])
def test_what_is_taken_from_the_night_is_what_working_all_out_gives(
    spring: Any, make: Any, minutes: int
) -> None:
    """Targets under thin cloud or in another train are new, the others as the night has them."""
    state = make(spring)
    sky = open_sky(spring.night, state, spring.after(minutes))
    anew = _all_anew(spring, sky)
    plain = spring.night.candidates.quality[:, minutes // int(STEP_MIN) :][
        :, : anew.quality.shape[1]
    ]
    assert (plain != sky.candidates.quality).any()
    # The way to a target is estimated once, for where it stands over the whole night.
    for item in (item for item in fields(Candidates) if item.name != "finding_min"):
        np.testing.assert_array_equal(
            getattr(sky.candidates, item.name), getattr(anew, item.name), err_msg=item.name
        )
