"""The light of a field laid out on a map: glows by their profiles, discs by their phases."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from planner.output.appearance.glow import Glow
from planner.output.drawing.marks import Disc, Outline, Ring, turned
from targets.arrays import Flags, Floats
from targets.frozen import frozen

# Toward the middle, where profiles are steep and targets small, a cell is taken apart into the
# more points: within so many cells of it, so many each way. The last level is the finest.
LEVELS = ((24, 3), (4, 20), (1, 80))
# The edges of discs lie anywhere.
DISC_POINTS = 2


@frozen
class Grid:
    """A square map: ``cells`` each way, of ``cell_arcmin``, its middle that of the field.

    Row 0 is the topmost; places run to the right and up, as in the drawings.
    """

    cells: int
    cell_arcmin: float

    def places(self, half: int | None = None, points: int = 1) -> tuple[Floats, Floats]:
        """Return the places [arcmin] of points of the cells around the middle, x and y.

        ``half`` of the cells to each side, all without it; ``points`` each way in a cell.
        """
        reach = self.cells / 2.0 if half is None else self._start(half)[1]
        count = round(2.0 * reach) * points
        offset = (np.arange(count) + 0.5) / points - reach
        return offset[None, :] * self.cell_arcmin, -offset[:, None] * self.cell_arcmin

    def sample(self, light: Callable[[Floats, Floats], Floats], points: int = 1) -> Floats:
        """Return the mean of a function of the place over each cell, (cells, cells)."""
        whole = _means(light(*self.places(points=points)), points)
        for half, finer in LEVELS:
            start, reach = self._start(half)
            if start > 0:
                inner = slice(start, start + round(2.0 * reach))
                whole[inner, inner] = _means(light(*self.places(half, finer)), finer)
            else:
                whole = _means(light(*self.places(points=finer)), finer)
        return whole

    def _start(self, half: int) -> tuple[int, float]:
        """Return the first of the cells around the middle, and how far they reach [cells]."""
        start = max(self.cells // 2 - half, 0)
        return start, self.cells / 2.0 - start


def _means(values: Floats, points: int) -> Floats:
    if points == 1:
        return values
    rows, columns = (size // points for size in values.shape)
    return np.asarray(values.reshape(rows, points, columns, points).mean(axis=(1, 3)))


def glow_map(glow: Glow, outline: Outline, grid: Grid, *, seen_only: bool = True) -> Floats:
    """Return what a glow adds to the sky, (cells, cells) [cd/m2] as the eye gets it.

    Parameters
    ----------
    outline : Outline
        The catalogue's ellipse in the view.
    seen_only : bool
        Whether what the eye does not make out is left out; else all light is there.
    """

    def light(x: Floats, y: Floats) -> Floats:
        luminance, seen = glow.at(_axes(x, y, outline))
        return luminance * seen if seen_only else luminance

    return grid.sample(light)


def disc_map(disc: Disc, grid: Grid) -> Floats:
    """Return how much of each cell the lit parts of a body and its rings cover, 0 .. 1."""
    return grid.sample(lambda x, y: _is_lit(x, y, disc).astype(float), DISC_POINTS)


def lit_area_arcmin2(disc: Disc) -> float:
    """Return the area of the lit parts of a body and its rings [arcmin2].

    What globe and rings hide of each other is left out: it is little beside both.
    """
    area = math.pi * disc.semi_major * disc.semi_minor * disc.lit
    if disc.ring is not None:
        ring = disc.ring
        area += math.pi * ring.semi_major * ring.semi_minor * (1.0 - ring.inner**2)
    return area


def _axes(x: Floats, y: Floats, ellipse: Outline | Disc | Ring) -> Floats:
    """Return how far out places are, in the axes of an ellipse around the middle."""
    along, across = turned(x, y, -ellipse.angle_deg)
    return np.hypot(along / ellipse.semi_major, across / ellipse.semi_minor)


def _is_lit(x: Floats, y: Floats, disc: Disc) -> Flags:
    x, y = x - disc.x, y - disc.y
    sunward, aside = turned(x, y, -disc.sunward_deg)
    half = np.sqrt(np.maximum(disc.semi_major**2 - np.square(aside), 0.0))
    lit = (_axes(x, y, disc) <= 1.0) & (sunward >= (1.0 - 2.0 * disc.lit) * half)
    if disc.ring is None or disc.ring.semi_minor <= 0.0:
        return np.asarray(lit)
    out = _axes(x, y, disc.ring)
    return np.asarray(lit | ((out <= 1.0) & (out >= disc.ring.inner)))
