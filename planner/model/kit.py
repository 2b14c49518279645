"""The observer, and what the observer owns."""

from __future__ import annotations

import math
from enum import StrEnum

from targets.frozen import frozen


class Barrel(StrEnum):
    """Barrel sizes of eyepieces, amplifiers, filters and focusers."""

    SMALL = "0.965in"
    ONE_AND_A_QUARTER = "1.25in"
    TWO = "2in"
    THREE = "3in"

    @property
    def inches(self) -> float:
        """Outer diameter [inch]."""
        return float(self.removesuffix("in"))


class AmplifierKind(StrEnum):
    """What goes between telescope and eyepiece and changes the focal length."""

    BARLOW = "barlow"
    REDUCER = "reducer"
    CORRECTOR = "corrector"
    BINOVIEWER = "binoviewer"


class FilterKind(StrEnum):
    """Filters by what they pass."""

    BROADBAND = "broadband"
    NARROWBAND = "narrowband"
    OIII = "oiii"
    HBETA = "hbeta"
    NEUTRAL = "neutral"
    COLOUR = "colour"


class Mount(StrEnum):
    """How the telescope turns."""

    ALTAZIMUTH = "altazimuth"
    EQUATORIAL = "equatorial"


class Orientation(StrEnum):
    """How a telescope turns what it shows: half a turn, left and right exchanged, or neither."""

    UPRIGHT = "upright"
    INVERTED = "inverted"
    MIRRORED = "mirrored"


class Pointing(StrEnum):
    """How a telescope is brought to a target: by hand and eye, by its circles, by its motors."""

    HAND = "hand"
    CIRCLES = "circles"
    GOTO = "goto"


class FinderKind(StrEnum):
    """Kinds of finder: with the eye in line or at a right angle, or without any power."""

    STRAIGHT = "straight"
    RIGHT_ANGLE = "right_angle"
    UNIT_POWER = "unit_power"


class Experience(StrEnum):
    """How practised an eye is at the eyepiece."""

    BEGINNER = "beginner"
    PRACTISED = "practised"
    EXPERT = "expert"


@frozen
class Observer:
    """Who looks.

    Parameters
    ----------
    name : str
        For the sheet.
    dark_pupil_mm : float
        Diameter of the dark-adapted pupil [mm].
    pupil_source : str
        ``"measured"``, ``"from age 42"`` or ``"assumed"``.
    spectacles : bool
        Whether glasses stay on while looking.
    lean_on_journal : bool
        Whether the matcher takes account of what the journal says is preferred.
    learn_eye : bool
        Whether what was seen and what was not tells how faint the eye sees.
    overdue_min : float
        A look that is over by so much [min] is taken as done at the telescope.
    experience : Experience
        How faint a glow or a star the eye makes out.
    """

    name: str = "Observer"
    dark_pupil_mm: float = 6.0
    pupil_source: str = "assumed"
    spectacles: bool = False
    lean_on_journal: bool = True
    learn_eye: bool = True
    overdue_min: float = 15.0
    experience: Experience = Experience.PRACTISED


@frozen
class Telescope:
    """A telescope; lengths in mm, ``balance_g`` in grams (None: not stated).

    ``adapters`` are the smaller barrels that the focuser takes. ``eyepiece_height_cm`` tells how
    high the eyepiece is with the tube level and upright; None where not stated.
    """

    name: str
    aperture_mm: float
    focal_length_mm: float
    focuser: Barrel
    adapters: tuple[Barrel, ...] = ()
    obstruction_mm: float = 0.0
    transmission: float = 0.80
    mount: Mount = Mount.ALTAZIMUTH
    driven: bool = False
    balance_g: float | None = None
    orientation: Orientation = Orientation.INVERTED
    pointing: Pointing = Pointing.HAND
    eyepiece_height_cm: tuple[float, float] | None = None

    def eyepiece_at_cm(self, altitude_deg: float) -> float | None:
        """How high the eyepiece is [cm] when the tube points so high [deg]; None if not stated."""
        if self.eyepiece_height_cm is None:
            return None
        level, upright = self.eyepiece_height_cm
        return level + (upright - level) * math.sin(math.radians(altitude_deg))

    @property
    def focal_ratio(self) -> float:
        """Focal length over aperture."""
        return self.focal_length_mm / self.aperture_mm


