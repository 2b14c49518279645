"""Views of targets in eyepieces: one scale, honest tones, a file that any reader opens."""

from __future__ import annotations

import struct
import zlib
from dataclasses import replace
from datetime import UTC, datetime
from itertools import pairwise
from typing import Any

import numpy as np
import pytest

from planner.config.preferences import Preferences, default_preferences
from planner.ephemeris.almanac import evening_date, find_night
from planner.ephemeris.tracks import track_instants
from planner.output.appearance.glow import Backdrop
from planner.output.appearance.light_map import Grid
from planner.output.appearance.png import data_uri, png_bytes
from planner.output.appearance.shades import shade_cells
from planner.output.appearance.tones import tones_of, with_stars
from planner.output.appearance.views import appearances
from planner.output.appearance.words import MODEL, limit_words
from planner.output.drawing.marks import Star
from planner.planning.survey import body_at
from targets.catalogue.catalogue import Catalogue
from targets.model import Kind, Target


@pytest.fixture(scope="session")
def preferences() -> Preferences:
    """Return the preferences that come with the program."""
    return default_preferences()


def _power(train: Any, times: float) -> Any:
    """Return a train of another power with the same apparent field."""
    return replace(
        train,
        magnification=train.magnification * times,
        true_field_arcmin=train.true_field_arcmin / times,
        exit_pupil_mm=train.exit_pupil_mm / times,
    )


def test_all_views_have_one_scale_of_apparent_angle(
    catalogue: Catalogue, preferences: Preferences, train: Any, around: Any
) -> None:
    """A field half as wide before the eye is half as wide on the page."""
    wide = train()
    narrow = replace(wide, true_field_arcmin=wide.true_field_arcmin / 2.0)
    views = appearances(catalogue.find("M35"), [wide, narrow], around(), preferences)
    sizes = [view.picture.shape[0] for view in views]
    assert sizes[0] == 2 * sizes[1]
    assert views[0].apparent_deg == 2.0 * views[1].apparent_deg


def test_more_power_makes_a_darker_sky_and_a_larger_target(
    catalogue: Catalogue, preferences: Preferences, train: Any, around: Any
) -> None:
    """The sky near the edge, and how much of the view stands out from it."""
    low = _power(train(), 0.5)
    trains = [_power(low, times) for times in (1.0, 2.0, 4.0)]
    views = appearances(catalogue.find("M13"), trains, around(), preferences)
    grey = [view.picture.astype(int)[..., 1] for view in views]
    sky = [int(np.median(each[_ring(each)])) for each in grey]
    assert sky == sorted(sky, reverse=True)
    assert sky[0] > sky[-1]
    glow = [np.mean(each > dark + 8) for each, dark in zip(grey, sky, strict=True)]
    assert glow == sorted(glow)


def _ring(grey: Any) -> Any:
    rows, columns = np.indices(grey.shape) - (len(grey) - 1) / 2.0
    away = np.hypot(rows, columns) / (len(grey) / 2.0)
    return (away > 0.8) & (away < 0.95)


def test_outside_the_field_stop_all_is_black(
    catalogue: Catalogue, preferences: Preferences, train: Any, around: Any
) -> None:
    """And inside nothing is: the eye has a grey of its own."""
    (view,) = appearances(catalogue.find("M57"), [train()], around(), preferences)
    rows, columns = np.indices(view.picture.shape[:2]) - (len(view.picture) - 1) / 2.0
    away = np.hypot(rows, columns) / (len(view.picture) / 2.0)
    assert view.picture[away > 1.02].max() == 0
    assert view.picture[away < 0.98].min() > 0


def test_stars_stand_where_the_drawing_has_them(
    catalogue: Catalogue, preferences: Preferences, train: Any, around: Any
) -> None:
    """The brightest of the Pleiades' cells are at the marks of the brightest stars."""
    (view,) = appearances(catalogue.find("M45"), [train()], around(), preferences)
    cells = len(view.picture)
    cell_arcmin = view.train.true_field_arcmin / cells
    stars = sorted(view.drawing.stars, key=lambda star: star.magnitude or 99.0)
    assert stars[0].magnitude == pytest.approx(2.87, abs=0.15)  # Alcyone: Bright Star Catalogue
    for star in stars[:5]:
        column = int(star.x / cell_arcmin + cells / 2.0)
        row = int(cells / 2.0 - star.y / cell_arcmin)
        assert view.picture[row, column].max() > 200


def test_the_moon_fills_what_a_planet_does_not(
    catalogue: Catalogue, preferences: Preferences, train: Any, around: Any
) -> None:
    """Cells that are white: half a degree against less than an arcminute, in a field of 24'."""
    circumstance = around("north", datetime(2026, 12, 23, 23, 0, tzinfo=UTC))  # the Moon is full
    night = find_night(
        circumstance.ephemeris,
        circumstance.site,
        evening_date(circumstance.instant, circumstance.site),
    )
    grid = track_instants(circumstance.ephemeris, night, [circumstance.instant])
    white = {}
    for name in ("Moon", "Saturn"):
        body = body_at(catalogue.find(name), circumstance.ephemeris, grid, circumstance.instant)
        (view,) = appearances(body, [train(field_arcmin=24.0)], circumstance, preferences)
        inside = np.pi / 4.0 * view.picture.shape[0] ** 2
        white[name] = np.sum(view.picture.min(axis=2) > 230) / inside
    assert white["Moon"] > 0.98
    assert 0.0 < white["Saturn"] < 0.01


