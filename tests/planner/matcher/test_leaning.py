"""Experience tips the balance, within bounds, and says so."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_array_equal

from planner.config.preferences import class_words, default_preferences
from planner.matcher.leaning import leaning_clause
from planner.matcher.rating import rate_trains
from planner.matcher.target_classes import target_table_of
from planner.matcher.views import best_column, ranked_views, view_through
from planner.model.leaning import Leaning

CLUSTER = "M13"


def rated(bench: Any, targets: list[Any], *leanings: Leaning) -> Any:
    """Rate targets with leanings."""
    target_table = target_table_of(targets, bench.preferences)
    ratings = rate_trains(
        target_table,
        bench.moment(len(target_table)),
        bench.table,
        telescope=bench.kit.telescopes[0],
        observer=bench.observer,
        conditions=bench.conditions,
        preferences=bench.preferences,
        leanings=tuple(leanings),
    )
    return replace(bench.rate(targets), ratings=ratings)


def glass(train: Any) -> tuple[str, str]:
    """Name the eyepiece and the amplifier of a train."""
    return train.eyepiece.name, train.amplifier.name if train.amplifier else ""


@pytest.fixture
def second(sky: Any, bench: Any) -> Any:
    """Return the train that comes second on a globular cluster, close behind the first."""
    case = bench.rate([sky.target(CLUSTER)]).case()
    winner = bench.table.trains[best_column(case)]
    order = np.argsort(-case.ratings.score[0], kind="stable")
    return next(
        bench.table.trains[k]
        for k in order
        if glass(bench.table.trains[k]) != glass(winner) and not bench.table.trains[k].filter
    )


def test_without_leanings_nothing_changes(sky: Any, bench: Any) -> None:
    """No journal, no difference: every number is the same, and there is no further part."""
    targets = sky.targets("M13 M31 M57 Jupiter")
    plain, none = bench.rate(targets).ratings, rated(bench, targets).ratings
    assert_array_equal(plain.score, none.score)
    assert "leaning" not in none.parts
    assert none.leaning(0, 0) is None


def test_a_leaning_concerns_its_class_and_glass_alone(sky: Any, bench: Any, second: Any) -> None:
    """Other classes of target and other glass keep their scores; a filter makes no difference."""
    targets = sky.targets("M13 M31")
    leaning = Leaning("globular_cluster", *glass(second), favoured=9, times=9)
    before, after = bench.rate(targets).ratings, rated(bench, targets, leaning).ratings
    same = np.array([glass(train) == glass(second) for train in bench.table.trains])
    assert_array_equal(after.score[1], before.score[1])
    assert_array_equal(after.score[0, ~same], before.score[0, ~same])
    assert_array_equal(
        after.score[0, same], np.minimum(before.score[0, same] * leaning.factor, 1.0)
    )
    assert after.leaning_code is not None
    assert set(after.leaning_code[0, ~same]) == {-1}


def test_experience_decides_between_nearly_equal_trains(sky: Any, bench: Any, second: Any) -> None:
    """The second wins then, and reasons, brief and the loser's fault tell why."""
    leaning = Leaning("globular_cluster", *glass(second), favoured=40, times=40)
    case = rated(bench, [sky.target(CLUSTER)], leaning).case()
    view = view_through(case, best_column(case))
    assert glass(view.train) == glass(second)
    name = " + ".join(filter(None, glass(second)))
    assert f"you preferred the {name} on globular clusters, 40 of 40 times" in view.reasons
    assert "you preferred it 40 of 40 times" in view.brief
    assert view.parts["leaning"] == leaning.factor


def test_what_is_passed_over_says_so(sky: Any, bench: Any) -> None:
    """A winner of before that is avoided loses to one close behind, and the list says why."""
    target = sky.target(CLUSTER)
    plain = bench.rate([target]).case()
    winner = bench.table.trains[best_column(plain)]
    leaning = Leaning("globular_cluster", *glass(winner), favoured=0, times=30)
    views = ranked_views(rated(bench, [target], leaning).case())
    assert glass(views[0].train) != glass(winner)
    (loser,) = [view for view in views if view.train == winner]
    assert loser.score >= 0.9 * float(plain.ratings.score[0].max())
    assert loser.reasons in {("you passed over it 30 of 30 times",), ("as good",)}


def test_experience_overrules_no_veto(sky: Any, bench: Any) -> None:
    """What cannot show the target stays where it is, whatever was preferred."""
    target = sky.target("M31")
    plain = bench.rate([target]).ratings
    worst = int(np.argmin(plain.score[0]))
    leaning = Leaning(
        "galaxy_large_faint", *glass(bench.table.trains[worst]), favoured=99, times=99
    )
    after = rated(bench, [target], leaning).ratings
    assert np.argmax(after.score[0]) == np.argmax(plain.score[0])
    assert after.score.max() <= 1.0


@pytest.mark.parametrize("times", [5, 9, 100, 100_000])
def test_the_factor_is_bounded_and_grows(times: int) -> None:
    """Never a tenth or more; the more on one side, the further; half and half is nothing."""
    factors = [
        Leaning("galaxy", "a", "", favoured=n, times=times).factor
        for n in np.linspace(0, times, 5, dtype=int)
    ]
    assert factors[0] > 0.9
    assert factors[-1] < 1.1
    assert factors == sorted(factors)
    assert Leaning("galaxy", "a", "", favoured=3, times=6).factor == 1.0


def test_words_are_those_of_an_observer() -> None:
    """As in the issue of a newsletter: the glass, the targets, the count."""
    leaning = Leaning("galaxy_small", "12 mm 60", "2x Barlow", favoured=7, times=9)
    text = leaning_clause(leaning)
    assert text == "you preferred the 12 mm 60 + 2x Barlow on small galaxies, 7 of 9 times"
    against = replace(leaning, favoured=2, amplifier="")
    assert leaning_clause(against) == "you passed over the 12 mm 60 on small galaxies, 7 of 9 times"
    names = [class_words(preference.name) for preference in default_preferences().classes]
    assert len(set(names)) == len(names)
    assert not [name for name in names if "_" in name or name.endswith(("ys", "ss"))]
