"""What goes wrong between a user and the program, and how faults are collected."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import ParamSpec, TypeVar, cast

from targets.errors import UserError

Value = TypeVar("Value")
Given = ParamSpec("Given")


class InputError(UserError, ValueError):
    """Something that was typed cannot be used; ``faults`` holds a sentence for each."""

    def __init__(self, faults: Iterable[str]) -> None:
        super().__init__(*faults)


class NothingToPlanError(RuntimeError):
    """The input is right, yet nothing can be planned; the message is a sentence that says why."""


def report_sentence(error: BaseException) -> str:
    """Return what to say of an error that is nobody's but the program's."""
    return f"a fault of the program itself, {type(error).__name__}: {error}. Please report it."


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
        except UserError as error:
            self.found.extend(error.faults)
            return cast(Value, None)  # nobody gets to use it: check() comes first

    def check(self) -> None:
        """Raise InputError if there was any fault."""
        if self.found:
            raise InputError(self.found)
