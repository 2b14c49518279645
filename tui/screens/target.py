"""The target in hand: its field to scale, its numbers, why this eyepiece, how long it stays."""

from __future__ import annotations

from collections.abc import Callable
from itertools import zip_longest
from typing import Any

from textual.app import ComposeResult

from planner.model.kit import train_words
from planner.model.plan import View
from planner.output.drawing.curves import curve_cells
from planner.output.drawing.marks import FieldDrawing
from planner.output.drawing.terminal import field_cells, scale_words
from planner.output.night_words import grade_word
from planner.output.text.fields import drift_words
from planner.output.text.finding import finding_line
from planner.output.text.look import daylight_words, is_near_the_sun, target_facts, when_facts
from planner.output.words import SUN_CAUTION, arc, clock
from planner.session.look_list import LookLine
from planner.session.state import Status
from planner.text import wrap
from tui.night.scene import Scene
from tui.pages.least_size import TOO_SMALL, is_too_small
from tui.pages.rows import clock_line, said_lines
from tui.pages.target import TargetPage, target_page
from tui.screens.moves import MovesScreen
from tui.widgets.lines import Lines

CURVE_ROWS = 7
# With fewer there is no curve: what to put in, how to get there and what to see come before it.
ROWS_FOR_CURVE = 18
# Which way up the field is fits one line.
LEGEND_CELLS = 22
LESSON_WORDS = "Do you see it? That teaches about your eye: say so (d), then the grade is told."
FOOT = "Esc back  Up Down next  i at it  d done  e swap  p find  z large  ? help"


