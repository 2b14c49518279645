"""Where a night is kept between two starts of the program, and how it is read again."""

from __future__ import annotations

import hashlib
import re
from contextlib import suppress
from datetime import date
from pathlib import Path

from planner.model.night import Night
from planner.session.files import load_state, previous_path, put_aside, save_state
from planner.session.state import SessionState
from targets.errors import UserError
from targets.files import make_folder


def state_path(data: Path, night: Night) -> Path:
    """Return the file of a night in the program's folder, which is made if it can be."""
    path = night_path(data, night.date, night.site.name)
    with suppress(OSError):  # saving says what is wrong
        make_folder(path.parent)
    return path


def night_path(data: Path, evening: date, site: str) -> Path:
    """Return where a night is kept, by its date and the name of its site."""
    return data / "nights" / f"{evening.isoformat()}-{_slug(site)}.json"


def _slug(name: str) -> str:
    """Name a file after a site; names that lose anything by it get a mark that tells them apart."""
    slug = re.sub(r"[^A-Za-z0-9]+", "-", name).strip("-").lower()[:40] or "site"
    if re.fullmatch(r"[A-Za-z0-9]+( [A-Za-z0-9]+)*", name) and len(slug) == len(name):
        return slug
    return f"{slug}-{hashlib.sha256(name.encode()).hexdigest()[:6]}"


def saved_state(
    path: Path, *, puts_aside: bool = False
) -> tuple[SessionState | None, tuple[str, ...]]:
    """Read what was saved of a night; None when nothing was, or when it cannot be used.

    Parameters
    ----------
    puts_aside : bool
        Whether files that cannot be used are renamed, before others are written in their place.
    """
    copies = [copy for copy in (path, previous_path(path)) if copy.exists()]
    if not copies:
        return None, ()
    try:
        return load_state(path)
    except (UserError, OSError) as error:
        fault = str(error)
    if not puts_aside:
        return None, (fault,)
    with suppress(OSError):
        names = " and ".join(put_aside(copy).name for copy in copies)
        fault += f" What is there is kept as {names}; a new plan begins."
    return None, (fault,)


def why_not_kept(path: Path, state: SessionState) -> str:
    """Write a night's file; say why it cannot be written, or nothing."""
    try:
        make_folder(path.parent)
        save_state(path, state)
    except OSError as error:
        return f"{error.strerror or type(error).__name__} ({path.parent})"
    return ""
