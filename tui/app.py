"""The application at the telescope."""

from __future__ import annotations

import asyncio
import gc
import os
import signal
import sys
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from datetime import datetime
from functools import cached_property
from typing import TYPE_CHECKING, Any, ClassVar

from textual import events
from textual.app import App
from textual.driver import Driver
from textual.filter import LineFilter
from textual.theme import Theme

from planner.model.errors import NothingToPlanError, report_sentence
from targets.errors import UserError
from tui.modals.choice import ChoiceScreen
from tui.night.last_list import last_list
from tui.night.request import Request
from tui.screens.waiting import WaitingScreen
from tui.theme import (
    DAY,
    NIGHT,
    STEPS,
    USUAL_STEP,
    forget_closed_pages,
    night_filter,
    plain_filter,
    themes,
)

if TYPE_CHECKING:  # else they are loaded behind the first paint
    from textual.worker import Worker

    from tui.night.desk import Desk
    from tui.night.scene import Scene
    from tui.screens.moves import MovesScreen

TICK_S, LOOK_AT_CLOCK_S = 5.0, 1.0
# So many new objects are looked through in a millisecond or two.
OBJECTS_BETWEEN_SEARCHES = 5_000
# Of what was said, this much is read again.
MOST_HEARD = 200
# After so long it is said that something is under way.
PATIENCE_S = 0.1
# A page that takes longer is opened without what it shows.
SOON_S = 0.3
DAY_ANSWERS = ("stay with the red face", "change to the bright day face")
ONE_BRIGHTNESS = "This terminal shows no steps of red; dim the terminal or the screen itself."


