"""What is in a focuser, what is left for the other one, and what turning takes: by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from planner.matcher.train_table import tabulate_trains
from planner.matcher.trains import make_trains
from planner.model.kit import (
    Amplifier,
    AmplifierKind,
    Barrel,
    Eyepiece,
    Filter,
    FilterKind,
    Kit,
    Telescope,
    Train,
)
from planner.planning.scheduling.candidates import Candidates, Session
from planner.planning.scheduling.pace import Pace, travel_min
from planner.planning.two_telescopes.parts_in_use import free_columns, things_left, things_owned
from planner.planning.two_telescopes.showing import Lesson, Showing, better_by, lessons_of
from targets.model import Kind, Target

SMALL = Barrel.ONE_AND_A_QUARTER
TELESCOPE = Telescope("Long", 150.0, 1200.0, Barrel.TWO, (SMALL,))
PAIR = Amplifier("Pair", AmplifierKind.BINOVIEWER, 1.0, SMALL, clear_aperture_mm=22.0)
BARLOW = Amplifier("Barlow", AmplifierKind.BARLOW, 2.0, SMALL)
O_III = Filter("O III", FilterKind.OIII, SMALL)


def kit(count: int) -> Kit:
    """One kind of eyepiece, so many of it, a binoviewer, a Barlow and a filter."""
    eyepiece = Eyepiece("20 mm", (20.0,), (60.0,), SMALL, count=count)
    return Kit((TELESCOPE,), (eyepiece,), (PAIR, BARLOW), (O_III,))


def train(owned: Kit, amplifier: str | None, filter_: str | None = None) -> Train:
    """The train with these parts."""
    return next(
        t
        for t in make_trains(TELESCOPE, owned)
        if (t.amplifier.name if t.amplifier else None) == amplifier
        and (t.filter.name if t.filter else None) == filter_
    )


# How many there are, what is in the one telescope, and what the other one can then be looked
# through with: nothing between, Barlow, binoviewer.
BY_HAND = {
    "one, plain": (1, None, (False, False, False)),
    "two, plain": (2, None, (True, True, False)),
    "two, for two eyes": (2, "Pair", (False, False, False)),
    "three, for two eyes": (3, "Pair", (True, True, False)),
    "three, plain": (3, None, (True, True, True)),
    "four, plain": (4, None, (True, True, True)),
    "two, with the Barlow": (2, "Barlow", (True, False, False)),
    "four, with the Barlow": (4, "Barlow", (True, False, True)),
}


@pytest.mark.parametrize(("count", "taken", "free"), BY_HAND.values(), ids=BY_HAND)
def test_what_is_left_by_hand(count: int, taken: str | None, free: tuple[bool, ...]) -> None:
    """A binoviewer takes two eyepieces of a kind, and there is one of each amplifier."""
    owned = kit(count)
    table = tabulate_trains(make_trains(TELESCOPE, owned))
    left = things_left(things_owned(owned), [train(owned, taken)])
    can = dict.fromkeys((None, "Barlow", "Pair"), False)
    for one, is_free in zip(table.trains, free_columns(table, left), strict=True):
        if one.filter is None:
            can[one.amplifier.name if one.amplifier else None] |= bool(is_free)
    assert tuple(can.values()) == free


def test_a_filter_is_in_one_telescope() -> None:
    """Its trains are gone for the other one, and those without it are not."""
    owned = kit(2)
    table = tabulate_trains(make_trains(TELESCOPE, owned))
    free = free_columns(table, things_left(things_owned(owned), [train(owned, None, "O III")]))
    assert {one.filter for one, can in zip(table.trains, free, strict=True) if can} == {None}


def test_looks_after_one_another_take_no_more_than_one_of_them() -> None:
    """Two looks through the one telescope, each with one of two eyepieces: one is left."""
    owned = kit(2)
    left = things_left(things_owned(owned), [train(owned, None), train(owned, "Barlow")])
    assert left["eyepiece", "20 mm"] == 1


def candidates(azimuth_deg: list[float], telescope: list[int]) -> Candidates:
    """Targets at the horizon, all alike but for their place, each in its telescope."""
    count = len(azimuth_deg)
    same, ones = np.zeros(count, dtype=np.intp), np.ones(count)
    return Candidates(
        quality=np.full((count, 49), 0.5),
        open=np.ones((count, 49), dtype=bool),
        dwell_min=ones * 10.0,
        altitude_deg=np.zeros((count, 49)),
        azimuth_deg=np.repeat(np.array(azimuth_deg)[:, None], 49, axis=1),
        kind=np.arange(count),
        dazzling=same.astype(bool),
        faint=same.astype(bool),
        eyepiece=same,
        barrel=same,
        amplifier=same,
        filter=same,
        mass_g=ones * 200.0,
        high_power=same.astype(bool),
        finding_min=ones * np.nan,
        telescope=np.array(telescope),
    )


def test_turning_to_the_other_telescope_takes_its_time() -> None:
    """Found by hand in 6 min there, in 2 here; 1 min to turn, 1 for 90 degrees of sky.

    What stands within 2 degrees is nudged to here in 1 min, and found there in half of the 6.
    """
    here = Session(240.0, 5.0, driven=True, balance_g=None, finding_min=2.0)
    there = replace(here, driven=False, finding_min=6.0)
    minutes = travel_min(
        candidates([180.0, 180.0, 180.0, 90.0, 90.0], [0, 0, 1, 0, 1]),
        replace(here, beside=(there,)),
    )
    assert minutes[0, 1] == pytest.approx(1.0)
    assert minutes[0, 2] == pytest.approx(1.0 + 3.0)
    assert minutes[0, 3] == pytest.approx(2.0 + 1.0)
    assert minutes[0, 4] == pytest.approx(1.0 + 6.0 + 1.0)
    assert minutes[2, 0] == pytest.approx(1.0 + 1.0)


def test_each_mount_keeps_its_own_limits() -> None:
    """The meridian band closes only what is looked at in the telescope that flips."""
    passing = candidates([180.0, 180.0], [0, 1])
    passing.azimuth_deg[:] = np.linspace(150.0, 210.0, 49)
    here = Session(240.0, 5.0, driven=True, balance_g=None)
    session = replace(here, beside=(replace(here, flips=True),))
    is_open = Pace(passing, session).open
    assert is_open[0].all()
    assert not is_open[1].all()
    assert is_open[1, [0, -1]].all()


def showing(margin_dex: float, fill: float, power: float, limit_mag: float = 12.0) -> Showing:
    """One target in one telescope, which may fill three quarters of the field."""
    one = np.ones(1)
    return Showing(one * margin_dex, one * fill, one * 0.75, one * power, one * limit_mag)


def target(kind: Kind, magnitude: float = 6.0) -> Target:
    """Any target of a kind."""
    return Target("X", "X", kind, magnitude=magnitude)


# The first telescope is short and small, the second long and large.
LESSONS = {
    "held by the one, larger in the other": (
        Kind.GALAXY, showing(1.5, 0.5, 16.0), showing(1.7, 1.0, 40.0), Lesson.FIELD, 0, -1,
    ),
    "too large for both": (
        Kind.GALAXY, showing(1.5, 1.9, 16.0), showing(1.7, 3.0, 40.0), Lesson.NONE, 0, -1,
    ),
    "a pair that the large one splits": (
        Kind.DOUBLE_STAR, showing(-0.1, 0.0, 96.0), showing(0.5, 0.0, 200.0), Lesson.PAIR, 1, 1,
    ),
    "a pair that both split": (
        Kind.DOUBLE_STAR, showing(0.7, 0.0, 96.0), showing(0.9, 0.0, 200.0), Lesson.NONE, 0, 1,
    ),
    "a globular cluster with stars of 12.2": (
        Kind.GLOBULAR_CLUSTER, showing(1.1, 0.1, 40.0, 11.5), showing(1.3, 0.2, 150.0, 13.6),
        Lesson.STARS, 1, 1,
    ),
    "a globular cluster that both resolve": (
        Kind.GLOBULAR_CLUSTER, showing(1.1, 0.1, 40.0, 12.9), showing(1.3, 0.2, 150.0, 13.6),
        Lesson.NONE, 0, 1,
    ),
    "a faint glow": (
        Kind.GALAXY, showing(0.3, 0.1, 40.0), showing(0.9, 0.2, 100.0), Lesson.LIGHT, 1, 1,
    ),
    "a bright one, larger in the large one": (
        Kind.GALAXY, showing(1.3, 0.1, 40.0), showing(1.25, 0.2, 100.0), Lesson.NONE, 0, 1,
    ),
    "the same in both": (
        Kind.GALAXY, showing(1.3, 0.1, 80.0), showing(1.35, 0.1, 84.0), Lesson.NONE, 0, 0,
    ),
}  # fmt: skip


@pytest.mark.parametrize(
    ("kind", "small", "large", "lesson", "shown_by", "better"), LESSONS.values(), ids=LESSONS
)
def test_where_comparing_teaches(
    kind: Kind, small: Showing, large: Showing, lesson: Lesson, shown_by: int, better: int
) -> None:
    """And which telescope a target goes to: common practice."""
    found, by = lessons_of((target(kind),), small, large)
    assert (int(found[0]), int(by[0])) == (lesson, shown_by)
    assert better_by(small, large)[0] == better
    assert better_by(large, small)[0] == -better
