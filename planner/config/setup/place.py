"""Answers about the place."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date

from planner.config.sections import read_site
from planner.config.setup.draft import Draft, Taken, checked, read_number, without
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


# Marks of degrees, minutes, seconds and minus as keyboards and web pages have them.
MARKS = str.maketrans("\u00ba\u02da\u2032\u2019\u2033\u201d\u2212\u2013", "\u00b0\u00b0''\"\"--")
WORDS = {"north": "N", "south": "S", "east": "E", "west": "W"}
NUMBER = re.compile(r"[+-]?[0-9]+(?:\.[0-9]+)?")
LETTERS = re.compile(r"[A-Za-z]")
SEPARATORS = " ,;/"
EXAMPLE = 'write them as in "51.2 N 2.4 W", "51 12 30 N, 2 24 0 W" or "51.2, -2.4"'


def looks_like_coordinates(text: str) -> bool:
    """Whether text is meant as coordinates and not as a name."""
    return bool(re.search(r"[0-9]", text)) and len(NUMBER.findall(text)) >= 2


def read_coordinates(text: str) -> tuple[float, float]:
    """Read latitude and longitude in any usual spelling.

    Parameters
    ----------
    text : str
        Degrees with decimals, or degrees, minutes and seconds, with or without their marks; the
        hemisphere as a letter before or after, or as a sign; latitude first, unless letters tell.
        Without letter and sign, north and east are meant.

    Returns
    -------
    latitude_deg, longitude_deg : float
        North and east are positive [deg].

    Raises
    ------
    ValueError
        With a sentence that says what is allowed.
    """
    plain = _with_marks(text.translate(MARKS))
    for word, letter in WORDS.items():
        plain = re.sub(rf"\b{word}\b", letter, plain, flags=re.IGNORECASE)
    halves = _halves(plain)
    if halves is None:
        raise ValueError(f"These are not two coordinates; {EXAMPLE}.")
    first, second = (_angle(half) for half in halves)
    if first[1] in "EW" and second[1] in "NS" and first[1] and second[1]:
        first, second = second, first
    if first[1] not in "NS" or second[1] not in "EW":
        raise ValueError(f"One must be north or south and the other east or west; {EXAMPLE}.")
    return _within(first[0], 90.0, "latitude"), _within(second[0], 180.0, "longitude")


def _with_marks(text: str) -> str:
    """Write the letters of ``51d12m30s`` as marks; only beside a d or an m is an s a second."""
    if not re.search(r"[0-9]\s*(?:d|m)", text):
        return text
    for letters, mark in (("d(?:eg)?", "°"), ("m(?:in)?", "'"), ("s(?:ec)?", '"')):
        text = re.sub(rf"(?<=[0-9])\s*{letters}(?![a-z])", mark, text)
    return text


def _halves(text: str) -> tuple[str, str] | None:
    """Part the two coordinates: at the letters, at a comma, or in the middle of the numbers."""
    letters = [match.start() for match in re.finditer(r"[NSEWnsew]", text)]
    if len(letters) == 2:
        cut = letters[1] if not text[: letters[0]].strip() else letters[0] + 1
        return text[:cut].strip(SEPARATORS), text[cut:].strip(SEPARATORS)
    parts = [part for part in re.split(r"[;/]|,(?=\s)|,(?![0-9])", text) if part.strip()]
    if len(parts) == 2:
        return parts[0], parts[1]
    if text.count(",") == 1 and "." in text:
        before, after = text.split(",")
        return before, after
    numbers = text.replace(",", ".").split()
    if len(numbers) in {2, 4, 6}:
        half = len(numbers) // 2
        return " ".join(numbers[:half]), " ".join(numbers[half:])
    before, comma, after = text.partition(",")
    return (before, after) if comma and "," not in after else None


def _angle(text: str) -> tuple[float, str]:
    """Read degrees, minutes and seconds; the hemisphere's letter comes with it, or nothing."""
    decimal = re.sub(r"(?<=[0-9]),(?=[0-9])", ".", text)
    letters = "".join(LETTERS.findall(decimal))
    parts = NUMBER.findall(decimal)
    marks = re.fullmatch(r"[\s°'\":]*", LETTERS.sub("", NUMBER.sub("", decimal)))
    known = letters.upper() in {"", "N", "S", "E", "W"}
    if not (1 <= len(parts) <= 3 and known and marks):
        raise ValueError(f'"{text.strip()}" is not a coordinate; {EXAMPLE}.')
    degrees, smaller = float(parts[0]), [float(part) for part in parts[1:]]
    if any(not 0.0 <= part < 60.0 for part in smaller):
        raise ValueError(f'"{text.strip()}": minutes and seconds are 0 to below 60.')
    size = abs(degrees) + sum(part / 60.0**k for k, part in enumerate(smaller, start=1))
    is_negative = parts[0].startswith("-") != (letters.upper() in {"S", "W"} and bool(letters))
    return (-size if is_negative else size), letters.upper()


def _within(angle_deg: float, most_deg: float, what: str) -> float:
    if abs(angle_deg) > most_deg:
        raise ValueError(
            f"The {what} is {angle_deg:g}; it lies between -{most_deg:g} and {most_deg:g}."
        )
    return angle_deg
