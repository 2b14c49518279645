"""The night in time order: what is shown, and what each key does."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest

from planner.cli.main import main
from planner.session.state import Status
from tui.app import NightApp

SIZES = [(80, 24), (140, 45)]
Shown = Callable[[NightApp], str]


@pytest.mark.parametrize("size", SIZES)
def test_the_night_is_listed_in_time_order(evening: Any, shown: Shown, size: Any) -> None:
    """A person sees date, place, both clocks, darkness, Moon, and looks, the next one marked."""
    evening.size = size

    async def story(_pilot: Any, app: NightApp) -> None:
        text = shown(app)
        assert "Tue 8 / Wed 9 Dec 2026" in text
        assert "Garden" in text
        assert "16:30 GMT" in text
        assert "16:30 UT" in text
        assert "twilight, keep off the Sun" in text
        assert "Moon 0%" in text
        assert app.scene is not None
        rows = [line for line in text.splitlines() if line[1:5] in {"next", "wait", "NOW "}]
        assert len(rows) == min(len(app.scene.lines), len(rows))
        assert rows[0].startswith(">")
        times = [row[6:11] for row in rows]
        assert times == sorted(times)
        assert all("mm" in row for row in rows)

    evening.tell(story)


@pytest.mark.parametrize("size", SIZES)
def test_now_moves_by_itself(evening: Any, shown: Shown, size: Any) -> None:
    """When its time comes, the first look is under way, and is said to be so in letters."""
    evening.size = size

    async def story(pilot: Any, app: NightApp) -> None:
        assert app.scene is not None
        evening.clock.now = app.scene.state.waiting[0].start + timedelta(minutes=1)
        app._tick()  # noqa: SLF001
        await app.workers.wait_for_complete()
        await pilot.pause()
        assert app.scene.state.now is not None
        assert ">NOW " in shown(app)

    evening.tell(story)


def test_skip_undo_and_veto(evening: Any, press: Any, shown: Shown) -> None:
    """One key each; undo restores exactly; what is kept out is gone."""

    async def story(pilot: Any, app: NightApp) -> None:
        before = app.scene.state
        first = before.waiting[0]
        await press(pilot, app, "s")
        assert app.scene.state.look_at(first.target_id).status is Status.SKIPPED
        assert " skip " in shown(app)
        await press(pilot, app, "u")
        assert app.scene.state.looks == before.looks
        await press(pilot, app, "down", "v")
        second = before.waiting[1]
        assert second.target_id in app.scene.state.vetoed
        assert evening.saved() == app.scene.state

    evening.tell(story)


def test_cloud_closes_and_opens_again(evening: Any, press: Any, shown: Shown) -> None:
    """West half closed in two keys: what stands there is shut, and said so; o opens the sky."""

    async def story(pilot: Any, app: NightApp) -> None:
        await press(pilot, app, "c", "4")
        closures = app.scene.state.closures
        assert len(closures) == 1
        assert "Solid cloud: west half" in shown(app)
        await press(pilot, app, "end")
        assert "shut" in shown(app)
        await press(pilot, app, "enter")
        assert "! lost: " in shown(app)
        await press(pilot, app, "escape")
        await press(pilot, app, "home", "s", "u")
        assert "Cloud: west half until further notice (o opens)" in shown(app)
        for look in app.scene.state.waiting:
            line = next(x for x in app.scene.lines if x.look is look)
            assert line.azimuth_deg < 180.0
        await press(pilot, app, "o", "end")
        assert app.scene.state.closures == ()
        assert "shut" not in shown(app)

    evening.tell(story)


def test_cloud_by_the_map(evening: Any, press: Any, shown: Shown) -> None:
    """Arrows choose a part, t says thin, the map shows what is closed; Esc changes nothing."""

    async def story(pilot: Any, app: NightApp) -> None:
        await press(pilot, app, "c", "up", "t", "enter")
        (closure,) = app.scene.state.closures
        assert (closure.altitude_low_deg, closure.altitude_high_deg) == (0.0, 30.0)
        assert closure.kind == "thin"
        await press(pilot, app, "c")
        assert "//" in shown(app)
        await press(pilot, app, "escape")
        assert len(app.scene.state.closures) == 1

    evening.tell(story)


@pytest.mark.parametrize(("key", "words"), [("r", "begins after"), ("b", "Break until")])
def test_minutes(evening: Any, press: Any, shown: Shown, key: str, words: str) -> None:
    """Late, break, longer: a number, or Enter for the usual; nonsense is refused in a sentence."""

    async def story(pilot: Any, app: NightApp) -> None:
        await press(pilot, app, key, "9", "9", "9", "enter")
        assert "allowed is 1 to 240" in shown(app)
        await press(pilot, app, "backspace", "backspace", "backspace", "2", "0", "enter")
        assert any(words in sentence for sentence in app.scene.words)
        await press(pilot, app, key, "escape")
        assert len(app.screen_stack) == 2

    evening.tell(story)


def test_another_eyepiece(evening: Any, press: Any) -> None:
    """The second best for the first look, in three keys; the look keeps it and says so."""

    async def story(pilot: Any, app: NightApp) -> None:
        first = app.scene.state.waiting[0]
        await press(pilot, app, "e", "2", "enter")
        look = app.scene.state.look_at(first.target_id)
        assert look.chosen
        assert look.train != first.train

    evening.tell(story)


def test_what_is_over_tells_what_came_of_it(evening: Any, press: Any, shown: Shown) -> None:
    """Not how easily it would be seen by now; passed breaks go, and u takes the word back."""

    async def story(pilot: Any, app: NightApp) -> None:
        def row(name: str) -> str:
            return next(line for line in shown(app).splitlines() if name[:12] in line)

        assert "-- break until" in shown(app)
        first = app.screen.chosen().look
        await press(pilot, app, "d", "s", "4", "2", "4")
        second = app.screen.chosen().look
        await press(pilot, app, "d", "n")
        assert "outcome  not seen" in shown(app)
        await press(pilot, app, "3")
        assert f"{second.name}, not seen, rated 3" in shown(app)
        assert sum(second.name in words for words in app.scene.words) == 1
        assert row(first.name).rstrip().endswith(" seen 4")
        assert row(second.name).rstrip().endswith(" unseen")
        await press(pilot, app, "h", "s", "s", "enter")
        assert row(first.name).rstrip().endswith(" seen 4")
        await press(pilot, app, "u", "u")
        assert "unseen" not in shown(app)
        evening.clock.now = app.scene.state.pauses[-1].end
        await press(pilot, app, "up")
        assert "-- break until" not in shown(app)

    evening.tell(story)


def test_lines_that_do_not_fit_end_after_a_word_with_dots(
    evening: Any, press: Any, shown: Shown
) -> None:
    """Of eyepieces and of what is best now; how many more there are is told."""
    evening.size = (72, 18)

    async def story(pilot: Any, app: NightApp) -> None:
        await press(pilot, app, "e")
        lines = [line.strip("| ") for line in shown(app).splitlines()]
        cut = [line for line in lines if line.endswith("...")]
        assert cut
        assert all(line.endswith(" ...") for line in cut)
        assert not any(line.endswith(".") and line not in cut for line in lines)
        assert re.search(r"\d+ more below", shown(app))
        await press(pilot, app, *["down"] * 9)
        assert re.search(r"\d+ more above, \d+ more below", shown(app))
        await press(pilot, app, "escape", "n")
        assert "or done. " in shown(app)
        evening.clock.forward(60)
        await press(pilot, app, "enter", "n")
        assert "soon: nearly lost" in shown(app)

    evening.tell(story)


def test_messages_come_by_the_move(evening: Any, press: Any, shown: Shown) -> None:
    """The latest move first, and what was said of one in its own order."""

    async def story(pilot: Any, app: NightApp) -> None:
        app.heard[:] = [("18:00", ("one", "two")), ("18:00", ("three", "four"))]
        await press(pilot, app, "m")
        told = [line.split()[1] for line in shown(app).splitlines() if line.startswith("18:")]
        assert told == ["three", "four", "one", "two"]

    evening.tell(story)


def test_two_digits_choose_one_line(evening: Any, press: Any, shown: Shown) -> None:
    """1 and 2 are 12 where there are so many lines, then a number of its own; arrows end it."""

    async def story(pilot: Any, app: NightApp) -> None:
        await press(pilot, app, "e", "1", "2")
        chosen = [line for line in shown(app).splitlines() if line[2:4] == " >" or "| >" in line]
        assert [line.split()[2] for line in chosen] == ["12"]
        await press(pilot, app, "3")
        assert "| >  3" in shown(app)
        await press(pilot, app, "1", "up", "2")
        assert "| >  2" in shown(app)

    evening.tell(story)


@pytest.mark.parametrize("size", SIZES)
def test_what_does_not_fit_is_counted(evening: Any, press: Any, shown: Shown, size: Any) -> None:
    """Looks above and below the screen, at both ends of the list and in its middle."""
    evening.size = size

    async def story(pilot: Any, app: NightApp) -> None:
        for number in range(len(app.scene.lines)):
            text = shown(app)
            rows = [line for line in text.splitlines() if line[1:5] in {"next", "wait", "NOW "}]
            counted = [int(n) for n in re.findall(r"(\d+) more (?:above|below)", text)]
            assert len(rows) + sum(counted) == len(app.scene.lines)
            assert ("more above" in text) == (app.scene.lines[0].look.name[:9] not in text)
            if number == 0:
                assert "more above" not in text
            await press(pilot, app, "down")
        assert "more below" not in shown(app)

    evening.tell(story)


@pytest.mark.parametrize("key", ["z", "down"])
def test_breaks_stand_in_the_list(evening: Any, press: Any, shown: Shown, key: str) -> None:
    """Between the looks that they part, with their end; in both prints; no cursor stops there."""

    async def story(pilot: Any, app: NightApp) -> None:
        first = app.scene.lines[0].look
        await press(pilot, app, "b", "1", "5", "enter")
        assert "16:30 -- break until 16:45" in shown(app)
        await press(pilot, app, key)
        assert "16:30 -- break until 16:45" in shown(app)
        await press(pilot, app, "home")
        assert app.screen.chosen().look.target_id == first.target_id

    evening.tell(story)


def test_any_target_is_found_and_added(evening: Any, press: Any, shown: Shown) -> None:
    """Typed without a blank and in small letters; nonsense finds nothing and adds nothing."""

    async def story(pilot: Any, app: NightApp) -> None:
        await press(pilot, app, "a", *"ngc457")
        assert "NGC 457" in shown(app)
        await press(pilot, app, "enter")
        assert app.scene.state.look_at("NGC457") is not None
        before = app.scene.state
        await press(pilot, app, "a", *"qqq", "enter", "escape")
        assert app.scene.state == before

    evening.tell(story)


def test_what_the_night_does_not_follow_yet_is_added_too(evening: Any, press: Any) -> None:
    """A faint galaxy that no plan would have: the night follows it, or says why it cannot come."""

    async def story(pilot: Any, app: NightApp) -> None:
        assert "IC10" not in app.scene.night.row_of
        await press(pilot, app, "a", *"ic10", "enter")
        assert "IC10" in app.scene.night.row_of
        assert "IC10" in app.scene.state.added or app.scene.words

    evening.tell(story)


def test_targets_of_the_users_own_are_found_and_added(
    evening: Any, press: Any, shown: Shown
) -> None:
    """From a list with places; they are in no plan by themselves."""
    lines = ["name,ra,dec,mag,type", "[bold] Garden Pair,03:45:00,+24:10:00,5.5,double star"]
    source = evening.folder / "mine.csv"
    source.write_text("\n".join(lines), "utf-8")
    assert main(["targets", "add", str(source), "--data", str(evening.data)]) == 0

    async def story(pilot: Any, app: NightApp) -> None:
        assert "Garden Pair" not in shown(app)
        await press(pilot, app, "a", *"garden")
        assert "[bold] Garden Pair" in shown(app)
        await press(pilot, app, "enter")
        assert any("Garden Pair" in look.name for look in app.scene.state.waiting)
        await press(pilot, app, "end")
        assert "Garden Pair" in shown(app)

    evening.tell(story)

    async def come_back(_pilot: Any, app: NightApp) -> None:
        assert any("Garden Pair" in look.name for look in app.scene.state.waiting)

    evening.tell(come_back)


def test_best_now(evening: Any, press: Any, shown: Shown) -> None:
    """In the dark there is something; taking it puts it into the plan."""
    evening.clock.forward(120)

    async def story(pilot: Any, app: NightApp) -> None:
        await press(pilot, app, "n")
        assert "Best now" in shown(app)
        assert "any:" in shown(app)
        await press(pilot, app, "1", "enter")
        assert len(app.screen_stack) == 2
        assert evening.saved() == app.scene.state

    evening.tell(story)


def test_log_in_two_keys(evening: Any, press: Any, shown: Shown) -> None:
    """Outcome and rating; the sky is asked for once a night; planned and used are both kept."""

    async def story(pilot: Any, app: NightApp) -> None:
        names = [look.name for look in app.scene.state.looks]
        await press(pilot, app, *["down"] * names.index("Saturn"), "e", "2", "enter")
        first = "Saturn"
        assert app.screen.chosen().look.target_id == first
        await press(pilot, app, "d", "s", "4", "2", "4")
        assert app.scene.state.look_at(first).status is Status.DONE
        assert "In the journal" in shown(app)
        (entry,) = app.desk.entries(first)
        assert (entry.outcome, entry.rating) == ("seen", 4)
        assert entry.planned_train != ""
        assert entry.train.eyepiece not in {"", entry.planned_train}
        await press(pilot, app, "d", "n", "enter")
        assert len(app.screen_stack) == 2

    evening.tell(story)


def test_a_look_is_skipped_with_its_reason(evening: Any, press: Any, shown: Shown) -> None:
    """Two keys: nothing was used, the journal has why and what was planned, the look is skipped."""

    async def story(pilot: Any, app: NightApp) -> None:
        first = app.scene.state.waiting[0].target_id
        await press(pilot, app, "x")
        assert "3 dew" in shown(app)
        await press(pilot, app, "3")
        assert app.scene.state.look_at(first).status is Status.SKIPPED
        (entry,) = app.desk.entries(first)
        assert (entry.outcome, entry.why_skipped, entry.rating) == ("skipped", "dew", None)
        assert entry.train.eyepiece == ""
        assert entry.planned_train != ""
        other = app.screen.chosen().look.target_id
        await press(pilot, app, "w", "x", "t", *"owl above", "enter", "enter")
        (entry,) = app.desk.entries(other)
        assert (entry.why_skipped, entry.note) == ("", "owl above")
        assert app.scene.state.look_at(other).status is Status.WAITING

    evening.tell(story)


def test_undo_takes_the_entry_back_too(evening: Any, press: Any, shown: Shown) -> None:
    """Level by level: a look that was ended with its entry, one that was only written, a skip."""

    async def story(pilot: Any, app: NightApp) -> None:
        begun = app.scene.state.looks
        first = app.scene.state.waiting[0].target_id
        await press(pilot, app, "d", "s", "4", "enter", "enter")
        second = app.scene.state.waiting[0].target_id
        await press(pilot, app, "s", "w", "s", "enter")
        third = app.screen.chosen().look.target_id
        assert [len(app.desk.entries(x)) for x in (first, second, third)] == [1, 0, 1]
        state = app.scene.state
        await press(pilot, app, "u")
        assert app.scene.state.looks == state.looks
        assert app.desk.entries(third) == ()
        assert "Out of the journal again" in shown(app)
        await press(pilot, app, "u")
        assert app.scene.state.look_at(second).status is Status.WAITING
        assert len(app.desk.entries(first)) == 1
        await press(pilot, app, "u")
        assert app.scene.state.looks == begun
        assert app.desk.entries(first) == ()
        await press(pilot, app, "u")
        assert "nothing to undo" in shown(app)
        await press(pilot, app, "y", "y", "y")
        assert app.scene.state.looks == state.looks
        assert [len(app.desk.entries(x)) for x in (first, second, third)] == [1, 0, 1]

    evening.tell(story)


def test_a_note_is_typed_and_esc_writes_nothing(
    evening: Any, press: Any, burst: Any, shown: Shown
) -> None:
    """Keys that mean something elsewhere are letters in a note."""

    async def story(pilot: Any, app: NightApp) -> None:
        first = app.scene.state.waiting[0].target_id
        await press(pilot, app, "w", "t", *"dcq=1", "ctrl+c")
        assert "dcq=1" in shown(app)
        await press(pilot, app, "t")
        await burst(pilot, app, *("x" * 500), "escape")
        assert " 500/500 " in shown(app)
        await press(pilot, app, "escape")
        assert app.desk.entries(first) == ()
        assert len(app.screen_stack) == 2
        await press(pilot, app, "w", "t", *"dcq=1", "enter", "p", "enter", "enter", "enter")
        (entry,) = app.desk.entries(first)
        assert (entry.note, entry.outcome, entry.rating) == ("dcq=1", "suspected", None)
        assert app.scene.state.look_at(first).status is Status.WAITING

    evening.tell(story)


def test_large_print_faces_and_brightness(evening: Any, press: Any, shown: Shown) -> None:
    """Letters with blanks between them; the day face and back; five steps, no further."""

    async def story(pilot: Any, app: NightApp) -> None:
        await press(pilot, app, "z")
        first = app.scene.state.waiting[0].name
        assert " ".join(first.split()[0].upper()) in shown(app)
        await press(pilot, app, "z", "f")
        assert app.theme == "fieldstop-day"
        await press(pilot, app, "f", *["plus"] * 9, *["minus"] * 9)
        assert app.theme == "fieldstop-night"
        assert "Saturn" in shown(app)

    evening.tell(story)


def test_what_was_said_can_be_read_again(evening: Any, press: Any, shown: Shown) -> None:
    """All of it, with the time, the latest first: also what did not fit above the keys."""

    async def story(pilot: Any, app: NightApp) -> None:
        await press(pilot, app, "c", "4")
        words = app.scene.words
        evening.clock.forward(5)
        await press(pilot, app, "s", "m")
        text = shown(app)
        assert text.index("16:35 ") < text.index("16:30 ")
        for _ in range(8):
            await press(pilot, app, "down")
            text += shown(app)
        plain = " ".join(text.split())
        assert all(sentence in plain for sentence in words)

    evening.tell(story)


def test_help_shows_every_key(evening: Any, press: Any, shown: Shown) -> None:
    """All of the table, over some pages on a small screen."""
    from tui.keys import help_lines  # noqa: PLC0415

    async def story(pilot: Any, app: NightApp) -> None:
        await press(pilot, app, "question_mark")
        seen = shown(app)
        for _ in range(6):
            await press(pilot, app, "down")
            seen += shown(app)
        assert all(line.split("  ")[-1].strip() in seen for line in help_lines())
        await press(pilot, app, "escape")
        assert len(app.screen_stack) == 2

    evening.tell(story)


def test_quit_leaves_the_night_as_it_stands(evening: Any, press: Any) -> None:
    """And it is taken up again there, saying so."""

    async def leave(pilot: Any, app: NightApp) -> None:
        await press(pilot, app, "s", "c", "2", "q")

    async def come_back(_pilot: Any, app: NightApp) -> None:
        assert "Taken up where it stood." in app.scene.words
        assert app.scene.state == state

    evening.tell(leave)
    state = evening.saved()
    evening.tell(come_back)
    assert evening.saved() == state


def test_the_kit_and_what_it_is_for(evening: Any, press: Any, shown: Shown) -> None:
    """Its numbers, its faults, and the year: over some pages, in lines of 72 cells or wrapped."""

    async def story(pilot: Any, app: NightApp) -> None:
        await press(pilot, app, "k")
        assert "The kit" in shown(app)
        assert "200 mm f/6 reflector" in shown(app)
        await press(pilot, app, *["down"] * 3, "escape")
        assert len(app.screen_stack) == 2

    evening.tell(story)


def test_a_cloud_may_be_expected_to_go(evening: Any, press: Any, shown: Shown) -> None:
    """One key says for how long; when that is over the sky is open again by itself."""

    async def story(pilot: Any, app: NightApp) -> None:
        await press(pilot, app, "c", "u", "u")
        assert "for 30 min" in shown(app)
        await press(pilot, app, "4")
        (closure,) = app.scene.state.closures
        assert closure.until == evening.clock.now + timedelta(minutes=30)
        evening.clock.forward(31)
        app._tick()  # noqa: SLF001
        await app.workers.wait_for_complete()
        await pilot.pause()
        assert app.scene.state.closures == ()

    evening.tell(story)


def test_leaving_ends_the_journal_s_session(evening: Any, press: Any) -> None:
    """With an entry the evening has an end; without one there is no session at all."""
    from planner.journal.store.journal import journal_path, open_journal  # noqa: PLC0415

    async def nothing(_pilot: Any, _app: NightApp) -> None:
        return

    async def write(pilot: Any, app: NightApp) -> None:
        await press(pilot, app, "w", "s", "4", "enter", "enter")
        evening.clock.forward(90)

    evening.tell(nothing)
    assert not journal_path(evening.data).exists()
    evening.tell(write)
    with open_journal(journal_path(evening.data)) as journal:
        (session,) = journal.sessions()
    assert session.end == evening.clock.now


def test_what_comes_after_the_last_screen_is_gone_disturbs_nothing(evening: Any) -> None:
    """The clock's timer and a late answer may come while the program ends."""

    async def nothing(_pilot: Any, _app: NightApp) -> None:
        return

    app = evening.tell(nothing)
    assert not app.screen_stack
    evening.clock.forward(1)
    app._look_at_clock()  # noqa: SLF001
    app._show(replace(app.scene, number=app.scene.number + 1, asks_until=True))  # noqa: SLF001