@frozen
class Eyepiece:
    """An eyepiece.

    ``focal_lengths_mm`` and ``apparent_fields_deg`` hold one value each, or for a zoom the two
    ends, the short end first. ``count`` is how many there are of it: a binoviewer takes two.
    ``field_stop_mm``, ``eye_relief_mm`` and ``mass_g`` are None when
    not stated.
    """

    name: str
    focal_lengths_mm: tuple[float, ...]
    apparent_fields_deg: tuple[float, ...]
    barrel: Barrel
    field_stop_mm: float | None = None
    eye_relief_mm: float | None = None
    mass_g: float | None = None
    count: int = 1

    @property
    def is_zoom(self) -> bool:
        """Whether its focal length can be turned."""
        return len(self.focal_lengths_mm) > 1


@frozen
class Amplifier:
    """A Barlow, reducer, coma corrector or binoviewer: multiplies the focal length by ``factor``.

    A corrector that is ``always`` in belongs to every telescope which needs it and takes it. A
    binoviewer takes two eyepieces of a kind; no wider stop than ``clear_aperture_mm`` is seen
    through it (None: the barrel's).
    """

    name: str
    kind: AmplifierKind
    factor: float
    barrel: Barrel
    mass_g: float | None = None
    always: bool = True
    clear_aperture_mm: float | None = None

    @property
    def eyes(self) -> int:
        """How many eyes look at once, each through an eyepiece of its own."""
        return 2 if self.kind is AmplifierKind.BINOVIEWER else 1


@frozen
class Filter:
    """A filter that threads into a barrel."""

    name: str
    kind: FilterKind
    barrel: Barrel


@frozen
class Finder:
    """What one aims with.

    ``aperture_mm`` is None for a finder without power, which shows what the naked eye sees.
    ``field_deg`` is the diameter of its field, of one without power that of its largest ring.
    """

    name: str
    kind: FinderKind = FinderKind.STRAIGHT
    aperture_mm: float | None = 30.0
    magnification: float = 6.0
    field_deg: float = 7.0
    orientation: Orientation = Orientation.INVERTED


# The finder that comes with most telescopes of small and middle size (common practice).
USUAL_FINDER = Finder("6x30 finder")


@frozen
class Kit:
    """All that is owned, in the order of the configuration; the first telescope is the default.

    The finders sit on whichever telescope is in use.
    """

    telescopes: tuple[Telescope, ...]
    eyepieces: tuple[Eyepiece, ...]
    amplifiers: tuple[Amplifier, ...] = ()
    filters: tuple[Filter, ...] = ()
    finders: tuple[Finder, ...] = (USUAL_FINDER,)


@frozen
class Train:
    """Telescope and eyepiece, if need be with an amplifier and a filter, put together.

    Parameters
    ----------
    telescope, eyepiece, amplifier, filter
        The parts; ``amplifier`` and ``filter`` may be None.
    focal_length_mm : float
        Of the eyepiece as used, for a zoom the chosen setting [mm].
    apparent_field_deg : float
        At that setting [deg].
    magnification : float
        Power.
    true_field_arcmin : float
        Diameter of the field on the sky [arcmin].
    true_field_is_exact : bool
        True when it comes from the field stop, False when from the apparent
        field, which is 5 to 10 percent off.
    exit_pupil_mm : float
        Diameter of the beam that leaves the eyepiece [mm].
    faults : tuple of str
        Why it cannot be put together; empty when it can.
    """

    telescope: Telescope
    eyepiece: Eyepiece
    amplifier: Amplifier | None
    filter: Filter | None
    focal_length_mm: float
    apparent_field_deg: float
    magnification: float
    true_field_arcmin: float
    true_field_is_exact: bool
    exit_pupil_mm: float
    faults: tuple[str, ...] = ()

    @property
    def usable(self) -> bool:
        """Whether the parts fit together."""
        return not self.faults

    @property
    def is_bare(self) -> bool:
        """Whether nothing stands between telescope and eyepiece."""
        return self.amplifier is None and self.filter is None

    @property
    def eyes(self) -> int:
        """How many eyes look at once."""
        return self.amplifier.eyes if self.amplifier else 1

    @property
    def mass_g(self) -> float | None:
        """Mass of what hangs on the focuser [g]; None when the eyepiece's is not stated."""
        if self.eyepiece.mass_g is None:
            return None
        glass = (self.amplifier.mass_g or 0.0) if self.amplifier else 0.0
        return self.eyes * self.eyepiece.mass_g + glass


def train_words(train: Train) -> str:
    """Name a train: ``12 mm 60 + 2x Barlow + O III``; a zoom with its setting."""
    name = train.eyepiece.name
    if train.eyepiece.is_zoom:
        name = f"{name} at {train.focal_length_mm:.3g} mm"
    extras = [part.name for part in (train.amplifier, train.filter) if part]
    return " + ".join([name, *extras])
