"""Draws a target in the field of an eyepiece: what stands where, as the eye sees it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import numpy as np
from skyfield.api import wgs84

from planner.atmosphere import extinction_loss_mag
from planner.bodies import BodyEphemeris, observe_body
from planner.conditions import Conditions
from planner.ephemeris import Ephemeris, unix_seconds
from planner.eye import light_gain, stellar_limit_mag
from planner.field.drawing import Disc, FieldDrawing, Label, Outline, Star
from planner.field.frame import Frame
from planner.filters import sky_passed, target_light, target_passed
from planner.kit import Mount, Orientation, Train
from planner.site import Site
from planner.sky import sky_luminance_cd_m2
from planner.tangent import position_angle_deg, tangent_plane_arcmin
from targets.field_stars import load_field_stars
from targets.model import Kind, Target

# North poles of rotation, J2000 [deg]: Archinal et al. 2018, "Report of the IAU Working Group on
# Cartographic Coordinates and Rotational Elements: 2015", Celest. Mech. Dyn. Astron. 130, 22.
POLES = {
    "Mars": (317.681, 52.887),
    "Jupiter": (268.057, 64.495),
    "Saturn": (40.589, 83.537),
    "Uranus": (257.311, -15.175),
    "Neptune": (299.333, 42.950),
}
# Saturn's ring system: inner edge of ring B and outer edge of ring A, in equatorial radii (Meeus
# 1998, "Astronomical Algorithms", ch. 45: 0.6650 of the outer edge).
INNER_RING = 0.6650
# A target below this part of the field gets a close-up in which it is this much of the width.
SMALL, CLOSE = 0.12, 0.35
# A pair's stars in its close-up, in parts of the width.
CLOSE_PAIR = 0.3
# Magnitudes from the faintest star shown to one of full weight.
WEIGHT_RANGE_MAG = 7.0
FAINTEST_IN_FILE_MAG = 10.0
# Stars so near a target that is drawn itself are the target [of its half axis].
OWN_STARS = 1.3
SCALES_ARCMIN = (
    *(seconds / 60.0 for seconds in (1, 2, 5, 10, 20, 30)), 1, 2, 5, 10, 20, 30, 60, 120, 300,
)  # fmt: skip
ALL_ROUND_DEG = 360.0


@dataclass(frozen=True, slots=True)
class Circumstance:
    """What the sky does while somebody looks.

    Parameters
    ----------
    ephemeris, site, instant
        Where the bodies are, where the observer is, and when (aware).
    conditions : Conditions
        Tonight's sky and eye.
    """

    ephemeris: Ephemeris
    site: Site
    instant: datetime
    conditions: Conditions


def draw_field(
    target: Target, train: Train, circumstance: Circumstance, *, close_up: bool = False
) -> FieldDrawing:
    """Draw a target in the middle of a field.

    Parameters
    ----------
    target : Target
        As it is at that instant, with a place; bodies and moving pairs too.
    train : Train
        What is looked through.
    circumstance : Circumstance
    close_up : bool
        Draw only the middle, so that a small target can be made out.

    Returns
    -------
    FieldDrawing

    Raises
    ------
    ValueError
        If the target has no place.
    """
    if target.ra_deg is None or target.dec_deg is None:
        raise ValueError(f"{target.name} has no place in the sky; only what has one can be drawn.")
    place = (target.ra_deg, target.dec_deg)
    frame = field_frame(place, train, circumstance)
    span = _close_span(target) if close_up else train.true_field_arcmin
    span = min(span or train.true_field_arcmin, train.true_field_arcmin)
    drift = frame.direction_deg(270.0)
    marks = _marks(target, frame, circumstance)
    limit = faintest_star_mag(target, train, circumstance)
    on_moon = target.kind in {Kind.MOON, Kind.LUNAR_FEATURE}
    stars = [] if on_moon else _stars(target, frame, span, limit, marks)
    return FieldDrawing(
        span_arcmin=span,
        field_arcmin=train.true_field_arcmin,
        stars=(*stars, *marks.stars),
        outlines=marks.outlines,
        discs=marks.discs,
        labels=marks.labels if close_up else (),
        north_deg=frame.direction_deg(0.0),
        east_deg=frame.direction_deg(90.0),
        drift_deg=drift,
        scale_arcmin=max([s for s in SCALES_ARCMIN if s <= span / 4.0], default=SCALES_ARCMIN[0]),
        words=_words(train, frame),
    )


def wants_close_up(target: Target, train: Train) -> bool:
    """Whether a target is too small in the field for its shape to be made out."""
    size = target.major_arcmin
    return size is not None and 0.0 < size < SMALL * train.true_field_arcmin


def field_frame(place: tuple[float, float], train: Train, circumstance: Circumstance) -> Frame:
    """Find which way up the sky is: by the zenith for an altazimuth mount, else by north."""
    if train.telescope.mount is Mount.EQUATORIAL:
        return Frame(0.0, train.telescope.orientation)
    zenith = _zenith(circumstance)
    up = position_angle_deg(
        ra_deg=place[0], dec_deg=place[1], toward_ra_deg=zenith[0], toward_dec_deg=zenith[1]
    )
    return Frame(up, train.telescope.orientation)


def faintest_star_mag(target: Target, train: Train, circumstance: Circumstance) -> float:
    """Give the V magnitude of the faintest star that a train shows beside a target.

    As `planner.eye.stellar_limit_mag`, with the air, the Moon, twilight and a filter; seeing and
    the colour of a star are left out.
    """
    conditions, telescope = circumstance.conditions, train.telescope
    altitude_deg, sky_cd_m2 = _sky_behind(target, circumstance)
    gain = light_gain(
        exit_pupil_mm=train.exit_pupil_mm,
        pupil_mm=conditions.pupil_mm,
        transmission=telescope.transmission,
        obstruction_ratio=telescope.obstruction_mm / telescope.aperture_mm,
    )
    kind = train.filter.kind if train.filter else None
    limit = stellar_limit_mag(
        sky_cd_m2=sky_cd_m2,
        magnification=train.magnification,
        light_gain=gain,
        target_passed=target_passed(kind, target_light(Kind.STAR, target.id)),
        sky_passed=sky_passed(kind),
    )
    loss = extinction_loss_mag(
        altitude_deg=max(altitude_deg, 0.0), extinction_mag=conditions.extinction_mag
    )
    return float(limit - loss)


def _zenith(circumstance: Circumstance) -> tuple[float, float]:
    """Give the J2000 place of the zenith [deg]."""
    ra, dec, _ = _observer(circumstance).from_altaz(alt_degrees=90.0, az_degrees=0.0).radec()
    return float(ra.hours[0] * 15.0), float(dec.degrees[0])


def _observer(circumstance: Circumstance) -> Any:
    site, ephemeris = circumstance.site, circumstance.ephemeris
    ground = wgs84.latlon(site.latitude_deg, site.longitude_deg, elevation_m=site.elevation_m)
    times = ephemeris.times(unix_seconds([circumstance.instant]))
    return (ephemeris.kernel["earth"] + ground).at(times)


def _sky_behind(target: Target, circumstance: Circumstance) -> tuple[float, float]:
    """Give a target's true altitude [deg] and the luminance of the sky behind it [cd/m2]."""
    ephemeris, site, instant = circumstance.ephemeris, circumstance.site, circumstance.instant
    observer = _observer(circumstance)
    sun = observer.observe(ephemeris.body("Sun")).apparent()
    moon = observe_body(ephemeris, site, "Moon", [instant])
    place = observer.from_altaz(alt_degrees=90.0, az_degrees=0.0)
    altitude = 90.0 - _apart(place.radec(), target)
    luminance = sky_luminance_cd_m2(
        zenith_mag_arcsec2=circumstance.conditions.sky_mag_arcsec2,
        extinction_mag=circumstance.conditions.extinction_mag,
        altitude_deg=max(altitude, 0.0),
        sun_altitude_deg=float(sun.altaz()[0].degrees[0]),
        sun_separation_deg=_apart(sun.radec(), target),
        moon_altitude_deg=float(moon.altitude_deg[0]),
        moon_separation_deg=0.5
        if target.kind in {Kind.MOON, Kind.LUNAR_FEATURE}
        else _separation_deg(float(moon.ra_j2000_deg[0]), float(moon.dec_j2000_deg[0]), target),
        moon_phase_angle_deg=float(moon.phase_deg[0]),
    )
    return altitude, float(luminance)


