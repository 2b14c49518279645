"""What takes time or gives it: longer looks, delays, breaks, the end of the session."""

from __future__ import annotations

from collections.abc import Callable

from planner.output.words import clock
from planner.session.clock import run_end
from planner.session.moves.times import longer_here, running_late, take_break
from tui.modals.choice import ChoiceScreen, MinutesScreen
from tui.screens.page import NightPage

LONGER_MIN, LATE_MIN, BREAK_MIN = 10, 15, 12
OVER = "This night is over: it is light."


class TimeMoves(NightPage):
    """Moves that change times."""

    def action_until(self) -> None:
        """Ask until when the night goes on."""
        self.ask_until("Until when?", is_anew=False)

    def ask_until(self, title: str, *, is_anew: bool) -> None:
        """Offer the times until which the night can go on."""
        if self.scene is None:
            return
        desk = self.night_app.desk
        endings = desk.endings(is_anew=is_anew)

        def answered(number: int | None) -> None:
            if number is not None:
                self.night_app.perform(lambda: desk.go_on(endings[number].at))

        options = [ending.words for ending in endings]
        self.app.push_screen(ChoiceScreen(title, options, "" if options else OVER), answered)

    def action_longer(self) -> None:
        """Stay longer."""
        scene = self.scene
        look = scene.state.now if scene else None
        until = run_end(scene.night, scene.state, look.target_id) if scene and look else None
        if scene is None or look is None or (until is not None and until <= look.end):
            self._make(lambda n, s, now: longer_here(n, s, now, LONGER_MIN))  # says why not
            return
        at = f" (until {clock(until, scene.night.night.site)} at most)" if until else ""
        self._minutes(f"How much longer here?{at}", LONGER_MIN, longer_here)

    def action_late(self) -> None:
        """Begin all later."""
        self._minutes("How late are you?", LATE_MIN, running_late)

    def action_pause(self) -> None:
        """Take a break."""
        self._minutes("How long a break?", BREAK_MIN, take_break)

    def _minutes(self, title: str, usual: int, move: Callable[..., object]) -> None:
        def answered(minutes: int | None) -> None:
            if minutes is not None:
                self._make(lambda n, s, now: move(n, s, now, minutes))  # type: ignore[arg-type, return-value]

        if self.scene is not None:
            self.app.push_screen(MinutesScreen(title, usual), answered)
