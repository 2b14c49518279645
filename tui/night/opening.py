"""Opens a night: who looks where with what, what is up, and how it stood when it was left."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime

import numpy as np

from planner.ephemeris.almanac import evening_date
from planner.ephemeris.kernel import load_ephemeris
from planner.model.night import Night
from planner.model.plan import Plan
from planner.output.words import clock
from planner.planning.look import LookReport, look_at
from planner.planning.plan import Wishes, plan_night
from planner.planning.session_times import SessionTimes, is_over
from planner.request.circumstances import Occasion, check_kit, night_of, occasion_of
from planner.request.journal_use import occasion_with
from planner.request.options import JournalUse, Readings, open_settings
from planner.request.user_targets import stock_for_night, with_all_lists
from planner.session.moves.sky import circumstances_under
from planner.session.night import SurveyedNight, key_words, survey_night
from planner.session.state import SessionState, SkyReadings, Status
from targets.catalogue.catalogue import Catalogue
from targets.errors import UserError
from tui.night.lock import NightLock
from tui.night.night_file import night_path, saved_state, state_path, times_of
from tui.night.scene import Request


@dataclass(frozen=True, slots=True)
class Opened:
    """A night that is open.

    Parameters
    ----------
    occasion : Occasion
    catalogue : Catalogue
        All there is to look at, the user's own targets included.
    night : SurveyedNight
    plan : Plan
        As it is made now, whatever was saved.
    saved : SessionState or None
        Where the night stood when it was left.
    lock : NightLock
    is_mine : bool
        Whether the lock was free.
    said, remarks : tuple of str
        What is to be told of the file, and of the rest.
    """

    occasion: Occasion
    catalogue: Catalogue
    night: SurveyedNight
    plan: Plan
    saved: SessionState | None
    lock: NightLock
    is_mine: bool
    said: tuple[str, ...]
    remarks: tuple[str, ...]


def open_night(request: Request, now: datetime) -> Opened:
    """Plan a night, and read how it stood.

    Raises
    ------
    InputError, SettingsError, NothingToPlanError, DatabaseError
        With sentences, when there is nothing that could be opened.
    """
    around = request.surroundings
    settings, talk = open_settings(request.config, around)
    occasion = occasion_of(
        settings, site=request.site, telescope=request.telescope, readings=Readings()
    )
    night = night_of(load_ephemeris(), occasion.site, evening=request.evening, now=now)
    check_kit(occasion)
    path = state_path(around.data, night)
    lock = NightLock(path)
    is_mine = lock.take()
    saved, said = saved_state(path, puts_aside=is_mine)
    is_tonight = night.start <= now < night.end and not is_over(night, now)
    times = times_of(night, saved, now if is_tonight or not request.evening else None)
    occasion, lessons = occasion_with(occasion, JournalUse(), around, settings)
    readings = saved.readings if saved is not None else None
    usual, today = occasion, circumstances_under(occasion.circumstances, night.site, readings)
    occasion = replace(occasion, circumstances=today)
    stock = stock_for_night(
        around.data, ephemeris=load_ephemeris(), site=night.site, instant=times.start
    )
    catalogue = with_all_lists(stock.catalogue, around.data)
    # The user's lists are searched, and planned when they are asked for.
    is_longer = len(catalogue) > len(stock.catalogue)
    wishes = Wishes(rows=np.arange(len(stock.catalogue)) if is_longer else None)
    plan, field = _survey(catalogue, wishes, occasion, night, times, saved)
    remarks = (*talk, *lessons, *stock.remarks)
    return Opened(usual, catalogue, field, plan, saved, lock, is_mine, said, remarks)


def last_list(request: Request, now: datetime) -> tuple[str, ...]:
    """Return how the night stood when it was left, a line for each look; nothing where it is new.

    It takes no positions and no plan, so that something stands on the screen at once.
    """
    around = request.surroundings
    try:
        site = open_settings(request.config, around)[0].site(request.site)
        evening = request.evening or evening_date(now, site)
        saved, _ = saved_state(night_path(around.data, evening, site.name))
    except UserError:  # opening the night says what is wrong
        return ()
    if saved is None:
        return ()
    return tuple(
        f"{look.status:<7} {clock(look.start, site)} {look.name}, {key_words(look.train)}"
        for look in saved.looks
        if look.status is not Status.LOST
    )


def _survey(
    catalogue: Catalogue,
    wishes: Wishes,
    occasion: Occasion,
    night: Night,
    times: SessionTimes,
    saved: SessionState | None,
) -> tuple[Plan, SurveyedNight]:
    ephemeris, who = load_ephemeris(), occasion.circumstances
    span = {"start": times.start, "end": times.end}
    plan = plan_night(catalogue, ephemeris, night, **span, circumstances=who, wishes=wishes)
    also = [look.target.id for look in plan.looks]
    if saved is not None:
        also += [look.target_id for look in saved.looks] + list(saved.added)
    field = survey_night(
        catalogue, ephemeris, night, **span, circumstances=who, wishes=wishes, also=tuple(also)
    )
    return plan, field


def follow_too(
    opened: Opened,
    field: SurveyedNight,
    also: tuple[str, ...],
    end: datetime,
    readings: SkyReadings | None,
) -> SurveyedNight:
    """Follow what is worth a look until a time under what sky, and targets by their identities."""
    usual = opened.occasion.circumstances
    return survey_night(
        opened.catalogue,
        load_ephemeris(),
        field.night,
        start=field.start,
        end=end,
        circumstances=circumstances_under(usual, field.night.site, readings),
        wishes=field.wishes,
        also=also,
    )


def look_around(opened: Opened, field: SurveyedNight, target_id: str, at: datetime) -> LookReport:
    """Look at one target in a night that is open: every eyepiece ranked, when it is up."""
    night = field.night
    return look_at(
        opened.catalogue.target(opened.catalogue.index_of(target_id)),
        load_ephemeris(),
        night,
        field.circumstances,
        misfits=(),
        at=min(max(at, night.start), night.end),
    )
