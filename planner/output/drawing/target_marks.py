"""What a target itself looks like in a field: an outline, stars, a disc with phase and rings."""

from __future__ import annotations

import math

import numpy as np

from planner.ephemeris.bodies import BodyEphemeris, observe_body
from planner.ephemeris.solar_system.jupiter import jupiter_face
from planner.ephemeris.solar_system.lunar_light import on_the_disc
from planner.ephemeris.solar_system.moon import moon_face
from planner.ephemeris.solar_system.rotation import SPINS
from planner.ephemeris.solar_system.satellites import MEAN_MAGNITUDES, MoonOffset
from planner.ephemeris.solar_system.saturn import saturn_face
from planner.output.drawing.limiting_magnitude import Place, ViewedSky, sun_of
from planner.output.drawing.marks import Disc, Label, Outline, Ring, Star
from planner.output.drawing.orientation import ViewOrientation
from targets.double_stars.doubles import colours_of, primary_magnitude
from targets.frozen import frozen
from targets.lunar import LunarPlace
from targets.model import Kind, Target
from targets.sphere import position_angle_deg, unit_vectors

# North poles of rotation, J2000 [deg]: those of two more planets from the same report as the rest
# (Archinal et al. 2018, Celest. Mech. Dyn. Astron. 130, 22).
POLES = {
    "Mars": (SPINS["Mars"].ra_deg[0], SPINS["Mars"].dec_deg[0]),
    "Jupiter": (SPINS["Jupiter II"].ra_deg[0], SPINS["Jupiter II"].dec_deg[0]),
    "Saturn": (SPINS["Saturn"].ra_deg[0], SPINS["Saturn"].dec_deg[0]),
    "Uranus": (257.311, -15.175),
    "Neptune": (299.333, 42.950),
}
# Inner edge of ring B, in parts of the outer edge of ring A (Meeus 1998, "Astronomical
# Algorithms", ch. 45).
INNER_RING = 0.6650
# V at a mean opposition, from memory of the Astronomical Almanac, section F.
MOON_MAGNITUDES = {"Io": 5.0, "Europa": 5.3, "Ganymede": 4.6, "Callisto": 5.7, **MEAN_MAGNITUDES}
# Magnitudes from the faintest star shown to one of full weight.
WEIGHT_RANGE_MAG = 7.0
# However faint, the target is drawn; a point reaches so far [arcmin].
LEAST_TARGET_WEIGHT = 0.25
POINT_ARCMIN = 0.05
POINTS = (Kind.STAR, Kind.ASTEROID, Kind.QUASAR)


@frozen
class Marks:
    """What the target itself looks like; ``radius`` is how far it reaches [arcmin]."""

    stars: tuple[Star, ...] = ()
    outlines: tuple[Outline, ...] = ()
    discs: tuple[Disc, ...] = ()
    labels: tuple[Label, ...] = ()
    radius: float = 0.0


def target_marks(
    target: Target,
    frame: ViewOrientation,
    circumstance: ViewedSky,
    *,
    faintest_mag: float,
    limit_mag: float,
) -> Marks:
    """Draw a target in the middle of a field.

    Parameters
    ----------
    target : Target
        As it is at that instant.
    frame : ViewOrientation
        Which way up the sky is.
    circumstance : ViewedSky
        For what moves.
    faintest_mag : float
        Of the stars that are drawn; it gives the weights of the target's own.
    limit_mag : float
        Of what the train shows at all: no moon of a planet that is fainter is drawn.
    """
    if target.lunar is not None:
        return _feature_marks(target, target.lunar, frame, circumstance)
    if target.moves and target.elements is None:
        moons = [
            moon
            for moon in _moons(target.id, circumstance)
            if MOON_MAGNITUDES[moon.name] <= limit_mag
        ]
        return _body_marks(target, frame, circumstance, moons, faintest_mag)
    if target.kind is Kind.DOUBLE_STAR:
        return _pair_marks(target, frame, faintest_mag)
    if target.kind in POINTS:
        return Marks(
            stars=(_own_star(0.0, 0.0, target.magnitude, faintest_mag),), radius=POINT_ARCMIN
        )
    if not target.major_arcmin:
        return Marks()
    return Marks(outlines=(_ellipse(target, frame),))


def star_weight(magnitude: float, faintest_mag: float) -> float:
    """Return how large a star is drawn, 0 for the faintest that is shown .. 1."""
    return float(np.clip((faintest_mag - magnitude) / WEIGHT_RANGE_MAG, 0.0, 1.0))


def _own_star(
    x: float, y: float, magnitude: float | None, faintest_mag: float, bp_rp_mag: float | None = None
) -> Star:
    weight = 0.0 if magnitude is None else star_weight(magnitude, faintest_mag)
    return Star(x, y, max(weight, LEAST_TARGET_WEIGHT), magnitude, bp_rp_mag)


def _ellipse(target: Target, frame: ViewOrientation) -> Outline:
    """Draw the outline; where its angle is unknown, the circle of the same area."""
    major = target.major_arcmin or 0.0
    minor, angle = target.minor_arcmin or major, target.position_angle_deg
    if angle is None:
        mean = math.sqrt(major * minor)
        return Outline(0.0, 0.0, mean / 2.0, mean / 2.0)
    return Outline(0.0, 0.0, major / 2.0, minor / 2.0, frame.direction_deg(angle))


