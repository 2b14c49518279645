"""Keeps a session on disk so that nothing is lost, whenever the power goes."""

from __future__ import annotations

import os
from pathlib import Path

from planner.session.json_readers import SessionFileError
from planner.session.state import SessionState
from planner.session.state_json import MOST_BYTES, from_json, salvaged, to_json
from targets.files import FOR_THE_OWNER, draft_of


def previous_path(path: Path) -> Path:
    """Return where the copy before the last one is kept."""
    return path.with_name(f"{path.name}.previous")


def put_aside(path: Path) -> Path:
    """Rename a damaged file, over no other one; give its new name.

    Raises OSError if it cannot be renamed.
    """
    number = 1
    while (aside := path.with_name(f"{path.name}.damaged{number if number > 1 else ''}")).exists():
        number += 1
    path.replace(aside)
    return aside


def _fresh_path(path: Path) -> Path:
    """Return where a whole state stands while the copy before it gets its other name."""
    return path.with_name(f"{path.name}.new")


def save_state(path: Path, state: SessionState) -> None:
    """Write a state; at every moment the old one or the new one is whole.

    Parameters
    ----------
    path : Path
        What stands there is kept as the previous copy.

    Raises
    ------
    OSError
        If it cannot be written; what was there is still there.
    """
    fresh = _fresh_path(path)
    with draft_of(path, to_json(state), rights=FOR_THE_OWNER) as draft:
        draft.replace(fresh)
    if path.exists():
        path.replace(previous_path(path))
    fresh.replace(path)
    _sync_folder(path.parent)


def _sync_folder(folder: Path) -> None:
    """Make the new name last through a power cut, where the system can do that."""
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def load_state(path: Path) -> tuple[SessionState, tuple[str, ...]]:
    """Read a state, or the copy before it where that is damaged.

    Returns
    -------
    SessionState
    tuple of str
        Sentences, when something was wrong. The damaged file is put aside then, not over the copy.

    Raises
    ------
    SessionFileError
        If nothing of either can be read; both stay where they are.
    """
    try:
        return _read(path if path.exists() else _fresh_path(path)), ()
    except SessionFileError as error:
        fault = error
    try:
        state = _read(previous_path(path))
    except SessionFileError:
        return _salvaged_state(path, fault)
    kept = f" The damaged file is kept as {put_aside(path).name}." if path.exists() else ""
    return state, (f"{path}: {fault} The copy from one move earlier is taken.{kept}",)


def _salvaged_state(path: Path, fault: SessionFileError) -> tuple[SessionState, tuple[str, ...]]:
    """Return what can be read of either copy; the file itself is put aside."""
    for copy in (path, _fresh_path(path), previous_path(path)):
        try:
            state, lost = salvaged(_text_of(copy))
        except SessionFileError:
            continue
        kept = f" The damaged file is kept as {put_aside(path).name}." if path.exists() else ""
        count = f" ({len(lost)} places)" if len(lost) > 1 else ""
        told = f"{path}: {fault} The night goes on without what cannot be read{count}."
        return state, (told + kept,)
    raise SessionFileError(f"{path}: {fault} There is no earlier copy to go on from.") from None


def _read(path: Path) -> SessionState:
    return from_json(_text_of(path))


def _text_of(path: Path) -> str:
    try:
        if path.exists() and not path.is_file():
            raise SessionFileError("The session is no file.")
        with path.open("rb") as file:
            content = file.read(MOST_BYTES + 1)
    except FileNotFoundError:
        raise SessionFileError("There is no such session.") from None
    except OSError as error:
        raise SessionFileError(f"The session cannot be read ({error.strerror}).") from None
    try:
        return content.decode("ascii")
    except UnicodeDecodeError:
        raise SessionFileError("The session is damaged: it holds other than plain text.") from None