def test_done_with_outcome_and_rating_in_two_keys(evening: Any, press: Any) -> None:
    """A digit says seen and how good it was; nothing else is asked."""

    async def story(pilot: Any, app: NightApp) -> None:
        first = app.scene.state.waiting[0].target_id
        await press(pilot, app, "d", "4")
        (entry,) = app.desk.entries(first)
        assert (entry.outcome, entry.rating) == ("seen", 4)
        assert app.scene.state.look_at(first).status is Status.DONE

    evening.tell(story)


def test_what_was_said_of_a_look_is_changed_and_not_said_twice(
    evening: Any, press: Any, shown: Shown
) -> None:
    """D or w on a look that is done: a note after the rating, another rating, in the one entry."""

    async def story(pilot: Any, app: NightApp) -> None:
        first = app.scene.state.waiting[0].target_id
        await press(pilot, app, "d", "4", "home", "d")
        assert "Enter: it stays so" in shown(app)
        await press(pilot, app, "t", *"blue and gold", "enter", "enter")
        (entry,) = app.desk.entries(first)
        assert (entry.outcome, entry.rating, entry.note) == ("seen", 4, "blue and gold")
        await press(pilot, app, "home", "w", "5")
        (entry,) = app.desk.entries(first)
        assert (entry.rating, entry.note) == (5, "blue and gold")

    evening.tell(story)


