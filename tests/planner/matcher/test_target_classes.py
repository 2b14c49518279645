"""How targets are sorted into the classes that tell what suits them."""

from __future__ import annotations

import pytest

from planner.config.preferences import default_preferences
from planner.ephemeris.kernel import BODIES
from planner.matcher.target_classes import target_table_of
from targets.model import Kind, Target

CLASSES = default_preferences().classes
FIXED_KINDS = [kind for kind in Kind if kind not in {Kind.PLANET, Kind.MOON}]
# A speck, a middling size and a giant, faint and bright, and what nobody has measured.
SIZES_ARCMIN = (0.1, 10.0, 200.0, None)


def class_of(target: Target) -> str:
    """Name a target's class."""
    return CLASSES[target_table_of([target], default_preferences()).class_code[0]].name


@pytest.mark.parametrize("kind", FIXED_KINDS)
@pytest.mark.parametrize("size_arcmin", SIZES_ARCMIN)
@pytest.mark.parametrize("magnitude", [4.0, 14.0, None])
def test_every_kind_has_a_class(
    kind: Kind, size_arcmin: float | None, magnitude: float | None
) -> None:
    """Whatever its size and brightness, known or not."""
    target = Target("X1", "X1", kind, major_arcmin=size_arcmin, magnitude=magnitude)
    assert class_of(target) in {preference.name for preference in CLASSES}


@pytest.mark.parametrize("name", BODIES)
def test_every_body_has_a_class(name: str) -> None:
    """The Moon and all planets of the ephemeris."""
    assert class_of(Target(name, name, Kind.MOON if name == "Moon" else Kind.PLANET))


def test_what_has_no_class_is_named() -> None:
    """A planet that no rule knows is told by its kind and id."""
    with pytest.raises(ValueError, match='how a planet such as "Vulcan" is best shown'):
        class_of(Target("Vulcan", "Vulcan", Kind.PLANET))


@pytest.mark.parametrize("angle_deg", [None, 30.0])
def test_two_axes_are_rated_by_the_ellipse_whether_its_angle_is_known_or_not(
    angle_deg: float | None,
) -> None:
    """90 by 40 arcmin are pi/4 x 3600 = 2827 arcmin2; a circle of the long axis has 6362."""
    nebula = Target(
        "X1", "X1", Kind.EMISSION_NEBULA, major_arcmin=90.0, minor_arcmin=40.0,
        position_angle_deg=angle_deg, visual_rating=5,
    )  # fmt: skip
    table = target_table_of([nebula], default_preferences())
    assert table.area_arcmin2 == pytest.approx(2827.4, abs=0.1)