def test_colours_show_in_bright_stars_alone() -> None:
    """Red is red, blue is blue; of stars near the limit the eye sees no colour."""
    grid = Grid(21, 1.0)
    dark = np.zeros((21, 21))

    def middle(bp_rp_mag: float, above_mag: float) -> Any:
        star = Star(0.0, 0.0, 1.0, 10.0 - above_mag, bp_rp_mag)
        return with_stars(dark, [star], grid, 10.0)[10, 10]

    red, _, blue = middle(3.0, 8.0)
    assert red > 1.5 * blue
    red, _, blue = middle(-0.3, 8.0)
    assert blue > 1.2 * red
    assert np.ptp(middle(3.0, 1.0)) == 0.0


def test_fainter_stars_are_fainter_and_those_beyond_the_limit_are_none() -> None:
    """Light of the spot by how far a star stands above the limit."""
    grid = Grid(21, 1.0)
    light = [
        with_stars(np.zeros((21, 21)), [Star(0.0, 0.0, 1.0, 10.0 - above)], grid, 10.0).sum()
        for above in (-1.0, 0.0, 1.0, 2.0, 4.0, 8.0)
    ]
    assert light[0] == 0.0
    assert all(later > earlier for earlier, later in pairwise(light))


def test_tones_grow_with_light_and_end_at_white() -> None:
    """Sky first, glows above it, dark clouds below."""
    backdrop = Backdrop(sky_cd_m2=2e-4, least_cd_m2=2e-5)
    added = np.array([[-1e-4, 0.0, 2e-5, 2e-4, 2e-3, 1e3]])
    (tones,) = tones_of(added, [], backdrop)
    assert list(tones) == sorted(tones)
    assert len(set(tones)) == len(tones)
    assert tones[-1] <= 1.0


def test_a_picture_survives_its_file() -> None:
    """The file is taken apart by the standard (W3C 2003): chunks, checks, rows as differences."""
    picture = np.random.default_rng(4).integers(0, 256, (17, 23, 3), dtype=np.uint8)
    content = png_bytes(picture)
    assert content[:8] == bytes([137, 80, 78, 71, 13, 10, 26, 10])
    chunks, at = {}, 8
    while at < len(content):
        (length,) = struct.unpack(">I", content[at : at + 4])
        kind, data = content[at + 4 : at + 8], content[at + 8 : at + 8 + length]
        (check,) = struct.unpack(">I", content[at + 8 + length : at + 12 + length])
        assert check == zlib.crc32(kind + data)
        chunks[kind] = data
        at += 12 + length
    assert list(chunks) == [b"IHDR", b"IDAT", b"IEND"]
    assert struct.unpack(">IIBBBBB", chunks[b"IHDR"]) == (23, 17, 8, 2, 0, 0, 0)
    rows = np.frombuffer(zlib.decompress(chunks[b"IDAT"]), dtype=np.uint8).reshape(17, 1 + 23 * 3)
    assert set(rows[:, 0]) == {2}  # each byte less the one above it, modulo 256
    undone = np.cumsum(rows[:, 1:].astype(int), axis=0) % 256
    assert np.array_equal(undone.reshape(picture.shape), picture)
    assert data_uri(picture).startswith("data:image/png;base64,iVBORw0KGgo")


def test_the_words_say_what_it_is_and_where_knowledge_ends(
    catalogue: Catalogue, preferences: Preferences, train: Any, around: Any
) -> None:
    """A model; where the stars end; that an angle is missing."""

    def words(target: Target) -> str:
        views = appearances(target, [train()], around(), preferences)
        return limit_words(target, views)

    rich = words(catalogue.find("NGC7789"))
    assert "not a photograph" in MODEL
    assert "no structure is drawn that the catalogue does not hold" in MODEL
    assert "magnitude 10, where the star file ends" in rich
    assert "as a glow" in rich
    tilted = Target(
        "X1", "X 1", Kind.GALAXY, "Ori", 80.0, 5.0, major_arcmin=8.0, minor_arcmin=2.0,
        magnitude=9.0,
    )  # fmt: skip
    assert "round with its mean size" in words(tilted)
    assert "round" not in words(replace(tilted, position_angle_deg=40.0))
    assert limit_words(catalogue.find("M57"), []) == ""


@pytest.mark.parametrize("unicode", [True, False])
def test_a_terminal_shows_the_same_in_shades(
    unicode: bool, catalogue: Catalogue, preferences: Preferences, train: Any, around: Any
) -> None:
    """As many cells as asked for; the middle of a globular is denser than the sky around it."""
    (view,) = appearances(
        catalogue.find("M15"), [_power(train(), 2.0)], around(), preferences, widest_cells=76
    )
    lines = shade_cells(view, unicode=unicode)
    assert len(lines) == 19
    assert {len(line) for line in lines} == {38}
    assert all(line.isascii() for line in lines) is not unicode
    ink = " ░▒▓█" if unicode else " ,:;=oO8#@"  # by growing ink, as they are meant to be read
    assert ink.index(lines[9][19]) >= 2
    assert ink.index(lines[9][19]) > ink.index(lines[9][5].replace(".", " "))
    assert lines[0][0] == " "


def test_a_star_on_a_terminal_is_a_mark(
    catalogue: Catalogue, preferences: Preferences, train: Any, around: Any
) -> None:
    """The brightest Pleiad has the largest, in the cell of its place."""
    (view,) = appearances(catalogue.find("M45"), [train()], around(), preferences, widest_cells=76)
    lines = shade_cells(view, unicode=True)
    star = min(view.drawing.stars, key=lambda star: star.magnitude or 99.0)
    scale = 76 / view.train.true_field_arcmin
    column, row = int((38 + star.x * scale) / 2), int((38 - star.y * scale) / 4)
    assert lines[row][column] == "*"
