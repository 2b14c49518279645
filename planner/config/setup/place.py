"""Answers about the place."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date

from planner.config.sections import read_site
from planner.config.setup.draft import Draft, Taken, checked, read_number, without
from planner.config.setup.places import looks_like_coordinates, read_coordinates
from planner.config.setup.towns import Town, coordinates_words, find_towns, nearest_town

SKY_KEYS = ("bortle", "sky_mag_arcsec2")


def take_place(draft: Draft, text: str, _today: date) -> Taken:
    """Take coordinates or a town; of several towns one is to be chosen."""
    if looks_like_coordinates(text):
        return _at_place(draft, *read_coordinates(text))
    towns = find_towns(text)
    if not towns:
        raise ValueError(
            f'No town called "{text}" with 15,000 inhabitants or more is known; give a larger one '
            'nearby, or coordinates as in "51.2 N 2.4 W".'
        )
    if len(towns) == 1:
        return at_town(draft, towns[0])
    said = [f"{number}  {town.words}" for number, town in enumerate(towns, start=1)]
    said.append("Which one? Its number, or a name with its country.")
    return Taken(draft, tuple(said), again=True, choices=towns)


def at_town(draft: Draft, town: Town) -> Taken:
    """Put the site where a town is."""
    site = draft.with_site(
        name=town.name, latitude_deg=town.latitude_deg, longitude_deg=town.longitude_deg
    )
    return Taken(site, (f"{town.words}; times are {_zone(site)}.",))


def _at_place(draft: Draft, latitude_deg: float, longitude_deg: float) -> Taken:
    latitude_deg, longitude_deg = round(latitude_deg, 5), round(longitude_deg, 5)
    site = draft.with_site(name="Home", latitude_deg=latitude_deg, longitude_deg=longitude_deg)
    town, km = nearest_town(latitude_deg, longitude_deg)
    words = coordinates_words(latitude_deg, longitude_deg)
    near = f"{km:.0f} km from {town.name}, {town.country}"
    said = f'{words} is {near}; times are {_zone(site)}. Not there? "<" goes back.'
    return Taken(site, (said,))


def _zone(draft: Draft) -> str:
    return str(checked(read_site, draft.site, "place").timezone)


def take_site_name(draft: Draft, text: str, _today: date) -> Taken:
    """Take what the site is called."""
    after = draft.with_site(name=text)
    checked(read_site, after.site, "place")
    return Taken(after)


def take_elevation(draft: Draft, text: str, _today: date) -> Taken:
    """Take the height above the sea, in metres or feet."""
    feet = re.fullmatch(r"(-?[0-9]+(?:\.[0-9]+)?)\s*(?:ft|feet)", text)
    metres = (
        float(feet[1]) * 0.3048
        if feet
        else read_number(text.removesuffix("m"), "metres, or feet as in 690 ft")
    )
    after = draft.with_site(elevation_m=round(metres))
    checked(read_site, after.site, "place")
    return Taken(after)


def take_sky(draft: Draft, text: str, _today: date) -> Taken:
    """Take how dark it is; nothing leaves the usual sky."""
    after = replace(draft, site={**without(draft.site, *SKY_KEYS), **_sky(text)})
    site = checked(read_site, after.site, "sky")
    words = f"{site.sky_mag_arcsec2:g} mag/arcsec2 at the zenith, {site.sky_source}."
    return Taken(after, (words,))


def _sky(text: str) -> dict[str, float]:
    if not text:
        return {}
    value = read_number(
        text.lower().removeprefix("bortle"), "a class 1 to 9, or magnitudes as in 20.9"
    )
    is_class = value == int(value) and value <= 9
    return {"bortle": int(value)} if is_class else {"sky_mag_arcsec2": value}
