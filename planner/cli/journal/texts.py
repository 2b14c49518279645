"""The texts behind the options of the journal's commands; None where one is not given."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class TrainTexts:
    """The texts behind the options that name glass; None where an option is not given."""

    telescope: str | None = None
    eyepiece: str | None = None
    amplifier: str | None = None
    filter: str | None = None

    @property
    def given(self) -> bool:
        """Whether any of them is."""
        return any((self.telescope, self.eyepiece, self.amplifier, self.filter))


@dataclass(frozen=True, slots=True)
class ResultTexts:
    """The texts behind the options that say what came of a look."""

    outcome: str | None = None
    rating: str | None = None
    seeing: str | None = None
    transparency: str | None = None
    note: str | None = None
    why: str | None = None
    sketch: str | None = None
    planned: str | None = None


@dataclass(frozen=True, slots=True)
class AddTexts:
    """What is looked at, and when: the texts of ``journal add`` and ``edit``."""

    target: str
    at: str | None = None
    kind: str | None = None
    planned_at: str | None = None


@dataclass(frozen=True, slots=True)
class ListTexts:
    """The texts of ``journal list`` alone."""

    since: str | None = None
    target: str | None = None
    eyepiece: str | None = None
    count: str | None = None
    removed: bool = False


@dataclass(frozen=True, slots=True)
class NightTexts:
    """The texts of ``journal night`` alone."""

    begin: str | None = None
    end: str | None = None
    seeing: str | None = None
    transparency: str | None = None
    sky: str | None = None
    faintest: str | None = None
    weather: str | None = None
    comments: str | None = None
    companions: tuple[str, ...] = ()
