"""What all commands are asked for, and what surrounds them: the clock and the configuration."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from planner.journal.store import FILE_NAME
from targets.files import is_missing
from targets.frozen import frozen

if TYPE_CHECKING:
    from planner.config.settings import Settings


@frozen
class Surroundings:
    """What a command finds around it.

    Parameters
    ----------
    now : datetime
        Aware.
    configuration : Path
        Where the configuration is when no option names another.
    data : Path
        The folder of what the program keeps: journal, session, lists; it need not exist.
    has_dots : bool
        Whether the terminal, if there is one, has Braille dots among its letters.
    """

    now: datetime
    configuration: Path
    data: Path
    has_dots: bool = True


@frozen
class JournalWishes:
    """What use to make of the journal.

    Parameters
    ----------
    data : Path or None
        The folder of the journal; None for the usual one.
    leaning : bool
        Whether the matcher leans toward what the observer prefers.
    own_eye : bool
        Whether the eye is taken as deep as what was seen and what was not tells.
    not_seen : bool
        Whether to leave out what has been seen.
    """

    data: Path | None = None
    leaning: bool = True
    own_eye: bool = True
    not_seen: bool = False


@frozen
class Readings:
    """What the observer finds tonight instead of the site's usual values; None where nothing."""

    sky_mag_arcsec2: float | None = None
    seeing: str | None = None
    transparency: int | None = None
    extinction_mag: float | None = None


def open_settings(
    config: str | None, surroundings: Surroundings
) -> tuple[Settings, tuple[str, ...]]:
    """Read the configuration, or the built-in example where there is none yet.

    Returns
    -------
    settings : Settings
    talk : tuple of str
        Sentences for the user.

    Raises
    ------
    SettingsError
        With every fault in the file.
    """
    from planner.config.settings import example_settings, load_settings  # noqa: PLC0415  # slow to load

    today = surroundings.now.date()
    path = surroundings.configuration if config is None else Path(config)
    if config is not None or not is_missing(path):
        return load_settings(path, today=today), ()
    example = "the built-in example, an invented kit and site, serves"
    remark = f'No configuration at {path}; {example} until "fieldstop setup" has written yours.'
    return example_settings(today=today), (remark,)


def journal_file(data: Path | None, surroundings: Surroundings) -> Path:
    """Return where the journal is: in a folder that is named, or in the usual one."""
    return (surroundings.data if data is None else data) / FILE_NAME
