"""The night in time order."""

from __future__ import annotations

from textual.app import ComposeResult

from planner.session.look_list import LookLine, is_lost
from planner.session.state import Status
from tui.keys import footer_text
from tui.night.scene import Scene
from tui.pages.least_size import LOWEST, NARROWEST, is_too_small
from tui.pages.night import night_page
from tui.screens.moves import MovesScreen
from tui.widgets.lines import Lines


class NightScreen(MovesScreen):
    """Head, list of looks, what has changed, and the keys."""

    def __init__(self) -> None:
        super().__init__()
        self._chosen_id_now: str | None = None
        self._is_large = False

    def compose(self) -> ComposeResult:
        """Lay out the page and the keys: blocks of one size, so that no key moves them."""
        yield Lines(id="night")
        yield Lines(id="foot")

    def chosen(self) -> LookLine | None:
        """Return the look under the cursor: by its target, so that it moves with it."""
        scene = self.scene
        if scene is None or not scene.lines:
            return None
        return scene.lines[self._row(scene)]

    def choose(self, target_id: str) -> None:
        """Set the cursor on a target, as soon as it is in the list."""
        self._chosen_id_now = target_id

    def _row(self, scene: Scene) -> int:
        for row, line in enumerate(scene.lines):
            if line.look.target_id == self._chosen_id_now:
                return row
        return _first_open(scene)

    def show_scene(self, scene: Scene) -> None:
        """Show a newer scene; the cursor follows the night where its look is over."""
        chosen = next((x for x in scene.lines if x.look.target_id == self._chosen_id_now), None)
        over = {Status.DONE, Status.SKIPPED}
        if chosen is not None and chosen.look.status in over:
            self._chosen_id_now = None
        self.redraw()

    def press(self, key: str) -> bool:
        """Move the cursor."""
        steps = {"up": -1, "down": 1, "pageup": -8, "pagedown": 8, "home": -999, "end": 999}
        scene = self.scene
        if key not in steps or scene is None or not scene.lines:
            return False
        row = min(max(self._row(scene) + steps[key], 0), len(scene.lines) - 1)
        self._chosen_id_now = scene.lines[row].look.target_id
        self.redraw()
        return True

    def action_enlarge(self) -> None:
        """Change between large and usual print."""
        self._is_large = not self._is_large
        self.redraw()

    def action_open_target(self) -> None:
        """Take the chosen target in hand."""
        line = self.chosen()
        if line is not None:
            self.night_app.open_target(line.look.target_id)

    def foot_text(self) -> str:
        """Return the keys at the foot."""
        return footer_text(self.app.size.width)

    def redraw(self) -> None:
        """Show all as it stands."""
        if not self.query("#foot"):  # not laid out yet, or gone already
            return
        columns, rows = self.app.size
        if is_too_small(columns, rows):
            self._say_only(
                f"{columns} by {rows} is too small: {NARROWEST} by {LOWEST} are needed.", "q leaves"
            )
            return
        scene = self.scene
        if scene is None:
            return
        page = night_page(
            scene,
            self.chosen(),
            self.night_app.desk.now(),
            columns=columns,
            rows=rows - 1,
            is_large=self._is_large,
        )
        self.query_one("#night", Lines).show(page.lines, chosen=page.chosen)
        self.query_one("#foot", Lines).show([self.foot_text()])

    def _say_only(self, words: str, more: str) -> None:
        self.query_one("#night", Lines).show(["", f"  {words}", f"  {more}"])
        self.query_one("#foot", Lines).show([])


def _first_open(scene: Scene) -> int:
    """Return the row of the look under way, else of the next one, else of the last that was."""
    for row, line in enumerate(scene.lines):
        if line.look.status is Status.NOW or line.is_next:
            return row
    kept = [row for row, line in enumerate(scene.lines) if not is_lost(line.look)]
    return kept[-1] if kept else len(scene.lines) - 1
