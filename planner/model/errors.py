"""What goes wrong between a user and the program, and how faults are collected."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import ParamSpec, TypeVar, cast

Value = TypeVar("Value")
Given = ParamSpec("Given")


class InputError(ValueError):
    """Something that was typed cannot be used; ``faults`` holds a sentence for each."""

    def __init__(self, faults: Iterable[str]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(self.faults))


class NothingToPlanError(RuntimeError):
    """The input is right, yet nothing can be planned; the message is a sentence that says why."""


@dataclass(slots=True)
class Faults:
    """Collects the faults of several readings, so that a user hears of all of them at once."""

    found: list[str] = field(default_factory=list)

    def attempt(
        self, read: Callable[Given, Value], *given: Given.args, **named: Given.kwargs
    ) -> Value:
        """Return what a reading gives; when it cannot, note its faults for `check` to raise."""
        try:
            return read(*given, **named)
        except ValueError as error:
            self.found.extend(getattr(error, "faults", None) or [str(error)])
            return cast(Value, None)  # nobody gets to use it: check() comes first

    def check(self) -> None:
        """Raise InputError if there was any fault."""
        if self.found:
            raise InputError(self.found)
