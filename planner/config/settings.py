"""Reads the configuration file: who observes, from where, and with what."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import field, replace
from datetime import date
from pathlib import Path
from typing import Any, Protocol, TypeVar

from planner.config.checks import Table, list_tables, note_doubles, unknown_tables
from planner.config.kit_sections import (
    read_amplifier,
    read_eyepiece,
    read_filter,
    read_finder,
    read_telescope,
)
from planner.config.plausibility import doubts
from planner.config.preferences import PreferenceError, preferences_with
from planner.config.sections import read_jupiter, read_observer, read_session, read_site
from planner.config.toml_syntax import TomlError, read_toml
from planner.model.errors import InputError
from planner.model.kit import USUAL_FINDER, Kit, Observer, Telescope
from planner.model.pace import USUAL_PACE, ObservingPace
from planner.model.red_spot import RedSpot
from planner.model.site import Site
from planner.text import hint, listed, show
from targets.errors import UserError
from targets.files import NotTextError, typed_text
from targets.frozen import frozen

LARGEST_FILE_BYTES = 1_000_000
REQUIRED = ("site", "telescope", "eyepiece")
TABLES = (
    "observer", "site", "telescope", "finder", "eyepiece", "amplifier", "filter", "match",
    "jupiter", "session",
)  # fmt: skip


# What is shown of the faults of one file: more than a screen of them tells nobody anything.
MOST_FAULTS = 20


class Named(Protocol):
    """Anything that goes by a name in the configuration."""

    @property
    def name(self) -> str:
        """As the configuration gives it."""


Item = TypeVar("Item")
NamedItem = TypeVar("NamedItem", bound=Named)


class SettingsError(UserError, ValueError):
    """A configuration that cannot be used.

    Parameters
    ----------
    source : str
        Where it was read from.
    faults : iterable of str
        A sentence for each fault.
    """

    def __init__(self, source: str, faults: Iterable[str]) -> None:
        super().__init__(*faults)
        self.source = source

    def __str__(self) -> str:
        """The source, and below it the faults."""
        count = "1 fault" if len(self.faults) == 1 else f"{len(self.faults)} faults"
        shown = self.faults[:MOST_FAULTS]
        rest = len(self.faults) - len(shown)
        more = [f"and {rest:,} more"] if rest else []
        return "\n  ".join([f"{self.source}: {count}", *shown, *more])

    @property
    def sentences(self) -> tuple[str, ...]:
        """All of it as one."""
        return (str(self),)


@frozen
class Settings:
    """The configuration.

    Parameters
    ----------
    sites : tuple of Site
        The first is the default.
    kit : Kit
        The first telescope is the default.
    match : mapping
        Changes to what suits each class of target, as ``preferences_with`` takes them.
    warnings : tuple of str
        Odd but possible figures, a sentence each.
    red_spot : RedSpot or None
        Where Jupiter's was seen.
    pace : ObservingPace
        How the observer likes to spend a session.
    forecast : str or None
        Path of the file of forecasts.
    """

    observer: Observer
    sites: tuple[Site, ...]
    kit: Kit
    match: Mapping[str, Any] = field(default_factory=dict)
    warnings: tuple[str, ...] = ()
    red_spot: RedSpot | None = None
    pace: ObservingPace = USUAL_PACE
    forecast: str | None = None

    def site(self, name: str | None = None) -> Site:
        """Return the site of a name, or the default; InputError when there is none."""
        return _named("site", self.sites, name)

    def telescope(self, name: str | None = None) -> Telescope:
        """Return the telescope of a name, or the default; InputError when there is none."""
        return _named("telescope", self.kit.telescopes, name)


def _named(what: str, items: tuple[NamedItem, ...], name: str | None) -> NamedItem:
    """Return the item of a name, whatever its case; the first when no name is given."""
    if name is None:
        return items[0]
    for item in items:
        if item.name.casefold() == name.strip().casefold():
            return item
    names = [item.name for item in items]
    meant = hint(name, names, f"there is {listed(names)}")
    raise InputError([f"no {what} is called {show(name)}; {meant}"])


def load_settings(path: Path, *, today: date) -> Settings:
    """Read the configuration from a file.

    Parameters
    ----------
    today : date
        For the observer's age.

    Raises
    ------
    SettingsError
        If the file cannot be read, or with every fault in it at once.
    """
    source = str(path)
    try:
        if path.is_dir():
            raise SettingsError(source, ["this is a folder; a TOML file is needed"])
        with path.open("rb") as file:
            content = file.read(LARGEST_FILE_BYTES + 1)
    except FileNotFoundError:
        fault = 'no such file; check the path, or copy the example (README, "Your own kit")'
        raise SettingsError(source, [fault]) from None
    except (OSError, ValueError) as error:  # ValueError: a path with a zero byte
        if isinstance(error, SettingsError):
            raise
        reason = getattr(error, "strerror", None) or "this is not a path"
        raise SettingsError(source, [f"cannot be read: {reason}"]) from None
    return read_settings(_decode(content, source), source=source, today=today)


def _decode(content: bytes, source: str) -> str:
    """Turn the bytes of a file into text, or say what they are instead."""
    if len(content) > LARGEST_FILE_BYTES:
        fault = f"larger than {LARGEST_FILE_BYTES // 1000} kB; this is hardly a configuration"
    else:
        try:
            return typed_text(content, needed="a TOML file in UTF-8")
        except NotTextError as error:
            fault = str(error)
    raise SettingsError(source, [fault])


def read_settings(text: str, *, source: str, today: date) -> Settings:
    """Read the configuration from its text.

    Parameters
    ----------
    text : str
        TOML.
    source : str
        Where it comes from, for messages.
    today : date
        For the observer's age.

    Raises
    ------
    SettingsError
        With every fault at once.
    """
    raw = _parse(text.removeprefix("\ufeff"), source)
    faults: list[str] = []
    _check_top(raw, faults)
    observer_table = _one(raw, "observer", faults)
    observer = read_observer(observer_table, today)
    observer_table.finish()
    match = _one(raw, "match", faults).values
    jupiter_table = _one(raw, "jupiter", faults)
    red_spot = read_jupiter(jupiter_table)
    jupiter_table.finish()
    session_table = _one(raw, "session", faults)
    pace, forecast = read_session(session_table)
    session_table.finish()
    settings = Settings(
        observer=observer,
        sites=_many(raw, "site", faults, read_site),
        kit=Kit(
            telescopes=_many(raw, "telescope", faults, read_telescope),
            eyepieces=_many(raw, "eyepiece", faults, read_eyepiece),
            amplifiers=_many(raw, "amplifier", faults, read_amplifier),
            filters=_many(raw, "filter", faults, read_filter),
            finders=_many(raw, "finder", faults, read_finder) or (USUAL_FINDER,),
        ),
        match=match,
        red_spot=red_spot,
        pace=pace,
        forecast=forecast,
    )
    faults.extend(_match_faults(match))
    if faults:
        raise SettingsError(source, faults)
    return replace(settings, warnings=doubts(settings.kit))


def example_settings(*, today: date) -> Settings:
    """Return the built-in example: an invented kit and site."""
    text = Path(__file__).with_name("example.toml").read_text("utf-8")
    return read_settings(text, source="the built-in example", today=today)


def _parse(text: str, source: str) -> dict[str, Any]:
    """Read TOML, or say in which line it breaks."""
    if not text.strip():
        needed = ", ".join(f"[[{key}]]" for key in REQUIRED)
        raise SettingsError(source, [f"the file is empty; needed are at least {needed}"])
    try:
        return read_toml(text)
    except TomlError as error:
        raise SettingsError(source, [str(error)]) from None


def _check_top(raw: Mapping[str, Any], faults: list[str]) -> None:
    """Note unknown tables, and those that are missing."""
    faults += unknown_tables(raw, TABLES)
    faults.extend(
        f'"{key}": missing; at least one [[{key}]] is needed'
        for key in REQUIRED
        if raw.get(key, []) == []
    )


def _one(raw: Mapping[str, Any], key: str, faults: list[str]) -> Table:
    """Return the ``[key]`` table, empty when it is missing or something else."""
    value = raw.get(key, {})
    if not isinstance(value, Mapping):
        faults.append(f'"{key}": found {show(value)}; allowed is a table under [{key}]')
        value = {}
    return Table(value, key, faults)


def _many(
    raw: Mapping[str, Any], key: str, faults: list[str], read: Callable[[Table], Item]
) -> tuple[Item, ...]:
    """Read all ``[[key]]`` tables."""
    tables = list_tables(raw, key, faults)
    items = []
    for table in tables:
        items.append(read(table))
        table.finish()
    note_doubles(tables)
    return tuple(items)


def _match_faults(match: Mapping[str, Any]) -> tuple[str, ...]:
    try:
        preferences_with(match)
    except PreferenceError as error:
        return tuple(" ".join(fault.split()) for fault in error.faults)  # a key may hold a line end
    return ()
