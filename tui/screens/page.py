"""What every screen of the night has: the application, the look that is chosen, and its keys."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Protocol, cast

from textual import events

from planner.session.look_list import LookLine
from tui.key_routing import passed_on, swallow
from tui.keys import ACTIONS
from tui.night.desk import Desk
from tui.night.night_desk import Move
from tui.night.request import Request
from tui.night.scene import Scene
from tui.pages.least_size import is_too_small
from tui.widgets.lines import Lines
from tui.widgets.prompt_screen import PromptScreen

WORKING = "Working ... keys are taken meanwhile"


class NightHost(Protocol):
    """What the screens need of the application."""

    request: Request
    scene: Scene | None
    unicode: bool
    heard: list[tuple[str, tuple[str, ...]]]

    @property
    def desk(self) -> Desk:
        """Runs the night."""

    def perform(self, work: Callable[[], Scene | None]) -> None:
        """Do something that gives a scene, and show it."""

    def ask(
        self, work: Callable[[], Any], then: Callable[[Any], None], *, holds: bool = False
    ) -> None:
        """Do something in the desk's thread, then go on with what it gives."""

    def await_page(
        self, work: Callable[[], Any], show: Callable[[Any], None], ready: Callable[[], Any]
    ) -> None:
        """Ask for what a page shows; keys wait for it as long as it may come soon."""

    def open_target(self, target_id: str) -> None:
        """Take a target in hand."""

    def change_face(self) -> None:
        """Change between the red and the day face."""

    def change_brightness(self, by: int) -> None:
        """Go some steps brighter or darker."""


class NightPage(PromptScreen[None]):
    """A screen of the night; subclasses say which look is chosen and show scenes."""

    DEFAULT_CSS = "NightPage #foot { height: 1; }"

    @property
    def night_app(self) -> NightHost:
        """The application."""
        return cast("NightHost", self.app)

    @property
    def scene(self) -> Scene | None:
        """What is shown; None while the night is being planned."""
        return self.night_app.scene

    def chosen(self) -> LookLine | None:
        """Return the look that is chosen."""
        raise NotImplementedError

    def choose(self, target_id: str) -> None:
        """Let a target be the chosen one where that is possible."""

    def show_scene(self, scene: Scene) -> None:
        """Show a newer scene."""
        raise NotImplementedError

    def foot_text(self) -> str:
        """Return the keys at the foot."""
        raise NotImplementedError

    def on_key(self, event: events.Key) -> None:
        """Do what a key is for, in the order of the keys, whatever screen the last one opened."""
        if passed_on(self, event):
            return
        self.night_app.desk.in_use.set()
        if is_too_small(*self.app.size) and event.key != "q":
            swallow(event)  # nobody sees what would be done
            return
        if self.press(event.key):
            swallow(event)
        elif event.key in ACTIONS:
            swallow(event)
            getattr(self, f"action_{ACTIONS[event.key]}")()

    def press(self, key: str) -> bool:
        """Take a key that is not in the table; True when it meant something."""
        raise NotImplementedError

    def show_working(self, *, is_working: bool) -> None:
        """Say at the foot that something is under way, or give the keys again."""
        for foot in self.query("#foot").results(Lines):
            text = WORKING if is_working else self.foot_text()
            if foot.lines and foot.lines != (text,):
                foot.show([text])

    def _make(self, move: Move) -> None:
        self.night_app.perform(lambda: self.night_app.desk.make(move))

    def _chosen_id(self) -> str | None:
        line = self.chosen()
        return line.look.target_id if line else None
