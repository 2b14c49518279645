"""Keeps two running programs from changing the same night."""

from __future__ import annotations

import os
from pathlib import Path

try:
    import fcntl
except ImportError:  # a system without it: one is then trusted to open a night once
    fcntl = None  # type: ignore[assignment]


class NightLock:
    """A lock on a night's file; the system lets go of it when the program ends, however it ends.

    Parameters
    ----------
    path : Path
        Of the night's file; the lock stands beside it.
    """

    def __init__(self, path: Path) -> None:
        self.path = path.with_name(f"{path.name}.lock")
        self._handle: int | None = None

    def take(self) -> bool:
        """Take the lock if nobody has it; True when it is ours."""
        if self._handle is not None or fcntl is None:
            return True
        try:
            handle = os.open(self.path, os.O_RDWR | os.O_CREAT, 0o600)
        except OSError:
            return True  # nothing can be written there at all: saving will say so
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            os.close(handle)
            return False
        self._handle = handle
        return True

    def release(self) -> None:
        """Let go of it."""
        if self._handle is not None:
            os.close(self._handle)
            self._handle = None
