"""What is said of the sky: cloud, and what the air is like."""

from __future__ import annotations

from collections.abc import Callable

from planner.session.moves.clouds import cleared
from planner.session.moves.teaching import teach
from planner.session.state import SkyReadings
from tui.modals.choice import ChoiceScreen
from tui.modals.cloud import CloudScreen
from tui.modals.sky import SkyScreen
from tui.night.answers import CloudChoice, close_part, eighth
from tui.night.scene import Scene
from tui.screens.page import NightPage

AVERAGE = "All is rated by the average eye: the journal tells too little of yours"
TEACH_WORDS = "put in up to two looks whose outcome tells most about your eye"


class SkyMoves(NightPage):
    """Moves that tell of the sky."""

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

        title = f"{eye.words[0].upper()}{eye.words[1:]}" if eye else AVERAGE
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

    def action_clear(self) -> None:
        """Open the sky."""
        self._make(cleared)

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
