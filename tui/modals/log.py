"""What came of a look: two keys for the usual case."""

from __future__ import annotations

from collections.abc import Sequence

from planner.journal.records import Outcome
from planner.model.antoniadi import ANTONIADI
from planner.session.state import SkyReadings
from planner.text import fit
from targets.frozen import frozen
from tui.modals.asking import LEAVING, Asking
from tui.night.log_entry import Answer

OUTCOMES = {
    "s": (Outcome.SEEN, "seen"),
    "p": (Outcome.SUSPECTED, "perhaps: suspected"),
    "n": (Outcome.NOT_SEEN, "not seen"),
    "x": (Outcome.SKIPPED, "skipped"),
}
# Why looks are given up (common practice); anything else is typed as a note.
WHY_SKIPPED = ("cloud or haze", "something in the way", "dew", "cold or tired", "no time")
LONGEST_NOTE = 500
# Cells that a note has beside its name.
NOTE_SHOWN = 64


@frozen
class LogAnswer:
    """The answer, and the night's conditions where they were asked for."""

    answer: Answer
    conditions: SkyReadings | None = None


class LogScreen(Asking[LogAnswer]):
    """Ask for outcome and rating; a note when one is wanted; the sky once a night.

    Parameters
    ----------
    used, planned : str
        Eyepieces, in words; ``planned`` is empty when nothing was.
    ask_sky : bool
        Whether seeing and transparency are not known yet.
    outcome : Outcome, optional
        When it is known already.
    written : Answer, optional
        What the journal has of this look: it is changed, and nothing is written twice.
    """

    def __init__(
        self,
        name: str,
        *,
        used: str,
        planned: str,
        ask_sky: bool,
        outcome: Outcome | None = None,
        written: Answer | None = None,
    ) -> None:
        super().__init__()
        self.title_text = f"Journal: {fit(name, 60).rstrip()}"
        self._used, self._planned, self._ask_sky = used, planned, ask_sky
        self._written = written
        self._outcome = written.outcome if written else outcome
        self._rating = written.rating if written else None
        self._note, self._is_typing = written.note if written else "", False
        self._seeing: str | None = None
        self._stages = [_stage_after(None if written else outcome)]

    @property
    def _stage(self) -> str:
        """What is asked now."""
        return self._stages[-1]

    def body(self) -> tuple[Sequence[str], range | None]:
        """Show what is known and what is asked next."""
        is_other = self._planned and self._planned != self._used
        planned = f"   planned: {self._planned}" if is_other else ""
        note = self._note_shown()
        is_skipped = self._outcome is Outcome.SKIPPED
        return [
            f"with {self._used}{planned}" if self._used else "with what is not noted",
            f"outcome  {self._outcome.words if self._outcome else '...'}",
            "why      ..." if is_skipped else f"rating   {self._rating or '...'}",
            f"note     {note}",
            "",
            *self._question(),
            *([] if self._is_typing else [self._way_out()]),
        ], None

    def _way_out(self) -> str:
        back = "Left: a step back; " if len(self._stages) > 1 else ""
        same = "nothing is changed" if self._written else "nothing is written"
        return f"{back}Esc: {same}"

    def _note_shown(self) -> str:
        """Show the end of the note; how much of it there is when that is not all."""
        note = f"{self._note}{'_' if self._is_typing else ''}" or "t to type one"
        if len(note) <= NOTE_SHOWN:
            return note
        return f"...{note[-NOTE_SHOWN + 13 :]} {len(self._note)}/{LONGEST_NOTE}"

    def _question(self) -> list[str]:
        if self._is_typing:
            return ["Type the note; Enter or Esc ends it, and keeps it"]
        if self._stage == "outcome":
            keys = "  ".join(f"{key} {words}" for key, (_, words) in OUTCOMES.items())
            stays = "; Enter: it stays so" if self._written else ""
            return [keys, f"1 .. 5: seen, and how good it was (5 unforgettable){stays}"]
        if self._stage == "why":
            return ["  ".join(f"{k} {words}" for k, words in enumerate(WHY_SKIPPED, start=1)),
                    "Why? Enter: for no reason that matters"]  # fmt: skip
        if self._stage == "rating":
            return ["How good was it? 1 poor .. 5 unforgettable; Enter: no rating"]
        if self._stage == "seeing":
            return ["Seeing tonight? 1 perfect .. 5 very bad (Antoniadi I to V); Enter: pass"]
        return ["Transparency tonight? 1 thick haze .. 5 clear; Enter: pass"]

    def press(self, key: str, character: str | None) -> bool:
        """Take the next answer."""
        taken = self._type(key, character) if self._is_typing else self._take(key, character)
        if taken and self.is_current:
            self.redraw()
        return taken

    def _type(self, key: str, character: str | None) -> bool:
        if key in {"enter", *LEAVING}:
            self._is_typing = False
        elif key == "backspace":
            self._note = self._note[:-1]
        elif character and character.isprintable():
            self._note = (self._note + character)[:LONGEST_NOTE]
        else:
            return False
        return True

    def _take(self, key: str, character: str | None) -> bool:
        if character == "t":
            self._is_typing = True
            return True
        if key in {"left", "backspace"} and len(self._stages) > 1:
            self._stages.pop()
            return True
        if self._stage == "outcome":
            if key == "enter" and self._written:
                return self._finish(None)
            return self._take_outcome(character or "")
        digit = int(character) if character and character in "12345" else None
        if self._stage == "why":
            return (digit is not None or key == "enter") and self._take_why(digit)
        return (digit is not None or key == "enter") and self._take_digit(digit)

    def _take_outcome(self, character: str) -> bool:
        if character and character in "12345":
            self._outcome, self._rating = Outcome.SEEN, int(character)
            return self._finish(None)
        if character not in OUTCOMES:
            return False
        self._outcome = OUTCOMES[character][0]
        self._stages.append(_stage_after(self._outcome))
        return True

    def _take_why(self, digit: int | None) -> bool:
        why = WHY_SKIPPED[digit - 1] if digit else ""
        self.answer(LogAnswer(Answer(Outcome.SKIPPED, None, self._note, why)))
        return True

    def _take_digit(self, digit: int | None) -> bool:
        """Take a number, or none, for what is asked now."""
        if self._stage == "rating":
            self._rating = digit
            self._stages.append("seeing")
            return self._ask_sky or self._finish(None)
        if self._stage == "seeing":
            self._seeing = ANTONIADI[digit - 1] if digit else None
            self._stages.append("transparency")
            return True
        return self._finish(SkyReadings(self._seeing, digit))

    def _finish(self, conditions: SkyReadings | None) -> bool:
        if self._outcome is not None:
            self.answer(LogAnswer(Answer(self._outcome, self._rating, self._note), conditions))
        return True


def _stage_after(outcome: Outcome | None) -> str:
    """Return what is asked once the outcome is known."""
    if outcome is None:
        return "outcome"
    return "why" if outcome is Outcome.SKIPPED else "rating"
