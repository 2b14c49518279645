"""The light on the map: all of it is there, where it belongs, and what is not seen is not."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from planner.config.preferences import Preferences, default_preferences
from planner.matcher.lens import Lens, Moment, lens_of
from planner.matcher.target_classes import target_table_of
from planner.matcher.train_table import tabulate_trains
from planner.matcher.visibility import seen_axes
from planner.model.kit import Mount, Orientation
from planner.output.appearance.glow import Glow, backdrop, glow_of, magnitude_left
from planner.output.appearance.light_map import Grid, disc_map, glow_map, lit_area_arcmin2
from planner.output.drawing.field import draw_field
from planner.output.drawing.marks import Disc, Outline
from planner.output.drawing.svg import field_svg
from targets.catalogue.catalogue import Catalogue
from targets.model import Kind, Target

# How far the map may be off the total: our choice, well below what an eye tells apart.
MAGNITUDE_TOLERANCE = 0.02
PLAIN = Lens(np.ones((1, 1)), np.ones((1, 1)), np.zeros((1, 1), dtype=np.intp), 200.0)
# No air, a dark sky.
SPACE = Moment(np.full((1, 1), 90.0), np.full((1, 1), 2e-4), np.zeros((1, 1)), 2)


@pytest.fixture(scope="session")
def preferences() -> Preferences:
    """Return the preferences that come with the program."""
    return default_preferences()


def _outline(target: Target, angle_deg: float = 30.0) -> Outline:
    major = target.major_arcmin or 0.0
    return Outline(0.0, 0.0, major / 2.0, (target.minor_arcmin or major) / 2.0, angle_deg)


def _magnitude(light_cd_m2: Any, cell_arcmin: float) -> float:
    """Sum a map: 12.58 - 2.5 log10(cd/m2) is mag/arcsec2 (Crumey 2014)."""
    return float(12.58 - 2.5 * np.log10(np.sum(light_cd_m2) * (60.0 * cell_arcmin) ** 2))


# M87 and M32 ellipticals, M31 and M51 spirals, NGC 4565 edge-on, globular clusters with and
# without a known core, planetary nebulae small and large, a loose cluster.
NAMES = (
    "M31", "M51", "M87", "M32", "NGC4565", "M101", "M13", "M15", "NGC5053", "M57", "M27",
    "NGC7662", "M11",
)  # fmt: skip


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("cells_across", [60.0, 9.0, 1.5])
def test_the_light_of_the_map_is_the_target_s_magnitude(
    name: str, cells_across: float, catalogue: Catalogue, preferences: Preferences
) -> None:
    """Whether it fills the field or no more than a cell or two."""
    target = catalogue.find(name)
    assert target.major_arcmin
    assert target.magnitude is not None
    glow = glow_of(target, SPACE, PLAIN, preferences)
    assert glow is not None
    grid = Grid(math.ceil(8.0 * cells_across) // 2 * 2 + 2, target.major_arcmin / cells_across)
    light = glow_map(glow, _outline(target), grid, seen_only=False)
    assert _magnitude(light, grid.cell_arcmin) == pytest.approx(
        target.magnitude, abs=MAGNITUDE_TOLERANCE
    )


def test_air_glass_and_exit_pupil_dim_target_and_sky(
    catalogue: Catalogue, preferences: Preferences
) -> None:
    """By what they pass: half a magnitude of air before the target alone."""
    target = catalogue.find("M13")
    lens = replace(PLAIN, light_gain=np.full((1, 1), 0.25))
    hazy = replace(SPACE, loss_mag=np.full((1, 1), 0.5))
    bright, dim = (
        glow_of(target, SPACE, PLAIN, preferences),
        glow_of(target, hazy, lens, preferences),
    )
    assert bright is not None
    assert dim is not None
    ratio = dim.luminance_cd_m2[50] / bright.luminance_cd_m2[50]
    assert ratio == pytest.approx(0.25 * 10.0**-0.2)
    assert backdrop(hazy, lens).sky_cd_m2 == pytest.approx(0.25 * 2e-4)


@pytest.mark.parametrize("orientation", list(Orientation))
@pytest.mark.parametrize("mount", list(Mount))
@pytest.mark.parametrize("site", ["north", "south"])
def test_the_map_lies_as_the_drawing_does(
    site: str,
    mount: Mount,
    orientation: Orientation,
    catalogue: Catalogue,
    preferences: Preferences,
    train: Any,
    around: Any,
) -> None:
    """The long axis of the light has the angle of the ellipse that is drawn, as SVG turns it."""
    target = catalogue.find("M82")
    drawing = draw_field(target, train(orientation, mount), around(site))
    glow = glow_of(target, SPACE, PLAIN, preferences)
    assert glow is not None
    light = glow_map(glow, drawing.outlines[0], Grid(240, 0.1), seen_only=False)
    turned = re.search(r'class="outline"[^>]*rotate\(([-.\d]+)\)', field_svg(drawing, title=""))
    assert turned
    # SVG turns clockwise on the screen, with y downward: as rows and columns run.
    assert _long_axis_deg(light) == pytest.approx(float(turned[1]) % 180.0, abs=0.5)


def _long_axis_deg(light: Any) -> float:
    """The angle of the long axis from the columns toward the rows, by second moments."""
    rows, columns = np.indices(light.shape) - (len(light) - 1) / 2.0
    across, down, both = (
        float((light * product).sum()) for product in (columns**2, rows**2, rows * columns)
    )
    return math.degrees(0.5 * math.atan2(2.0 * both, across - down)) % 180.0


@pytest.mark.parametrize("name", ["M31", "M33", "M101", "M13", "M51", "M81"])
def test_what_is_seen_on_the_map_is_what_the_words_say(
    name: str, catalogue: Catalogue, preferences: Preferences, train: Any
) -> None:
    """As far out as the matcher has it, to a tenth of the axes."""
    target = catalogue.find(name)
    plain = train()
    lens = lens_of(tabulate_trains([plain]), plain.telescope, 6.0)
    table = target_table_of([target], preferences)
    expected = float(seen_axes(table, SPACE, lens)[0, 0])
    glow = glow_of(target, SPACE, lens, preferences)
    assert glow is not None
    assert _edge(glow) == pytest.approx(expected, abs=0.1)


def _edge(glow: Glow) -> float:
    return float(glow.edges[1:][glow.seen >= 0.5].max(initial=0.0))


def test_what_is_below_the_threshold_is_gone(
    catalogue: Catalogue, preferences: Preferences
) -> None:
    """A cloud that a city's sky drowns leaves nothing; the brighter the sky, the less is left."""
    target = catalogue.find("M33")
    left = []
    for sky_cd_m2 in (1e-4, 1e-3, 1e-2, 1e-1):
        moment = replace(SPACE, sky_cd_m2=np.full((1, 1), sky_cd_m2))
        glow = glow_of(target, moment, PLAIN, preferences)
        assert glow is not None
        left.append(float(glow_map(glow, _outline(target), Grid(60, 2.0)).sum()))
    assert left == sorted(left, reverse=True)
    assert left[0] > 0.0
    assert left[-1] == 0.0


