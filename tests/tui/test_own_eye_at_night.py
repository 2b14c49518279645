"""At the telescope: looks that teach, whose eye counts, and what was written twice."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from planner.journal.records import Outcome
from planner.journal.store.journal import journal_path, open_journal
from planner.model.own_eye import OwnEye
from planner.planning.teaching_looks import doubts
from planner.session.moves.sky import circumstances_under
from planner.session.moves.teaching import ENOUGH
from planner.session.state import SkyReadings
from tui.app import NightApp

Shown = Callable[[NightApp], str]


def test_of_a_look_that_teaches_the_outcome_comes_first(
    evening: Any, press: Any, shown: Shown
) -> None:
    """No grade in the list, on the target's page and beside eyepieces until it is written."""

    async def story(pilot: Any, app: NightApp) -> None:
        await press(pilot, app, "j", "enter")
        lessons = app.scene.state.lessons
        assert 1 <= len(lessons) <= 2
        line = next(x for x in app.scene.lines if x.look.target_id in lessons)
        night = app.scene.night
        row = night.row_of[line.look.target_id]
        assert doubts(night.roster, night.circumstances, night.columns)[row].max() >= 0.5
        rows = [x for x in shown(app).splitlines() if line.look.name[:10] in x and " wait " in x]
        assert rows[0].rstrip().endswith("you?")
        while app.screen.chosen().look.target_id != line.look.target_id:
            await press(pilot, app, "down")
        await press(pilot, app, "enter")
        page = shown(app)
        assert "Do you see it?" in " ".join(page.split())
        assert f", {line.grade}" not in page
        await press(pilot, app, "d", "n", "enter", "enter", "enter")
        assert any(f"is {line.grade} in this eyepiece" in told for told in app.scene.words)
        after = next(x for x in app.scene.lines if x.look.target_id == line.look.target_id)
        assert not after.is_lesson
        if len(lessons) == 2:
            await press(pilot, app, "escape", "j", "enter")
            assert ENOUGH in app.scene.words

    evening.tell(story)
    assert evening.saved().lessons
    with open_journal(journal_path(evening.data)) as journal:
        assert [entry.outcome for entry in journal.entries()] == [Outcome.NOT_SEEN]


def test_what_is_written_again_within_a_minute_is_asked_about(
    evening: Any, press: Any, shown: Shown
) -> None:
    """It changes what was written, or is another look; a minute later nobody asks."""

    async def story(pilot: Any, app: NightApp) -> None:
        keys = ("s", "4", "enter", "enter")
        await press(pilot, app, "w", *keys)
        await press(pilot, app, "w")
        assert "less than a minute ago" in shown(app)
        await press(pilot, app, "1", "enter", "n", "enter")
        with open_journal(journal_path(evening.data)) as journal:
            (entry,) = journal.entries()
        assert entry.outcome is Outcome.NOT_SEEN
        evening.clock.forward(1.1)
        await press(pilot, app, "w")
        assert "less than a minute ago" not in shown(app)

    evening.tell(story)


def test_the_average_eye_is_a_reading_that_can_be_undone(evening: Any, press: Any) -> None:
    """Without a journal there is no own eye to leave; with one, all is rated by the stated one."""

    async def story(pilot: Any, app: NightApp) -> None:
        who = app.scene.night.circumstances
        site = app.scene.night.night.site
        own = who.with_eye(OwnEye(0.9, 0.1, 60, stated_mag=0.24))
        assert circumstances_under(own, site, None).conditions.eye_mag == 0.9
        average = circumstances_under(own, site, SkyReadings(average_eye=True))
        assert average.conditions.eye_mag == 0.24
        assert average.eye is None
        assert not app.desk.has_own_eye
        await press(pilot, app, "j")
        assert "average eye" in "".join(app.screen.title_text)

    evening.tell(story)
