"""Writes for people what belongs to the Moon, its features and the planets."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import datetime

from planner.ephemeris.solar_system.jupiter import JupiterFace
from planner.ephemeris.solar_system.lunar_calendar import LightSpan
from planner.ephemeris.solar_system.lunar_light import SUN_ALTITUDES
from planner.ephemeris.solar_system.moon import FeatureLight, MoonFace
from planner.ephemeris.solar_system.planet_phases import PlanetFace
from planner.ephemeris.solar_system.report import BodyReport
from planner.ephemeris.solar_system.satellites import FIRST_YEAR, LAST_YEAR, MEAN_MAGNITUDES
from planner.ephemeris.solar_system.saturn import SaturnFace
from planner.model.kit import Orientation
from planner.model.site import Site
from planner.output.words import LABEL_WIDTH, MONTHS, WEEKDAYS, arc, clock, date_words, item
from targets.lunar import Form

# Half the width of the line on which Jupiter's moons stand, in characters.
HALF_LINE = 27
# Room at its ends for moons that stand together there.
ROOM = 3
# Beyond this the longitude of the Red Spot is a guess (it drifts by 1 to 2 deg a month, from
# memory) [months].
OLD_SPOT_MONTHS = 6.0
MOST_NIGHTS = 4
# Difference in the quality of the light that is worth a word, of 1.
CLEARLY_BETTER = 0.02
_NO_MOONS = f"their places are known for {FIRST_YEAR} to {LAST_YEAR} only"


def body_lines(body: BodyReport, site: Site, orientation: Orientation) -> list[str]:
    """Write the lines of a report.

    Parameters
    ----------
    site : Site
        For its clock.
    orientation : Orientation
        How the telescope turns what it shows.

    Returns
    -------
    list of str
        At most 80 cells each, plain ASCII.
    """
    facts = body_facts(body, site)
    lines = [line for name, text in facts for line in item(name, text)]
    if body.jupiter is not None:
        lines += ["", *moons_line(body.jupiter, body.zenith_angle_deg, orientation)]
    return lines


def body_facts(body: BodyReport, site: Site) -> list[tuple[str, str]]:
    """Return the same as names and texts, without the line of Jupiter's moons."""
    facts: list[tuple[str, str]] = []
    if body.feature is not None and body.moon is not None:
        facts += _feature(body.feature, body.moon, body.at_window)
        facts += [("Back", _span(span, site)) for span in body.comes_back]
    elif body.moon is not None:
        facts += _moon(body.moon, body.lit)
    if body.jupiter is not None:
        facts += _jupiter(body, body.jupiter, site)
    if body.saturn is not None:
        facts += _saturn(body.saturn)
    if body.planet is not None:
        facts += _planet(body.planet)
    return facts


def _moon(face: MoonFace, lit: Sequence[FeatureLight]) -> list[tuple[str, str]]:
    words = ", ".join(f"{light.target.name} ({light.sun_altitude_deg:.0f} deg)" for light in lit)
    told = f"{words}; in brackets how high the Sun stands there"
    none = "nothing by name: what is lit has no shadows, or lies at the edge"
    best = told if lit else none
    return [("Light", _terminator(face)), ("Turned", _libration(face)), ("Best lit", best)]


def _terminator(face: MoonFace) -> str:
    c = face.colongitude_deg
    is_waxing = c < 90.0 or c >= 270.0
    east = (-c) % 360.0 if is_waxing else (180.0 - c) % 360.0
    east = east - 360.0 if east > 180.0 else east
    what = "rises" if is_waxing else "sets"
    return f"the Sun {what} along {_east_west(east, 'deg')} on the Moon; colongitude {c:.1f} deg"


def _libration(face: MoonFace) -> str:
    east, north = face.libration_longitude_deg, face.libration_latitude_deg
    corner = f"{'north' if north >= 0 else 'south'}-{'east' if east >= 0 else 'west'}"
    return (
        f"{_east_west(east, 'deg', 1)} and {abs(north):.1f} deg {'N' if north >= 0 else 'S'} is in "
        f"the middle of the disc (libration here): more of the Moon's {corner} shows"
    )


def _east_west(east_deg: float, unit: str, digits: int = 0) -> str:
    return f"{abs(east_deg):.{digits}f} {unit} {'E' if east_deg >= 0 else 'W'}"


