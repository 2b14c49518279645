"""Draws the way to a target: the sky around it, and the field of each move."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from planner.ephemeris.kernel import Ephemeris
from planner.ephemeris.tracks import track_instants
from planner.model.finding import Finding, Step, Waypoint
from planner.model.kit import Mount, Orientation
from planner.model.night import Night
from planner.model.plan import Look
from planner.output.drawing.field import FAINTEST_IN_FILE_MAG, round_length_arcmin, view_words
from planner.output.drawing.marks import FieldDrawing, Label, Outline, Star, Track
from planner.output.drawing.orientation import ViewOrientation, tangent_plane_arcmin
from planner.output.drawing.target_marks import star_weight
from planner.planning.circumstances import Circumstances
from planner.planning.finding.instruments import Instrument, Instruments, instruments_of
from planner.planning.finding.star_sky import MomentSky
from planner.planning.look import LookReport
from targets.arrays import Floats, runs_of
from targets.bright_stars import load_bright_stars
from targets.double_stars.doubles import julian_year
from targets.field_stars import load_field_stars
from targets.frozen import frozen
from targets.model import Target
from targets.sphere import angle_deg, place_deg, unit_vectors

# The sky around a target is drawn at least so wide [deg], and this much wider than the way.
LEAST_WIDE_DEG, ROOM = 30.0, 1.5
# Wider drawings would be mostly edge: the plane that touches the sky stretches there [deg].
MOST_WIDE_DEG = 90.0
HORIZON_STEP_DEG = 2.0
# So many stars show a figure, and keep a page small.
SKETCH_STARS, LEAST_WEIGHT = 45, 0.3
# A small circle around where the target is [parts of the span].
TARGET_MARK = 0.02


@frozen
class WayDrawing:
    """One drawing of the way, and its title."""

    title: str
    field: FieldDrawing


@frozen
class _Chart:
    """A round part of the sky as something shows it, with its middle at a direction."""

    middle: Floats
    span_arcmin: float
    frame: ViewOrientation

    def places(self, directions: Floats) -> Floats:
        """Return where directions ``(M, 3)`` stand: right and up [arcmin], ``(M, 2)``."""
        ra_deg, dec_deg = place_deg(directions)
        middle_ra, middle_dec = (float(angle) for angle in place_deg(self.middle))
        east, north = tangent_plane_arcmin(
            ra_deg, dec_deg, center_ra_deg=middle_ra, center_dec_deg=middle_dec
        )
        return np.stack(self.frame.place(east, north), axis=-1)

    def place(self, point: Waypoint) -> tuple[float, float]:
        """Return where a star or target stands [arcmin]."""
        x, y = self.places(unit_vectors(point.ra_deg, point.dec_deg)[None, :])[0]
        return float(x), float(y)

    def stars(self, directions: Floats, magnitude: Floats, faintest_mag: float) -> list[Star]:
        """Return the stars of the chart, the faintest first."""
        radius_deg = self.span_arcmin / 120.0
        near = directions @ self.middle >= math.cos(math.radians(radius_deg))
        rows = np.flatnonzero(near & (magnitude <= faintest_mag))
        rows = rows[np.argsort(-magnitude[rows], kind="stable")]
        places = self.places(directions[rows])
        inside = np.hypot(*places.T) <= self.span_arcmin / 2.0
        return [
            Star(float(x), float(y), star_weight(float(magnitude[row]), faintest_mag))
            for row, (x, y) in zip(rows[inside], places[inside], strict=True)
        ]


def draw_way(
    report: LookReport, ephemeris: Ephemeris, circumstances: Circumstances
) -> list[WayDrawing]:
    """Draw the sky around a target as the eye sees it, then the field of each move.

    Returns
    -------
    list of WayDrawing
        Empty where there is no way. The first is upright with the zenith above; the others are as
        the instrument turns them. An arrow is the move, a circle the field of the low eyepiece
        where it ends.
    """
    finding, target, instruments = report.finding, report.target, instruments_of(circumstances)
    if finding is None or instruments is None:
        return []
    grid = track_instants(ephemeris, report.night, [report.at])
    moment = MomentSky(grid, 0, circumstances.conditions)
    mount = circumstances.telescope.mount
    drawings = [WayDrawing("the sky around it", _wide(finding, target, moment, instruments))]
    for number, step in enumerate(finding.steps, start=1):
        guide = next(one for one in instruments.guides if one.name == step.instrument)
        field = _move(step, moment, guide, instruments, mount)
        drawings.append(WayDrawing(f"{number}: {guide.name}", field))
    return drawings


def sketch_ways(
    looks: Sequence[Look], ephemeris: Ephemeris, night: Night, circumstances: Circumstances
) -> list[FieldDrawing | None]:
    """Sketch the way to each look at its start, small: the sky to the eye, its brightest stars.

    Parameters
    ----------
    looks : sequence of Look
        Of a plan.

    Returns
    -------
    list of FieldDrawing or None
        None where no moves lead.
    """
    instruments = instruments_of(circumstances)
    if instruments is None or not looks:
        return [None] * len(looks)
    grid = track_instants(ephemeris, night, [look.start for look in looks])
    return [
        _wide(
            look.finding,
            look.target,
            MomentSky(grid, step, circumstances.conditions),
            instruments,
            most_stars=SKETCH_STARS,
        )
        if look.finding is not None and look.finding.steps
        else None
        for step, look in enumerate(looks)
    ]


def _wide(
    finding: Finding,
    target: Target,
    moment: MomentSky,
    instruments: Instruments,
    *,
    most_stars: int | None = None,
) -> FieldDrawing:
    goal = unit_vectors(target.ra_deg or 0.0, target.dec_deg or 0.0)
    start = goal if finding.start is None else _direction(finding.start)
    middle = _middle(start, goal)
    span_deg = max(LEAST_WIDE_DEG, 2.0 * ROOM * float(angle_deg(middle, goal)))
    span_arcmin = 60.0 * min(span_deg, MOST_WIDE_DEG)
    up = ViewOrientation(moment.zenith_angle_deg(middle), Orientation.UPRIGHT)
    chart = _Chart(middle, span_arcmin, up)
    stars = load_bright_stars()
    directions = stars.directions(julian_year(moment.grid.instant(0)))
    limit = float(moment.limits_mag(middle[None, :], instruments)[0, 0])
    x, y = (float(value) for value in chart.places(goal[None, :])[0])
    labels = [Label(x, y, _short(target.name))]
    shown = chart.stars(directions, stars.magnitude, limit)
    if most_stars is not None:
        shown = [replace(x, weight=max(x.weight, LEAST_WEIGHT)) for x in shown[-most_stars:]]
    if finding.steps and finding.start is not None:
        labels.append(Label(*chart.place(finding.start), _short(finding.start.name)))
    return FieldDrawing(
        span_arcmin=span_arcmin,
        field_arcmin=span_arcmin,
        stars=tuple(shown),
        outlines=(Outline(x, y, TARGET_MARK * span_arcmin, TARGET_MARK * span_arcmin),),
        labels=tuple(labels),
        tracks=(*_arrows(finding, chart), *_horizon(moment, chart)),
        **up.cardinals(),
        scale_arcmin=round_length_arcmin(span_arcmin),
        words="to the naked eye, zenith above",
        faintest_mag=limit,
    )


def _move(
    step: Step, moment: MomentSky, guide: Instrument, instruments: Instruments, mount: Mount
) -> FieldDrawing:
    start, end = _direction(step.start), _direction(step.end)
    middle = _middle(start, end)
    span_arcmin = 60.0 * max(guide.field_deg, ROOM * step.separation_deg)
    latitude_deg = moment.grid.night.site.latitude_deg
    up_deg = moment.zenith_angle_deg(middle)
    if mount is Mount.EQUATORIAL:
        up_deg = 0.0 if latitude_deg >= 0.0 else 180.0
    frame = ViewOrientation(up_deg, guide.orientation)
    chart = _Chart(middle, span_arcmin, frame)
    ra_deg, dec_deg = place_deg(middle)
    near = load_field_stars().within(float(ra_deg), float(dec_deg), span_arcmin / 120.0)
    index = instruments.guides.index(guide)
    limit = float(moment.limits_mag(middle[None, :], instruments)[1 + index, 0])
    faintest = min(limit, FAINTEST_IN_FILE_MAG)
    low_arcmin = 60.0 * instruments.eyepiece.field_deg / 2.0
    return FieldDrawing(
        span_arcmin=span_arcmin,
        field_arcmin=span_arcmin,
        stars=tuple(chart.stars(unit_vectors(near.ra_deg, near.dec_deg), near.magnitude, faintest)),
        outlines=(Outline(*chart.place(step.end), low_arcmin, low_arcmin),),
        tracks=(Track((chart.place(step.start), chart.place(step.end)), is_arrow=True),),
        **frame.cardinals(),
        scale_arcmin=round_length_arcmin(span_arcmin),
        words=view_words(guide.orientation, mount, latitude_deg),
        faintest_mag=faintest,
        limit_mag=limit if limit > FAINTEST_IN_FILE_MAG else None,
    )


def _arrows(finding: Finding, chart: _Chart) -> list[Track]:
    return [
        Track((chart.place(step.start), chart.place(step.end)), is_arrow=True)
        for step in finding.steps
    ]


def _horizon(moment: MomentSky, chart: _Chart) -> Iterator[Track]:
    """Return the horizon where it crosses a chart: the true one, without hills or air."""
    azimuth = np.radians(np.arange(0.0, 360.0 + HORIZON_STEP_DEG, HORIZON_STEP_DEG))
    north, east, _ = moment.axes
    directions = np.cos(azimuth)[:, None] * north + np.sin(azimuth)[:, None] * east
    radius_deg = chart.span_arcmin / 120.0
    seen = angle_deg(directions, chart.middle) <= radius_deg
    for first, last in runs_of(seen):
        if last - first > 1:
            places = chart.places(directions[first:last])
            yield Track(tuple((float(x), float(y)) for x, y in places))


def _direction(point: Waypoint) -> Floats:
    return unit_vectors(point.ra_deg, point.dec_deg)


def _middle(first: Floats, second: Floats) -> Floats:
    both = first + second
    return np.asarray(both / np.linalg.norm(both))


def _short(name: str) -> str:
    """Return what fits beside a mark: the number of a target, the name of a star."""
    if name.startswith("a "):
        return ""
    bare = name.partition(" (")[0]
    first, *others = bare.split()
    if any(letter.isdigit() for letter in first):
        return first
    return f"{first} {others[0]}" if others and others[0].isdigit() else bare
