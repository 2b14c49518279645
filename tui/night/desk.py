"""Runs a night behind the screens: plans it, takes it up again, makes moves, writes the journal.

Nothing here draws, and everything here may take its time: screens call it from a thread.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from threading import Event
from typing import TYPE_CHECKING

from planner.journal.records import JournalEntry
from planner.model.errors import NothingToPlanError
from planner.model.kit import train_words
from planner.model.plan import Plan, View
from planner.session.course import begin_at_once, begin_session, resume, tick
from planner.session.look_list import look_lines
from planner.session.moves.sky import judge_sky
from planner.session.moves.targets import start_now
from planner.session.moves.times import Ending, endings, go_on, is_untouched
from planner.session.night import SurveyedNight
from planner.session.offers import REACH, Offer, best_in_focuser, views_for
from planner.session.state import (
    SessionLook,
    SessionState,
    SkyReadings,
    Status,
    redo,
    undo,
    with_entry,
)
from targets.catalogue.catalogue import Catalogue
from tui.night.ending import ended, is_behind, with_entries
from tui.night.logbook import Answer, Logbook, NightConditions
from tui.night.night_file import saved_state, state_path, why_not_kept
from tui.night.offers import offers_now
from tui.night.opening import Opened, follow_too, look_around, open_night, plan_of, seen_as
from tui.night.request import Request
from tui.night.scene import Scene

if TYPE_CHECKING:
    from planner.planning.look import LookReport

Move = Callable[[SurveyedNight, SessionState, datetime], tuple[SessionState, tuple[str, ...]]]

NOTHING_IN_FOCUSER = "Nothing in the open sky suits what is in the focuser now."
READ_ONLY = "Another fieldstop has this night open: here it can only be read."
ALONE = "The other fieldstop has let go of this night: here it goes on."


class Desk:
    """The night that is open.

    Parameters
    ----------
    request : Request
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

        Raises
        ------
        InputError, SettingsError, NothingToPlanError, DatabaseError
            With sentences, when there is nothing that could be opened.
        """
        now = self.now()
        opened = open_night(self._request, now)
        field, saved = opened.night, opened.saved
        name = opened.occasion.circumstances.observer.name
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
        return self._show(state, words)

    def go_on(self, end: datetime) -> Scene:
        """Go on until another time, with all that is worth a look by then."""
        self._reach(end)
        return self.make(lambda night, state, now: go_on(night, state, now, end))

    def judge_sky(self, readings: SkyReadings) -> Scene:
        """Take note of what the sky is like now, and rate the rest of the night by it."""
        scene, now = self.scene, self.now()
        if scene.read_only:
            return self._show(scene.state, (READ_ONLY,), save=False)
        field = self._seen_as(readings)
        state, words = judge_sky(field, scene.state, now, readings)
        self._scene = replace(scene, night=field)
        conditions = NightConditions(readings.seeing, readings.transparency)
        return self._show(state, (*words, *self._logbook.note_sky(conditions, now)))

    def change_eye(self) -> Scene:
        """Go by the average eye, or by the own one again, in the rest of the night."""
        readings = self.scene.state.readings or SkyReadings()
        return self.judge_sky(replace(readings, average_eye=not readings.average_eye))

    @property
    def has_own_eye(self) -> bool:
        """Whether the journal tells enough of the observer's eye."""
        return self._opened.occasion.circumstances.eye is not None

    def views(self, look: SessionLook) -> tuple[View, ...]:
        """Return every eyepiece for a look: as it shows now when it is under way, else later."""
        at = look.start + (look.end - look.start) / 2
        return views_for(self.scene.night, look, self.now() if look.status is Status.NOW else at)

    def endings(self, *, is_anew: bool) -> tuple[Ending, ...]:
        """Return the times until which the night could go on, or could last from now on."""
        return endings(self.scene.night, self.scene.state, self.now(), is_anew=is_anew)

    def offers(self) -> list[tuple[str, Offer]]:
        """Return what is best now, whether a session is planned for now or not."""
        self._reach(self.now() + REACH)
        return offers_now(self.scene, self.now())

    def next_in_focuser(self) -> Scene:
        """Go to what is best now in the eyepiece that is in, if anything is."""
        self._reach(self.now() + REACH)
        scene = self.scene
        found_by = self.now() + timedelta(minutes=scene.night.finding_min)
        found = best_in_focuser(scene.night, scene.state, found_by)
        if not found:
            return self._show(scene.state, (NOTHING_IN_FOCUSER,), save=False)
        target_id, train = found[0].target.id, scene.state.focuser
        return self.make(
            lambda night, state, now: start_now(
                night, state, now, target_id, train=train, is_found=False
            )
        )

    def _reach(self, until: datetime) -> None:
        """Follow what is worth a look until a time, too."""
        scene = self.scene
        until = min(until, scene.night.end)
        if self._known_until is None or until > self._known_until:
            self._known_until = until
            self._scene = replace(scene, night=self._knowing(scene.state, anew=True))

    def add(self, target_id: str, move: Move) -> Scene:
        """Make a move with a target that the night may not know yet: it is then followed too."""
        scene = self.scene
        self._scene = replace(scene, night=self._knowing(scene.state, target_id))
        return self.make(move)

    def _knowing(self, state: SessionState, *more: str, anew: bool = False) -> SurveyedNight:
        """Return the night with all targets of a session in it, and with others."""
        field = self.scene.night
        names = (*(look.target_id for look in state.looks), *state.added, *more)
        if not anew and all(name in field.row_of for name in names):
            return field
        until = self._known_until or state.end
        return follow_too(self._opened, field, names, until, state.readings)

    def tick(self) -> Scene | None:
        """Let time pass, and try again what could not be kept; None when nothing changes."""
        scene = self.scene
        if scene.read_only:
            return self._follow_other(scene)
        state, words = tick(scene.night, scene.state, self.now())
        late = self._logbook.write_pending(self.now())
        words += () if self._logbook.pending else late
        is_news = words or replace(state, clock=scene.state.clock) != scene.state
        if is_news or (self._not_saved and self._save(state)):
            return self._show(state, words)
        self._scene = replace(scene, state=state)  # it is the time that tells a leap of the clock
        return None

    def log_and_end(
        self, target_id: str, answer: Answer, conditions: NightConditions | None, *, ends: bool
    ) -> Scene:
        """Write an entry into the journal, and end the look if asked for.

        What cannot be written is kept and tried again by itself.
        """
        scene, now = self.scene, self.now()
        if scene.read_only:
            return self._show(scene.state, (READ_ONLY,), save=False)
        state, words = ended(scene.night, scene.state, target_id, answer, now, ends=ends)
        lesson = next(
            (x for x in scene.lines if x.look.target_id == target_id and x.is_lesson), None
        )
        if lesson is not None:
            words += (f"By the plan {lesson.look.name} is {lesson.grade} in this eyepiece.",)
        entry, written = self._logbook.write(
            scene.night, self.plan, state, target_id, answer, conditions, now
        )
        return self._show(with_entry(state, entry.id), (*written, *words))

    def undo(self) -> Scene:
        """Take the last move back, and with it what it wrote into the journal."""
        scene = self.scene
        if scene.read_only:
            return self._show(scene.state, (READ_ONLY,), save=False)
        state, words = undo(scene.state)
        self._see_as(state)
        self._save(state)  # first: an entry that this night does not know ends its look on opening
        gone = [one for one in scene.state.entries if one not in state.entries]
        said = self._logbook.take_back(gone, self.now())
        return self._show(state, (*words, *said))

    def redo(self) -> Scene:
        """Make the move again that was undone last, and write again what it wrote."""
        scene = self.scene
        if scene.read_only:
            return self._show(scene.state, (READ_ONLY,), save=False)
        state, words = redo(scene.state)
        self._see_as(state)
        again = [one for one in state.entries if one not in scene.state.entries]
        said = self._logbook.bring_back(again, self.now())
        return self._show(state, (*words, *said))

    def _see_as(self, state: SessionState) -> None:
        """Rate the night by what was said of the sky in a state."""
        if state.readings != self.scene.state.readings:
            self._scene = replace(self.scene, night=self._seen_as(state.readings))

    def _seen_as(self, readings: SkyReadings | None) -> SurveyedNight:
        scene, end = self.scene, self._known_until or self.scene.state.end
        known = self._skies.get(readings)
        if known is None or known.row_of != scene.night.row_of:
            known = seen_as(self._opened, scene.night, end, readings)
        self._skies |= {scene.state.readings: scene.night, readings: known}
        return known

    def written(self, target_id: str) -> JournalEntry | None:
        """Return the latest entry of a target that this night wrote; None when it wrote none."""
        entries = (*self._logbook.pending, *self._logbook.entries(target_id))
        mine = [e for e in entries if e.id in self.scene.state.entries]
        return next((e for e in mine if e.target.id == target_id), None)

    def amend(self, entry: JournalEntry, answer: Answer) -> Scene:
        """Change what was said of a look."""
        scene = self.scene
        if scene.read_only:
            return self._show(scene.state, (READ_ONLY,), save=False)
        return self._show(scene.state, self._logbook.amend(entry, answer, self.now()), save=False)

    def wants_conditions(self) -> bool:
        """Whether seeing and transparency of this night are not in the journal yet."""
        return self._logbook.wants_conditions()

    def entries(self, target_id: str) -> tuple[JournalEntry, ...]:
        """Return what the journal has of a target, the latest first; nothing when it is shut."""
        return self._logbook.entries(target_id)

    def report(self, target_id: str, at: datetime) -> LookReport:
        """Look at one target: every eyepiece ranked, when it is up."""
        return look_around(self._opened, self.scene.night, target_id, at)

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
        self._scene = replace(
            scene,
            number=self._number,
            state=state,
            lines=look_lines(scene.night, state),
            words=words,
            warning=self._warning(),
            asks_until=scene.asks_until and self._number == 1,
        )
        return self._scene

    def _warning(self) -> str:
        """Say what is not on disk; it is tried again with every move, and by itself."""
        if self._not_saved:
            return f"NOT SAVED: {self._not_saved}. It is tried again by itself."
        waiting = len(self._logbook.pending)
        looks = "1 look is" if waiting == 1 else f"{waiting} looks are"
        return f"{looks} not in the journal yet; tried again by itself." if waiting else ""
