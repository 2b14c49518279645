"""Readings of what is typed: usual spellings are taken, the rest is refused."""

from __future__ import annotations

from datetime import time
from typing import Any

import pytest

from planner.model.errors import Faults, InputError
from planner.request.arguments import number, read_clock, read_kinds
from targets.model import Kind


@pytest.mark.parametrize("kind", Kind)
def test_every_kind_is_known_by_its_name_its_plural_and_with_hyphens(kind: Kind) -> None:
    """Plurals as English makes them: galaxies, nebulae, clusters."""
    plural = kind.value + "s"
    for ending, plural_ending in (("galaxy", "galaxies"), ("nebula", "nebulae")):
        if kind.endswith(ending):
            plural = kind.removesuffix(ending) + plural_ending
    for spelling in (kind, kind.upper(), plural, kind.replace(" ", "-"), plural.replace(" ", "_")):
        assert read_kinds("--kind", spelling) == (kind,)


def test_a_last_word_stands_for_all_kinds_that_end_with_it() -> None:
    """Observers say "clusters" and mean both; "galaxy" alone is a kind of its own."""
    assert read_kinds("--kind", "cluster") == (Kind.OPEN_CLUSTER, Kind.GLOBULAR_CLUSTER)
    assert len(read_kinds("--kind", "nebulas")) == 4
    assert read_kinds("--kind", "galaxies") == (Kind.GALAXY,)


def test_every_kind_that_is_wrong_is_told(run: Any) -> None:
    """Both of them, and the right one between does not help."""
    result = run("plan", "--kind", "spaceships", "--kind", "galaxy", "--kind", "lust")
    assert result.status == 2
    told = result.err.splitlines()
    assert [line.split()[2] for line in told] == ['"spaceships"', '"lust"']


def test_hours_may_have_one_digit() -> None:
    """As people write them."""
    assert read_clock("--from", "9:05") == time(9, 5)


def test_bounds_belong_to_the_range() -> None:
    """Both ends."""
    assert number(0.0, 85.0)("--x", "0") == 0.0
    assert number(0.0, 85.0)("--x", "85") == 85.0
    with pytest.raises(InputError, match=r'--x "85.1": allowed is a number from 0 to 85\.'):
        number(0.0, 85.0)("--x", "85.1")


def test_faults_are_collected_until_they_are_checked() -> None:
    """A reading that goes well gives its value in between."""
    faults = Faults()
    faults.attempt(read_clock, "--from", "x")
    assert faults.attempt(read_clock, "--until", "22:00") == time(22)
    faults.attempt(read_kinds, "--kind", "x")
    with pytest.raises(InputError) as caught:
        faults.check()
    assert len(caught.value.faults) == 2
    Faults().check()
