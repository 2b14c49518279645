"""One thing to look at, and the kinds of thing there are."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Kind(StrEnum):
    """Kinds of target, as an observer names them."""

    OPEN_CLUSTER = "open cluster"
    GLOBULAR_CLUSTER = "globular cluster"
    GALAXY = "galaxy"
    GALAXY_GROUP = "galaxy group"
    QUASAR = "quasar"
    PLANETARY_NEBULA = "planetary nebula"
    EMISSION_NEBULA = "emission nebula"
    REFLECTION_NEBULA = "reflection nebula"
    DARK_NEBULA = "dark nebula"
    SUPERNOVA_REMNANT = "supernova remnant"
    STAR_CLOUD = "star cloud"
    ASTERISM = "asterism"
    DOUBLE_STAR = "double star"
    PLANET = "planet"
    MOON = "Moon"


class Origin(StrEnum):
    """Where a catalogue value comes from."""

    CATALOGUE = "catalogue"
    CORRECTED = "corrected"
    DERIVED = "derived"  # worked out from other catalogue values, e.g. V from B
    SCALED = "scaled"  # a catalogue value times a typical factor: shown as "approximate"
    COMPUTED = "computed"  # from the ephemeris, for this night
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class Target:
    """One target. ``None`` means unknown or not applicable, never zero.

    Parameters
    ----------
    id : str
        Primary designation without blanks: ``NGC224``, ``M45``, ``C14``, ``Jupiter``, ``Moon``.
    name : str
        What an observer says: ``M31 Andromeda Galaxy``.
    kind : Kind
        What it is.
    constellation : str or None
        Three-letter IAU abbreviation; None for bodies that move.
    ra_deg, dec_deg : float or None
        J2000 position [deg]; None for bodies that move.
    major_arcmin, minor_arcmin : float or None
        Apparent axes [arcmin].
    position_angle_deg : float or None
        Of the major axis, from north through east [deg], 0 <= angle < 180.
    magnitude : float or None
        Total V magnitude; None where a catalogue's value belongs to something else.
    visual_rating : int or None
        1 (very hard) .. 5 (showpiece), a judgement; stands in for the magnitude of bright nebulae.
    size_origin, magnitude_origin : Origin
        Where the values come from.
    size_source, magnitude_source : str or None
        The source by name, for corrected values.
    aliases : tuple of str
        Other designations and names under which it is found.
    note : str or None
        What an observer should know.
    """

    id: str
    name: str
    kind: Kind
    constellation: str | None = None
    ra_deg: float | None = None
    dec_deg: float | None = None
    major_arcmin: float | None = None
    minor_arcmin: float | None = None
    position_angle_deg: float | None = None
    magnitude: float | None = None
    visual_rating: int | None = None
    size_origin: Origin = Origin.UNKNOWN
    magnitude_origin: Origin = Origin.UNKNOWN
    size_source: str | None = None
    magnitude_source: str | None = None
    aliases: tuple[str, ...] = ()
    note: str | None = None

    @property
    def size_is_approximate(self) -> bool:
        """Whether the size is a scaled guess and must be shown as approximate."""
        return self.size_origin is Origin.SCALED

    @property
    def moves(self) -> bool:
        """Whether its place comes from the ephemeris, not from the catalogue."""
        return self.kind in (Kind.MOON, Kind.PLANET)
