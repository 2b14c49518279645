"""One thing to look at, and the kinds of thing there are."""

from __future__ import annotations

from collections.abc import Sequence
from enum import StrEnum
from typing import TYPE_CHECKING

from targets.frozen import frozen

if TYPE_CHECKING:
    from targets.double_stars.orbits import Orbit
    from targets.elements import Elements
    from targets.lunar import LunarPlace
    from targets.proper_motion import ProperMotion


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
    STAR = "star"
    PLANET = "planet"
    MOON = "Moon"
    LUNAR_FEATURE = "lunar feature"
    COMET = "comet"
    ASTEROID = "asteroid"
    OTHER = "other object"  # on a user's own list, which does not say what it is


_OF_THE_EPHEMERIS = (Kind.MOON, Kind.LUNAR_FEATURE, Kind.PLANET)


class Origin(StrEnum):
    """Where a catalogue value comes from."""

    CATALOGUE = "catalogue"
    CORRECTED = "corrected"
    DERIVED = "derived"  # worked out from other catalogue values, e.g. V from B
    SCALED = "scaled"  # a catalogue value times a typical factor: shown as "approximate"
    COMPUTED = "computed"  # from the ephemeris or an orbit, for this night
    UNKNOWN = "unknown"


@frozen
class Target:
    """One target. ``None`` means unknown or not applicable, never zero.

    Parameters
    ----------
    id : str
        The one designation that other programs may rely on: ``NGC6720``, ``M45``, ``Saturn``.
    name : str
        For people, number and common name: ``M57 Ring Nebula``.
    constellation : str or None
        Three-letter IAU abbreviation; None for bodies that move.
    ra_deg, dec_deg : float or None
        J2000 position [deg]; None for bodies that move.
    major_arcmin, minor_arcmin : float or None
        Apparent axes [arcmin]; a pair's major axis is its separation.
    position_angle_deg : float or None
        Of the major axis, from north through east [deg], 0 <= angle < 180; of a pair from the
        primary to the companion, 0 <= angle < 360.
    magnitude : float or None
        Total V magnitude; None where a catalogue's value belongs to something else. Of a variable
        star the middle of its range.
    visual_rating : int or None
        1 (very hard) .. 5 (showpiece), a judgement; stands in for the magnitude of bright nebulae.
    bulge_share : float or None
        Share of a galaxy's light in its bulge, 0 .. 1, by its type.
    core_radius_arcmin, concentration : float or None
        Of a globular cluster: core radius [arcmin], and log10 of tidal over core radius.
    size_origin, magnitude_origin : Origin
        Where the values come from.
    size_source, magnitude_source : str or None
        The source by name, for corrected values.
    aliases : sequence of str
        Other designations and names under which it is found.
    note : str or None
        What an observer should know.
    companion_magnitude : float or None
        V magnitude of a pair's fainter star.
    epoch_yr : float or None
        For when a pair's separation and angle hold [Julian year]; None where it is not known.
    orbit : Orbit or None
        On which the companion of a pair goes; see :func:`targets.double_stars.doubles.pair_at`.
    magnitude_range : tuple of float or None
        V magnitude of a variable star at its brightest and at its faintest.
    elements : Elements or None
        Of a comet's or minor planet's way around the Sun.
    own_note : str or None
        What the user's own list says of it.
    proper_motion : ProperMotion or None
        Of a star, and when its place holds; None where it is not known.
    lunar : LunarPlace or None
        Where on the Moon a lunar feature is; in the sky it stands where the Moon does.
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
    aliases: Sequence[str] = ()
    note: str | None = None
    companion_magnitude: float | None = None
    epoch_yr: float | None = None
    orbit: Orbit | None = None
    magnitude_range: tuple[float, float] | None = None
    elements: Elements | None = None
    own_note: str | None = None
    lunar: LunarPlace | None = None
    proper_motion: ProperMotion | None = None
    bulge_share: float | None = None
    core_radius_arcmin: float | None = None
    concentration: float | None = None

    @property
    def size_is_approximate(self) -> bool:
        """Whether the size is a scaled guess and must be shown as approximate."""
        return self.size_origin is Origin.SCALED

    @property
    def separation_arcsec(self) -> float | None:
        """Distance between the stars of a pair [arcsec]; None for what is no pair."""
        if self.kind is not Kind.DOUBLE_STAR or self.major_arcmin is None:
            return None
        return 60.0 * self.major_arcmin

    @property
    def moves(self) -> bool:
        """Whether its place comes from the ephemeris, not from the catalogue."""
        return self.elements is not None or self.kind in _OF_THE_EPHEMERIS
