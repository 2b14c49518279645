"""The moves that every screen of the night has, by the actions of the key table."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any, Protocol, cast

from textual import events
from textual.screen import Screen

from planner.journal.records import JournalEntry, Outcome
from planner.model.kit import train_words
from planner.model.plan import View
from planner.output.glossary import glossary_lines
from planner.output.words import SUN_CAUTION, clock
from planner.session.clock import run_end
from planner.session.look_list import LookLine
from planner.session.moves.clouds import cleared
from planner.session.moves.lessons import teach
from planner.session.moves.looks import done, skip
from planner.session.moves.targets import add_target, start_now, veto_target
from planner.session.moves.times import longer_here, running_late, take_break
from planner.session.night import key_of, key_words
from planner.session.offers import Offer
from planner.session.state import SkyReadings
from planner.text import fit, wrap
from targets.naming.partial_names import matching_rows
from tui.key_routing import passed_on, swallow
from tui.keys import ACTIONS, help_lines, word_lines
from tui.modals.choice import ChoiceScreen, MinutesScreen, PagesScreen, SearchScreen
from tui.modals.cloud import CloudScreen
from tui.modals.log import Logged, LogScreen
from tui.modals.sky import SkyScreen
from tui.night.answers import CloudChoice, close_part, eighth, put_in
from tui.night.desk import OPEN_ENDED, Desk, Move
from tui.night.logbook import Answer
from tui.night.offers import GROUPS, offer_words, view_words
from tui.night.scene import Scene
from tui.pages.rows import is_too_small
from tui.pages.way import way_lines
from tui.widgets.lines import Lines

WORKING = "Working ... keys are taken meanwhile"
TEACH_WORDS = "put in up to two looks whose outcome tells most about your eye"
# Whoever writes the same look again so soon may have pressed a key twice.
DUPLICATE = timedelta(minutes=1)
LONGER_MIN, LATE_MIN, BREAK_MIN = 10, 15, 12


class NightHost(Protocol):
    """What the screens need of the application."""

    desk: Desk
    scene: Scene | None
    unicode: bool
    opening_words: str
    last_list: tuple[str, ...]
    heard: list[tuple[str, str]]

    def perform(self, work: Callable[[], Scene | None]) -> None:
        """Do something that gives a scene, and show it."""

    def ask(
        self, work: Callable[[], Any], then: Callable[[Any], None], *, holds: bool = False
    ) -> None:
        """Do something in the desk's thread, then go on with what it gives."""

    def open_target(self, target_id: str) -> None:
        """Take a target in hand."""

    def change_face(self) -> None:
        """Change between the red and the day face."""

    def change_brightness(self, by: int) -> None:
        """Go some steps brighter or darker."""