def _apart(place: Any, target: Target) -> float:
    ra, dec, _ = place
    return _separation_deg(float(ra.hours[0] * 15.0), float(dec.degrees[0]), target)


def _separation_deg(ra_deg: float, dec_deg: float, target: Target) -> float:
    """Give the distance of a place from a target [deg]."""
    ra = np.radians([ra_deg, target.ra_deg or 0.0])
    dec = np.radians([dec_deg, target.dec_deg or 0.0])
    cosine = np.sin(dec).prod() + np.cos(dec).prod() * np.cos(ra[0] - ra[1])
    return float(np.degrees(np.arccos(np.clip(cosine, -1.0, 1.0))))


@dataclass(frozen=True, slots=True)
class _Marks:
    """What the target itself looks like; ``radius`` is how far it reaches [arcmin]."""

    stars: tuple[Star, ...] = ()
    outlines: tuple[Outline, ...] = ()
    discs: tuple[Disc, ...] = ()
    labels: tuple[Label, ...] = ()
    radius: float = 0.0


def _marks(target: Target, frame: Frame, circumstance: Circumstance) -> _Marks:
    if target.moves and target.lunar is None and target.elements is None:
        return _body_marks(target, frame, circumstance)
    if target.kind is Kind.DOUBLE_STAR:
        return _pair_marks(target, frame)
    if target.kind in {Kind.STAR, Kind.ASTEROID}:
        return _Marks(stars=(Star(0.0, 0.0, 1.0),), radius=0.05)
    if not target.major_arcmin:
        return _Marks()
    return _Marks(outlines=(_ellipse(target, frame),))


