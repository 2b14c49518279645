"""Named features of the Moon as targets: where they are on it, and what shows them."""

from __future__ import annotations

from collections.abc import Iterable
from enum import StrEnum

from targets.frozen import frozen
from targets.tables import Row, words


class Form(StrEnum):
    """What a feature is, as far as it tells which light shows it."""

    SEA = "sea"
    BAY = "bay"
    CRATER = "crater"
    MOUNTAIN = "mountain"
    SCARP = "scarp"
    VALLEY = "valley"
    RILLE = "rille"
    CHAIN = "chain"
    RIDGE = "ridge"
    DOME = "dome"
    LOW_RELIEF = "low relief"
    BRIGHT_PATCH = "bright patch"


@frozen
class LunarPlace:
    """A feature's place on the Moon.

    Parameters
    ----------
    latitude_deg, longitude_deg : float
        Selenographic, north and east positive [deg], 0 in the middle of the near side.
    diameter_km : float
        Or length [km].
    has_rays : bool
        Whether bright rays go out from it, which a high Sun shows.
    """

    form: Form
    latitude_deg: float
    longitude_deg: float
    diameter_km: float
    has_rays: bool = False


def lunar_place(line: Row) -> LunarPlace:
    """Read the place out of a row of the table."""
    return LunarPlace(
        Form(line["form"]),
        float(line["latitude_deg"]),
        float(line["longitude_deg"]),
        float(line["diameter_km"]),
        has_rays=line["rays"] == "yes",
    )


def feature_names(features: Iterable[Row], first: int) -> list[tuple[str, int]]:
    """List all names of the features; their indices in the catalogue begin at ``first``."""
    numbered = list(enumerate(features, start=first))
    shown = [(line["name"], index) for index, line in numbered]
    return shown + [(word, i) for i, line in numbered for word in words(line["also_known_as"])]
