"""What belongs to the Moon, its features and the planets as JSON."""

from __future__ import annotations

from planner.ephemeris.solar_system.jupiter import JupiterFace, MoonEvent
from planner.ephemeris.solar_system.lunar_calendar import LightSpan
from planner.ephemeris.solar_system.moon import FeatureLight, MoonFace
from planner.ephemeris.solar_system.planet_phases import PlanetFace
from planner.ephemeris.solar_system.report import BodyReport
from planner.ephemeris.solar_system.satellites import MoonOffset
from planner.ephemeris.solar_system.saturn import SaturnFace
from planner.model.site import Site
from planner.output.contracts.plan import Json, spans_json, time_json


def body_json(body: BodyReport, site: Site) -> Json:
    """Return a report as an object: ``moon``, ``feature``, ``jupiter``, ``saturn``, ``planet``.

    Parameters
    ----------
    site : Site
        For its clock.
    """
    found: Json = {}
    if body.moon is not None:
        found["moon"] = _moon(body.moon)
        found["moon"]["best_lit"] = [_light(light) for light in body.lit]
    if body.feature is not None:
        found["feature"] = _feature(body, body.feature, site)
    if body.jupiter is not None:
        found["jupiter"] = _jupiter(body, body.jupiter, site)
    if body.saturn is not None:
        found["saturn"] = _saturn(body.saturn)
    if body.planet is not None:
        found["planet"] = _planet(body.planet)
    return found


def _moon(face: MoonFace) -> Json:
    return {
        "colongitude_deg": round(face.colongitude_deg, 2),
        "libration_longitude_deg": round(face.libration_longitude_deg, 2),
        "libration_latitude_deg": round(face.libration_latitude_deg, 2),
        "north_pole_angle_deg": round(face.pole_angle_deg, 1),
        "bright_limb_angle_deg": round(face.bright_limb_deg, 1),
    }


def _light(light: FeatureLight) -> Json:
    return {
        "id": light.target.id,
        "name": light.target.name,
        "sun_altitude_deg": round(light.sun_altitude_deg, 1),
        "is_morning": light.is_morning,
        "from_disc_middle_deg": round(light.from_middle_deg, 1),
        "light_quality": round(light.quality, 2),
    }


def _feature(body: BodyReport, light: FeatureLight, site: Site) -> Json:
    place = light.target.lunar
    where = {} if place is None else {
        "form": place.form.value,
        "latitude_deg": place.latitude_deg,
        "longitude_deg": place.longitude_deg,
        "diameter_km": place.diameter_km,
    }  # fmt: skip
    return {
        **where,
        **_light(light),
        "window_sun_altitudes_deg": [round(end.sun_altitude_deg, 1) for end in body.at_window],
        "comes_back": [_span(span, site) for span in body.comes_back],
    }


def _span(span: LightSpan, site: Site) -> Json:
    return {
        "start": time_json(span.start, site),
        "end": time_json(span.end, site),
        "is_morning": span.is_morning,
        "is_turned_away": span.is_turned_away,
        "moon_up": spans_json(span.nights, site),
    }


def _jupiter(body: BodyReport, face: JupiterFace, site: Site) -> Json:
    spot = body.red_spot
    return {
        "central_meridian_i_deg": round(face.system_i_deg, 1),
        "central_meridian_ii_deg": round(face.system_ii_deg, 1),
        "tilt_deg": round(face.tilt_deg, 2),
        "north_pole_angle_deg": round(face.pole_angle_deg, 1),
        "moons": [_offset(moon) for moon in face.moons],
        "shadows_on_disc": list(face.shadows),
        "events": [_event(event, site) for event in body.events],
        "red_spot": None if spot is None else {
            "longitude_deg": round(spot.longitude_at(body.at), 1),
            "measured_on": spot.on.isoformat(),
            "transits": [time_json(instant, site) for instant in body.spot_transits],
        },
    }  # fmt: skip


def _event(event: MoonEvent, site: Site) -> Json:
    return {
        "at": time_json(event.at, site),
        "moon": event.moon,
        "phenomenon": event.phenomenon,
        "begins": event.begins,
    }


def _offset(moon: MoonOffset) -> Json:
    return {
        "name": moon.name,
        "west_radii": round(moon.west_radii, 2),
        "north_radii": round(moon.north_radii, 2),
        "east_arcsec": round(moon.east_arcsec, 1),
        "north_arcsec": round(moon.north_arcsec, 1),
        "state": moon.state or None,
    }


def _saturn(face: SaturnFace) -> Json:
    return {
        "ring_tilt_deg": round(face.tilt_deg, 2),
        "ring_sun_tilt_deg": round(face.sun_tilt_deg, 2),
        "north_pole_angle_deg": round(face.pole_angle_deg, 1),
        "moons": [_offset(moon) for moon in face.moons],
    }


def _planet(face: PlanetFace) -> Json:
    greatest = face.greatest
    return {
        "illuminated": round(face.illuminated, 3),
        "phase_angle_deg": round(face.phase_angle_deg, 1),
        "grows": face.grows,
        "bright_limb_angle_deg": round(face.bright_limb_deg, 1),
        "elongation_deg": round(face.elongation_deg, 1),
        "is_east_of_sun": face.is_east,
        "greatest_elongation": None if greatest is None else {
            "date": greatest[0].date().isoformat(),
            "elongation_deg": round(greatest[1], 1),
            "is_east_of_sun": greatest[2],
        },
        "central_meridian_deg": None if face.meridian_deg is None else round(face.meridian_deg, 1),
        "tilt_deg": None if face.tilt_deg is None else round(face.tilt_deg, 1),
        "north_pole_angle_deg": (
            None if face.pole_angle_deg is None else round(face.pole_angle_deg, 1)
        ),
    }  # fmt: skip
