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


async def _settle(pilot: Any, app: NightApp) -> None:
    await app.workers.wait_for_complete()
    await pilot.pause()