def test_a_question_can_be_taken_back_step_by_step(evening: Any, press: Any, shown: Shown) -> None:
    """Left goes back to the question before; while a note is typed one hint stands, not two."""

    async def story(pilot: Any, app: NightApp) -> None:
        first = app.scene.state.waiting[0].target_id
        await press(pilot, app, "d", "n")
        assert "Left: a step back" in shown(app)
        await press(pilot, app, "left", "s", "4", "left", "3", "t")
        assert "Enter or Esc ends it" in shown(app)
        assert "nothing is written" not in shown(app)
        await press(pilot, app, "enter", "enter", "enter")
        (entry,) = app.desk.entries(first)
        assert (entry.outcome, entry.rating) == ("seen", 3)

    evening.tell(story)


def test_the_map_shows_the_thickest_cloud_and_opens_a_part(
    evening: Any, press: Any, shown: Shown
) -> None:
    """Solid over thin is solid; degrees stand beside names; o opens what is in the brackets."""

    async def story(pilot: Any, app: NightApp) -> None:
        await press(pilot, app, "c", "t", "a", "c", "4", "c")
        text = shown(app)
        assert "high 60-90" in text
        assert " 225 " in text
        row = next(line for line in text.splitlines() if "middle 30-60" in line)
        assert row.count("##") == 4
        assert row.count("//") == 4
        await press(pilot, app, "escape", "c", *["left"] * 8)
        await press(pilot, app, "escape", "o", "c", "a", "c", "o", "c")
        row = next(line for line in shown(app).splitlines() if "low 0-30" in line)
        assert row.count("##") == 7
        await press(pilot, app, "escape")
        assert any(words.startswith("Cleared: ") for words in app.scene.words)

    evening.tell(story)
