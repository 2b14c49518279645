"""Plans with two telescopes: no thing in two places, and no observer at two of them at once."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import combinations, pairwise
from typing import Any

import numpy as np
import pytest

from planner.config.conditions import conditions_tonight
from planner.config.preferences import default_preferences
from planner.ephemeris.almanac import find_night
from planner.ephemeris.kernel import Ephemeris
from planner.ephemeris.tracks import track_instants
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
    Mount,
    Observer,
    Pointing,
    Telescope,
    Train,
)
from planner.model.plan import Look, Plan
from planner.model.site import Site
from planner.planning.candidates import session_of
from planner.planning.circumstances import STEP_MIN, Circumstances, Wishes
from planner.planning.outlook.coming_nights import showpieces
from planner.planning.scheduling.scheduler import Slot, order_looks
from planner.planning.two_telescopes.abreast import look_abreast
from planner.planning.two_telescopes.arrangement import Arrangement, entry_of
from planner.planning.two_telescopes.comparing import chosen_to_compare
from planner.planning.two_telescopes.parts_in_use import things_owned
from planner.planning.two_telescopes.plan import TwoTelescopes, free_trains, plan_both
from planner.planning.two_telescopes.station import Stations, set_up
from planner.planning.two_telescopes.turning import turn_between
from targets.arrays import Codes
from targets.catalogue.catalogue import Catalogue
from targets.model import Kind

SMALL, LARGE = Barrel.ONE_AND_A_QUARTER, Barrel.TWO
SITES = (
    Site("Garden", 51.2, -2.4, 210.0, "Europe/London", 20.9),
    Site("Southern hills", -33.9, 150.5, 300.0, "Australia/Sydney", 21.5),
    Site("Equator", 0.0, -78.5, 2850.0, "America/Guayaquil", 21.5),
    Site("Town", 40.7, -73.9, 10.0, "America/New_York", 18.8),
)
LONG = Telescope("Long", 200.0, 1200.0, LARGE, (SMALL,), mount=Mount.ALTAZIMUTH, balance_g=250.0)
WIDE = Telescope("Wide", 80.0, 480.0, LARGE, (SMALL,), mount=Mount.ALTAZIMUTH)
OCTOBER = date(2026, 10, 8)  # before new moon


def eyepiece(focal_mm: float, count: int = 1, barrel: Barrel = SMALL) -> Eyepiece:
    """An invented eyepiece of 60 degrees."""
    name = f"{focal_mm:g} mm"
    return Eyepiece(name, (focal_mm,), (60.0,), barrel, eye_relief_mm=15.0, count=count)


BARLOW = Amplifier("Barlow", AmplifierKind.BARLOW, 2.0, SMALL)
O_III = Filter("O III", FilterKind.OIII, LARGE)
BOX = (eyepiece(30.0, barrel=LARGE), eyepiece(18.0), eyepiece(12.0), eyepiece(8.0))
# What the two telescopes have to share.
KITS = {
    "a box": Kit((LONG, WIDE), BOX, (BARLOW,), (O_III,)),
    "one eyepiece": Kit((LONG, WIDE), (eyepiece(20.0),)),
    "one eyepiece, a Barlow and a filter": Kit(
        (LONG, WIDE), (eyepiece(20.0),), (BARLOW,), (O_III,)
    ),
    "two eyepieces, a Barlow and a filter": Kit(
        (LONG, WIDE), (eyepiece(24.0), eyepiece(10.0)), (BARLOW,), (O_III,)
    ),
}


def kit_by_chance(dice: random.Random) -> Kit:
    """Any two telescopes, and a box of any size."""
    eyepieces = [
        eyepiece(focal_mm, dice.choice((1, 1, 2)), LARGE if focal_mm > 25.0 else SMALL)
        for focal_mm in dice.sample(
            (5.0, 7.0, 9.0, 12.0, 15.0, 20.0, 24.0, 30.0, 38.0), dice.randint(2, 6)
        )
    ]
    binoviewer = Amplifier("Pair", AmplifierKind.BINOVIEWER, 1.5, SMALL, clear_aperture_mm=22.0)
    amplifiers = [part for part in (BARLOW, binoviewer) if dice.random() < 0.5]
    filters = [O_III] if dice.random() < 0.6 else []
    telescopes = []
    for name in ("Long", "Wide"):
        aperture_mm, driven = dice.choice((60.0, 80.0, 150.0, 200.0, 300.0)), dice.random() < 0.5
        telescopes.append(
            Telescope(
                name,
                aperture_mm,
                aperture_mm * dice.choice((5.0, 6.0, 8.0)),
                LARGE,
                (SMALL,),
                mount=dice.choice(list(Mount)),
                driven=driven,
                pointing=dice.choice(list(Pointing)) if driven else Pointing.HAND,
                balance_g=dice.choice((None, 200.0)),
            )
        )
    return Kit(tuple(telescopes), tuple(eyepieces), tuple(amplifiers), tuple(filters))


@dataclass(frozen=True)
class Evening:
    """A night's sky, to plan with any kit, and the plans that were made."""

    catalogue: Catalogue
    ephemeris: Ephemeris
    made: dict[Any, Plan]

    def circumstances(self, kit: Kit, site: Site) -> tuple[Circumstances, Circumstances]:
        """Who looks through each of the telescopes."""
        observer = Observer(dark_pupil_mm=6.0)
        one, other = (
            Circumstances(
                observer=observer,
                telescope=telescope,
                table=tabulate_trains(make_trains(telescope, kit)),
                conditions=conditions_tonight(site, observer),
                preferences=default_preferences(),
            )
            for telescope in kit.telescopes
        )
        return one, other

    def plan(
        self,
        kit: Kit,
        observers: int,
        *,
        site: Site = SITES[0],
        day: date = OCTOBER,
        hours: float = 2.0,
        count: int | None = None,
    ) -> Plan:
        """Plan from an hour after dusk on; the same question once."""
        key = kit, observers, site.name, day, hours, count
        if key not in self.made:
            night = find_night(self.ephemeris, site, day)
            assert night.dusk is not None
            start = night.dusk.replace(second=0, microsecond=0) + timedelta(hours=1)
            self.made[key] = plan_both(
                self.catalogue,
                self.ephemeris,
                night,
                start=start,
                end=start + timedelta(hours=hours),
                two=TwoTelescopes(self.circumstances(kit, site), observers, things_owned(kit)),
                wishes=Wishes(rows=self.rows(), count=count),
            )
        return self.made[key]

    def stations(self, kit: Kit, site: Site, day: date) -> Stations:
        """Both telescopes with what they show, from an hour after dusk on."""
        night = find_night(self.ephemeris, site, day)
        assert night.dusk is not None
        start, pair = night.dusk + timedelta(hours=1), self.circumstances(kit, site)
        end = start + timedelta(hours=3)
        grid = track_instants(
            self.ephemeris, night, [start + k * timedelta(minutes=STEP_MIN) for k in range(37)]
        )
        one, other = (session_of(each, night, start, end, most_looks=None) for each in pair)
        return set_up(
            self.catalogue, self.ephemeris, grid, self.rows(), pair, (one, other), Wishes()
        )

    def rows(self) -> Codes:
        """What nearly everybody wants to see: enough to choose from, and quick."""
        return showpieces(self.catalogue)


