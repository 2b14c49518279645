"""A night of twelve hours at the screen, without a terminal: thousands of keys of every kind.

``python many_moves.py FOLDER COUNT`` tells after some keys how much memory is resident [kB].
"""

from __future__ import annotations

import asyncio
import sys
from datetime import UTC, date, datetime, timedelta
from itertools import cycle
from pathlib import Path
from typing import Any

from textual import events

from planner.request.options import Surroundings
from tui.app import NightApp
from tui.night.request import Request

DUSK = datetime(2026, 12, 8, 16, 30, tzinfo=UTC)
LENGTH, MINUTE = timedelta(hours=12), timedelta(minutes=1)
TOLD = 250
BACK = ("escape", "escape", "escape")
# Moves with their undo and redo, closed sectors, entries, and every page opened and left.
ROUNDS = (
    ("down", "s", "u", "y", "u", "c", "4", "u", "c", "2", "o", "i", "u", "l", "u"),
    ("d", "4", "enter", "u", "up", "w", "enter", "u", "x", "1", "u", "e", "1", "u", "v", "u"),
    (
        "enter",
        "down",
        "p",
        *BACK,
        "n",
        *BACK,
        "h",
        "1",
        "enter",
        "u",
        "question_mark",
        *BACK,
        "m",
        *BACK,
    ),
    ("r", "u", "b", "1", "u", "t", "1", "enter", "j", "1", *BACK, "u", "g", "u", "up"),
    ("a", "m", "3", "5", "enter", "u", "down", "down", "enter", "s", "u", *BACK, "k", *BACK),
    ("d", "2", "enter", "c", "1", "enter", "z", "z", "f", *BACK, "plus", "minus"),
)


def resident_kb() -> int:
    """Return the memory that is resident now."""
    lines = Path("/proc/self/status").read_text("ascii").splitlines()
    return next(int(line.split()[1]) for line in lines if line.startswith("VmRSS:"))


class Clock:
    """A clock that is set by hand."""

    now = DUSK

    def __call__(self) -> datetime:
        """Return the time."""
        return self.now


async def press(pilot: Any, app: NightApp, key: str) -> None:
    """Press a key, and wait until all that it brings about is done: without a nap, as no one looks.

    The toolkit's own way waits 60 ms after each key, to see that nothing goes on.
    """
    app.post_message(events.Key(key, key if len(key) == 1 else None))
    await settle(pilot, app)


async def settle(pilot: Any, app: NightApp) -> None:
    """Wait until nothing is under way: no message, no work in a thread, and no message of that."""
    await pilot._wait_for_screen()  # noqa: SLF001  # its public ways nap
    await app.workers.wait_for_complete()
    await pilot._wait_for_screen()  # noqa: SLF001


def press_all(folder: Path, count: int) -> None:
    """Press so many keys while twelve hours go by, minute by minute."""
    clock = Clock()
    around = Surroundings(DUSK, folder / "no.toml", folder / "data")
    app = NightApp(Request(around, evening=date(2026, 12, 8)), clock)

    async def run() -> None:
        async with app.run_test(size=(80, 24)) as pilot:
            await app.workers.wait_for_complete()
            await pilot.pause()
            keys = cycle(key for keys in ROUNDS for key in (*keys, *BACK))
            minutes = 0
            for pressed in range(count):
                if pressed % TOLD == 0:
                    print(pressed, resident_kb(), flush=True)
                await press(pilot, app, next(keys))
                clock.now = DUSK + LENGTH * pressed / count
                if (clock.now - DUSK) // MINUTE > minutes:
                    minutes += 1
                    app._tick()  # noqa: SLF001  # as its timer does in a true night
                    await settle(pilot, app)
            await pilot.pause()
            assert app.scene is not None
            print(count, resident_kb(), flush=True)

    asyncio.run(run())


if __name__ == "__main__":
    press_all(Path(sys.argv[1]), int(sys.argv[2]))