class NightApp(App[Exception]):
    """Shows one night; what is done takes place in a thread, one thing after the other.

    It gives what kept the night from being opened, or nothing.

    Parameters
    ----------
    clock : callable
        Gives the time, aware.
    unicode : bool
        Whether the terminal can show dots.
    """

    ENABLE_COMMAND_PALETTE = False
    CSS = """
    Screen { background: $background; color: $foreground; overflow: hidden; }
    Toast { background: $background; }
    """
    BINDINGS: ClassVar[list[Any]] = [("ctrl+c", "quit", "leave"), ("ctrl+l", "repaint", "repaint")]

    def __init__(
        self, request: Request, clock: Callable[[], datetime], *, unicode: bool = True
    ) -> None:
        self._faces = {theme.name: theme for theme in themes()}
        super().__init__()
        self.request, self.clock, self.unicode = request, clock, unicode
        self.scene: Scene | None = None
        self.farewell: tuple[str, ...] = ()
        self.heard: list[tuple[str, tuple[str, ...]]] = []
        self._executor = ThreadPoolExecutor(max_workers=1, thread_name_prefix="desk")
        self._step, self._minute, self._working = USUAL_STEP, -1, 0
        # Keys that came before what they are meant for was there, and what they wait for.
        self._held: list[events.Key] = []
        self._holding = 1  # for the first list
        for theme in self._faces.values():
            self.register_theme(theme)
        self.theme = NIGHT

    @cached_property
    def desk(self) -> Desk:
        """Runs the night; the planner is loaded with it."""
        from tui.night.desk import Desk  # noqa: PLC0415  # slow to load

        return Desk(self.request, self.clock)

    def get_driver_class(self) -> type[Driver]:
        """Return what reads the keys: on a terminal of Unix one that answers Esc at once."""
        usual = super().get_driver_class()
        if usual.__name__ != "LinuxDriver":
            return usual
        from tui.driver import PromptDriver  # noqa: PLC0415  # only there

        return PromptDriver

    def get_line_filters(self) -> Sequence[LineFilter]:
        """Let no colour through that the night face does not have."""
        if self.no_color:
            return [plain_filter()]
        if self.theme != NIGHT:
            return super().get_line_filters()
        return [night_filter(self._step, self.console.color_system or "")]

    def get_theme(self, theme_name: str) -> Theme | None:
        """Return one of the faces; every line that is painted asks for it."""
        return self._faces.get(theme_name) or super().get_theme(theme_name)

    def _has_few_colours(self) -> bool:
        return self.console.color_system not in {"truecolor", "256"}

    def on_mount(self) -> None:
        """Paint first, then load the planner, then plan."""
        self._leave_when_told()
        waiting = WaitingScreen()
        self.push_screen(waiting)  # painted before anything else happens
        self.call_after_refresh(self.ask, self._last_list, waiting.show_last)
        self.call_after_refresh(self.perform, self._open)
        self.set_interval(LOOK_AT_CLOCK_S, self._look_at_clock)
        self.set_interval(TICK_S, self._tick)

    def _leave_when_told(self) -> None:
        """End as with the key when the system ends the program, and so leave the terminal whole."""
        if self.is_headless:
            return
        for told in ("SIGTERM", "SIGHUP"):
            with suppress(AttributeError, NotImplementedError, ValueError):  # not on every system
                number = getattr(signal, told)
                asyncio.get_running_loop().add_signal_handler(number, self.exit)

    def _last_list(self) -> tuple[str, ...]:
        return last_list(self.request, self.clock())

    def _open(self) -> Scene:
        """Open the night, with the screen for it."""
        import tui.screens.night  # noqa: F401, PLC0415  # slow to load

        return self.desk.open()

    def action_repaint(self) -> None:
        """Paint all anew: something else has written on the screen."""
        self.screen.refresh(layout=True)

    def perform(self, work: Callable[[], Scene | None]) -> None:
        """Do something that gives a scene, and show it; keys wait for it."""
        self.ask(work, self._show, holds=True)

    def ask(
        self, work: Callable[[], Any], then: Callable[[Any], None], *, holds: bool = False
    ) -> None:
        """Do something in the desk's thread, then go on with what it gives.

        Keys that come meanwhile wait if it ``holds`` them: they are meant for what it will show.
        """
        self._working += 1
        self._holding += holds
        self.set_timer(PATIENCE_S, self._tell_working)

        async def asked() -> None:
            await self._ask(work, then, holds=holds)

        # No coroutine yet: of one that never begins, since the night is left, Python complains.
        _: Worker[None] = self.run_worker(asked, exit_on_error=True)

    def await_page(
        self, work: Callable[[], Any], show: Callable[[Any], None], ready: Callable[[], Any]
    ) -> None:
        """Ask for what a page shows; keys wait for it as long as it may come soon.

        It is ``ready`` once: when it shows that, or when it does not come soon.
        """
        self._holding += 1
        to_do = [ready]

        def go_on() -> None:
            if to_do:
                self.call_after_refresh(self._let_go)
                to_do.pop()()

        def answered(answer: Any) -> None:
            show(answer)
            go_on()

        self.set_timer(SOON_S, go_on)
        self.ask(work, answered)

    async def _ask(
        self, work: Callable[[], Any], then: Callable[[Any], None], *, holds: bool
    ) -> None:
        try:
            answer = await asyncio.get_running_loop().run_in_executor(self._executor, work)
            then(answer)
        except Exception as error:  # noqa: BLE001  # a night must not end for a fault of the program
            if holds:
                self._held.clear()  # they were meant for what will not come
            self._refused(error)
        finally:
            self._working -= 1
            self._tell_working()
            if holds:
                self.call_after_refresh(self._let_go)

    def holds(self, event: events.Key) -> bool:
        """Keep a key for later while what it is meant for is not there yet; True if it is kept."""
        if self._holding:
            self._held.append(event)
        return bool(self._holding)

    def _let_go(self) -> None:
        """Hand the keys that were kept to the screen on top, in their order."""
        self._holding -= 1
        if self._holding:
            return
        held, self._held = self._held, []
        for event in held if self.screen_stack else ():
            self.screen._forward_event(events.Key(event.key, event.character))  # noqa: SLF001  # as the app does

    def _tell_working(self) -> None:
        """Say that something takes a while, or that it is over."""
        is_working, pages = self._working > 0, self._pages()
        for screen in pages[-1:] if is_working else pages:  # those below would paint the top anew
            screen.show_working(is_working=is_working)

    def _pages(self) -> list[MovesScreen]:
        """Return the screens of the night that are open, the one on top last."""
        if self.scene is None:
            return []
        from tui.screens.moves import MovesScreen  # noqa: PLC0415  # slow to load

        return [screen for screen in self.screen_stack if isinstance(screen, MovesScreen)]

    def _show(self, scene: Scene | None) -> None:
        """Show a scene unless a newer one is shown already."""
        if scene is None or (self.scene is not None and scene.number <= self.scene.number):
            return
        from planner.output.words import clock  # noqa: PLC0415  # slow to load

        is_first, self.scene = self.scene is None, scene
        at = clock(self.clock(), scene.night.night.site)
        if scene.words and (at, scene.words) not in self.heard[-1:]:
            self.heard = [*self.heard[1 - MOST_HEARD :], (at, scene.words)]
        if is_first and self.screen_stack:  # else it was left meanwhile
            self._show_first()
        for screen in self._pages():
            screen.show_scene(scene)
        if scene.asks_until and (top := self._page_on_top()):
            title = f"It is {at} already. From now until when?"
            top.ask_until(title, is_anew=True)

    def _show_first(self) -> None:
        """Put the night in the place of the page that waits for it."""
        from tui.screens.night import NightScreen  # noqa: PLC0415  # slow to load

        self.switch_screen(NightScreen())
        self.call_after_refresh(self._let_go)
        self.call_after_refresh(self._refine)
        gc.freeze()  # else looking through the catalogue again costs a key tens of ms
        gc.set_threshold(OBJECTS_BETWEEN_SEARCHES)
        gc.enable()

    def _refine(self) -> None:
        """Look for a better plan behind the first list."""
        self.ask(self._better, self._show)

    def _better(self) -> Scene | None:
        import tui.pages.way  # noqa: PLC0415  # slow to load
        import tui.screens.target  # noqa: F401, PLC0415
        from targets.field_stars import load_field_stars  # noqa: PLC0415

        with suppress(UserError):  # a page that draws them says what is wrong
            load_field_stars()
        return self.desk.refine()

    def _refused(self, error: Exception) -> None:
        """Say what is wrong; without a night there is nothing to stay for."""
        if self.scene is None:
            self.exit(error)
            return
        told = isinstance(error, UserError | NothingToPlanError)
        sentence = str(error) if told else report_sentence(error)
        self.notify(sentence, title="That did not work", markup=False)

    def _look_at_clock(self) -> None:
        minute = self.clock().minute
        if minute != self._minute and (page := self._page_on_top()):
            self._minute = minute
            page.redraw()

    def _page_on_top(self) -> MovesScreen | None:
        """Return the night's screen where it is on top; None behind a question, and on leaving."""
        pages = self._pages()
        return pages[-1] if pages and pages[-1] is self.screen_stack[-1] else None

    def _tick(self) -> None:
        forget_closed_pages()
        if not self.is_headless and not _has_terminal():
            self.exit()
        if self.scene is not None and not self._working:
            self.ask(self.desk.tick, self._show)

    def open_target(self, target_id: str) -> None:
        """Take a target in hand."""
        from tui.screens.target import TargetScreen  # noqa: PLC0415  # slow to load

        page = TargetScreen(target_id)
        page.await_answer(lambda: self.push_screen(page))

    def change_face(self) -> None:
        """Change between the red and the day face; in the dark the bright one asks first."""
        if self.theme == NIGHT and self.scene is not None and self.scene.is_dark(self.clock()):
            question = ChoiceScreen("The day face is bright, and it is dark outside", DAY_ANSWERS)
            self.push_screen(question, lambda number: self._take_face(number == 1))
        else:
            self._take_face(self.theme == NIGHT)

    def _take_face(self, is_day: bool) -> None:  # noqa: FBT001
        self.theme = DAY if is_day else NIGHT
        for screen in self._pages():
            screen.redraw()
        self.refresh(layout=True)

    def change_brightness(self, by: int) -> None:
        """Go some steps brighter or darker, inside the limits of the night face."""
        if self.no_color or self._has_few_colours():
            self.notify(ONE_BRIGHTNESS, markup=False)
        self._step = min(max(self._step + by, 0), len(STEPS) - 1)
        for screen in self.screen_stack:
            screen.refresh(layout=True)

    def _handle_exception(self, error: Exception) -> None:
        """Leave with a sentence instead of a bright page of code; tests get to see the fault."""
        if self.is_headless:
            super()._handle_exception(error)
        else:
            self.exit(error)

    def on_unmount(self) -> None:
        """Let go of the night."""
        self._executor.shutdown(wait=True, cancel_futures=True)
        if "desk" in self.__dict__:
            self.farewell = self.desk.close()


def _has_terminal() -> bool:
    """Whether the terminal is still there: a window that was closed is none any more."""
    try:
        return os.isatty(sys.__stdin__.fileno()) if sys.__stdin__ else False
    except (OSError, ValueError):
        return False