@pytest.fixture(scope="session")
def evening(catalogue: Catalogue, ephemeris: Ephemeris) -> Evening:
    """Return the sky to plan under."""
    return Evening(catalogue, ephemeris, {})


def parts(train: Train) -> Counter[str]:
    """What a train takes out of the box, counted by the words of the issue: two for two eyes."""
    taken = Counter({train.eyepiece.name: 2 if train.eyes == 2 else 1})
    taken.update(part.name for part in (train.amplifier, train.filter) if part)
    return taken


def box(kit: Kit) -> Counter[str]:
    """What there is, by its names."""
    found = Counter({one.name: one.count for one in kit.eyepieces})
    found.update(part.name for part in (*kit.amplifiers, *kit.filters))
    return found


def trains(look: Look) -> Iterator[Train]:
    """Every train of a look: the one that it is planned for, and the views in turn."""
    yield look.view.train
    yield from (turn.view.train for turn in look.views)


def overlapping(plan: Plan) -> Iterator[tuple[Look, Look]]:
    """Pairs of looks that run at the same time."""
    for one, other in combinations(plan.looks, 2):
        if one.start < other.end and other.start < one.end:
            yield one, other


def through(look: Look) -> str:
    """The telescope of a look."""
    return look.view.train.telescope.name


def check_shared(plan: Plan, kit: Kit) -> int:
    """No thing is in both telescopes at one time; return how many pairs of looks were tried."""
    tried = 0
    for one, other in overlapping(plan):
        assert through(one) != through(other)
        for first in trains(one):
            for second in trains(other):
                taken = parts(first) + parts(second)
                assert all(count <= box(kit)[name] for name, count in taken.items()), taken
        tried += 1
    return tried


