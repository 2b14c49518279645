"""Keeps what the journal tells of the eye beside it, so that a plan need not work it out again.

What is kept serves as long as the journal's file and whatever of the configuration goes into the
eye stay as they were; a file that cannot be read or written costs nothing but time.
"""

from __future__ import annotations

import hashlib
import json
from contextlib import suppress
from dataclasses import asdict
from pathlib import Path
from typing import Any

from planner.config.settings import Settings
from planner.model.own_eye import EyePart, GlassShare, OwnEye
from targets.files import FOR_THE_OWNER, draft_of

FILE_NAME = "own_eye.json"
# To be raised when the fit or the margins come out otherwise for the same journal.
MODEL = 1


def eye_key(journal: Path, settings: Settings) -> str:
    """Return a text that changes with the journal, and with what of the settings is in an eye."""
    parts = [MODEL, settings.observer, settings.sites, settings.kit.telescopes]
    parts += [sorted(settings.match.items()), _stamp(journal)]
    parts += [_stamp(journal.with_name(f"{journal.name}-wal"))]
    return hashlib.sha256("\n".join(map(repr, parts)).encode()).hexdigest()


def _stamp(path: Path) -> tuple[int, int] | None:
    """Return when a file was written and how large it is; None without anything in it."""
    try:
        status = path.stat()
    except OSError:
        return None
    return (status.st_mtime_ns, status.st_size) if status.st_size else None


def kept_eye(journal: Path, key: str) -> tuple[bool, OwnEye | None]:
    """Return whether an eye is kept for a key, and the eye; None where the journal tells none."""
    try:
        kept = json.loads(journal.with_name(FILE_NAME).read_text(encoding="utf-8"))
        if kept["key"] != key:
            return False, None
        return True, None if kept["eye"] is None else _eye(**kept["eye"])
    except (OSError, ValueError, TypeError, KeyError, RecursionError):
        return False, None


def keep_eye(journal: Path, key: str, eye: OwnEye | None) -> None:
    """Keep an eye, if that is possible."""
    path = journal.with_name(FILE_NAME)
    text = json.dumps({"key": key, "eye": None if eye is None else asdict(eye)})
    with suppress(OSError), draft_of(path, text, rights=FOR_THE_OWNER, lasts=False) as draft:
        draft.replace(path)


def _eye(
    *, left_out: Any, stars: Any, glows: Any, glass: Any, looks: Any, **numbers_mag: Any
) -> OwnEye:
    return OwnEye(
        looks=int(looks),
        left_out=tuple((str(reason), int(count)) for reason, count in left_out),
        stars=_part(stars),
        glows=_part(glows),
        glass=tuple(
            GlassShare(
                str(one["telescope"]), float(one["factor"]), float(one["sd_mag"]), int(one["looks"])
            )
            for one in glass
        ),
        **{name: float(value) for name, value in numbers_mag.items()},
    )


def _part(kept: Any) -> EyePart | None:
    if kept is None:
        return None
    return EyePart(float(kept["deeper_mag"]), float(kept["sd_mag"]), int(kept["looks"]))
