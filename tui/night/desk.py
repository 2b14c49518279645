"""What can be done in a night behind the screens: moves, the journal, what is best now.

Nothing here draws, and everything here may take its time: screens call it from a thread.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from planner.journal.records import JournalEntry
from planner.model.plan import View
from planner.session.moves.moving import moved
from planner.session.moves.sky import judge_sky
from planner.session.moves.targets import start_now
from planner.session.moves.times import Ending, endings, go_on
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
from tui.night.ending import ended
from tui.night.log_entry import Answer
from tui.night.logbook import change_of
from tui.night.night_desk import READ_ONLY, Move, NightDesk
from tui.night.offers import offers_now
from tui.night.opening import look_around, seen_as
from tui.night.scene import Scene

if TYPE_CHECKING:
    from planner.planning.look import LookReport

NO_FOCUSER_YET = "Nothing is in the focuser yet: i begins the chosen look, n tells what is best."
NOTHING_IN_FOCUSER = "Nothing in the open sky suits what is in the focuser now."


class Desk(NightDesk):
    """The night that is open, with all that can be done in it."""

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
        conditions = SkyReadings(seeing=readings.seeing, transparency=readings.transparency)
        return self._show(state, (*words, *self._logbook.note_sky(conditions, now)))

    def change_eye(self) -> Scene:
        """Go by the average eye, or by the own one again, in the rest of the night."""
        readings = self.scene.state.readings or SkyReadings()
        return self.judge_sky(replace(readings, average_eye=not readings.average_eye))

    @property
    def has_own_eye(self) -> bool:
        """Whether the journal tells enough of the observer's eye."""
        return self._opened.circumstances.eye is not None

    def views(self, look: SessionLook) -> tuple[View, ...]:
        """Return every eyepiece for a look: as it shows now when it is under way, else later."""
        at = look.start + (look.end - look.start) / 2
        scene = self.scene
        at = self.now() if look.status is Status.NOW else at
        return views_for(scene.night, scene.state, look, at)

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
            words = NOTHING_IN_FOCUSER if scene.state.focuser else NO_FOCUSER_YET
            return self._show(scene.state, (words,), save=False)
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

    def log_and_end(
        self, target_id: str, answer: Answer, conditions: SkyReadings | None, *, ends: bool
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
        name = entry.target.name
        if any(name in told for told in written):  # what its entry says is not told again
            words = tuple(x for x in words if x not in {f"{name} done", f"{name} skipped"})
        return self._show(with_entry(state, entry.id), (*written, *words))

    def undo(self) -> Scene:
        """Take the last move back, and with it what it wrote into the journal."""
        scene = self.scene
        if scene.read_only:
            return self._show(scene.state, (READ_ONLY,), save=False)
        state, words = undo(scene.state)
        self._see_as(state)
        gone = [one for one in scene.state.entries if one not in state.entries]
        if gone:  # first: an entry that this night does not know ends its look on opening
            self._save(state)
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
        is_known, words = self._logbook.amend(entry, answer, self.now())
        if not is_known:
            return self._show(scene.state, words, save=False)
        name = f"what was said of {entry.target.name}"
        state, _ = moved(
            scene.night, scene.state, self.now(), lambda s: (s, ()), news=False, name=name
        )
        return self._show(with_entry(state, change_of(entry.id, state.entries)), words)

    def wants_conditions(self) -> bool:
        """Whether seeing and transparency of this night are not in the journal yet."""
        return self._logbook.wants_conditions()

    def entries(self, target_id: str) -> tuple[JournalEntry, ...]:
        """Return what the journal has of a target, the latest first; nothing when it is shut."""
        return self._logbook.entries(target_id)

    def report(self, target_id: str, at: datetime) -> LookReport:
        """Look at one target: every eyepiece ranked, when it is up."""
        return look_around(self._opened, self.scene.night, target_id, at)