def test_a_dark_cloud_takes_light_away_and_never_all(preferences: Preferences) -> None:
    """However large its rating says that its contrast is."""
    cloud = Target("B1", "B 1", Kind.DARK_NEBULA, major_arcmin=30.0, visual_rating=5)
    glow = glow_of(cloud, SPACE, PLAIN, preferences)
    assert glow is not None
    light = glow_map(glow, _outline(cloud), Grid(60, 1.0), seen_only=False)
    assert -2e-4 < light.min() < 0.0
    assert light.max() <= 0.0


def test_a_cluster_keeps_the_light_that_its_known_stars_leave() -> None:
    """Two stars of mag 8 in a cluster of 6 leave 6.4; those of a bright one are all of it."""
    cluster = Target("C1", "C 1", Kind.OPEN_CLUSTER, major_arcmin=20.0, magnitude=6.0)
    left = magnitude_left(cluster, np.array([8.0, 8.0]))
    assert left is not None
    # 10^-2.4 - 2 x 10^-3.2 = 0.003981 - 0.001262 = 0.002719, which is 6.414 mag.
    assert left.magnitude == pytest.approx(6.414, abs=0.001)
    assert magnitude_left(cluster, np.array([6.2, 7.5])) is None


@pytest.mark.parametrize("lit", [0.1, 0.5, 0.8, 1.0])
@pytest.mark.parametrize("sunward_deg", [0.0, 77.0, 200.0])
def test_a_disc_covers_its_lit_area_and_no_more(lit: float, sunward_deg: float) -> None:
    """In all the lit share of the disc, cell by cell what the drawings call lit."""
    disc = Disc(3.0, -2.0, 10.0, 10.0, 0.0, lit, sunward_deg)
    grid = Grid(100, 0.4)
    covered = disc_map(disc, grid)
    area = covered.sum() * grid.cell_arcmin**2
    assert area == pytest.approx(math.pi * 100.0 * lit, rel=0.01)
    assert area == pytest.approx(lit_area_arcmin2(disc), rel=0.01)
    x, y = grid.places()
    for row, column in ((20, 60), (50, 50), (55, 75), (70, 40), (55, 35)):
        if covered[row, column] in {0.0, 1.0}:
            told = disc.is_lit(float(x[0, column]), float(y[row, 0])) is True
            assert told == (covered[row, column] == 1.0)
