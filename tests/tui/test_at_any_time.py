"""The night at any time: opened late, gone on with, begun out of turn, overdue, undone."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from planner.session.night import key_of
from planner.session.state import Status
from tui.app import NightApp
from tui.modals.choice import ChoiceScreen
from tui.night.logbook import Logbook

Shown = Callable[[NightApp], str]
NINE = datetime(2026, 12, 8, 21, 0, tzinfo=UTC)


async def leave(_pilot: Any, _app: NightApp) -> None:
    """Open the night and go away again."""


def test_a_session_that_is_over_is_taken_up_from_now(
    evening: Any, press: Any, shown: Shown
) -> None:
    """Planned at 14:00, opened at 21:00: it asks until when, plans, and keeps the new end."""
    evening.clock.now = datetime(2026, 12, 8, 14, 0, tzinfo=UTC)
    evening.tell(leave)
    evening.clock.now = NINE
    ends: list[datetime] = []

    async def story(pilot: Any, app: NightApp) -> None:
        assert isinstance(app.screen, ChoiceScreen)
        assert "From now until when?" in shown(app)
        assert "4 hours from now" in shown(app)
        await press(pilot, app, "2", "enter")
        waiting = app.scene.state.waiting
        assert len(waiting) >= 5
        assert waiting[0].start >= NINE
        assert app.scene.state.end == NINE + timedelta(hours=2)
        assert " lost " not in shown(app)
        ends.append(app.scene.state.end)

    evening.tell(story)

    async def again(_pilot: Any, app: NightApp) -> None:
        assert not isinstance(app.screen, ChoiceScreen)
        assert app.scene.state.end == ends[0]

    evening.tell(again)


def test_a_night_goes_on_after_its_session(evening: Any, press: Any, shown: Shown) -> None:
    """The program runs on past the end: the head says so; n, a and t work as before."""

    async def story(pilot: Any, app: NightApp) -> None:
        evening.clock.now = app.scene.state.end + timedelta(minutes=20)
        app._tick()  # noqa: SLF001
        await press(pilot, app)
        assert "t goes on" in shown(app)
        await press(pilot, app, "n", "1", "enter")
        now = app.scene.state.now
        assert now is not None
        assert now.start == evening.clock.now
        assert ">NOW " in shown(app)
        await press(pilot, app, "a", *"m35", "enter")
        assert app.scene.state.look_at("NGC2168").status is Status.WAITING
        await press(pilot, app, "t", "2", "enter")
        assert len(app.scene.state.waiting) >= 3

    evening.tell(story)


def test_one_key_begins_the_chosen_look(evening: Any, press: Any, shown: Shown) -> None:
    """On any row: it is NOW, at this minute, and the rest comes behind it."""
    evening.clock.now = datetime(2026, 12, 8, 18, 0, tzinfo=UTC)

    async def story(pilot: Any, app: NightApp) -> None:
        await press(pilot, app, "down", "down", "i")
        state = app.scene.state
        assert state.now is not None
        assert state.now.start == evening.clock.now
        assert all(look.start >= state.now.end for look in state.waiting)
        assert app.screen.chosen().look.target_id == state.now.target_id
        assert sum(state.now.name in words for words in app.scene.words) == 1
        await press(pilot, app, "u")
        assert "Undone: At " in shown(app)

    evening.tell(story)


def test_the_next_in_the_same_eyepiece(evening: Any, press: Any) -> None:
    """One key: what is best with what is in is looked for from now on."""
    evening.clock.now = datetime(2026, 12, 8, 18, 0, tzinfo=UTC)

    async def story(pilot: Any, app: NightApp) -> None:
        await press(pilot, app, "g")
        assert "Nothing is in the focuser yet" in app.scene.words[0]
        await press(pilot, app, "i", "g")
        state = app.scene.state
        following = state.waiting[0]
        assert abs(following.sought_from - evening.clock.now) < timedelta(minutes=1)
        assert following.train == state.focuser
        assert state.now is None

    evening.tell(story)


def test_what_is_taken_begins_in_the_eyepiece_that_was_offered(
    evening: Any, press: Any, shown: Shown
) -> None:
    """Each line of n names its eyepiece: that one goes in, whatever else suits the target."""
    evening.clock.now = datetime(2026, 12, 8, 18, 0, tzinfo=UTC)

    async def story(pilot: Any, app: NightApp) -> None:
        await press(pilot, app, "i")
        offers = app.desk.offers()
        number = next(
            k for k, (_, offer) in enumerate(offers)
            if key_of(offer.view.train) != app.scene.night.train_key(
                int(app.scene.night.columns[app.scene.night.row_of[offer.target.id]])
            )
        )  # fmt: skip
        await press(pilot, app, "n", str(number + 1), "enter")
        look = app.scene.state.now
        assert look.target_id == offers[number][1].target.id
        assert look.train == key_of(offers[number][1].view.train) == app.scene.state.focuser
        await press(pilot, app, "i")
        assert f"{look.name} is under way already." in shown(app)

    evening.tell(story)


def test_what_is_hard_and_comes_late_is_not_called_hopeless(
    evening: Any, press: Any, shown: Shown
) -> None:
    """3C 273, from half past three on, at magnitude 12.9: t makes room for it.

    It is a known sight through 200 mm (common practice).
    """

    async def story(pilot: Any, app: NightApp) -> None:
        await press(pilot, app, "a", *"3c 273", "enter")
        assert "3C 273 finds no place yet: it can be looked at from 03:" in shown(app)
        await press(pilot, app, "t", "5", "enter")
        assert app.scene.state.look_at("3C273").status is Status.WAITING

    evening.tell(story)


def test_a_clock_that_is_behind_is_told_once(evening: Any, press: Any, shown: Shown) -> None:
    """Then the answers to the keys are on top again, and no tick takes their place."""

    async def story(pilot: Any, app: NightApp) -> None:
        evening.clock.now = datetime(2026, 12, 8, 17, 0, tzinfo=UTC)
        await press(pilot, app, "c", "2")
        evening.clock.forward(-20)
        await press(pilot, app, "s")
        assert "The clock went back from 17:00 to 16:40" in shown(app)
        name = app.screen.chosen().look.name
        evening.clock.forward(1)
        await press(pilot, app, "s")
        app._tick()  # noqa: SLF001
        await press(pilot, app)
        assert f"* {name} skipped" in shown(app)
        assert "went back" not in shown(app)

    evening.tell(story)


def test_a_look_can_begin_as_soon_as_the_sun_is_down(
    evening: Any, press: Any, shown: Shown
) -> None:
    """Opened at 16:10, the session from 16:40 on: what n offers begins now; by day nothing does."""
    evening.clock.now = datetime(2026, 12, 8, 16, 10, tzinfo=UTC)

    async def story(pilot: Any, app: NightApp) -> None:
        assert app.scene.state.start > evening.clock.now
        await press(pilot, app, "i")
        look = app.scene.state.now
        assert look is not None
        assert look.start == evening.clock.now
        await press(pilot, app, "u", "n")
        assert "Best now, in the open sky" in shown(app)
        await press(pilot, app, "escape")
        evening.clock.now = datetime(2026, 12, 8, 15, 50, tzinfo=UTC)
        await press(pilot, app, "n")
        assert "Best when the night begins" in shown(app)

    evening.tell(story)


def test_after_dawn_the_night_is_said_to_be_over(evening: Any, press: Any, shown: Shown) -> None:
    """There is no later time to choose."""

    async def story(pilot: Any, app: NightApp) -> None:
        evening.clock.now = app.scene.night.night.civil_dawn + timedelta(minutes=3)
        await press(pilot, app, "t")
        assert "This night is over" in shown(app)
        await press(pilot, app, "escape", "a", *"m35", "enter")
        assert "cannot be added: this night is over" in shown(app)
        evening.clock.now = app.scene.night.end + timedelta(hours=1)
        app._tick()  # noqa: SLF001
        await press(pilot, app)
        assert "can go on" not in shown(app)

    evening.tell(story)


@pytest.mark.parametrize("is_large", [False, True])
def test_a_look_under_way_is_told_as_it_is_now(
    evening: Any, press: Any, shown: Shown, is_large: bool
) -> None:
    """Altitude of this minute and time left; then by how much it is over, in row and head."""
    evening.clock.now = datetime(2026, 12, 8, 18, 0, tzinfo=UTC)

    async def story(pilot: Any, app: NightApp) -> None:
        await press(pilot, app, "i", *(["z"] if is_large else []))
        look = app.scene.state.now
        minutes = round((look.due - evening.clock.now) / timedelta(minutes=1))
        assert f"{minutes} min left" in shown(app)
        row = app.scene.night.row_of[look.target_id]
        track = app.scene.night.roster.tracks.altitude_deg[row]
        for late in (1, 12):
            evening.clock.now = look.due + timedelta(minutes=late)
            app._look_at_clock()  # noqa: SLF001
            await press(pilot, app)
            at = app.scene.night.minute(evening.clock.now) / 5.0
            now_deg = track[int(at)] + (at % 1) * (track[int(at) + 1] - track[int(at)])
            assert f"{now_deg:.0f} deg up, over by {late} min: d?" in shown(app)
            told = [line for line in shown(app).splitlines() if f"over by {late} min: d?" in line]
            assert len(told) >= (2 if is_large else 3)

    evening.tell(story)


def test_a_forgotten_look_is_taken_as_done_and_may_be_confirmed(
    evening: Any, press: Any, shown: Shown
) -> None:
    """The rest goes on without it; d on its row says what came of it, at the right time, once."""
    evening.clock.now = datetime(2026, 12, 8, 18, 0, tzinfo=UTC)

    async def story(pilot: Any, app: NightApp) -> None:
        await press(pilot, app, "i")
        look = app.scene.state.now
        for minutes in (14, 16):
            evening.clock.now = look.due + timedelta(minutes=minutes)
            app._tick()  # noqa: SLF001
            await press(pilot, app)
        assert app.scene.state.look_at(look.target_id).status is Status.DONE
        assert " d? " in shown(app)
        await press(pilot, app, "home", "d", "s", "5", "enter", "enter")
        (entry,) = app.desk.entries(look.target_id)
        confirmed = app.scene.state.look_at(look.target_id)
        assert confirmed.reason == ""
        assert entry.at == confirmed.end == evening.clock.now
        assert " d? " not in shown(app)

    evening.tell(story)


def test_undo_after_a_restart_takes_the_entry_back(evening: Any, press: Any, shown: Shown) -> None:
    """And names the look; y brings both back."""
    names: list[str] = []

    async def first(pilot: Any, app: NightApp) -> None:
        names.append(app.scene.state.waiting[0].target_id)
        await press(pilot, app, "d", "s", "4", "enter", "enter")
        assert len(app.desk.entries(names[0])) == 1

    evening.tell(first)

    async def second(pilot: Any, app: NightApp) -> None:
        name = app.scene.state.look_at(names[0]).name
        await press(pilot, app, "u")
        assert f"Undone: {name} done." in shown(app)
        assert app.desk.entries(names[0]) == ()
        assert app.scene.state.look_at(names[0]).status is Status.WAITING

    evening.tell(second)

    async def third(pilot: Any, app: NightApp) -> None:
        await press(pilot, app, "y")
        assert len(app.desk.entries(names[0])) == 1
        assert app.scene.state.look_at(names[0]).status is Status.DONE

    evening.tell(third)


def test_what_was_changed_in_the_journal_is_undone_too(
    evening: Any, press: Any, shown: Shown
) -> None:
    """A second rating of a look: taken back, made again, taken back after a restart."""
    evening.clock.now = datetime(2026, 12, 8, 18, 30, tzinfo=UTC)
    names: list[str] = []

    def rating(app: NightApp) -> int | None:
        (entry,) = app.desk.entries(names[0])
        return entry.rating

    async def story(pilot: Any, app: NightApp) -> None:
        await press(pilot, app, "i")
        names.append(app.scene.state.now.target_id)
        await press(pilot, app, "d", "4", "enter", "enter")
        evening.clock.forward(5)
        await press(pilot, app, "up", "d", "enter")
        assert "In the journal as it was: " in shown(app)
        await press(pilot, app, "up", "d", "2")
        assert rating(app) == 2
        await press(pilot, app, "u")
        assert "Undone: what was said of " in shown(app)
        assert rating(app) == 4
        await press(pilot, app, "y")
        assert rating(app) == 2

    evening.tell(story)

    async def later(pilot: Any, app: NightApp) -> None:
        await press(pilot, app, "u")
        assert rating(app) == 4
        assert app.scene.state.look_at(names[0]).status is Status.DONE
        await press(pilot, app, "u")
        assert app.desk.entries(names[0]) == ()

    evening.tell(later)


def test_an_entry_without_its_move_ends_the_look(evening: Any, press: Any) -> None:
    """Killed between the journal and the night's file: one move, one entry, no open look."""
    names: list[str] = []

    async def killed(pilot: Any, app: NightApp) -> None:
        names.append(app.scene.state.waiting[0].target_id)
        app.checks_disk = False
        app.desk._save = lambda _state: True  # noqa: SLF001
        await press(pilot, app, "d", "s", "4", "enter", "enter")
        assert len(app.desk.entries(names[0])) == 1

    evening.tell(killed)
    assert evening.saved().look_at(names[0]).status is Status.WAITING

    async def again(pilot: Any, app: NightApp) -> None:
        assert app.scene.state.look_at(names[0]).status is Status.DONE
        assert any("is in the journal, and so it is done" in words for words in app.scene.words)
        assert len(app.desk.entries(names[0])) == 1
        await press(pilot, app, "u")
        assert app.desk.entries(names[0]) == ()

    evening.tell(again)