def _feature(
    light: FeatureLight, face: MoonFace, at_window: Sequence[FeatureLight]
) -> list[tuple[str, str]]:
    place = light.target.lunar
    if place is None:
        return []
    size = arc(light.target.major_arcmin or 0.0)
    short = arc(light.target.minor_arcmin or 0.0)
    across = size if size == short else f"{size} by {short}"
    latitude = f"{abs(place.latitude_deg):.1f} {'N' if place.latitude_deg >= 0 else 'S'}"
    there = (
        f"{place.form.value}, {latitude} {_east_west(place.longitude_deg, '', 1)}, "
        f"{place.diameter_km:.0f} km, {across} tonight, "
        f"{light.from_middle_deg:.0f} deg from the middle of the disc"
    )
    sun = f"{_sun_over(light)}{_in_window(at_window)}; colongitude {face.colongitude_deg:.1f} deg"
    return [("There", there), ("Light", sun), ("Turned", _libration(face))]


def _sun_over(light: FeatureLight) -> str:
    place = light.target.lunar
    if place is None:
        return ""
    wanted, height = SUN_ALTITUDES[place.form], light.sun_altitude_deg
    ideal = f"{wanted.best_from_deg:.0f} to {wanted.best_until_deg:.0f} deg show it best"
    if place.has_rays:
        ideal += f", above {SUN_ALTITUDES[Form.BRIGHT_PATCH].best_from_deg:.0f} its rays"
    if height < 0.0:
        return f"it is night there, the Sun {-height:.0f} deg down; {ideal}"
    way = "and climbs" if light.is_morning else "and sinks"
    return f"the Sun stands {height:.0f} deg high there {way}; {ideal}"


def _in_window(ends: Sequence[FeatureLight]) -> str:
    if len(ends) < 2:
        return ""
    first, last = (end.sun_altitude_deg for end in ends)
    text = f", {first:.1f} deg when the window opens and {last:.1f} when it closes"
    better = ends[0].quality - ends[1].quality
    if abs(better) < CLEARLY_BETTER:
        return text
    return f"{text}: better {'early' if better > 0.0 else 'late'}"


def _span(span: LightSpan, site: Site) -> str:
    when = f"{_day(span.start, site)} to {_day(span.end, site)}"
    part = {True: "morning light", False: "evening light", None: "well lit"}[span.is_morning]
    light = f"{part} {when}"
    if span.is_turned_away:
        return f"{light}, but turned away from the Earth"
    if not span.nights:
        return f"{light}, but not while the Moon is 15 deg up in the dark here"
    nights = [f"{_day(a, site)}-{clock(b, site)}" for a, b in span.nights[:MOST_NIGHTS]]
    more = f" and {len(span.nights) - MOST_NIGHTS} more" if len(span.nights) > MOST_NIGHTS else ""
    return f"{light}; Moon 15 deg up here {', '.join(nights)}{more}"


def _day(instant: datetime, site: Site) -> str:
    local = instant.astimezone(site.zone)
    return (
        f"{WEEKDAYS[local.weekday()]} {local.day} {MONTHS[local.month - 1]} {clock(instant, site)}"
    )


def _jupiter(body: BodyReport, face: JupiterFace, site: Site) -> list[tuple[str, str]]:
    north = "north" if face.tilt_deg >= 0.0 else "south"
    middle = (
        f"longitude {face.system_i_deg:.0f} deg in System I, {face.system_ii_deg:.0f} in "
        f"System II; tilted {abs(face.tilt_deg):.1f} deg to the {north}"
    )
    told = [f"{clock(event.at, site)} {event.words}" for event in body.events]
    none = "nothing happens to them while Jupiter is up in the dark" if face.moons else _NO_MOONS
    return [("Middle", middle), ("Spot", _spot(body, site)), *_listed("Moons", told, none)]


def _listed(name: str, texts: Sequence[str], none: str) -> list[tuple[str, str]]:
    names = [name, *[""] * len(texts)]
    return list(zip(names, texts, strict=False)) if texts else [(name, none)]


def _spot(body: BodyReport, site: Site) -> str:
    spot = body.red_spot
    if spot is None:
        return (
            "the Red Spot drifts: put its System II longitude from a recent report into the "
            "configuration, [jupiter] red_spot_longitude_deg and red_spot_date, and its "
            "passages stand here"
        )
    times = ", ".join(clock(instant, site) for instant in body.spot_transits)
    told = (
        f"the Red Spot passes the middle {times}"
        if times
        else "the Red Spot does not pass the middle while Jupiter is up in the dark"
    )
    text = f"{told} (longitude {spot.longitude_at(body.at):.0f} deg, from {spot.on})"
    if abs(spot.age_months(body.at)) > OLD_SPOT_MONTHS:
        text += "; that is more than half a year away: each degree of drift makes 1.7 minutes"
    return text


