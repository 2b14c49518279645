"""What counts as a preference, and what does not."""

from __future__ import annotations

from planner.journal.leaning import GlassChoice, find_leanings
from planner.model.leaning import Leaning

WIDE, LONG = ("26 mm 62", ""), ("12 mm 60", "2x Barlow")


def use(
    used: tuple[str, str] = WIDE,
    planned: tuple[str, str] | None = None,
    rating: int | None = None,
    target_class: str = "galaxy_small",
) -> GlassChoice:
    """Make a use of an eyepiece."""
    return GlassChoice(target_class, used, planned, rating)


def test_seven_of_nine() -> None:
    """Good ratings speak for, bad ones against, and those in the middle not at all."""
    uses = [*[use(rating=5)] * 4, *[use(rating=4)] * 3, *[use(rating=1)] * 2, *[use(rating=3)] * 9]
    assert find_leanings(uses) == (Leaning("galaxy_small", *WIDE, favoured=7, times=9),)


def test_to_overrule_the_plan_speaks_on_both_sides() -> None:
    """For what was taken, against what was planned; not so where it was regretted."""
    overruled = [use(LONG, planned=WIDE)] * 5
    assert find_leanings(overruled) == (
        Leaning("galaxy_small", *LONG, favoured=5, times=5),
        Leaning("galaxy_small", *WIDE, favoured=0, times=5),
    )
    regretted = [use(LONG, planned=WIDE, rating=2)] * 5
    assert find_leanings(regretted) == (Leaning("galaxy_small", *LONG, favoured=0, times=5),)


def test_to_follow_the_plan_is_no_opinion() -> None:
    """Otherwise the plan would confirm itself."""
    assert find_leanings([use(planned=WIDE)] * 50) == ()
    assert find_leanings([use()] * 50) == ()


def test_few_opinions_and_even_ones_are_no_habit() -> None:
    """A habit needs five opinions (README), and a side."""
    assert len(find_leanings([use(rating=5)] * 5)) == 1
    assert find_leanings([use(rating=5)] * 4) == ()
    assert find_leanings([use(rating=5)] * 6 + [use(rating=1)] * 6) == ()


def test_each_class_and_glass_for_itself() -> None:
    """Galaxies say nothing of planets, and a Barlow makes another eyepiece."""
    uses = [use(rating=5)] * 3 + [use(rating=5, target_class="jupiter")] * 3
    assert find_leanings(uses + [use(("26 mm 62", "2x Barlow"), rating=5)] * 3) == ()
