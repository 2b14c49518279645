"""Opens a night: who looks where with what, what is up, and how it stood when it was left."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np

from planner.ephemeris.kernel import load_ephemeris
from planner.model.night import Night
from planner.model.plan import Plan
from planner.planning.circumstances import STEP_MIN, Circumstances, Wishes
from planner.planning.session_times import SessionTimes, is_over, session_times
from planner.request.circumstances import check_kit, circumstances_of, night_of
from planner.request.journal_use import with_journal
from planner.request.options import JournalWishes, Readings, open_settings
from planner.request.user_targets import stock_for_night, with_all_lists
from planner.session.moves.sky import circumstances_under
from planner.session.night import SurveyedNight, survey_night, under_another_sky
from planner.session.state import SessionState, SkyReadings
from targets.catalogue.catalogue import Catalogue
from targets.frozen import frozen
from tui.night.lock import NightLock
from tui.night.night_file import saved_state, state_path
from tui.night.request import Request

if TYPE_CHECKING:
    from planner.planning.look import LookReport


@frozen
class Opened:
    """A night that is open.

    Parameters
    ----------
    catalogue : Catalogue
        All there is to look at, the user's own targets included.
    times : SessionTimes
        When the session was to be when it was opened.
    saved : SessionState or None
        Where the night stood when it was left.
    is_mine : bool
        Whether the lock was free.
    said, remarks : tuple of str
        What is to be told of the file, and of the rest.
    """

    circumstances: Circumstances
    catalogue: Catalogue
    night: SurveyedNight
    times: SessionTimes
    saved: SessionState | None
    lock: NightLock
    is_mine: bool
    said: tuple[str, ...]
    remarks: tuple[str, ...]


def open_night(request: Request, now: datetime) -> Opened:
    """Survey a night, and read how it stood.

    Raises InputError, SettingsError, NothingToPlanError or DatabaseError with sentences, when there
    is nothing that could be opened.
    """
    around = request.surroundings
    settings, talk = open_settings(request.config, around)
    site, circumstances = circumstances_of(
        settings, site=request.site, telescope=request.telescope, readings=Readings()
    )
    night = night_of(load_ephemeris(), site, evening=request.evening, now=now)
    check_kit(circumstances)
    path = state_path(around.data, night)
    lock = NightLock(path)
    is_mine = lock.take()
    saved, said = saved_state(path, puts_aside=is_mine)
    is_tonight = night.start <= now < night.end and not is_over(night, now)
    times = times_of(night, saved, now if is_tonight or not request.evening else None)
    circumstances, lessons = with_journal(circumstances, JournalWishes(), around, settings)
    readings = saved.readings if saved is not None else None
    today = circumstances_under(circumstances, night.site, readings)
    stock = stock_for_night(
        around.data, ephemeris=load_ephemeris(), site=night.site, instant=times.start
    )
    catalogue = with_all_lists(stock.catalogue, around.data)
    # The user's lists are searched, and planned when they are asked for.
    is_longer = len(catalogue) > len(stock.catalogue)
    wishes = Wishes(rows=np.arange(len(stock.catalogue)) if is_longer else None)
    surveyed = survey_night(
        catalogue,
        load_ephemeris(),
        night,
        start=_first_step(night, times, now),
        end=times.end,
        circumstances=today,
        wishes=wishes,
        also=(*(look.target_id for look in saved.looks), *saved.added) if saved else (),
    )
    remarks = (*talk, *lessons, *stock.remarks)
    return Opened(circumstances, catalogue, surveyed, times, saved, lock, is_mine, said, remarks)


def _first_step(night: Night, times: SessionTimes, now: datetime) -> datetime:
    """Return from when on targets are followed: from now, where it is night before the session."""
    is_up = night.sunset is not None and now < night.sunset
    if is_up or not night.start <= now < times.start:
        return times.start
    step = timedelta(minutes=STEP_MIN)  # the same steps as the plan has: windows are known at them
    return max(times.start - math.ceil((times.start - now) / step) * step, night.start)


def times_of(night: Night, saved: SessionState | None, now: datetime | None) -> SessionTimes:
    """Find when the session is: as it was saved, else from dusk, or from now on."""
    if saved is not None:
        return SessionTimes(saved.start, saved.end, "as saved")
    return session_times(night, now=now)


def plan_of(opened: Opened) -> Plan:
    """Plan the session as it would be on paper, whatever was saved."""
    from planner.planning.plan import plan_night  # noqa: PLC0415  # behind the first list

    return plan_night(
        opened.catalogue,
        load_ephemeris(),
        opened.night.night,
        start=opened.times.start,
        end=opened.times.end,
        circumstances=opened.night.circumstances,
        wishes=opened.night.wishes,
    )


def follow_too(
    opened: Opened,
    surveyed: SurveyedNight,
    also: tuple[str, ...],
    end: datetime,
    readings: SkyReadings | None,
) -> SurveyedNight:
    """Follow what is worth a look until a time under what sky, and targets by their identities."""
    usual = opened.circumstances
    return survey_night(
        opened.catalogue,
        load_ephemeris(),
        surveyed.night,
        start=surveyed.start,
        end=end,
        circumstances=circumstances_under(usual, surveyed.night.site, readings),
        wishes=surveyed.wishes,
        also=also,
    )


def seen_as(
    opened: Opened, surveyed: SurveyedNight, end: datetime, readings: SkyReadings | None
) -> SurveyedNight:
    """Rate what is followed by what is said of the sky; more is followed where that is better."""
    usual = opened.circumstances
    before = opened.night.circumstances.conditions
    today = circumstances_under(usual, surveyed.night.site, readings)
    now = today.conditions
    is_better = (
        now.sky_mag_arcsec2 > before.sky_mag_arcsec2
        or now.extinction_mag < before.extinction_mag
        or now.eye_mag > before.eye_mag
        or now.seeing_step < before.seeing_step
    )
    if is_better:
        return follow_too(opened, surveyed, tuple(surveyed.row_of), end, readings)
    return under_another_sky(surveyed, today, end=end)


def look_around(
    opened: Opened, surveyed: SurveyedNight, target_id: str, at: datetime
) -> LookReport:
    """Look at one target in a night that is open: every eyepiece ranked, when it is up."""
    from planner.planning.look import look_at  # noqa: PLC0415  # behind the first list

    night = surveyed.night
    return look_at(
        opened.catalogue.target(opened.catalogue.index_of(target_id)),
        load_ephemeris(),
        night,
        replace(surveyed.circumstances, misfits=()),
        at=min(max(at, night.start), night.end),
    )