def check_compared(plan: Plan) -> None:
    """A target comes twice only where comparing teaches something, and that is three times."""
    names = [look.target.id for look in plan.looks]
    both = {name for name in names if names.count(name) > 1}
    for look in plan.looks:
        assert look.together is not None
        assert bool(look.together.compares) == (look.target.id in both)
    assert all(names.count(name) == 2 for name in both)
    assert len(both) <= 3


@pytest.mark.parametrize("kit", KITS.values(), ids=KITS)
def test_two_people_never_share_a_thing(evening: Evening, kit: Kit) -> None:
    """Whatever the box holds; with a box of four eyepieces looks do run side by side."""
    plan = evening.plan(kit, 2)
    tried = check_shared(plan, kit)
    check_compared(plan)
    assert plan.looks
    assert tried >= 4 or len(kit.eyepieces) < 4


@pytest.mark.parametrize("kit", [*KITS.values()][-2:], ids=[*KITS][-2:])
def test_one_observer_never_looks_twice_at_once(evening: Evening, kit: Kit) -> None:
    """Not even to compare: a minute at least to turn, and what both hold then differs."""
    plan = evening.plan(kit, 1)
    assert not list(overlapping(plan))
    check_compared(plan)
    for one, other in pairwise(plan.looks):
        if through(one) != through(other):
            assert other.start - one.end >= timedelta(minutes=1)


def test_one_observer_compares_in_turn(evening: Evening) -> None:
    """A minute to turn at least, the way there shared, and different things in both meanwhile."""
    plan = evening.plan(KITS["a box"], 1, day=date(2026, 12, 8), hours=3.0)
    assert not list(overlapping(plan))
    check_compared(plan)
    pairs = [
        (one, other) for one, other in pairwise(plan.looks) if one.target.id == other.target.id
    ]
    assert pairs
    for one, other in pairs:
        assert timedelta(minutes=2) <= other.start - one.end <= timedelta(minutes=6)
        assert (through(one), through(other)) == ("Wide", "Long")
        assert not any(parts(a) & parts(b) for a in trains(one) for b in trains(other))


def test_a_few_are_compared_however_much_they_teach(evening: Evening) -> None:
    """Three at most, and two that teach the same."""
    kit = KITS["a box"]
    found = evening.stations(kit, SITES[0], OCTOBER)
    order = order_looks(found.each[0].candidates, found.each[0].session)
    entries = [entry_of(0, slot) for slot in order.slots]
    rows = np.arange(len(found.lesson))
    teaching = replace(found, teaches=np.ones(len(rows)), lesson=np.ones(len(rows), dtype=np.intp))
    assert len(chosen_to_compare(teaching, entries, things_owned(kit))) == 2
    teaching = replace(teaching, lesson=rows)
    assert len(chosen_to_compare(teaching, entries, things_owned(kit))) == 3


def by_chance(evening: Evening, seed: int) -> None:
    """Plan for any kit, place and date, and check all that holds for every plan."""
    dice = random.Random(seed)  # noqa: S311  # not for secrets
    kit, site = kit_by_chance(dice), dice.choice(SITES)
    day, count = (
        date(2026, 1, 1) + timedelta(days=dice.randrange(700)),
        dice.choice((None, None, 5)),
    )
    for observers in (1, 2):
        plan = evening.plan(kit, observers, site=site, day=day, count=count)
        check_shared(plan, kit)
        check_compared(plan)
        assert count is None or len(plan.looks) <= count
        if observers == 1:
            assert not list(overlapping(plan))
        for telescope in kit.telescopes:
            told = f"{telescope.name} has no look in this plan" in " ".join(plan.notes)
            idle = telescope.name not in {through(look) for look in plan.looks}
            assert told == (idle and bool(plan.looks))
        for look in plan.looks:
            assert plan.start <= look.start < look.end <= plan.end
            assert look.slack is not None
            assert look.slack.closes is None or look.end <= look.slack.closes + timedelta(minutes=1)


@pytest.mark.parametrize("seed", range(2))
def test_any_two_telescopes_share_fairly(evening: Evening, seed: int) -> None:
    """Kits, places and dates by chance."""
    by_chance(evening, seed)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(100, 180))
def test_any_two_telescopes_share_fairly_often(evening: Evening, seed: int) -> None:
    """The same many times."""
    by_chance(evening, seed)


