"""Runs a night behind the screens: plans it, takes it up again, makes moves, writes the journal.

Nothing here draws, and everything here may take its time: screens call it from a thread.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Any

from planner.ephemeris import load_ephemeris
from planner.experience import occasion_with
from planner.faults import NothingToPlanError
from planner.journal.records import JournalEntry, Outcome
from planner.kept_targets import stock_for_night
from planner.looking import LookReport, look_at
from planner.night import Night
from planner.night_field import NightField, survey_night
from planner.occasion import Occasion, check_kit, night_of, occasion_of
from planner.planning import Wishes, plan_night
from planner.requests import (
    Common,
    Experience,
    Readings,
    doubt_remarks,
    open_settings,
)
from planner.session import begin_session, done, resume, skip, tick
from planner.session_files import save_state
from planner.session_report import look_lines
from planner.session_state import SessionState, Status
from planner.session_times import SessionTimes
from planner.view import Plan
from targets.catalogue import Catalogue, load_catalogue
from tui.lock import NightLock
from tui.logbook import Answer, Conditions, Logbook
from tui.night_file import saved_state, state_path, times_of
from tui.scene import Request, Scene

Move = Callable[[NightField, SessionState, datetime], tuple[SessionState, tuple[str, ...]]]

# Looks that can still be ended.
OPEN_ENDED = {Status.NOW, Status.WAITING, Status.LOST}
READ_ONLY = "Another fieldstop has this night open: here it can only be read."


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
        self._number = 0
        self._scene: Scene | None = None
        self._catalogue: Catalogue | None = None
        self._occasion: Occasion | None = None
        self._lock: NightLock | None = None
        self._logbook: Logbook | None = None

    @property
    def catalogue(self) -> Catalogue:
        """All there is to look at, the user's own targets included."""
        return self._catalogue or load_catalogue()

    @property
    def scene(self) -> Scene:
        """What was shown last; `open` comes first."""
        return self._require()

    def now(self) -> datetime:
        """Give the time."""
        return self._clock()

    def open(self) -> Scene:
        """Plan the night, or take it up where it stood.

        Raises
        ------
        InputError, SettingsError, NothingToPlanError, DatabaseError
            With sentences, when there is nothing that could be opened.
        """
        settings, talk = open_settings(self._request.config, self._request.surroundings)
        self._occasion = occasion_of(
            settings,
            site=self._request.site,
            telescope=self._request.telescope,
            readings=Readings(),
        )
        now = self.now()
        evening = self._request.evening
        night = night_of(load_ephemeris(), self._occasion.site, evening=evening, now=now)
        check_kit(self._occasion)
        path = state_path(self._request.surroundings.data, night)
        self._lock = NightLock(path)
        read_only = not self._lock.take()
        saved, said = saved_state(path)
        times = times_of(night, saved, None if self._request.evening else now)
        surroundings = self._request.surroundings
        self._occasion, lessons = occasion_with(self._occasion, Experience(), surroundings)
        stock = stock_for_night(
            surroundings.data,
            ephemeris=load_ephemeris(),
            site=night.site,
            instant=times.start,
        )
        self._catalogue = stock.catalogue
        talk += (*lessons, *stock.remarks)
        plan, field = self._survey(night, times, saved)
        self._logbook = Logbook(self._request.surroundings.data, night, settings.observer.name)
        if saved is None:
            state, words = begin_session(field, plan, now)
        else:
            state, words = resume(field, saved, now)
            words = ("Taken up where it stood.", *words)
        talk += doubt_remarks(settings)
        self._scene = Scene(0, field, plan, state, look_lines(field, state), read_only=read_only)
        return self._show(state, (*((READ_ONLY,) if read_only else ()), *said, *words, *talk))

    def _survey(
        self, night: Night, times: SessionTimes, saved: SessionState | None
    ) -> tuple[Plan, NightField]:
        assert self._occasion is not None  # noqa: S101  # open() has set it
        what: dict[str, Any] = {
            "start": times.start,
            "end": times.end,
            "circumstances": self._occasion.circumstances,
            "wishes": Wishes(),
        }
        catalogue, ephemeris = self.catalogue, load_ephemeris()
        plan = plan_night(catalogue, ephemeris, night, **what)
        also = [look.target.id for look in plan.looks]
        if saved is not None:
            also += [look.target_id for look in saved.looks] + list(saved.added)
        return plan, survey_night(catalogue, ephemeris, night, **what, also=tuple(also))

    def make(self, move: Move) -> Scene:
        """Make a move: it is on disk before it is given back."""
        scene = self._require()
        if scene.read_only:
            return self._show(scene.state, (READ_ONLY,), save=False)
        state, words = move(scene.night, scene.state, self.now())
        return self._show(state, words)

    def add(self, target_id: str, move: Move) -> Scene:
        """Make a move with a target that the night may not know yet: it is then followed too."""
        scene = self._require()
        if target_id not in scene.night.row_of:
            state = scene.state
            also = (*(look.target_id for look in state.looks), *state.added, target_id)
            assert self._occasion is not None  # noqa: S101  # open() has set it
            night = survey_night(
                self.catalogue,
                load_ephemeris(),
                scene.night.night,
                start=scene.night.start,
                end=scene.plan.end,
                circumstances=self._occasion.circumstances,
                wishes=scene.night.wishes,
                also=also,
            )
            self._scene = replace(scene, night=night)
        return self.make(move)

    def tick(self) -> Scene | None:
        """Let time pass; None when nothing changes."""
        scene = self._require()
        if scene.read_only:
            return self._reread(scene)
        state, words = tick(scene.night, scene.state, self.now())
        if not words and replace(state, clock=scene.state.clock) == scene.state:
            return None
        return self._show(state, words)

    def log_and_end(
        self, target_id: str, answer: Answer, conditions: Conditions | None, *, ends: bool
    ) -> Scene:
        """Write an entry into the journal, and end the look if asked for.

        What cannot be written is kept and tried again with the next entry.
        """
        scene = self._require()
        if scene.read_only:
            return self._show(scene.state, (READ_ONLY,), save=False)
        assert self._logbook is not None  # noqa: S101  # open() has set it
        now = self.now()
        written = self._logbook.write(
            scene.night, scene.plan, scene.state, target_id, answer, conditions, now
        )
        look = scene.state.look_at(target_id)
        if not (ends and look and look.status in OPEN_ENDED):
            return self._show(scene.state, written, save=False)
        leave = skip if answer.outcome is Outcome.SKIPPED else done
        state, words = leave(scene.night, scene.state, now, target_id)
        return self._show(state, (*written, *words))

    def wants_conditions(self) -> bool:
        """Whether seeing and transparency of this night are not in the journal yet."""
        return self._logbook is not None and self._logbook.wants_conditions()

    def entries(self, target_id: str) -> tuple[JournalEntry, ...]:
        """Give what the journal has of a target, the latest first; nothing when it is shut."""
        return () if self._logbook is None else self._logbook.entries(target_id)

    def report(self, target_id: str, at: datetime) -> LookReport:
        """Look at one target: every eyepiece ranked, when it is up."""
        scene = self._require()
        assert self._occasion is not None  # noqa: S101  # open() has set it
        night = scene.night.night
        return look_at(
            self.catalogue.target(self.catalogue.index_of(target_id)),
            load_ephemeris(),
            night,
            self._occasion.circumstances,
            misfits=(),
            at=min(max(at, night.start), night.end),
        )

    def kit_lines(self) -> list[str]:
        """Give the kit's numbers, its faults, and what each eyepiece is for in a year."""
        from planner.kit_command import kit_command  # noqa: PLC0415  # slow to load

        asked = self._request
        common = Common(config=asked.config, site=asked.site, telescope=asked.telescope)
        return kit_command(common, asked.surroundings, with_year=True).text.splitlines()

    def close(self) -> None:
        """Let go of the night, and let the journal know when it ended."""
        if self._logbook is not None and self._scene is not None and not self._scene.read_only:
            self._logbook.end(self.now())
        if self._lock is not None:
            self._lock.release()

    def _require(self) -> Scene:
        if self._scene is None:
            raise NothingToPlanError("No night is open.")
        return self._scene

    def _reread(self, scene: Scene) -> Scene | None:
        """See what the other program has made of the night meanwhile."""
        state, _ = saved_state(self._path(scene))
        if state is None or state == scene.state or state.kit != scene.night.kit:
            return None
        return self._show(state, (), save=False)

    def _path(self, scene: Scene) -> Path:
        return state_path(self._request.surroundings.data, scene.night.night)

    def _show(self, state: SessionState, words: tuple[str, ...], *, save: bool = True) -> Scene:
        scene = self._require()
        warning = scene.warning
        if save and not scene.read_only:
            try:
                save_state(self._path(scene), state)
                warning = ""
            except OSError as error:
                reason = error.strerror or type(error).__name__
                warning = f"NOT SAVED: {reason}. The next move tries again."
        if self._logbook is not None and self._logbook.pending:
            warning = warning or f"{len(self._logbook.pending)} journal entries wait to be written."
        self._number += 1
        self._scene = replace(
            scene,
            number=self._number,
            state=state,
            lines=look_lines(scene.night, state),
            words=words,
            warning=warning,
        )
        return self._scene