class TargetScreen(MovesScreen):
    """One target of the night."""

    def __init__(self, target_id: str) -> None:
        super().__init__()
        self._target_id = target_id
        self._page: TargetPage | None = None
        self._is_close = False
        self._first = 0
        # What was said before is not told again here.
        self._opened_at: int | None = None
        self._was_open = False

    def compose(self) -> ComposeResult:
        """Lay out page and keys."""
        yield Lines(id="page")
        yield Lines(id="foot")

    def on_mount(self) -> None:
        """Take note of what is told already."""
        self._opened_at = self.scene.number if self.scene else None
        self._was_open = self._is_open()
        self.query_one("#foot", Lines).show([FOOT])

    def await_answer(self, ready: Callable[[], Any]) -> None:
        """Ask for what there is to tell of another target than before."""
        line, app = self.chosen(), self.night_app
        if line is None:
            ready()
        else:
            close_up = self._is_close
            app.await_page(
                lambda: target_page(app.desk, line, close_up=close_up), self._answered, ready
            )

    def _answered(self, page: TargetPage) -> None:
        if page.report.target.id == self._target_id:
            self._page = page
            self.redraw()

    def chosen(self) -> LookLine | None:
        """Return the look of this target."""
        lines = self.scene.lines if self.scene else ()
        return next((x for x in lines if x.look.target_id == self._target_id), None)

    def show_scene(self, scene: Scene) -> None:
        """Show a newer scene; what is done gives way to what is next."""
        line = self.chosen()
        over = line is not None and line.look.status in {Status.DONE, Status.SKIPPED}
        if self._was_open and over:
            following = scene.state.now or next(iter(scene.state.waiting), None)
            if following is None:
                self.app.pop_screen()
                return
            self._turn_to(following.target_id)
            return
        self._was_open = self._is_open()
        self.redraw()
        line, app = self.chosen(), self.night_app
        if line is not None:
            close_up = self._is_close
            app.ask(lambda: target_page(app.desk, line, close_up=close_up), self._answered)

    def _is_open(self) -> bool:
        """Whether the look can still come or go on."""
        line = self.chosen()
        return line is not None and line.look.status in {Status.NOW, Status.WAITING}

    def press(self, key: str) -> bool:
        """Turn the page of words, go to the target before or after, or back to the night."""
        if key in {"pagedown", "pageup"}:
            self._first = max(self._first + (5 if key == "pagedown" else -5), 0)
            self.redraw()
        elif key in {"up", "down"}:
            self._go(1 if key == "down" else -1)
        elif key == "escape":
            self.action_open_target()
        else:
            return False
        return True

    def _go(self, step: int) -> None:
        ids = [line.look.target_id for line in self.scene.lines] if self.scene else []
        if self._target_id in ids:
            self._turn_to(ids[(ids.index(self._target_id) + step) % len(ids)])

    def _turn_to(self, target_id: str) -> None:
        self._target_id, self._page, self._first = target_id, None, 0
        self._was_open = self._is_open()
        self.await_answer(self.redraw)

    def action_open_target(self) -> None:
        """Back to the night: Enter goes there and back."""
        self.app.pop_screen()

    def action_enlarge(self) -> None:
        """Enlarge the middle of the field, or show all of it."""
        page = self._page
        if page is not None:
            self.night_app.await_page(
                lambda: [page.draw(close_up) for close_up in (False, True)][1],
                self._enlarge,
                self.redraw,
            )

    def _enlarge(self, drawing: FieldDrawing | None) -> None:
        if drawing is not None and not drawing.is_close_up:
            self.notify("Nothing in this field is so small that enlarging would show more.")
            return
        self._is_close = not self._is_close
        self.redraw()

    def foot_text(self) -> str:
        """Return the keys at the foot."""
        return FOOT

    def redraw(self) -> None:
        """Show all as it stands."""
        if not self.query("#page"):  # not laid out yet, or gone already
            return
        line, page = self.chosen(), self._page
        if is_too_small(*self.app.size):
            self.query_one("#page", Lines).show([TOO_SMALL, "q leaves"])
            return
        block = self.query_one("#page", Lines)
        columns, rows = self.app.size
        if line is None:
            block.show(["This target is not in the plan any more.", "Esc back"])
            return
        if page is None:
            head = self._clock_line(line, columns)
            block.show([head, "", line.look.name, "", "One moment ..."])
            return
        told = self._told(columns)
        room = rows - 2 - len(told)
        lines = self._lines(line, page, columns, room)
        head = self._clock_line(line, columns)
        block.show([head, *lines, *[""] * (room - len(lines)), *told])

    def _clock_line(self, line: LookLine, columns: int) -> str:
        scene = self.scene
        return clock_line(line, scene, self.night_app.desk.now(), columns) if scene else ""

    def _told(self, columns: int) -> list[str]:
        """Say what a key has done since the target was opened, and what is not on disk."""
        scene = self.scene
        if scene is None or (scene.number == self._opened_at and not scene.warning):
            return []
        return said_lines(scene, columns, most=2)

    def _lines(self, line: LookLine, page: TargetPage, columns: int, rows: int) -> list[str]:
        room = rows - CURVE_ROWS if rows >= ROWS_FOR_CURVE else rows
        high = max(room - 4, 6)
        wide = min(max(2 * high, LEGEND_CELLS), columns // 2)
        drawing = self._field(page, wide, high)
        facts = self._turned(_facts(line, page, columns - wide - 2), room)
        beside = [
            f"{left:<{wide}}  {right}" for left, right in zip_longest(drawing, facts, fillvalue="")
        ]
        if room == rows:
            return beside[:room]
        site = page.report.night.site
        curves = curve_cells(
            page.curves,
            columns=columns - 1,
            rows=CURVE_ROWS,
            clock=lambda instant: clock(instant, site),
            unicode=self.night_app.unicode,
        )
        return [*beside[:room], *curves]

    def _field(self, page: TargetPage, wide: int, high: int) -> list[str]:
        drawing = page.draw(self._is_close)
        if drawing is None:
            return ["No eyepiece shows it."]
        cells = field_cells(drawing, columns=wide, rows=high, unicode=self.night_app.unicode)
        enlarged = ", enlarged" if drawing.is_close_up else ""
        words = f"{scale_words(drawing, columns=min(wide, 2 * high))}{enlarged}"
        legend = (drawing.words, drift_words(drawing))
        return [*cells, words, *(part for told in legend for part in wrap(told, width=wide))]

    def _turned(self, facts: list[str], room: int) -> list[str]:
        """The words from the page's first line on; the last line says when there are more."""
        self._first = min(self._first, max(len(facts) - room, 0))
        rest = facts[self._first :]
        if len(rest) <= room:
            return rest
        return [*rest[: room - 1], f"({len(rest) - room + 1} more lines: PgDn)"]


def _facts(line: LookLine, page: TargetPage, width: int) -> list[str]:
    """Say what the target is; what to put in, how to get there, what to see; then the rest."""
    report, view = page.report, page.view
    by_day = daylight_words(report)
    facts = [f"! {by_day}"] if by_day else []
    facts += [f"! lost: {line.look.reason}"] if line.look.status is Status.LOST else []
    facts += [report.target.name, *target_facts(report.target), ""]
    course, (_, window), (at, where), *hazards = when_facts(report)
    if view is not None:
        grade = "" if line.is_lesson else f", {_grade_words(line, page, view)}"
        facts += [f"in: {train_words(view.train)}", f"{_optics(view)}{grade}"]
    facts += [page.then] if page.then else []
    facts += [f"find: {finding_line(report.finding)}"] if report.finding else []
    facts += [f"{at}: {where}. Window: {window}", *(f"! {words}" for _, words in hazards)]
    seen = (*filter(None, [page.look_for]), *page.notes)
    facts += _under("see", (LESSON_WORDS, *seen) if line.is_lesson else seen)
    facts += _under("why", () if view is None or line.is_lesson else _why(view, report.views[0]))
    facts += [line.spare] if line.spare else []
    facts += [] if line.is_lesson else [f"not {_against(other)}" for other in page.others]
    facts += [f"{course[0]}: {course[1]}", *(f"before: {told}" for told in page.history)]
    facts += [SUN_CAUTION] if is_near_the_sun(report) else []
    return [part for fact in facts for part in (wrap(fact, width=width) if fact else [""])]


def _under(name: str, told: tuple[str, ...]) -> list[str]:
    """Put a name before the first of some clauses."""
    return [f"{name}: {words}" if k == 0 else words for k, words in enumerate(told)]


def _why(view: View, best: View) -> tuple[str, ...]:
    """Return the reasons, and of the warnings what they do not say already.

    Of what is not the best at this moment the reasons tell what it lacks beside that.
    """
    beside = "" if view is best else f"beside {train_words(best.train)} "
    reasons = tuple(f"{beside}{words}" for words in view.reasons)
    told = "; ".join(reasons)
    return (*reasons, *(words for words in view.warnings if words not in told))


def _grade_words(line: LookLine, page: TargetPage, view: View) -> str:
    """Say how easily it is seen, through what thin cloud."""
    if not page.veil:
        return grade_word(view.grade)
    return f"{grade_word(line.grade)} through {page.veil}"


def _against(view: View) -> str:
    return f"{train_words(view.train)}: {view.reasons[0] if view.reasons else 'less'}"


def _optics(view: View) -> str:
    train = view.train
    return (
        f"{train.magnification:.0f}x, exit pupil {train.exit_pupil_mm:.1f} mm, "
        f"field {arc(train.true_field_arcmin)}"
    )
