"""What all commands are asked for, and what surrounds them: the clock and the configuration."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from planner.config.checks import show
from planner.config.settings import Settings, example_settings, load_settings
from planner.journal.store import FILE_NAME
from planner.model.errors import Faults, InputError
from planner.request.arguments import read_number, read_whole


@dataclass(frozen=True, slots=True)
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
    """

    now: datetime
    configuration: Path
    data: Path


@dataclass(frozen=True, slots=True)
class Common:
    """The texts behind the options that commands share; None where an option is not given."""

    config: str | None = None
    site: str | None = None
    telescope: str | None = None
    date: str | None = None
    format: str | None = None
    output: str | None = None


@dataclass(frozen=True, slots=True)
class Tonight:
    """The texts behind the options about tonight's sky; None where an option is not given."""

    sky: str | None = None
    seeing: str | None = None
    transparency: str | None = None
    extinction: str | None = None


@dataclass(frozen=True, slots=True)
class JournalUse:
    """What use to make of the journal.

    Parameters
    ----------
    data : str or None
        The text behind ``--data``; None for the usual folder.
    leaning : bool
        Whether the matcher leans toward what the observer prefers.
    not_seen : bool
        Whether to leave out what has been seen.
    """

    data: str | None = None
    leaning: bool = True
    not_seen: bool = False


@dataclass(frozen=True, slots=True)
class Readings:
    """What the observer finds tonight instead of the site's usual values; None where nothing."""

    sky_mag_arcsec2: float | None = None
    extinction_mag: float | None = None
    seeing: str | None = None
    transparency: int | None = None


def read_tonight(tonight: Tonight) -> Readings:
    """Read the numbers about tonight's sky; what is possible, the conditions themselves know.

    Raises
    ------
    InputError
        With a sentence for each that is no number.
    """
    faults = Faults()
    readings = Readings(
        sky_mag_arcsec2=faults.attempt(read_number, "--sky", tonight.sky),
        extinction_mag=faults.attempt(read_number, "--extinction", tonight.extinction),
        seeing=tonight.seeing,
        transparency=faults.attempt(
            read_whole, "--transparency", tonight.transparency, low=1, high=5
        ),
    )
    faults.check()
    return readings


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
    today = surroundings.now.date()
    path = surroundings.configuration if config is None else Path(config)
    if config is not None or path.exists():
        return load_settings(path, today=today), ()
    example = "the built-in example, an invented kit and site, serves"
    remark = f'No configuration at {path}; {example} until "fieldstop setup" has written yours.'
    return example_settings(today=today), (remark,)


def journal_file(data: str | None, surroundings: Surroundings) -> Path:
    """Return where the journal is: in the folder of ``--data``, or in the usual one."""
    if data is not None and ("\0" in data or not data.strip()):
        raise InputError([f"--data {show(data)} is no path of a folder."])
    return (surroundings.data if data is None else Path(data)) / FILE_NAME


def doubt_remarks(settings: Settings) -> tuple[str, ...]:
    """Point at figures in the configuration that are odd but possible."""
    count = len(settings.warnings)
    if not count:
        return ()
    figures = "1 odd figure" if count == 1 else f"{count} odd figures"
    return (f'The configuration holds {figures}; "fieldstop kit" tells more.',)
