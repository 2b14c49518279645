"""What the screens cost: first frame and list beside bare imports, a key beside its move."""

from __future__ import annotations

import asyncio
import subprocess
import sys
import time
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from at_a_terminal import Terminal

from planner.request.options import Surroundings
from planner.session.moves.looks import skip
from planner.session.state import undo
from tui.app import NightApp
from tui.night.request import Request

pytestmark = pytest.mark.benchmark
NOW = datetime(2026, 12, 8, 16, 30, tzinfo=UTC)
FIRST_FRAME = """
import sys, time
from datetime import UTC, datetime
from pathlib import Path
started = time.perf_counter()
from planner.request.options import Surroundings
from tui.start import Request
from tui.app import NightApp
now = datetime(2026, 12, 8, 16, 30, tzinfo=UTC)
app = NightApp(Request(Surroundings(now, Path("/nowhere/x.toml"), Path(sys.argv[1]))), lambda: now)
app.call_after_refresh = lambda *_: (
    sys.stderr.write(f"{time.perf_counter() - started:.3f}\\n"), app.exit()
)
app.run(headless=True, size=(80, 24))
"""


def _seconds(*command: str) -> float:
    start = time.perf_counter()
    subprocess.run([sys.executable, "-c", *command], check=True, capture_output=True)
    return time.perf_counter() - start


def test_first_frame(tmp_path: Path) -> None:
    """From a cold start to the first frame, beside importing the libraries that it needs."""
    libraries = "import numpy, skyfield.api, textual.app, textual.widgets"
    bare = min(_seconds(libraries) for _ in range(3))
    frame = min(_seconds(FIRST_FRAME, str(tmp_path)) for _ in range(3))
    print(f"\nfirst frame {frame:.2f} s, bare imports {bare:.2f} s: {frame / bare:.1f}x")


def test_first_list(tmp_path: Path) -> None:
    """From a cold start to the first list, of a new night and of one that was left, in a pty."""
    libraries = "import numpy, skyfield.api, textual.app, textual.widgets"
    bare = min(_seconds(libraries) for _ in range(3))
    found: dict[str, list[tuple[float, float]]] = {"new": [], "left": []}
    for number in range(3):
        for times in found.values():  # the second one finds what the first has left
            terminal = Terminal(None, tmp_path / str(number))
            try:
                times.append(terminal.first(b"next "))
                terminal.wait_for(b"Enter target")
            finally:
                terminal.close()
    for kind, times in found.items():
        wall, processor = (min(x[k] for x in times) for k in (0, 1))
        print(
            f"\nfirst list of a night that is {kind}: {wall:.2f} s, {processor:.2f} s of processor "
            f"time; bare imports {bare:.2f} s: {wall / bare:.1f}x"
        )


def test_key_to_repainted_screen(tmp_path: Path) -> None:
    """Skip and undo, 60 times, on the night's full roster, beside the moves without a screen."""
    around = Surroundings(NOW, tmp_path / "no.toml", tmp_path / "data")
    app = NightApp(Request(around, evening=date(2026, 12, 8)), lambda: NOW)
    keys: list[float] = []

    async def run() -> None:
        async with app.run_test(size=(80, 24)) as pilot:
            await _settle(pilot, app)
            for number in range(60):
                start = time.process_time()
                await pilot.press("s" if number % 2 == 0 else "u")
                await _settle(pilot, app)
                keys.append(time.process_time() - start)

    asyncio.run(run())
    assert app.scene is not None
    bare, state = [], app.scene.state
    for number in range(60):
        start = time.process_time()
        state, _ = skip(app.scene.night, state, NOW) if number % 2 == 0 else undo(state)
        bare.append(time.process_time() - start)
    key, move = np.percentile(keys, 95) * 1e3, np.percentile(bare, 95) * 1e3
    print(
        f"\nkey to repainted screen p95 {key:.0f} ms of processor time, move alone "
        f"{move:.0f} ms, {len(app.scene.night.rows)} candidates: {key / move:.1f}x"
    )


def test_key_at_a_terminal_with_300_candidates(tmp_path: Path) -> None:
    """Wall clock from the key to the last byte of the paint, beside a key that moves the cursor."""
    terminal = Terminal(300, tmp_path)
    try:
        terminal.wait_for(b"next")
        time.sleep(1.0)
        terminal.read()
        moves, cursor = [], []
        for number in range(60):
            painted, seconds = terminal.press("s" if number % 2 == 0 else "u")
            assert (b"skipped" if number % 2 == 0 else b"Undone") in painted
            moves.append(seconds)
            cursor.append(terminal.press("\x1b[B" if number % 2 == 0 else "\x1b[A")[1])
    finally:
        terminal.close()
    key, bare = np.percentile(moves, 95) * 1e3, np.percentile(cursor, 95) * 1e3
    print(
        f"\nkey to repainted screen p95 {key:.0f} ms, p50 {np.median(moves) * 1e3:.0f} ms of wall "
        f"clock at a terminal, 300 candidates; moving the cursor {bare:.0f} ms: {key / bare:.1f}x"
    )


# A round of what is pressed in a night: the cursor, questions opened and left, moves and undo.
ROUND = (
    "\x1b[B", "s", "u", "c", "\x1b", "i", "u", "t", "\x1b", "d", "\x1b", "c", "4", "u", "y", "u",
    "\x1b[A", "m", "\x1b", "v", "u", "e", "\x1b", "n", "\x1b", "h", "w", "\r", "u", "?", "\x1b",
)  # fmt: skip


@pytest.mark.parametrize("size", [(80, 24), (140, 45)])
def test_300_keys_at_a_terminal(tmp_path: Path, size: tuple[int, int]) -> None:
    """Wall clock from each of 300 keys to the last byte that it paints within a quarter second."""
    terminal = Terminal(300, tmp_path, size)
    spans: list[tuple[float, str]] = []
    try:
        terminal.wait_for(b"next")
        time.sleep(1.0)
        terminal.read()
        for number in range(300):
            key = ROUND[number % len(ROUND)]
            painted, seconds = terminal.press(key)
            if painted:
                spans.append((seconds * 1e3, key))
    finally:
        terminal.close()
    times = [span for span, _ in spans]
    slow = {
        key: f"{np.median([s for s, k in spans if k == key]):.0f}"
        for key in sorted({key for _, key in spans})
    }
    print(
        f"\n{size[0]}x{size[1]}: {len(times)} paints, p50 {np.median(times):.0f} ms, "
        f"p95 {np.percentile(times, 95):.0f} ms; medians by key {slow}"
    )


async def _settle(pilot: Any, app: NightApp) -> None:
    await app.workers.wait_for_complete()
    await pilot.pause()
