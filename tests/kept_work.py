"""Work of some tenths of a second that many tests ask for, done once for the same arguments."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import fields, is_dataclass
from functools import wraps
from importlib import import_module
from typing import Any

import numpy as np
import pytest

from planner.config.preferences import default_preferences
from planner.ephemeris.kernel import Ephemeris
from planner.session.night import SurveyedNight
from targets.catalogue.catalogue import Catalogue

KEPT: dict[Any, Any] = {}


def kept(work: Callable[..., Any]) -> Callable[..., Any]:
    """Return the same work, done once for equal arguments.

    What it returns is frozen: those who ask for it only read it. A failure is not kept.
    """

    @wraps(work)
    def once(*arguments: Any, **named: Any) -> Any:
        key = work.__module__, work.__name__, key_of((arguments, named))
        if key not in KEPT:
            # The arguments stay alive, so that their numbers are nobody else's.
            KEPT[key] = (arguments, named), work(*arguments, **named)
        return KEPT[key][1]

    return once


def key_of(value: Any) -> Any:
    """Return what is equal for equal arguments."""
    one_of_few = isinstance(value, (Catalogue, Ephemeris, SurveyedNight))
    if one_of_few or value is default_preferences() or callable(value):
        return id(value)
    if isinstance(value, np.ndarray):
        return value.dtype.str, value.shape, value.tobytes()
    if is_dataclass(value):
        return type(value).__name__, *(key_of(getattr(value, f.name)) for f in fields(value))
    if isinstance(value, Mapping):
        return tuple((repr(name), key_of(item)) for name, item in value.items())
    if isinstance(value, (list, tuple)):
        return type(value).__name__, *map(key_of, value)
    return repr(value)


def keep(monkeypatch: pytest.MonkeyPatch, *names: str) -> None:
    """Have functions, each by the name under which it is called, do the same work once."""
    for name in names:
        module, _, function = name.rpartition(".")
        found = getattr(import_module(module), function)
        monkeypatch.setattr(name, kept(found))
