"""Towns by name: where they are, without a network.

The table ``data/towns.csv.gz`` holds the towns of GeoNames with 15,000 inhabitants or more, by
population: name, country, region (only where the database has it as letters), latitude, longitude,
inhabitants. ``tests/references/make_towns.py`` makes it.
"""

from __future__ import annotations

import csv
import gzip
import io
import math
import unicodedata
from functools import cache
from importlib.resources import files

from targets.frozen import frozen

KM_PER_DEG = 111.2
MOST_TOWNS = 9
# Letters that Unicode does not take apart into a plain one and an accent.
PLAIN_LETTERS = str.maketrans(
    {"ø": "o", "ł": "l", "æ": "ae", "œ": "oe", "đ": "d", "ð": "d", "\u0131": "i"}
)


@frozen
class Town:
    """A town: its name, country and region (may be empty), and place [deg], east positive."""

    name: str
    country: str
    region: str
    latitude_deg: float
    longitude_deg: float
    inhabitants: int

    @property
    def words(self) -> str:
        """Name it so that two of one name differ, with country, region and coordinates."""
        region = f" ({self.region})" if self.region else ""
        return f"{self.name}, {self.country}{region}, {self.place}"

    @property
    def place(self) -> str:
        """Write its coordinates."""
        return coordinates_words(self.latitude_deg, self.longitude_deg)


def coordinates_words(latitude_deg: float, longitude_deg: float) -> str:
    """Write a place: ``51.38 N 2.36 W``."""
    north, east = "N" if latitude_deg >= 0.0 else "S", "E" if longitude_deg >= 0.0 else "W"
    return f"{abs(latitude_deg):.2f} {north} {abs(longitude_deg):.2f} {east}"


@cache
def load_towns() -> tuple[Town, ...]:
    """Read all towns, the largest first."""
    packed = files("planner.config.setup").joinpath("data", "towns.csv.gz").read_bytes()
    rows = csv.reader(io.StringIO(gzip.decompress(packed).decode("utf-8"), newline=""))
    return tuple(
        Town(name, country, region, float(latitude), float(longitude), int(inhabitants))
        for name, country, region, latitude, longitude, inhabitants in rows
    )


def find_towns(text: str) -> tuple[Town, ...]:
    """Find towns by name.

    Parameters
    ----------
    text : str
        A name or its beginning, whatever its case and accents; after a comma, a country or region
        or the beginning of one: ``Bath``, ``san jose, costa``, ``Springfield, IL``.

    Returns
    -------
    tuple of Town
        Some of exactly that name if there are any, else of those that begin so; the largest first.
    """
    name, _, where = (plain(part) for part in text.partition(","))
    if not name:
        return ()
    there = [town for town in load_towns() if _is_in(town, where)]
    exact = [town for town in there if plain(town.name) == name]
    return tuple((exact or [t for t in there if plain(t.name).startswith(name)])[:MOST_TOWNS])


def nearest_town(latitude_deg: float, longitude_deg: float) -> tuple[Town, float]:
    """Return the town that is nearest to a place [deg], and how far it is [km]."""

    def distance_km(town: Town) -> float:
        east = (town.longitude_deg - longitude_deg + 180.0) % 360.0 - 180.0
        east *= math.cos(math.radians(latitude_deg))
        return KM_PER_DEG * math.hypot(town.latitude_deg - latitude_deg, east)

    town = min(load_towns(), key=distance_km)
    return town, distance_km(town)


def plain(text: str) -> str:
    """Return text in small letters, without accents, hyphens and double blanks."""
    decomposed = unicodedata.normalize("NFKD", text.casefold().translate(PLAIN_LETTERS))
    letters = "".join(char for char in decomposed if not unicodedata.combining(char))
    return " ".join(letters.replace("-", " ").split())


def _is_in(town: Town, where: str) -> bool:
    return not where or plain(town.country).startswith(where) or town.region.casefold() == where