def test_an_undo_is_on_disk_before_its_entry_goes(
    evening: Any, press: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Else a kill in between leaves a look done whose entry is gone."""
    seen: list[Status] = []
    take_back = Logbook.take_back

    def looked(self: Logbook, *given: Any) -> tuple[str, ...]:
        seen.append(evening.saved().looks[0].status)
        return take_back(self, *given)

    monkeypatch.setattr(Logbook, "take_back", looked)

    async def story(pilot: Any, app: NightApp) -> None:
        await press(pilot, app, "d", "s", "4", "enter", "enter")
        await press(pilot, app, "u")

    evening.tell(story)
    assert seen == [Status.WAITING]


def test_the_page_of_a_target_has_a_clock_and_what_is_next(
    evening: Any, press: Any, shown: Shown
) -> None:
    """Time, what is left, what comes; done leads to the next one."""
    evening.clock.now = datetime(2026, 12, 8, 18, 0, tzinfo=UTC)

    async def story(pilot: Any, app: NightApp) -> None:
        await press(pilot, app, "i", "enter")
        following = app.scene.state.waiting[0]
        first = shown(app).splitlines()[0]
        assert first.startswith("18:00   ")
        assert "min left" in first
        assert f": {following.name}"[:20] in first
        assert re.search("next [0-9]{2}:[0-9]{2}: ", first)
        await press(pilot, app, "d", "s", "4", "enter", "enter")
        assert app.screen.chosen().look.target_id == app.scene.state.waiting[0].target_id
        assert len(app.screen_stack) == 3

    evening.tell(story)


def test_the_list_as_it_stood_is_there_at_once(evening: Any, shown: Shown) -> None:
    """Before the night is planned again the saved looks are shown, and keys wait."""
    evening.tell(leave)
    app = evening.app()
    opened, seen = app.desk.open, []

    def late() -> Any:
        app.call_from_thread(lambda: seen.append(shown(app)))
        return opened()

    app.desk.open = late
    evening.tell(leave, app)
    assert "Taking up the night as it stood; keys wait" in seen[0]
    assert app.scene is not None
    first = app.scene.state.looks[0].name
    assert first in seen[0]


def test_longer_says_until_when_before_it_asks(evening: Any, press: Any, shown: Shown) -> None:
    """Without a look under way it says so at once; with one it names the latest time."""
    evening.clock.now = datetime(2026, 12, 8, 18, 0, tzinfo=UTC)

    async def story(pilot: Any, app: NightApp) -> None:
        await press(pilot, app, "l")
        assert len(app.screen_stack) == 2
        assert "No look is under way" in app.scene.words[0]
        await press(pilot, app, "i", "l")
        assert "How much longer here? (until " in shown(app)
        due = app.scene.state.now.due
        await press(pilot, app, "5", "enter")
        assert app.scene.state.now.due == due + timedelta(minutes=5)

    evening.tell(story)