def _ellipse(target: Target, frame: Frame) -> Outline:
    """Draw the outline; where the short axis or the angle is unknown, a circle."""
    major = target.major_arcmin or 0.0
    angle, minor = target.position_angle_deg, target.minor_arcmin
    if angle is None or minor is None:
        return Outline(0.0, 0.0, major / 2.0, major / 2.0)
    return Outline(0.0, 0.0, major / 2.0, minor / 2.0, frame.direction_deg(angle))


def _pair_marks(target: Target, frame: Frame) -> _Marks:
    """Draw both stars, the brighter in the middle."""
    first = Star(0.0, 0.0, 1.0)
    separation, angle = target.major_arcmin, target.position_angle_deg
    if separation is None or angle is None:
        return _Marks(stars=(first,), radius=separation or 0.05)
    radians = np.radians(angle)
    x, y = frame.place(separation * np.sin(radians), separation * np.cos(radians))
    weight = _companion_weight(target)
    labels = (Label(0.0, 0.0, "A"), Label(float(x), float(y), "B"))
    second = Star(float(x), float(y), weight)
    return _Marks(stars=(first, second), labels=labels, radius=separation)


def _companion_weight(target: Target) -> float:
    from targets.doubles import primary_magnitude  # noqa: PLC0415

    brighter, fainter = primary_magnitude(target), target.companion_magnitude
    if brighter is None or fainter is None:
        return 0.6
    return float(np.clip(1.0 - (fainter - brighter) / WEIGHT_RANGE_MAG, 0.25, 1.0))


