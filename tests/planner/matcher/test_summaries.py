"""The one line of a plan about a view: short, and no other story than the reasons tell."""

from __future__ import annotations

import re
from typing import Any

import pytest

from planner.matcher.views import best_column, view_through

VARIED = (
    "M31 M42 M45 M13 M57 M27 M81 M1 NGC7293 NGC7662 C14 NGC7789 NGC7000 B33 M40 M24 3C273 "
    "Jupiter Saturn Neptune Moon"
)


@pytest.mark.parametrize("name", VARIED.split())
@pytest.mark.parametrize("sky_mag", [18.5, 21.3])
def test_a_brief_is_one_line_and_true(name: str, sky_mag: float, sky: Any, bench: Any) -> None:
    """It fits beside the times, and each number in it stands in the reasons or warnings too."""
    case = bench.but(sky_mag_arcsec2=sky_mag).rate([sky.target(name)]).case()
    view = view_through(case, best_column(case))
    assert 0 < len(view.brief) <= 67  # what the times leave of 80 columns
    assert "nan" not in view.brief
    assert "  " not in view.brief
    told = "; ".join((*view.reasons, *view.warnings, f"air bears {case.ratings.most_power[0]:.0f}"))
    assert set(re.findall(r"\d+(?:\.\d+)?", view.brief)) <= set(re.findall(r"\d+(?:\.\d+)?", told))


def test_a_brief_names_size_field_and_rival(sky: Any, bench: Any) -> None:
    """What is seen of M31 nearly fills the widest field that suits; a wider one is too bright."""
    case = bench.rate([sky.target("M31")]).case()
    brief = view_through(case, best_column(case)).brief
    assert re.match(r"1\d\d' in 115'; ", brief)
    assert brief.endswith(": exit pupil 6.0 mm is large")


def test_a_brief_tells_what_the_filter_gains(sky: Any, bench: Any) -> None:
    """The Veil wants a filter, and the line says what for."""
    case = bench.rate([sky.target("NGC6960")]).case()
    view = view_through(case, best_column(case))
    gain = re.search(r"lifts the contrast by (\d\.\d) mag", "; ".join(view.reasons))
    assert gain is not None
    assert f"filter gains {gain[1]} mag" in view.brief
