"""What came of a look: logged, skipped with a reason, undone."""

from __future__ import annotations

from datetime import timedelta

from planner.journal.records import JournalEntry, Outcome
from planner.session.look_list import LookLine
from planner.session.moves.looks import done, skip
from planner.session.night import key_words
from planner.text import fit
from tui.modals.choice import ChoiceScreen
from tui.modals.log import LogAnswer, LogScreen
from tui.night.ending import OPEN_ENDED
from tui.night.log_entry import Answer
from tui.screens.page import NightPage

NOT_YET = "This night has not begun: there is nothing to write down yet."
# Whoever writes the same look again so soon may have pressed a key twice.
DUPLICATE = timedelta(minutes=1)


class LogMoves(NightPage):
    """Moves that write into the journal, and what takes them back."""

    def action_log_done(self) -> None:
        """Ask what came of the look, and end it."""
        self._log(ends=True)

    def action_skip_why(self) -> None:
        """Ask why the look is skipped, and skip it."""
        self._log(ends=True, outcome=Outcome.SKIPPED)

    def action_write(self) -> None:
        """Ask what came of the look, without ending it."""
        self._log(ends=False)

    def _log(self, *, ends: bool, outcome: Outcome | None = None) -> None:
        line, scene, app = self.chosen(), self.scene, self.night_app
        if line is None or scene is None:
            return
        if scene.read_only:  # says so, before anything is typed
            self._make(lambda _night, state, _now: (state, ()))
            return
        if app.desk.now() < scene.night.night.start:
            self._make(lambda _night, state, _now: (state, (NOT_YET,)))
            return
        target_id = line.look.target_id
        written = app.desk.written(target_id)
        is_over = line.look.status not in OPEN_ENDED
        if written is None or is_over or app.desk.now() - written.at > DUPLICATE:
            self._ask_outcome(line, written if is_over else None, ends=ends, outcome=outcome)
            return

        def chosen(number: int | None) -> None:
            if number is not None:
                entry = written if number == 0 else None
                self._ask_outcome(line, entry, ends=ends, outcome=outcome)

        options = ["change what was written", "write another look at it"]
        title = f"{fit(line.look.name, 40).rstrip()} was written less than a minute ago"
        self.app.push_screen(ChoiceScreen(title, options), chosen)

    def _ask_outcome(
        self, line: LookLine, entry: JournalEntry | None, *, ends: bool, outcome: Outcome | None
    ) -> None:
        """Ask what came of a look; what is written already is changed."""
        scene, app, target_id = self.scene, self.night_app, line.look.target_id
        if scene is None:
            return

        def answered(logged: LogAnswer | None) -> None:
            if logged is not None and entry is not None:
                app.perform(lambda: app.desk.amend(entry, logged.answer))
                if ends and line.look.status in OPEN_ENDED:
                    leave = skip if logged.answer.outcome is Outcome.SKIPPED else done
                    self._make(lambda n, s, now: leave(n, s, now, target_id))
            elif logged is not None:
                app.perform(lambda: app.desk.log_and_end(target_id, logged.answer,
                                                         logged.conditions, ends=ends))  # fmt: skip

        screen = LogScreen(
            line.look.name,
            used=key_words(line.look.train),
            planned=app.desk.planned_words(target_id),
            ask_sky=app.desk.wants_conditions(),
            outcome=outcome,
            written=_answer_of(entry) if entry else None,
        )
        self.app.push_screen(screen, answered)

    def action_undo(self) -> None:
        """Take the last move back."""
        self.night_app.perform(self.night_app.desk.undo)

    def action_redo(self) -> None:
        """Make the move again that was undone."""
        self.night_app.perform(self.night_app.desk.redo)


def _answer_of(entry: JournalEntry) -> Answer:
    return Answer(entry.outcome, entry.rating, entry.note, entry.why_skipped)