def _body_marks(target: Target, frame: Frame, circumstance: Circumstance) -> _Marks:
    seen = observe_body(
        circumstance.ephemeris, circumstance.site, target.id, [circumstance.instant]
    )
    place = {"ra_deg": float(seen.ra_j2000_deg[0]), "dec_deg": float(seen.dec_j2000_deg[0])}
    pole = POLES.get(target.id)
    axis = 0.0
    if pole is not None:
        axis = position_angle_deg(**place, toward_ra_deg=pole[0], toward_dec_deg=pole[1])
    disc = Disc(
        0.0,
        0.0,
        float(seen.equatorial_arcsec[0]) / 120.0,
        float(seen.polar_arcsec[0]) / 120.0,
        frame.direction_deg(axis + 90.0),
        float(seen.illuminated[0]),
        frame.direction_deg(_bright_limb_deg(place, circumstance)),
    )
    rings = _ring_outlines(seen, frame.direction_deg(axis + 90.0))
    reach = max([disc.semi_major, *(ring.semi_major for ring in rings)])
    return _Marks(outlines=rings, discs=(disc,), radius=reach)


def _bright_limb_deg(place: dict[str, float], circumstance: Circumstance) -> float:
    """Give the position angle of the middle of the lit edge [deg]."""
    sun = _observer(circumstance).observe(circumstance.ephemeris.body("Sun"))
    ra, dec, _ = sun.radec()
    return position_angle_deg(
        **place, toward_ra_deg=float(ra.hours[0] * 15.0), toward_dec_deg=float(dec.degrees[0])
    )


def _ring_outlines(seen: BodyEphemeris, angle_deg: float) -> tuple[Outline, ...]:
    if seen.rings is None:
        return ()
    major, minor = (
        float(seen.rings.major_arcsec[0]) / 120.0,
        float(seen.rings.minor_arcsec[0]) / 120,
    )
    return tuple(
        Outline(0.0, 0.0, major * part, minor * part, angle_deg) for part in (1.0, INNER_RING)
    )


def _stars(
    target: Target, frame: Frame, span: float, limit_mag: float, marks: _Marks
) -> list[Star]:
    """Give the stars in the field, but for those that the target itself is."""
    radius = span / 2.0
    ra_deg, dec_deg = target.ra_deg or 0.0, target.dec_deg or 0.0
    near = load_field_stars().within(ra_deg, dec_deg, radius / 60.0)
    east, north = tangent_plane_arcmin(
        near.ra_deg, near.dec_deg, center_ra_deg=ra_deg, center_dec_deg=dec_deg
    )
    x, y = frame.place(east, north)
    shown = (near.magnitude <= limit_mag) & (np.hypot(x, y) <= radius)
    shown &= np.hypot(x, y) > OWN_STARS * marks.radius
    faintest = min(limit_mag, FAINTEST_IN_FILE_MAG)
    weight = np.clip((faintest - near.magnitude) / WEIGHT_RANGE_MAG, 0.0, 1.0)
    order = np.argsort(weight[shown], kind="stable")
    return [
        Star(float(a), float(b), float(w))
        for a, b, w in zip(x[shown][order], y[shown][order], weight[shown][order], strict=True)
    ]


def _close_span(target: Target) -> float | None:
    """Give how wide a close-up is [arcmin]; None where the size is unknown."""
    if not target.major_arcmin:
        return None
    part = CLOSE_PAIR if target.kind is Kind.DOUBLE_STAR else CLOSE
    return target.major_arcmin / part


def _words(train: Train, frame: Frame) -> str:
    """Say which way up the drawing is."""
    how = {
        Orientation.UPRIGHT: "upright",
        Orientation.INVERTED: "inverted",
        Orientation.MIRRORED: "mirrored, as through a star diagonal",
    }[frame.orientation]
    if train.telescope.mount is Mount.EQUATORIAL:
        place = "south" if frame.orientation is Orientation.INVERTED else "north"
    else:
        place = "zenith below" if frame.orientation is Orientation.INVERTED else "zenith above"
    return f"{how}, {place}{' above' if place in {'north', 'south'} else ''}"


def drawings_of(
    target: Target, trains: Sequence[Train], circumstance: Circumstance
) -> tuple[FieldDrawing, ...]:
    """Draw the same target in several trains, one beside the other."""
    return tuple(draw_field(target, train, circumstance) for train in trains)