class MovesScreen(Screen[None]):
    """A screen of the night; subclasses say which look is chosen and show scenes."""

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

    def show_scene(self, scene: Scene) -> None:
        """Show a newer scene."""
        raise NotImplementedError

    def redraw(self) -> None:
        """Show all as it stands."""
        raise NotImplementedError

    def foot_text(self) -> str:
        """Return the keys at the foot."""
        raise NotImplementedError

    def on_key(self, event: events.Key) -> None:
        """Do what a key is for, in the order of the keys, whatever screen the last one opened."""
        if passed_on(self, event):
            return
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

    def action_skip(self) -> None:
        """Skip the chosen look."""
        target_id = self._chosen_id()
        self._make(lambda night, state, now: skip(night, state, now, target_id))

    def action_veto(self) -> None:
        """Keep the chosen target out."""
        target_id = self._chosen_id()
        if target_id is not None:
            self._make(lambda night, state, now: veto_target(night, state, now, target_id))

    def action_undo(self) -> None:
        """Take the last move back."""
        self.night_app.perform(self.night_app.desk.undo)

    def action_redo(self) -> None:
        """Make the move again that was undone."""
        self.night_app.perform(self.night_app.desk.redo)

    def action_at_this(self) -> None:
        """Begin the chosen look now."""
        target_id = self._chosen_id()
        if target_id is not None:
            self._start(target_id)

    def _start(self, target_id: str) -> None:
        desk = self.night_app.desk
        self.night_app.perform(
            lambda: desk.add(target_id, lambda n, s, now: start_now(n, s, now, target_id))
        )

    def action_same(self) -> None:
        """Go to the best in the same eyepiece."""
        if self.scene is not None:
            self.night_app.perform(self.night_app.desk.next_in_focuser)

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
        self.app.push_screen(ChoiceScreen(title, options), answered)

    def action_clear(self) -> None:
        """Open the sky."""
        self._make(cleared)

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

    def action_sky(self) -> None:
        """Ask what the sky is like."""
        scene, app = self.scene, self.night_app
        if scene is None:
            return

        def answered(readings: SkyReadings | None) -> None:
            if readings is not None:
                app.perform(lambda: app.desk.judge_sky(readings))

        site = scene.night.night.site
        known = scene.state.readings or SkyReadings()
        screen = SkyScreen(known, usual_seeing=site.seeing, usual_mag_arcsec2=site.sky_mag_arcsec2)
        self.app.push_screen(screen, answered)

    def action_eye(self) -> None:
        """Offer to change whose eye counts, and looks that teach about it."""
        scene, desk = self.scene, self.night_app.desk
        if scene is None:
            return
        readings = scene.state.readings or SkyReadings()
        eye = scene.night.circumstances.eye
        works: list[tuple[str, Callable[[], Scene | None]]] = [
            (TEACH_WORDS, lambda: desk.make(teach))
        ]
        if desk.has_own_eye:
            change = "by your own eye again" if readings.average_eye else "by the average eye"
            works.insert(0, (f"rate all {change}", desk.change_eye))

        def answered(number: int | None) -> None:
            if number is not None:
                self.night_app.perform(works[number][1])

        title = f"{eye.words[0].upper()}{eye.words[1:]}" if eye else "The average eye"
        self.app.push_screen(ChoiceScreen(title, [words for words, _ in works]), answered)

    def action_cloud(self) -> None:
        """Ask where cloud is."""

        def answered(choice: CloudChoice | None) -> None:
            if choice is not None:
                self._make(lambda n, s, now: close_part(n, s, now, choice))

        scene, line = self.scene, self.chosen()
        if scene is not None:
            point = eighth(line.azimuth_deg) if line else "S"
            self.app.push_screen(CloudScreen(scene.state.closures, point), answered)

    def action_swap(self) -> None:
        """Choose another eyepiece for the chosen look."""
        line, app = self.chosen(), self.night_app
        if line is None or self.scene is None:
            return
        look = line.look
        middle = look.start + (look.end - look.start) / 2
        app.ask(
            lambda: app.desk.report(look.target_id, middle),
            lambda report: self._offer_trains(line, report.views),
            holds=True,
        )

    def _offer_trains(self, line: LookLine, views: tuple[View, ...]) -> None:
        target_id, name = line.look.target_id, line.look.name
        usable = [view for view in views if view.train.usable]

        def answered(number: int | None) -> None:
            if number is not None:
                train = key_of(usable[number].train)
                self._make(lambda n, s, now: put_in(n, s, now, train, target_id))

        options = [view_words(view, tells_grade=not line.is_lesson) for view in usable]
        self.app.push_screen(ChoiceScreen(f"Eyepiece for {name}", options), answered)

    def action_best_now(self) -> None:
        """Say what is best now, and begin it if it is chosen."""
        if self.scene is not None:
            self.night_app.ask(self.night_app.desk.offers, self._offer_targets, holds=True)

    def _offer_targets(self, offers: list[tuple[str, Offer]]) -> None:
        def answered(number: int | None) -> None:
            if number is not None:
                self._start(offers[number][1].target.id)

        options = [offer_words(group, offer) for group, offer in offers]
        title = "Best now, in the open sky"
        if self.scene is not None and self.night_app.desk.now() < self.scene.state.start:
            begin = clock(self.scene.state.start, self.scene.night.night.site)
            title = f"Best when the night begins, {begin}"
        self.app.push_screen(ChoiceScreen(title, options, GROUPS), answered)

    def action_add(self) -> None:
        """Search for a target."""
        catalogue = self.night_app.desk.catalogue

        def find(text: str) -> list[tuple[str, str]]:
            rows = matching_rows(catalogue, text)
            targets = [catalogue.target(row) for row in rows]
            return [(t.id, f"{t.name} ({t.kind})") for t in targets]

        if self.scene is not None:
            self.app.push_screen(SearchScreen(find), self._add_found)

    def _add_found(self, found: str | None) -> None:
        if found is not None:
            self._add(found)

    def _add(self, target_id: str) -> None:
        desk = self.night_app.desk
        self.night_app.perform(
            lambda: desk.add(target_id, lambda n, s, now: add_target(n, s, now, target_id))
        )

    def action_skip_why(self) -> None:
        """Ask why the look is skipped, and skip it."""
        self._log(ends=True, outcome=Outcome.SKIPPED)

    def action_log_done(self) -> None:
        """Ask what came of the look, and end it."""
        self._log(ends=True)

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
        planned = next((p for p in scene.plan.looks if p.target.id == target_id), None)

        def answered(logged: Logged | None) -> None:
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
            planned=train_words(planned.view.train) if planned else "",
            ask_sky=app.desk.wants_conditions(),
            outcome=outcome,
            written=_answer_of(entry) if entry else None,
        )
        self.app.push_screen(screen, answered)

    def action_way(self) -> None:
        """Show how to find the chosen target."""
        line, app = self.chosen(), self.night_app
        if line is not None and self.scene is not None:
            page = PagesScreen(f"The way to {line.look.name}", ["One moment ..."])
            self.app.push_screen(page)
            app.ask(lambda: way_lines(app.desk, line, unicode=app.unicode), page.show_lines)

    def action_kit(self) -> None:
        """Show the kit; the year behind it takes some seconds."""
        if self.scene is not None:
            page = PagesScreen("The kit", ["One moment ..."])
            self.app.push_screen(page)
            self.night_app.ask(self.night_app.desk.kit_lines, page.show_lines)

    def action_messages(self) -> None:
        """Show what was said, the latest first."""
        width = self.app.size.width - 2
        lines = [
            line
            for at, words in reversed(self.night_app.heard)
            for line in wrap(words, width=width, first=f"{at} ", rest=" " * 6)
        ]
        self.app.push_screen(PagesScreen("Messages, the latest first", lines))

    def action_face(self) -> None:
        """Change between the red and the day face."""
        self.night_app.change_face()

    def action_brighter(self) -> None:
        """Go a step brighter."""
        self.night_app.change_brightness(1)

    def action_darker(self) -> None:
        """Go a step darker."""
        self.night_app.change_brightness(-1)

    def action_help(self) -> None:
        """Show the keys."""
        lines = [*help_lines(), "", "In the list", *word_lines(), "", "Words", *glossary_lines()]
        lines += ["", *wrap(SUN_CAUTION, width=72)]
        self.app.push_screen(PagesScreen("Keys", lines))

    def action_quit(self) -> None:
        """Leave."""
        self.app.exit()


def _answer_of(entry: JournalEntry) -> Answer:
    return Answer(entry.outcome, entry.rating, entry.note, entry.why_skipped)
