"""What can be looked at from a moment on: parts of the night that is known, worked out anew."""

from __future__ import annotations

from dataclasses import fields, replace
from typing import Any

import numpy as np
import pytest

from planner.ephemeris.kernel import load_ephemeris
from planner.planning.candidates import candidates_of
from planner.planning.circumstances import STEP_MIN
from planner.planning.scheduling.candidates import Candidates
from planner.session.moves.clouds import cloud_here
from planner.session.moves.looks import use_train
from planner.session.night import survey_night, under_another_sky
from planner.session.open_sky import OpenSky, open_sky
from planner.session.state import CloudKind, SessionState
from targets.catalogue.catalogue import load_catalogue


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
    # What two in one field take from each other is multiplied in another order.
    for item in (item for item in fields(Candidates) if item.name != "finding_min"):
        np.testing.assert_allclose(
            getattr(sky.candidates, item.name),
            getattr(anew, item.name),
            rtol=1e-12,
            err_msg=item.name,
        )


def test_another_sky_is_rated_as_if_surveyed_anew(spring: Any) -> None:
    """Haze and bad seeing: the same targets get the trains and the worth of a new survey."""
    night, who = spring.night, spring.night.circumstances
    usual = who.conditions
    hazy = replace(usual, extinction_mag=usual.extinction_mag + 0.5, seeing="V")
    worse = replace(who, conditions=hazy)
    quick = under_another_sky(night, worse, end=spring.begun.end)
    anew = survey_night(
        load_catalogue(),
        load_ephemeris(),
        night.night,
        start=night.start,
        end=spring.begun.end,
        circumstances=worse,
        wishes=night.wishes,
        also=tuple(night.row_of),
    )
    rows = [anew.row_of[name] for name in quick.row_of]
    assert (quick.columns == anew.columns[rows]).all()
    np.testing.assert_allclose(quick.candidates.quality, anew.candidates.quality[rows])
    assert (quick.candidates.open == anew.candidates.open[rows]).all()
    assert quick.candidates.quality.mean() < 0.9 * night.candidates.quality.mean()
