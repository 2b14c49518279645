"""Which target, and in which eyepiece: this one, the best one, another one."""

from __future__ import annotations

from planner.model.plan import View
from planner.output.words import clock
from planner.session.look_list import LookLine
from planner.session.moves.looks import skip
from planner.session.moves.targets import (
    add_target,
    is_too_early,
    start_now,
    veto_target,
)
from planner.session.night import key_of
from planner.session.offers import Offer
from planner.session.state import TrainKey
from targets.naming.partial_names import matching_rows
from tui.modals.choice import ChoiceScreen, PagesScreen, SearchScreen
from tui.night.answers import put_in
from tui.night.offers import GROUPS, offer_words, view_words
from tui.screens.page import NightPage

NOTHING = "Nothing in the open sky can be looked at now: too bright, too low, or done."


class TargetMoves(NightPage):
    """Moves by target."""

    def action_at_this(self) -> None:
        """Begin the chosen look now."""
        target_id = self._chosen_id()
        if target_id is not None:
            self._start(target_id)

    def _start(self, target_id: str, train: TrainKey | None = None) -> None:
        self.choose(target_id)
        desk = self.night_app.desk
        self.night_app.perform(
            lambda: desk.add(
                target_id, lambda n, s, now: start_now(n, s, now, target_id, train=train)
            )
        )

    def action_same(self) -> None:
        """Go to the best in the same eyepiece."""
        if self.scene is not None:
            self.night_app.perform(self.night_app.desk.next_in_focuser)

    def action_best_now(self) -> None:
        """Say what is best now, and begin it if it is chosen."""
        if self.scene is not None:
            self.night_app.ask(self.night_app.desk.offers, self._offer_targets, holds=True)

    def _offer_targets(self, offers: list[tuple[str, Offer]]) -> None:
        def answered(number: int | None) -> None:
            if number is not None:
                offer = offers[number][1]
                self._start(offer.target.id, key_of(offer.view.train))

        options = [offer_words(group, offer) for group, offer in offers]
        title = "Best now, in the open sky"
        scene = self.scene
        if scene is not None and is_too_early(scene.night, self.night_app.desk.now()):
            begin = clock(scene.state.start, scene.night.night.site)
            title = f"Best when the night begins, {begin}"
        self.app.push_screen(ChoiceScreen(title, options, GROUPS if options else NOTHING), answered)

    def action_swap(self) -> None:
        """Choose another eyepiece for the chosen look."""
        line, app = self.chosen(), self.night_app
        if line is None or self.scene is None:
            return
        look = line.look
        app.ask(
            lambda: app.desk.views(look),
            lambda views: self._offer_trains(line, views),
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

    def action_skip(self) -> None:
        """Skip the chosen look."""
        target_id = self._chosen_id()
        self._make(lambda night, state, now: skip(night, state, now, target_id))

    def action_veto(self) -> None:
        """Keep the chosen target out."""
        target_id = self._chosen_id()
        if target_id is not None:
            self._make(lambda night, state, now: veto_target(night, state, now, target_id))

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
        self.choose(target_id)
        desk = self.night_app.desk
        self.night_app.perform(
            lambda: desk.add(target_id, lambda n, s, now: add_target(n, s, now, target_id))
        )

    def action_way(self) -> None:
        """Show how to find the chosen target."""
        from tui.pages.way import way_lines  # noqa: PLC0415  # slow to load

        line, app = self.chosen(), self.night_app
        if line is not None and self.scene is not None:
            page = PagesScreen(f"The way to {line.look.name}", ["One moment ..."])
            app.await_page(
                lambda: way_lines(app.desk, line, unicode=app.unicode),
                page.show_lines,
                lambda: self.app.push_screen(page),
            )
