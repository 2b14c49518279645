"""Our frozen dataclasses against the standard library's, which they stand in for."""

from __future__ import annotations

import copy
import pickle
from collections.abc import Callable
from dataclasses import FrozenInstanceError, asdict, dataclass, field, fields, replace
from functools import cached_property
from inspect import signature
from typing import Any

import pytest

from targets.frozen import frozen

Decorator = Callable[..., Any]


def classes(slotted: Decorator, compared: Decorator, named: Decorator, open_one: Decorator) -> Any:
    """Make the same four classes with either library."""

    @slotted
    class Star:
        """One with defaults of all kinds."""

        name: str
        magnitude: float = 6.0
        notes: list[str] = field(default_factory=list)
        hidden: int = field(default=1, repr=False, compare=False)

        def __post_init__(self) -> None:
            if not self.name:
                raise ValueError("no name")

    @compared
    class Map:
        """One that is compared by identity."""

        values: tuple[int, ...]

    @named
    class Asked:
        """One whose fields are given by name, after one that is worked out."""

        count: int = 3
        sum: int = field(init=False, default=7)
        kind: str

    @open_one
    class Sky(Star if open_one is slotted else object):  # type: ignore[misc]
        """One with a dictionary."""

        zenith: float = 21.0

        @cached_property
        def twice(self) -> float:
            """Twice as much."""
            return 2.0 * self.zenith

        def __repr__(self) -> str:
            return "sky"

    return Star, Map, Asked, Sky


OURS = classes(frozen, frozen(eq=False), frozen(kw_only=True), frozen(slots=False))
THEIRS = classes(
    dataclass(frozen=True, slots=True),
    dataclass(frozen=True, slots=True, eq=False),
    dataclass(frozen=True, slots=True, kw_only=True),
    dataclass(frozen=True),
)
BOTH = list(zip(OURS, THEIRS, strict=True))
Star, Map, Asked, Sky = OURS
MADE: list[Callable[[Any], Any]] = [
    lambda kinds: kinds[0]("Vega"),
    lambda kinds: kinds[0]("Vega", 0.0, notes=["A0"], hidden=5),
    lambda kinds: kinds[2](kind="x", count=4),
    lambda kinds: kinds[3](20.5),
]


@pytest.mark.parametrize("make", MADE)
def test_objects_are_shown_and_taken_apart_alike(make: Callable[[Any], Any]) -> None:
    """The words for an object, its fields and a copy with a change are those of the library."""
    ours, theirs = make(OURS), make(THEIRS)
    assert repr(ours) == repr(theirs)
    assert asdict(ours) == asdict(theirs)
    other = {one.name: 9 for one in fields(ours) if one.init}
    assert asdict(replace(ours, **other)) == asdict(replace(theirs, **other))


@pytest.mark.parametrize(("ours", "theirs"), BOTH)
def test_classes_ask_for_the_same(ours: type[Any], theirs: type[Any]) -> None:
    """What is given, in what order and by what name; and the slots."""
    names = [(p.name, p.kind) for p in signature(ours).parameters.values()]
    assert names == [(p.name, p.kind) for p in signature(theirs).parameters.values()]
    assert getattr(ours, "__slots__", None) == getattr(theirs, "__slots__", None)
    assert ours.__match_args__ == theirs.__match_args__
    with pytest.raises(TypeError, match="unexpected keyword argument 'strange'"):
        ours(strange=1)


def test_fields_decide_whether_two_are_the_same() -> None:
    """Fields that are left out of it do not count; another class is never the same."""
    one, same, other = Star("Vega", hidden=1), Star("Vega", hidden=2), Star("Deneb")
    assert (one == same, one == other, one == THEIRS[0]("Vega")) == (True, False, False)
    assert hash(Sky(1.0)) == hash(THEIRS[3](1.0)) != hash(Sky(2.0))
    with pytest.raises(TypeError, match="unhashable"):
        hash(one)
    assert (Map((1,)) == Map((1,)), len({Map((1,)), Map((1,))})) == (False, 2)


def test_nothing_changes_afterwards() -> None:
    """Setting and deleting are refused, a property is kept where there is a dictionary."""
    star = Star("Vega")
    for name in ("name", "strange"):
        with pytest.raises(FrozenInstanceError, match=f"cannot assign to field '{name}'"):
            setattr(star, name, "Deneb")
    with pytest.raises(FrozenInstanceError, match="cannot delete field 'name'"):
        del star.name
    assert Sky(4.0).twice == 8.0
    assert Star("Vega").notes is not star.notes


def test_checks_of_a_class_are_made() -> None:
    """``__post_init__`` is called, also of a copy with a change."""
    with pytest.raises(ValueError, match="no name"):
        replace(Star("Vega"), name="")


def test_copies_are_the_same() -> None:
    """Copied and pickled objects are as they were."""
    star = Star("Vega", notes=["A0"])
    assert copy.deepcopy(star) == copy.copy(star) == star
    again = pickle.loads(pickle.dumps(Kept(3, "x")))  # noqa: S301  # our own bytes
    assert again == Kept(3, "x")


@frozen
class Kept:
    """One that pickle can find."""

    number: int
    text: str
