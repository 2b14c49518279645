"""Frozen dataclasses that take little time to make: a short command loads some 150 of them.

``dataclass(frozen=True, slots=True)`` writes and compiles six methods for each class, a tenth of
a cold start. Here ``__init__`` alone is written for each, and the others are shared.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import MISSING, Field, FrozenInstanceError, dataclass, field, fields
from functools import cache
from operator import attrgetter
from typing import Any, NoReturn, TypeVar, dataclass_transform, overload

Class = TypeVar("Class")


@overload
def frozen(made: type[Class], /) -> type[Class]: ...
@overload
def frozen(
    *, slots: bool = True, eq: bool = True, kw_only: bool = False
) -> Callable[[type[Class]], type[Class]]: ...
@dataclass_transform(frozen_default=True, field_specifiers=(field,))
def frozen(
    made: type[Any] | None = None, /, *, slots: bool = True, eq: bool = True, kw_only: bool = False
) -> Any:
    """Make a frozen dataclass of a class: ``fields``, ``replace`` and ``asdict`` know it as one.

    Parameters
    ----------
    slots : bool
        Without a dictionary for each object; False where properties are kept in it.
    eq : bool
        Compare and hash by the fields; False for what holds arrays, and compare by identity.
    kw_only : bool
        All fields are given by name.
    """

    def frozen_class(given: type[Any]) -> type[Any]:
        bare = dataclass(init=False, repr=False, eq=False, slots=slots, kw_only=kw_only)
        done = bare(given)
        methods = {"__init__": _initializer(done), **_SHARED, **(_COMPARED if eq else {})}
        for name in methods.keys() - given.__dict__.keys():
            setattr(done, name, methods[name])
        return done

    return frozen_class if made is None else frozen_class(made)


def _initializer(made: type[Any]) -> Callable[..., None]:
    """Write the method that takes the fields and puts them into place."""
    known: dict[str, Any] = {"put": object.__setattr__, "MISSING": MISSING}
    in_place, by_name, body = ["self"], list[str](), list[str]()
    for one in fields(made):
        asked, value = _asked_and_put(one, known)
        if one.init:
            (by_name if one.kw_only else in_place).append(asked)
        if value:
            body.append(f"put(self, {one.name!r}, {value})")
    if hasattr(made, "__post_init__"):
        body.append("self.__post_init__()")
    head = ", ".join([*in_place, *(["*", *by_name] if by_name else [])])
    lines = "\n    ".join(body or ["pass"])
    exec(f"def __init__({head}):\n    {lines}", known)  # noqa: S102  # our own fields' names
    method: Callable[..., None] = known["__init__"]
    method.__qualname__ = f"{made.__qualname__}.__init__"
    return method


def _asked_and_put(one: Field[Any], known: dict[str, Any]) -> tuple[str, str]:
    """Return how a field stands in the head of the method, and what is put into its place."""
    name, first = one.name, f"first_{one.name}"
    if one.default_factory is not MISSING:
        known[first] = one.default_factory
        asked, fresh = f"{name}=MISSING", f"{first}()"
        return asked, f"{fresh} if {name} is MISSING else {name}" if one.init else fresh
    if one.default is not MISSING:
        known[first] = one.default
        return f"{name}={first}", name if one.init else first
    return name, name if one.init else ""


def _values(self: Any) -> list[Any]:
    return [getattr(self, one.name) for one in fields(self)]


def _put_back(self: Any, values: list[Any]) -> None:
    for one, value in zip(fields(self), values, strict=True):
        object.__setattr__(self, one.name, value)


def _equals(self: Any, other: object) -> Any:
    if other.__class__ is not self.__class__:
        return NotImplemented
    return self is other or _compared(self) == _compared(other)


def _hash(self: Any) -> int:
    return hash(_compared(self))


def _compared(self: Any) -> Any:
    return _getter(self.__class__)(self)


@cache
def _getter(made: type[Any]) -> Callable[[Any], Any]:
    """Return what gives the fields that are compared, as a tuple."""
    names = [one.name for one in fields(made) if one.compare]
    if len(names) > 1:
        return attrgetter(*names)
    return lambda self: tuple(getattr(self, name) for name in names)


def _words(self: Any) -> str:
    shown = (f"{one.name}={getattr(self, one.name)!r}" for one in fields(self) if one.repr)
    return f"{self.__class__.__qualname__}({', '.join(shown)})"


def _refuse_to_set(self: Any, name: str, value: object) -> NoReturn:  # noqa: ARG001  # a hook
    raise FrozenInstanceError(f"cannot assign to field {name!r}")


def _refuse_to_delete(self: Any, name: str) -> NoReturn:  # noqa: ARG001  # a hook
    raise FrozenInstanceError(f"cannot delete field {name!r}")


_SHARED: dict[str, Any] = {
    "__setattr__": _refuse_to_set,
    "__delattr__": _refuse_to_delete,
    "__repr__": _words,
    "__getstate__": _values,
    "__setstate__": _put_back,
}
_COMPARED: dict[str, Any] = {"__eq__": _equals, "__hash__": _hash}
