"""Runs a night behind the screens: plans it, takes it up again, makes moves, writes the journal.

Nothing here draws, and everything here may take its time: screens call it from a thread.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from pathlib import Path

from planner.journal.records import JournalEntry, Outcome
from planner.model.errors import NothingToPlanError
from planner.planning.look import LookReport
from planner.session.course import begin_session, resume, tick
from planner.session.files import save_state
from planner.session.look_list import look_lines
from planner.session.moves.looks import done, skip
from planner.session.night import SurveyedNight
from planner.session.state import SessionState, Status, undo
from targets.catalogue.catalogue import Catalogue
from tui.night.logbook import Answer, Logbook, NightConditions, Slip
from tui.night.night_file import saved_state, state_path
from tui.night.opening import Opened, follow_too, look_around, open_night
from tui.night.scene import Request, Scene

Move = Callable[[SurveyedNight, SessionState, datetime], tuple[SessionState, tuple[str, ...]]]

# Looks that can still be ended.
OPEN_ENDED = {Status.NOW, Status.WAITING, Status.LOST}
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
        """Plan the night, or take it up where it stood.

        Raises
        ------
        InputError, SettingsError, NothingToPlanError, DatabaseError
            With sentences, when there is nothing that could be opened.
        """
        now = self.now()
        opened = open_night(self._request, now)
        name = opened.occasion.circumstances.observer.name
        field, plan, saved = opened.night, opened.plan, opened.saved
        self._night = opened, Logbook(self._request.surroundings.data, field.night, name)
        if saved is None:
            state, words = begin_session(field, plan, now)
        else:
            state, words = resume(field, saved, now)
            words = ("Taken up where it stood.", *words)
        mine = () if opened.is_mine else (READ_ONLY,)
        self._scene = Scene(
            0, field, plan, state, look_lines(field, state), read_only=not opened.is_mine
        )
        return self._show(state, (*mine, *opened.said, *words, *opened.remarks))

    def make(self, move: Move) -> Scene:
        """Make a move: it is on disk before it is given back."""
        scene = self.scene
        if scene.read_only:
            return self._show(scene.state, (READ_ONLY,), save=False)
        state, words = move(scene.night, scene.state, self.now())
        return self._show(state, words)

    def add(self, target_id: str, move: Move) -> Scene:
        """Make a move with a target that the night may not know yet: it is then followed too."""
        scene = self.scene
        self._scene = replace(scene, night=self._knowing(scene.state, target_id))
        return self.make(move)

    def _knowing(self, state: SessionState, *more: str) -> SurveyedNight:
        """Return the night with all targets of a session in it, and with others."""
        field = self.scene.night
        names = (*(look.target_id for look in state.looks), *state.added, *more)
        if all(name in field.row_of for name in names):
            return field
        return follow_too(self._opened, field, names)

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
        scene = self.scene
        if scene.read_only:
            return self._show(scene.state, (READ_ONLY,), save=False)
        now = self.now()
        entry, written = self._logbook.write(
            scene.night, scene.plan, scene.state, target_id, answer, conditions, now
        )
        look = scene.state.look_at(target_id)
        state = scene.state
        ends = ends and look is not None and look.status in OPEN_ENDED
        if ends:
            leave = skip if answer.outcome is Outcome.SKIPPED else done
            state, words = leave(scene.night, state, now, target_id)
            written += words
        self._logbook.remember(Slip(entry, state.past, ends))
        return self._show(state, written, save=ends)

    def undo(self) -> Scene:
        """Take the last move back, and with it the entry that was written since or along with it.

        An entry that was written after the last move, without ending its look, goes alone.
        """
        scene = self.scene
        past = scene.state.past
        slip = None if scene.read_only else self._logbook.slip_after(past)
        if slip is None:
            return self.make(lambda _night, state, _now: undo(state))
        said = self._logbook.take_back(slip, self.now())
        if not slip.ends:
            return self._show(scene.state, said, save=False)
        state, words = undo(scene.state)
        return self._show(state, (*words, *said))

    def wants_conditions(self) -> bool:
        """Whether seeing and transparency of this night are not in the journal yet."""
        return self._logbook.wants_conditions()

    def entries(self, target_id: str) -> tuple[JournalEntry, ...]:
        """Return what the journal has of a target, the latest first; nothing when it is shut."""
        return self._logbook.entries(target_id)

    def report(self, target_id: str, at: datetime) -> LookReport:
        """Look at one target: every eyepiece ranked, when it is up."""
        return look_around(self._opened, target_id, at)

    def kit_lines(self) -> list[str]:
        """Return the kit's numbers, its faults, and what each eyepiece is for in a year."""
        from planner.cli.kit.audit import kit_command  # noqa: PLC0415  # slow to load
        from planner.cli.kit.options import KitOptions  # noqa: PLC0415

        asked = self._request
        wanted = KitOptions(
            year=True, config=asked.config, site=asked.site, telescope=asked.telescope
        )
        return kit_command(wanted, asked.surroundings).text.splitlines()

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
        path = self._path
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            save_state(path, state)
        except OSError as error:
            self._not_saved = f"{error.strerror or type(error).__name__} ({path.parent})"
            return False
        self._not_saved = ""
        return True

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
        )
        return self._scene

    def _warning(self) -> str:
        """Say what is not on disk; it is tried again with every move, and by itself."""
        if self._not_saved:
            return f"NOT SAVED: {self._not_saved}. It is tried again by itself."
        waiting = len(self._logbook.pending)
        looks = "1 look is" if waiting == 1 else f"{waiting} looks are"
        return f"{looks} not in the journal yet; tried again by itself." if waiting else ""
