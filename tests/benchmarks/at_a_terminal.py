"""Runs the screens at a terminal of their own and takes the time from a key to the last paint."""

from __future__ import annotations

import fcntl
import os
import pty
import select
import struct
import subprocess
import sys
import termios
import time
from contextlib import suppress
from pathlib import Path

# Opens the night in its evening, with a number of candidates, whatever they promise.
OPEN_WITH = """
import sys
from datetime import UTC, datetime
from planner.__main__ import run
import tui.night.opening
import tui.start
ahead = datetime(2026, 12, 8, 16, 55, tzinfo=UTC) - datetime.now(UTC)
tui.start._system_clock = lambda: datetime.now(UTC) + ahead
many, folder = int(sys.argv[1]), sys.argv[2]
survey = tui.night.opening.survey_night
def survey_many(catalogue, *where, also, **what):
    field = survey(catalogue, *where, also=also, **what)
    others = [name for name in catalogue.ids if name not in field.row_of]
    more = others[:: max(len(others) // max(many - len(field.rows), 1), 1)]
    field = survey(catalogue, *where, also=(*also, *more[: many - len(field.rows)]), **what)
    assert len(field.rows) == many, len(field.rows)
    return field
tui.night.opening.survey_night = survey_many
sys.argv = ["fieldstop", "--date", "2026-12-08", "--data", folder]
run()
"""
ONE_THREAD = {"OPENBLAS_NUM_THREADS": "1"}
# No paint for so long, and the screen stands [s].
QUIET_S = 0.25


class Terminal:
    """The screens at a terminal.

    Parameters
    ----------
    candidates : int or None
        Targets that the night follows; None for as many as it does, and a cold start.
    folder : Path
        For the program's data.
    size : tuple of int
        Columns and rows.
    """

    def __init__(
        self, candidates: int | None, folder: Path, size: tuple[int, int] = (80, 24)
    ) -> None:
        columns, rows = size
        self._master, slave = pty.openpty()
        fcntl.ioctl(slave, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))
        command = ["-c", OPEN_WITH, str(candidates), str(folder)]
        if candidates is None:
            command = ["-m", "planner", "--date", "2026-12-08", "--data", str(folder)]
        self._begun = time.perf_counter()
        self._process = subprocess.Popen(
            [sys.executable, *command],
            stdin=slave,
            stdout=slave,
            stderr=slave,
            env=os.environ
            | {"TERM": "xterm-256color", "XDG_CONFIG_HOME": str(folder)}
            | ONE_THREAD,  # what is imported above comes before the program could say so
        )
        os.close(slave)

    def read(self, quiet_s: float = QUIET_S) -> tuple[bytes, float]:
        """Return what is painted until the screen stands, and when the last of it came [s]."""
        painted, last = b"", time.perf_counter()
        while select.select([self._master], [], [], quiet_s)[0]:
            try:
                painted += os.read(self._master, 65536)
            except OSError:
                break
            last = time.perf_counter()
        return painted, last

    def wait_for(self, words: bytes, *, at_most_s: float = 30.0) -> None:
        """Read until words are painted."""
        painted, begun = b"", time.perf_counter()
        while words not in painted:
            painted += self.read()[0]
            assert time.perf_counter() - begun < at_most_s, painted[-2000:]

    def first(self, words: bytes, *, at_most_s: float = 60.0) -> tuple[float, float]:
        """Return when words are painted first since the start, and the processor time to it [s]."""
        painted = b""
        while words not in painted:
            assert time.perf_counter() - self._begun < at_most_s, painted[-2000:]
            if select.select([self._master], [], [], 0.02)[0]:
                painted += os.read(self._master, 65536)
        wall_s = time.perf_counter() - self._begun
        fields = Path(f"/proc/{self._process.pid}/stat").read_text("ascii").rsplit(")")[-1].split()
        ticks = sum(int(fields[k]) for k in (11, 12))  # utime and stime, proc(5)
        return wall_s, ticks / os.sysconf("SC_CLK_TCK")

    def press(self, key: str) -> tuple[bytes, float]:
        """Press a key; give what it paints and how long that took [s]."""
        begun = time.perf_counter()
        os.write(self._master, key.encode())
        painted, last = self.read()
        return painted, last - begun

    def close(self) -> None:
        """Leave."""
        with suppress(OSError):
            os.write(self._master, b"q")
        try:
            self._process.wait(30)
        finally:
            self._process.kill()
            os.close(self._master)
