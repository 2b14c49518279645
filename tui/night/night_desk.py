"""A night behind the screens: opened or taken up again, kept on disk, brought to the time."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from threading import Event
from typing import TYPE_CHECKING

from planner.model.errors import NothingToPlanError
from planner.model.kit import train_words
from planner.model.plan import Plan
from planner.session.clock import WENT_BACK
from planner.session.course import begin_at_once, begin_session, resume, tick
from planner.session.look_list import look_lines
from planner.session.moves.times import is_untouched
from planner.session.night import SurveyedNight
from planner.session.state import (
    SessionState,
    SkyReadings,
)
from targets.catalogue.catalogue import Catalogue
from tui.night.ending import is_behind, with_entries
from tui.night.logbook import Logbook
from tui.night.night_file import saved_state, state_path, why_not_kept
from tui.night.opening import Opened, follow_too, open_night, plan_of
from tui.night.request import Request
from tui.night.scene import Scene

if TYPE_CHECKING:
    pass

Move = Callable[[SurveyedNight, SessionState, datetime], tuple[SessionState, tuple[str, ...]]]

READ_ONLY = "Another fieldstop has this night open: here it can only be read."
ALONE = "The other fieldstop has let go of this night: here it goes on."


class NightDesk:
    """The night that is open.

    Parameters
    ----------
    clock : callable
        Gives the time, aware.
    """

    def __init__(self, request: Request, clock: Callable[[], datetime]) -> None:
        self._request, self._clock = request, clock
        self._number, self._not_saved = 0, ""
        self._plan: Plan | None = None
        # The night as it was rated by what was said of the sky.
        self._skies: dict[SkyReadings | None, SurveyedNight] = {}
        # Whether somebody has pressed a key: then no better plan takes the place of the list.
        self.in_use = Event()
        # Until when the targets worth a look are followed.
        self._known_until: datetime | None = None
        self._scene: Scene | None = None
        # Whether it was said that the clock is behind the session.
        self._is_behind = False
        # What came of the looks with these entries in the journal.
        self._told: tuple[tuple[str, ...], dict[str, str]] | None = None
        self._night: tuple[Opened, Logbook] | None = None

    @property
    def catalogue(self) -> Catalogue:
        """All there is to look at, the user's own targets included."""
        return self._opened.catalogue

    @property
    def scene(self) -> Scene:
        """What was shown last; `open` comes first."""
        if self._scene is None:
            raise NothingToPlanError("No night is open.")
        return self._scene

    @property
    def _opened(self) -> Opened:
        if self._night is None:
            raise NothingToPlanError("No night is open.")
        return self._night[0]

    @property
    def _logbook(self) -> Logbook:
        if self._night is None:
            raise NothingToPlanError("No night is open.")
        return self._night[1]

    def now(self) -> datetime:
        """Return the time."""
        return self._clock()

    def open(self) -> Scene:
        """Begin the night in the order that is found first, or take it up where it stood.

        Raises InputError, SettingsError, NothingToPlanError or DatabaseError with sentences, when
        there is nothing that could be opened.
        """
        now = self.now()
        opened = open_night(self._request, now)
        field, saved = opened.night, opened.saved
        name = opened.circumstances.observer.name
        logbook = Logbook(self._request.surroundings.data, field.night, name)
        self._night = opened, logbook
        self._known_until = opened.times.end
        if saved is None:
            state, words = self._begun(opened, now)
        else:
            known, told = with_entries(logbook, field, saved) if opened.is_mine else (saved, ())
            state, words = resume(field, known, now)
            words = ("Taken up where it stood.", *told, *words)
        mine = () if opened.is_mine else (READ_ONLY,)
        self._scene = Scene(
            0,
            field,
            state,
            look_lines(field, state),
            read_only=not opened.is_mine,
            asks_until=opened.is_mine and is_behind(saved or state, field, now),
        )
        return self._show(state, (*mine, *opened.said, *words, *opened.remarks))

    def _begun(self, opened: Opened, now: datetime) -> tuple[SessionState, tuple[str, ...]]:
        """Begin a session; where nothing comes, its plan says why."""
        times = opened.times
        state = begin_at_once(opened.night, times.start, times.end, now)
        return (state, ()) if state.looks else begin_session(opened.night, self.plan, now)

    @property
    def plan(self) -> Plan:
        """The session as it would be on paper, worked out when it is first asked for."""
        if self._plan is None:
            self._plan = plan_of(self._opened)
        return self._plan

    def planned_words(self, target_id: str) -> str:
        """Name the train in which a target was planned; empty where it was not."""
        looks = self._plan.looks if self._plan else ()
        return next((train_words(x.view.train) for x in looks if x.target.id == target_id), "")

    def refine(self) -> Scene | None:
        """Plan the session with all care; None where nothing changes, or a move was made by then.

        What is on the screen stays once anybody has pressed a key.
        """
        scene, plan, now = self.scene, self.plan, self.now()
        is_new = self._opened.saved is None and is_untouched(scene.state)
        if not is_new or scene.read_only or self.in_use.is_set() or not plan.looks:
            return None
        names = tuple(look.target.id for look in plan.looks)
        field = self._knowing(scene.state, *names)
        state, _ = begin_session(field, plan, now)
        is_same = (state.looks, state.pauses) == (scene.state.looks, scene.state.pauses)
        if self.in_use.is_set() or is_same:
            return None
        self._scene = replace(scene, night=field)
        return self._show(state, scene.words)

    def make(self, move: Move) -> Scene:
        """Make a move: it is on disk before it is given back."""
        scene = self.scene
        if scene.read_only:
            return self._show(scene.state, (READ_ONLY,), save=False)
        state, words = move(scene.night, scene.state, self.now())
        return self._show(state, self._once(words))

    def tick(self) -> Scene | None:
        """Let time pass, and try again what could not be kept; None when nothing changes."""
        scene = self.scene
        if scene.read_only:
            return self._follow_other(scene)
        state, words = tick(scene.night, scene.state, self.now())
        words = self._once(words)
        late = self._logbook.write_pending(self.now())
        words += () if self._logbook.pending else late
        is_news = words or replace(state, clock=scene.state.clock) != scene.state
        if is_news or (self._not_saved and self._save(state)):
            return self._show(state, words)
        self._scene = replace(scene, state=state)  # it is the time that tells a leap of the clock
        return None

    def _once(self, words: tuple[str, ...]) -> tuple[str, ...]:
        """Leave out what was said already of a clock that is still behind the session."""
        behind = [told for told in words if told.startswith(WENT_BACK)]
        is_told, self._is_behind = bool(self._is_behind and behind), bool(behind)
        return tuple(told for told in words if told not in behind) if is_told else words

    def _knowing(self, state: SessionState, *more: str, anew: bool = False) -> SurveyedNight:
        """Return the night with all targets of a session in it, and with others."""
        field = self.scene.night
        names = (*(look.target_id for look in state.looks), *state.added, *more)
        if not anew and all(name in field.row_of for name in names):
            return field
        until = self._known_until or state.end
        return follow_too(self._opened, field, names, until, state.readings)

    def close(self) -> tuple[str, ...]:
        """Let go of the night; give what could not be kept, in words."""
        if self._night is None:
            return ()
        is_mine = self._scene is not None and not self._scene.read_only
        said = self._logbook.farewell(self.now()) if is_mine else ()
        self._opened.lock.release()
        return said

    def _follow_other(self, scene: Scene) -> Scene | None:
        """See what the other program has made of the night, and go on alone when it is gone."""
        is_alone = self._opened.lock.take()  # before reading: nobody else writes then
        state, _ = saved_state(self._path)
        is_usable = state is not None and state.kit == scene.night.kit
        state = state if state is not None and is_usable else scene.state
        if state == scene.state and not is_alone:
            return None
        self._scene = replace(scene, night=self._knowing(state), read_only=not is_alone)
        return self._show(state, (ALONE,) if is_alone else ())

    @property
    def _path(self) -> Path:
        return state_path(self._request.surroundings.data, self._opened.night.night)

    def _save(self, state: SessionState) -> bool:
        """Write the night's file; note why it cannot be written."""
        self._not_saved = why_not_kept(self._path, state)
        return not self._not_saved

    def _show(self, state: SessionState, words: tuple[str, ...], *, save: bool = True) -> Scene:
        scene = self.scene
        if save and not scene.read_only:
            self._save(state)
        self._number += 1
        if self._told is None or self._told[0] != state.entries:
            self._told = state.entries, self._logbook.outcomes()
        self._scene = replace(
            scene,
            number=self._number,
            state=state,
            lines=look_lines(scene.night, state),
            words=words,
            warning=self._warning(),
            asks_until=scene.asks_until and self._number == 1,
            outcomes=self._told[1],
        )
        return self._scene

    def _warning(self) -> str:
        """Say what is not on disk; it is tried again with every move, and by itself."""
        if self._not_saved:
            return f"NOT SAVED: {self._not_saved}. It is tried again by itself."
        waiting = len(self._logbook.pending)
        looks = "1 look is" if waiting == 1 else f"{waiting} looks are"
        return f"{looks} not in the journal yet; tried again by itself." if waiting else ""
