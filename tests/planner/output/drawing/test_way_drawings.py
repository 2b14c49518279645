"""The way to a target drawn: what stands where, turned as the finder turns it."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime
from typing import Any

import pytest

from planner.config.settings import example_settings
from planner.ephemeris.almanac import find_night
from planner.ephemeris.kernel import Ephemeris
from planner.model.kit import Finder, Orientation
from planner.output.drawing.finding import WayDrawing, draw_way
from planner.output.drawing.marks import Track
from planner.output.drawing.svg import field_svg
from planner.output.drawing.terminal import field_cells
from planner.planning.look import LookReport, look_at
from planner.request.circumstances import circumstances_of
from planner.request.options import Readings
from targets.catalogue.catalogue import load_catalogue

Draw = Callable[..., tuple[LookReport, list[WayDrawing]]]
# M1 stands 1.1 deg from zeta Tau toward the north-west (J2000 places of both): 60 arcmin a degree.
M1_FROM_ZETA_TAU_ARCMIN = 68.0


@pytest.fixture(scope="module")
def draw(ephemeris: Ephemeris) -> Draw:
    """Return a function that draws the way to a target through a finder that turns the view."""

    def draw(
        name: str, at: str, orientation: Orientation = Orientation.INVERTED
    ) -> tuple[LookReport, list[WayDrawing]]:
        settings = example_settings(today=date(2026, 12, 8))
        site, circumstances = circumstances_of(
            settings, site=None, telescope=None, readings=Readings()
        )
        around = replace(circumstances, finders=(Finder("finder", orientation=orientation),))
        night = find_night(ephemeris, site, date(2026, 12, 8))
        instant = datetime.fromisoformat(at).replace(tzinfo=UTC)
        report = look_at(load_catalogue().find(name), ephemeris, night, around, at=instant)
        return report, draw_way(report, ephemeris, around)

    return draw


def arrow(drawing: WayDrawing) -> tuple[float, float]:
    """How far right and up an arrow goes [arcmin]."""
    (track,) = (track for track in drawing.field.tracks if track.is_arrow)
    (x, y), (to_x, to_y) = track.points
    return to_x - x, to_y - y


def test_the_arrow_is_as_long_as_the_move_and_turns_with_the_finder(draw: Draw) -> None:
    """Up and right as the mount moves; inverted down and left, mirrored up and left."""
    at = "2026-12-09T00:35:00"
    report, drawn = draw("M1", at, Orientation.UPRIGHT)
    assert report.finding is not None
    assert report.finding.steps[0].direction == "up and right"
    right, up = arrow(drawn[1])
    assert math.hypot(right, up) == pytest.approx(M1_FROM_ZETA_TAU_ARCMIN, abs=1.5)
    assert right > 0.0 < up
    inverted, mirrored = (
        arrow(draw("M1", at, orientation)[1][1])
        for orientation in (Orientation.INVERTED, Orientation.MIRRORED)
    )
    assert inverted == pytest.approx((-right, -up), abs=0.01)
    assert mirrored == pytest.approx((-right, up), abs=0.01)


def test_the_finder_s_field_has_the_next_field_at_the_arrow_s_head(draw: Draw) -> None:
    """7 deg wide; a circle of the low eyepiece's 104' where the move ends; stars to its limit."""
    _, drawn = draw("M1", "2026-12-09T00:35:00")
    field = drawn[1].field
    assert field.span_arcmin == 7.0 * 60.0
    (circle,) = field.outlines
    assert circle.semi_major == pytest.approx(104.3 / 2.0, abs=0.1)
    (track,) = field.tracks
    assert (circle.x, circle.y) == pytest.approx(track.points[-1])
    assert 7.5 < (field.faintest_mag or 0.0) < 9.5
    assert len(field.stars) > 20
    assert "inverted, zenith below" in field.words


def test_the_sky_around_has_start_target_and_horizon(draw: Draw) -> None:
    """The whole way by eye; with the target low, the horizon crosses it."""
    _, drawn = draw("M1", "2026-12-09T00:35:00")
    wide = drawn[0].field
    assert {label.text for label in wide.labels} == {"Tien Kwan", "M1"}
    assert not [track for track in wide.tracks if not track.is_arrow]
    _, drawn = draw("M42", "2026-12-08T20:00:00")
    horizon = [track for track in drawn[0].field.tracks if not track.is_arrow]
    assert horizon
    assert all(y < drawn[0].field.outlines[0].y for track in horizon for _, y in track.points)


def test_arrows_are_drawn_by_both_renderers(draw: Draw) -> None:
    """Without the track the drawing is another one."""
    _, drawn = draw("M1", "2026-12-09T00:35:00")
    with_arrow, without = drawn[1].field, replace(drawn[1].field, tracks=())
    size: dict[str, Any] = {"columns": 38, "rows": 19}
    assert field_cells(with_arrow, **size) != field_cells(without, **size)
    assert field_svg(with_arrow, title="x").count('class="drift"') == 3
    assert field_svg(without, title="x").count('class="drift"') == 1
    line = replace(without, tracks=(Track(((-50.0, 0.0), (50.0, 0.0))),))
    assert 'class="outline" d="M' in field_svg(line, title="x")