def moons_line(face: JupiterFace, zenith_angle_deg: float, orientation: Orientation) -> list[str]:
    """Draw Jupiter's moons on a line, as they stand in the telescope.

    Parameters
    ----------
    zenith_angle_deg : float
        Position angle of the zenith at Jupiter [deg].
    orientation : Orientation
        Of the telescope: turned round or mirrored, right and left change places.

    Returns
    -------
    list of str
        The line, with east and west at its ends; a key; what it is. Empty without moons.
    """
    if not face.moons:
        return []
    # West of the equator points to the right when the planet's north stands nearer to the zenith.
    west_is_right = math.cos(math.radians(face.pole_angle_deg - zenith_angle_deg)) >= 0.0
    west_is_right ^= orientation is not Orientation.UPRIGHT
    middle = HALF_LINE + ROOM
    cells = [" "] * (2 * middle + 1)
    reach = max([8.0, *(abs(moon.west_radii) for moon in face.moons)])
    shown = [moon for moon in face.moons if not moon.state]
    for moon in sorted(shown, key=lambda moon: abs(moon.west_radii)):
        side = moon.west_radii if west_is_right else -moon.west_radii
        outward = 1 if side >= 0.0 else -1
        at = middle + outward * max(2, round(abs(side) / reach * HALF_LINE))
        while cells[at] != " ":
            at += outward
        cells[at] = moon.name[0]
    cells[middle - 1 : middle + 2] = "(O)"
    left, right = ("east", "west") if west_is_right else ("west", "east")
    places = ", ".join(_moon_place(moon.name, moon.west_radii, moon.state) for moon in face.moons)
    shadows = "".join(f"; {name}'s shadow on the disc" for name in face.shadows)
    return [
        f"{'':{LABEL_WIDTH}}{left} {''.join(cells)} {right}",
        *item("", f"as this telescope shows it: {orientation.value}"),
        *item("", f"from the middle in radii of Jupiter: {places}{shadows}"),
    ]


def _moon_place(name: str, west_radii: float, state: str) -> str:
    side = f"{abs(west_radii):.1f} {'W' if west_radii >= 0.0 else 'E'}"
    words = {"in front": "in front of the disc", "behind": "behind the disc"}.get(state, state)
    return f"{name} {words or side}"


def _saturn(face: SaturnFace) -> list[tuple[str, str]]:
    side = "northern" if face.tilt_deg >= 0.0 else "southern"
    lit = "" if face.tilt_deg * face.sun_tilt_deg > 0.0 else ", which the Sun does not light"
    moons = ", ".join(
        f"{moon.name} ({MEAN_MAGNITUDES[moon.name]:.1f}) "
        f'{abs(moon.east_arcsec):.0f}" {"E" if moon.east_arcsec >= 0 else "W"} '
        f'{abs(moon.north_arcsec):.0f}" {"N" if moon.north_arcsec >= 0 else "S"}'
        for moon in face.moons
    )
    rings = (
        f"{abs(face.tilt_deg):.1f} deg open, {side} face{lit}; north pole at position "
        f"angle {face.pole_angle_deg:.0f} deg"
    )
    told = f"{moons}; brightness at a mean opposition" if face.moons else _NO_MOONS
    return [("Rings", rings), ("Moons", told)]


def _planet(face: PlanetFace) -> list[tuple[str, str]]:
    side = "east" if face.is_east else "west"
    sky = "evening" if face.is_east else "morning"
    change = "growing" if face.grows else "shrinking"
    phase = (
        f"{face.illuminated:.0%} lit and {change}, the lit edge toward position angle "
        f"{face.bright_limb_deg:.0f} deg"
    )
    away = f"{face.elongation_deg:.0f} deg {side}, in the {sky} sky{_greatest(face)}"
    facts = [("Phase", phase), ("From Sun", away)]
    if face.meridian_deg is not None and face.tilt_deg is not None:
        north = "north" if face.tilt_deg >= 0.0 else "south"
        middle = (
            f"longitude {face.meridian_deg:.0f} deg, tilted {abs(face.tilt_deg):.0f} deg "
            f"to the {north}; north pole at position angle {face.pole_angle_deg:.0f} deg"
        )
        facts.append(("Middle", middle))
    return facts


def _greatest(face: PlanetFace) -> str:
    if face.greatest is None:
        return ""
    when, elongation_deg, is_east = face.greatest
    sky = "east, evening sky" if is_east else "west, morning sky"
    return f"; next greatest elongation {date_words(when)}, {elongation_deg:.1f} deg {sky}"
