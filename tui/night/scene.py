"""What screens show."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from datetime import datetime

from planner.session.look_list import LookLine
from planner.session.night import SurveyedNight
from planner.session.state import SessionState
from targets.frozen import frozen


@frozen
class Scene:
    """What screens show: a night and where it stands.

    Parameters
    ----------
    number : int
        Scenes with a higher number are newer.
    words : tuple of str
        What has just changed.
    warning : str
        What stays wrong until it is mended, such as a disk that is full; empty when nothing is.
    asks_until : bool
        Whether the session is over, or nobody began it: until when does it go on from now?
    outcomes : mapping of str to str
        What came of looks, in some letters, by their targets.
    """

    number: int
    night: SurveyedNight
    state: SessionState
    lines: tuple[LookLine, ...]
    words: tuple[str, ...] = ()
    warning: str = ""
    read_only: bool = False
    asks_until: bool = False
    outcomes: Mapping[str, str] = field(default_factory=dict)

    def is_dark(self, now: datetime) -> bool:
        """Whether it is after dusk and before dawn where the night is, so that light does harm."""
        night = self.night.night
        if night.civil_dusk is None or night.civil_dawn is None:
            return night.start <= now < night.end and night.sunset is None
        return night.civil_dusk <= now < night.civil_dawn
