"""Where a night is kept between two starts of the program, and how it is read again."""

from __future__ import annotations

import re
from contextlib import suppress
from datetime import datetime
from pathlib import Path

from planner.night import Night
from planner.session_files import load_state, previous_path
from planner.session_state import SessionState
from planner.session_times import SessionTimes, session_times


def state_path(data: Path, night: Night) -> Path:
    """Give the file of a night in the program's folder, which is made if it can be."""
    slug = re.sub(r"[^A-Za-z0-9]+", "-", night.site.name).strip("-").lower()[:40] or "site"
    folder = data / "nights"
    with suppress(OSError):  # saving says what is wrong
        folder.mkdir(parents=True, exist_ok=True)
    return folder / f"{night.date.isoformat()}-{slug}.json"


def saved_state(path: Path) -> tuple[SessionState | None, tuple[str, ...]]:
    """Read what was saved of a night; None when nothing was, or when it cannot be used."""
    if not (path.exists() or previous_path(path).exists()):
        return None, ()
    try:
        return load_state(path)
    except (ValueError, OSError) as error:
        return None, (str(error),)


def times_of(night: Night, saved: SessionState | None, now: datetime | None) -> SessionTimes:
    """Find when the session is: as it was saved, else from dusk, or from now on."""
    if saved is not None:
        return SessionTimes(saved.start, saved.end, "as saved")
    return session_times(night, now=now)
