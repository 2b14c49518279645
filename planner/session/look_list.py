"""What a screen shows of a session: each look with its numbers, and how dark it is."""

from __future__ import annotations

import math
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from planner.formulas.visibility_limit import grade_word
from planner.matcher.visibility import margins_dex, seen_axes
from planner.model.kit import Train
from planner.model.night import Night
from planner.model.plan import Grade
from planner.output.words import clock
from planner.planning.circumstances import STEP_MIN
from planner.planning.survey import moment_at
from planner.session.night import SurveyedNight
from planner.session.offers import spare_words
from planner.session.open_sky import moments_under_clouds
from planner.session.state import LossCause, SessionLook, SessionState, Status
from targets.arrays import Codes
from targets.frozen import frozen
from targets.model import Target

TO_COME = {Status.WAITING, Status.NOW, Status.LOST}


@frozen
class LookLine:
    """A look of a session with what is told of it in a list.

    Parameters
    ----------
    train : Train or None
        None when the kit has it no more.
    is_next : bool
        Whether it is the first of those that wait.
    is_shut : bool
        Whether it was lost to cloud that is still there.
    fill : float or None
        Long axis, as it is seen, over true field; None when the size is unknown.
    altitude_deg, azimuth_deg : float
        In the middle of the look [deg].
    grade : Grade
        How easily it is seen then.
    spare : str
        How long it could wait yet, in words; empty when that is of no meaning.
    is_lesson : bool
        Whether its outcome is to be said before the grade is told.
    """

    look: SessionLook
    target: Target
    train: Train | None
    is_next: bool
    is_shut: bool
    fill: float | None
    altitude_deg: float
    azimuth_deg: float
    grade: Grade
    spare: str
    is_lesson: bool = False


@frozen
class Present:
    """A look under way at this minute.

    Parameters
    ----------
    altitude_deg, azimuth_deg : float
        Where its target stands [deg].
    left_min : float
        Until it is due [min]; below zero when it is over.
    """

    altitude_deg: float
    azimuth_deg: float
    left_min: float

    @property
    def words(self) -> str:
        """What is left, or by how much it is over, as ``d`` has not been pressed."""
        minutes = round(self.left_min)
        if minutes == 0:
            return "time is up: d?"
        return f"{minutes} min left" if minutes > 0 else f"over by {-minutes} min: d?"

    @property
    def is_over(self) -> bool:
        """Whether it should have ended."""
        return round(self.left_min) <= 0


def present_of(night: SurveyedNight, look: SessionLook, now: datetime) -> Present | None:
    """Tell of a look under way where its target stands now; None of any other look."""
    row = night.row_of.get(look.target_id)
    if look.status is not Status.NOW or row is None:
        return None
    tracks, step = night.roster.tracks, night.minute(now) / STEP_MIN
    steps = np.arange(tracks.altitude_deg.shape[1])
    azimuth_deg = np.degrees(np.unwrap(np.radians(tracks.azimuth_deg[row])))
    return Present(
        altitude_deg=float(np.interp(step, steps, tracks.altitude_deg[row])),
        azimuth_deg=float(np.interp(step, steps, azimuth_deg)) % 360.0,
        left_min=((look.due or look.end) - now) / timedelta(minutes=1),
    )


def is_lost(look: SessionLook) -> bool:
    """Whether a look has no place in what is left of the night."""
    return look.status is Status.LOST


def look_lines(night: SurveyedNight, state: SessionState) -> tuple[LookLine, ...]:
    """Describe the looks of a session that the night knows in time order, the lost ones last."""
    looks = [look for look in state.looks if look.target_id in night.row_of]
    looks.sort(key=is_lost)  # they must not crowd the others
    if not looks:
        return ()
    rows = np.array([night.row_of[look.target_id] for look in looks], dtype=np.intp)
    steps = np.array([_step(night, look) for look in looks], dtype=np.intp)
    columns = np.array([night.column_of.get(look.train, -1) for look in looks], dtype=np.intp)
    grades, shares = _seen(night, state, rows, steps, np.maximum(columns, 0))
    spares = spare_words(night, state)
    tracks, trains = night.roster.tracks, night.circumstances.table.trains
    following = next(iter(state.waiting), None)
    lines = []
    for k, look in enumerate(looks):
        target = night.roster.targets[rows[k]]
        train = trains[int(columns[k])] if columns[k] >= 0 else None
        lines.append(
            LookLine(
                look=look,
                target=target,
                train=train,
                is_next=look is following,
                is_shut=_is_shut(look, state),
                fill=_fill(target, train, shares[k]),
                altitude_deg=float(tracks.altitude_deg[rows[k], steps[k]]),
                azimuth_deg=float(tracks.azimuth_deg[rows[k], steps[k]]),
                grade=grades[k] if train else Grade.UNKNOWN,
                spare=spares.get(look.target_id, ""),
                is_lesson=look.target_id in state.lessons and look.status in TO_COME,
            )
        )
    return tuple(lines)


