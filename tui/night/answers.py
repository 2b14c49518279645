"""Moves made from what was answered."""

from __future__ import annotations

from datetime import datetime, timedelta

from planner.session.moves.clouds import cleared, cloud_here
from planner.session.moves.looks import use_train
from planner.session.night import SurveyedNight
from planner.session.state import CloudKind, SessionState, TrainKey
from targets.frozen import frozen


def close_part(
    night: SurveyedNight, state: SessionState, now: datetime, choice: CloudChoice
) -> tuple[SessionState, tuple[str, ...]]:
    """Close a part of the sky for as long as was said, or open it again."""
    if choice.opens:
        return cleared(night, state, now, direction=choice.direction, band=choice.band)
    until = now + timedelta(minutes=choice.minutes) if choice.minutes else None
    return cloud_here(
        night,
        state,
        now,
        direction=choice.direction,
        band=choice.band,
        kind=choice.kind,
        until=until,
    )


def put_in(
    night: SurveyedNight, state: SessionState, now: datetime, train: TrainKey, target_id: str
) -> tuple[SessionState, tuple[str, ...]]:
    """Use another train for a look; for one that is over, put it into the focuser."""
    look = state.look_at(target_id)
    return use_train(night, state, now, train, target_id if look and look.counts else None)


def eighth(azimuth_deg: float) -> str:
    """Name the nearest of the eight directions of the cloud map."""
    return ("N", "NE", "E", "SE", "S", "SW", "W", "NW")[round(azimuth_deg / 45.0) % 8]


@frozen
class CloudChoice:
    """A part of the sky by the names of `cloud_sectors`, and how thick the cloud is.

    ``minutes`` is how long it is expected to stay; None until further notice. ``opens`` tells that
    the part is open again.
    """

    direction: str
    band: str
    kind: CloudKind
    minutes: int | None = None
    opens: bool = False
