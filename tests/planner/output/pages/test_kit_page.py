"""The kit on one page: circles and ladder measured in the page itself."""

from __future__ import annotations

import math
import re
from datetime import date

import pytest

from planner.advice.audit import audit_kit
from planner.config.settings import example_settings
from planner.output.drawing.ladder import Ladder, Rung, ladder_lines, ladder_svg
from planner.output.pages.kit import kit_html
from targets.catalogue.catalogue import load_catalogue


@pytest.fixture(scope="module")
def page() -> str:
    """Return the page of the example's kit: 200 mm f/6."""
    settings = example_settings(today=date(2026, 12, 8))
    report = audit_kit(settings, settings.kit.telescopes[0])
    return kit_html(report, load_catalogue(), ("A sentence.",))


def _radii(page: str, name: str) -> list[float]:
    (drawing,) = re.findall(r'<svg class="field-circles".*?</svg>', page)
    return [float(r) for r in re.findall(rf'<circle class="{name}"[^>]*r="([\d.]+)"', drawing)]


def test_the_circles_are_to_scale(page: str) -> None:
    """Stops of 27 and 46 mm at 1200 mm, by hand; the rest by the one scale."""
    largest = {stop: 2.0 * math.degrees(math.atan(stop / 2400.0)) * 60.0 for stop in (27.0, 46.0)}
    dashed = sorted(_radii(page, "outline"))
    assert dashed[1] / dashed[0] == pytest.approx(largest[46.0] / largest[27.0], rel=1e-3)
    scale = dashed[0] / (largest[27.0] / 2.0)
    fields = [2.0 * radius / scale for radius in _radii(page, "field")]
    assert len(fields) == 5
    # 30 mm: its stop of 36.5 mm, 104.5'; 12 mm of 60 deg at 100x: about 36'.
    assert max(fields) == pytest.approx(104.5, abs=0.5)
    assert sorted(fields)[2] == pytest.approx(36.0, abs=0.3)
    shape = re.search(r'data-name="M31"[^>]*rx="([\d.]+)" ry="([\d.]+)"', page)
    assert shape
    # Catalogue: 190' by 60'.
    assert 2.0 * float(shape[1]) / scale == pytest.approx(190.0, abs=1.0)
    assert 2.0 * float(shape[2]) / scale == pytest.approx(60.0, abs=1.0)


def test_the_page_stands_alone(page: str) -> None:
    """No script, nothing from elsewhere."""
    assert "<script" not in page
    outside = re.sub(r'xmlns="http://www.w3.org/2000/svg"', "", page)
    assert "http" not in outside
    assert "Near-doubles, less than 1.2 apart: 133x (B+) and 150x (D)." in page


def _ladder(*powers: float) -> Ladder:
    rungs = tuple(Rung(chr(65 + index), power) for index, power in enumerate(powers))
    return Ladder(rungs, 200.0, 30.0, 250.0)


def test_gaps_and_near_doubles_are_found_below_what_the_air_bears() -> None:
    """40, 90 (2.25), 100 (1.11), 200 (2.0, no gap); 400 and 410 are of no use anyway."""
    gaps, near = _ladder(40.0, 90.0, 100.0, 200.0, 400.0, 410.0).steps()
    assert [(one.magnification, two.magnification) for one, two in gaps] == [(40.0, 90.0)]
    assert [(one.magnification, two.magnification) for one, two in near] == [(90.0, 100.0)]


def test_equal_ratios_are_equal_steps_of_the_ladder() -> None:
    """50, 100 and 200 stand as far from each other."""
    places = [
        float(x)
        for x in re.findall(r'class="rung" d="M ([\d.]+)', ladder_svg(_ladder(50, 100, 200)))
    ]
    assert places[1] - places[0] == pytest.approx(places[2] - places[1], abs=0.2)
    assert places[0] < places[1]


def test_the_ladder_in_letters_has_equal_steps_too() -> None:
    """50, 100, 200: as far apart; below 30 and above 250 dots; from 200 to 500 a gap is told."""
    powers, rail, pupils = ladder_lines(_ladder(50, 100, 200), 70)
    places = [rail.index(letter) for letter in "ABC"]
    assert abs((places[1] - places[0]) - (places[2] - places[1])) <= 1
    assert rail.startswith(".")
    assert rail.endswith(".")
    assert "100x" in powers
    # 200 mm at 100x: 2 mm.
    assert pupils[powers.index("100x")] == "2"
    assert "=" in ladder_lines(_ladder(50, 120, 200), 70)[1]
    assert "=" not in rail