def _pair_marks(target: Target, frame: ViewOrientation, faintest_mag: float) -> Marks:
    """Draw both stars, the brighter in the middle."""
    colours = colours_of(target.id)
    first = _own_star(0.0, 0.0, primary_magnitude(target), faintest_mag, colours[0])
    separation, angle = target.major_arcmin, target.position_angle_deg
    if separation is None or angle is None:
        return Marks(stars=(first,), radius=separation or POINT_ARCMIN)
    x, y = _toward(frame, angle, separation)
    second = _own_star(x, y, target.companion_magnitude, faintest_mag, colours[1])
    labels = (Label(0.0, 0.0, "A"), Label(x, y, "B"))
    return Marks(stars=(first, second), labels=labels, radius=separation)


def _toward(frame: ViewOrientation, angle_deg: float, arcmin: float) -> Place:
    """Return the place so far from the middle in a position angle."""
    radians = np.radians(angle_deg)
    x, y = frame.place(arcmin * np.sin(radians), arcmin * np.cos(radians))
    return float(x), float(y)


def _body_marks(
    target: Target,
    frame: ViewOrientation,
    circumstance: ViewedSky,
    moons: list[MoonOffset],
    faintest_mag: float,
) -> Marks:
    seen = observe_body(
        circumstance.ephemeris, circumstance.site, target.id, [circumstance.instant]
    )
    disc = _disc(seen, frame, circumstance)
    reach = max(disc.semi_major, disc.ring.semi_major if disc.ring else 0.0)
    places = [_moon_place(moon, frame) for moon in moons]
    stars = [
        _own_star(*at, MOON_MAGNITUDES[moon.name], faintest_mag)
        for at, moon in zip(places, moons, strict=True)
    ]
    return Marks(
        stars=tuple(stars),
        discs=(disc,),
        labels=tuple(Label(*at, moon.name) for at, moon in zip(places, moons, strict=True)),
        radius=reach,
    )


def _moon_place(moon: MoonOffset, frame: ViewOrientation) -> Place:
    x, y = frame.place(np.array(moon.east_arcsec / 60.0), np.array(moon.north_arcsec / 60.0))
    return float(x), float(y)


def _moons(name: str, circumstance: ViewedSky) -> list[MoonOffset]:
    """Return the moons that stand beside their planet."""
    place = (circumstance.ephemeris, circumstance.site, circumstance.instant)
    if name == "Jupiter":
        return [moon for moon in jupiter_face(*place).moons if not moon.state]
    return list(saturn_face(*place).moons) if name == "Saturn" else []


def _disc(
    seen: BodyEphemeris, frame: ViewOrientation, circumstance: ViewedSky, at: Place = (0.0, 0.0)
) -> Disc:
    sight = unit_vectors(seen.ra_j2000_deg[0], seen.dec_j2000_deg[0])
    pole, axis = POLES.get(seen.name), 0.0
    if pole is not None:
        axis = float(position_angle_deg(unit_vectors(*pole), sight))
    sun = sun_of(circumstance)
    limb = float(position_angle_deg(unit_vectors(*sun), sight))
    return Disc(
        *at,
        float(seen.equatorial_arcsec[0]) / 120.0,
        float(seen.polar_arcsec[0]) / 120.0,
        frame.direction_deg(axis + 90.0),
        float(seen.illuminated[0]),
        frame.direction_deg(limb),
        _ring(seen, axis, frame),
    )


def _ring(seen: BodyEphemeris, axis_deg: float, frame: ViewOrientation) -> Ring | None:
    """Draw Saturn's rings; of the face that is seen, the near half lies away from its pole."""
    if seen.rings is None:
        return None
    along = frame.direction_deg(axis_deg + 90.0)
    near = axis_deg + (180.0 if float(seen.rings.tilt_deg[0]) > 0.0 else 0.0)
    across = np.radians(frame.direction_deg(near) - (along + 90.0))
    return Ring(
        float(seen.rings.major_arcsec[0]) / 120.0,
        float(seen.rings.minor_arcsec[0]) / 120.0,
        INNER_RING,
        along,
        near_is_across=bool(np.cos(across) > 0.0),
    )


def _feature_marks(
    target: Target, place: LunarPlace, frame: ViewOrientation, circumstance: ViewedSky
) -> Marks:
    """Draw the Moon around a feature that stands in the middle."""
    where = (circumstance.ephemeris, circumstance.site)
    seen = observe_body(*where, "Moon", [circumstance.instant])
    face = moon_face(*where, circumstance.instant)
    angle_deg, part = on_the_disc(
        place,
        middle=(face.libration_longitude_deg, face.libration_latitude_deg),
        pole_angle_deg=face.pole_angle_deg,
    )
    radius = float(seen.equatorial_arcsec[0]) / 120.0
    middle = _toward(frame, angle_deg + 180.0, part * radius)
    outlines = (_ellipse(target, frame),) if target.major_arcmin else ()
    return Marks(outlines=outlines, discs=(_disc(seen, frame, circumstance, middle),))