def _is_shut(look: SessionLook, state: SessionState) -> bool:
    is_clouded = look.status is Status.LOST and look.cause is LossCause.CLOUD
    return is_clouded and bool(state.closures)


def _fill(target: Target, train: Train | None, share: float) -> float | None:
    if train is None or not target.major_arcmin:
        return None
    return share * target.major_arcmin / train.true_field_arcmin


def _step(night: SurveyedNight, look: SessionLook) -> int:
    middle = night.minute(look.start + (look.end - look.start) / 2)
    last = len(night.roster.grid.unix_s) - 1
    return min(max(round(middle / STEP_MIN), 0), last)


def _seen(
    night: SurveyedNight, state: SessionState, rows: Codes, steps: Codes, columns: Codes
) -> tuple[list[Grade], list[float]]:
    """Grade some targets, each at a step and in a train of its own, and tell how far out they show.

    The second are shares of the catalogue's axes.
    """
    roster, circumstances = night.roster, night.circumstances
    table, own = roster.target_table.of_rows(rows), circumstances.lens.for_each(columns)
    moment = moment_at(moments_under_clouds(night, state.closures, rows), steps)
    margins = margins_dex(table, moment, own, circumstances.preferences)[:, 0]
    shares = seen_axes(table, moment, own)[:, 0]
    grades = [grade_word(None if np.isnan(margin) else float(margin)) for margin in margins]
    return grades, shares.tolist()


def darkness_words(night: Night, now: datetime) -> str:
    """Say how dark it is, and until when it stays so.

    Parameters
    ----------
    now : datetime
        Aware; may lie outside of the night.
    """
    if not night.start <= now < night.end:
        return _away_words(night, now)
    if night.dark_start and night.dark_end and night.dark_start <= now < night.dark_end:
        return (
            "dark all night"
            if night.dark_end >= night.end
            else f"dark until {clock(night.dark_end, night.site)}"
        )
    return _bright_words(night, now) or _twilight_words(night, now)


def _bright_words(night: Night, now: datetime) -> str | None:
    """Warn of the Sun by day and in civil twilight; None when it is darker."""
    if night.sunset and now < night.sunset:
        return f"day, keep off the Sun: it sets {clock(night.sunset, night.site)}"
    if night.sunrise and now >= night.sunrise:
        return f"day, keep off the Sun: it rose {clock(night.sunrise, night.site)}"
    if night.civil_dusk and night.civil_dawn and night.civil_dusk <= now < night.civil_dawn:
        return None
    return "twilight, keep off the Sun"


def _twilight_words(night: Night, now: datetime) -> str:
    if night.dark_start is None or night.dark_end is None:
        return "twilight, never fully dark"
    if now < night.dark_start:
        return f"twilight, dark from {clock(night.dark_start, night.site)}"
    return "twilight, dark is over"


def _away_words(night: Night, now: datetime) -> str:
    """Say how far the clock is from a night that is not tonight."""
    if now >= night.end:
        return "this night is over"
    days = math.ceil((night.start - now) / timedelta(days=1))
    return "looking ahead: tomorrow's night" if days == 1 else f"looking ahead {days} days"


def moon_words(surveyed: SurveyedNight, now: datetime) -> str:
    """Say how much of the Moon is lit, how high it stands, and when it rises or sets.

    Parameters
    ----------
    now : datetime
        Aware.
    """
    night, grid = surveyed.night, surveyed.roster.grid
    altitude_deg = _at(surveyed, now, grid.moon_altitude_deg)
    lit = _at(surveyed, now, grid.moon_illuminated)
    told = [f"Moon {night.moon_illuminated if lit is None else lit:.0%}"]
    if altitude_deg is not None and altitude_deg > 0.0:
        told.append(f"{altitude_deg:.0f} deg up")
    events = [(night.moonrise, "rises"), (night.moonset, "sets")]
    coming = sorted((at, word) for at, word in events if at is not None and at > now)
    told += [f"{word} {clock(at, night.site)}" for at, word in coming[:1]]
    return ", ".join(told)


def _at(surveyed: SurveyedNight, now: datetime, values: NDArray[np.float64]) -> float | None:
    """A value of the night's grid at a time; None before the first step and after the last."""
    unix_s, steps = now.timestamp(), surveyed.roster.grid.unix_s
    if not steps[0] <= unix_s <= steps[-1]:
        return None
    return float(np.interp(unix_s, steps, values))