@pytest.mark.parametrize(("name", "observers"), [("a box", 1), ("a box", 2), ("one eyepiece", 2)])
def test_two_are_worth_as_much_as_the_better_one(
    evening: Evening, name: str, observers: int
) -> None:
    """By the plan's own objective, each telescope alone ordered by the same search."""
    kit = KITS[name]
    stations = evening.stations(kit, SITES[0], OCTOBER)
    arrange: Callable[..., Any] = turn_between if observers == 1 else look_abreast
    found = arrange(stations, things_owned(kit))
    alone = [order_looks(one.candidates, one.session).worth for one in stations.each]
    assert found.worth >= max(alone) * 0.999
    if name == "a box" and observers == 2:
        assert found.worth > 1.3 * max(alone)


def test_two_people_hand_a_single_eyepiece_over(evening: Evening) -> None:
    """No two looks run at a time: one looks while the other finds, and has to wait for it."""
    plan = evening.plan(KITS["one eyepiece"], 2)
    assert plan.looks
    assert not list(overlapping(plan))


def test_something_is_there_to_find_with(evening: Evening) -> None:
    """The only eyepiece is in the other telescope until two minutes before a look with a filter."""
    kit = KITS["one eyepiece, a Barlow and a filter"]
    stations = evening.stations(kit, SITES[0], OCTOBER)
    other = stations.each[1]
    columns = np.full(len(other.columns), np.argmax(other.circumstances.table.filter_code > 0))
    stations = stations.with_station(1, replace(other, columns=columns))
    one, late = entry_of(0, Slot(0, 60.0, 80.0, 6.0)), entry_of(1, Slot(1, 82.0, 95.0, 10.0))
    found = Arrangement(stations, (one, late), (), 0.0)
    free = free_trains(found, late, [], things_owned(kit), (72.0, 82.0))
    assert free[other.circumstances.table.filter_code == 0].any()


def test_who_needs_a_thing_less_says_where_it_is(evening: Evening) -> None:
    """What would suit better is in the other telescope while the look lasts."""
    plan = evening.plan(KITS["a box"], 2)
    told = [look for look in plan.looks if look.together and look.together.elsewhere]
    assert told
    for look in told:
        assert look.together is not None
        for name, telescope, until in look.together.elsewhere:
            assert telescope != through(look)
            assert name not in parts(look.view.train)
            assert until > look.start - timedelta(minutes=2)
            holders = [one for one in plan.looks if through(one) == telescope]
            assert any(name in parts(one.view.train) for one in holders)


def test_wide_targets_go_to_the_wide_telescope(evening: Evening) -> None:
    """Andromeda and the Pleiades are over 100 arcmin, the Ring and the Dumbbell 1 and 8."""
    plan = evening.plan(KITS["a box"], 2, hours=4.0)
    seen = {(look.target.id, through(look)) for look in plan.looks}
    assert {("NGC224", "Wide"), ("M45", "Wide")} <= seen
    assert {("NGC6720", "Long"), ("NGC6853", "Long")} <= seen


def test_what_needs_power_is_not_looked_at_without(evening: Evening) -> None:
    """With 30 mm (16x in the short one) and 8 mm, discs and pairs wait for the 8 mm."""
    kit = Kit((LONG, WIDE), (BOX[0], BOX[-1]))
    plan = evening.plan(kit, 2, hours=4.0)
    assert {through(look) for look in plan.looks} == {"Long", "Wide"}
    for look in plan.looks:
        if look.target.kind in {Kind.PLANETARY_NEBULA, Kind.PLANET, Kind.DOUBLE_STAR}:
            assert look.view.train.magnification > 40.0


def test_the_time_of_looks_without_a_train_is_filled(
    evening: Evening, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The same evening is worth more than with gaps where they had been."""
    kit = Kit((LONG, WIDE), (BOX[0], BOX[-1]))
    stations = evening.stations(kit, SITES[0], date(2026, 12, 8))
    filled = look_abreast(stations, things_owned(kit))
    monkeypatch.setattr("planner.planning.two_telescopes.abreast.REFILLS", 0)
    assert filled.worth > look_abreast(stations, things_owned(kit)).worth


def test_what_both_look_at_is_found_once(evening: Evening) -> None:
    """Of two looks at a target the first finds it; the other observer is shown the way."""
    plan = evening.plan(KITS["a box"], 2, hours=4.0)
    pairs = [
        (one, other)
        for one, other in combinations(plan.looks, 2)
        if one.target.id == other.target.id
    ]
    assert pairs
    for one, other in pairs:
        assert one.together is not None
        assert other.together is not None
        assert not one.together.found_in
        assert other.together.found_in == through(one)
        assert one.start <= other.start
