"""What to look for in a target: short facts that follow from the data and the optics.

Nothing is told that the catalogue does not hold: no dust lanes, no arms, no colours of nebulae.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from typing import TYPE_CHECKING

from planner.matcher.globular_stars import GREAT_MAG, stars_shown
from planner.model.kit import FilterKind, Mount, Train
from planner.model.plan import Look
from planner.model.site import Site
from planner.output.drawing.orientation import ViewOrientation
from planner.output.words import arc
from targets.double_stars.doubles import colours_of, primary_magnitude
from targets.model import Kind, Target

if TYPE_CHECKING:
    from planner.planning.look import LookReport

MOST_FACTS = 3
# Width of the full Moon to the naked eye [arcmin].
MOON_ARCMIN = 31.0
# What is narrower or wider than this on the eye's side is not compared with the Moon, and what is
# about as wide is as the Moon [Moons].
LEAST_MOONS, MOST_MOONS, SAME_AS_ONE = 0.1, 12.0, (0.9, 1.1)
# The upper BP - RP of each colour [mag], by the spectral classes B, A, F, G, K (Pecaut and Mamajek
# 2013, ApJS 208, 9, table 5, and its updates), and the name that observers give to them.
COLOURS = ((0.0, "blue-white"), (0.33, "white"), (0.75, "yellow-white"), (1.0, "yellow"),
           (1.8, "orange"), (math.inf, "red"))  # fmt: skip
NAMES_A_COLOUR = re.compile(r"\b(?:gold|yellow|blu|whit|orange|red(?:dish)?\b|green|colou?r)")
# Fainter stars show no colour to most eyes (common practice).
COLOURED_MAG = 8.5
# Colours less apart than this are one colour to the eye (our choice) [mag].
SAME_COLOUR_MAG = 0.25
# From this difference on a companion is told to be fainter [mag].
UNEQUAL_MAG = 2.5
# A shape longer than so many times its width has a direction.
LONG = 1.4
# King's concentration of what is loose, and of what has a bright point in its middle (our choice).
LOOSE, DENSE = 1.0, 1.9
# The share of a galaxy's light in its bulge, from where on it has a bright middle, and below which
# it has none (our choice).
BRIGHT_MIDDLE, NO_MIDDLE = 0.35, 0.05
# The file of stars ends here.
FAINTEST_COUNTED_MAG = 10.0
# Pairs and bodies; what of these is long is told by other words.
NO_SHAPE = frozenset(
    {Kind.DOUBLE_STAR, Kind.STAR, Kind.MOON, Kind.LUNAR_FEATURE, Kind.PLANET, Kind.COMET}
)
# They pass lines of the gas between the stars alone.
GAS_FILTERS = frozenset({FilterKind.NARROWBAND, FilterKind.OIII, FilterKind.HBETA})
STARRY = frozenset({Kind.OPEN_CLUSTER, Kind.ASTERISM, Kind.STAR_CLOUD})


def what_to_see(
    target: Target,
    train: Train,
    *,
    altitude_deg: float,
    azimuth_deg: float,
    site: Site,
    seen_arcmin: float | None = None,
    star_limit_mag: float | None = None,
    counts_stars: bool = False,
) -> tuple[str, ...]:
    """Return what to look for, in clauses without a full stop.

    Parameters
    ----------
    target : Target
        As it is that night.
    train : Train
        What one looks through.
    altitude_deg, azimuth_deg : float
        Where the target stands then [deg].
    seen_arcmin : float, optional
        How long the target is as it is seen, where that is known; else its catalogue's axis counts.
    star_limit_mag : float, optional
        The faintest star that shows [mag], where that is known.
    counts_stars : bool
        Whether to count the stars of clusters, for which the file of stars is read.

    Returns
    -------
    tuple of str
        `MOST_FACTS` at most.
    """
    frame = eyepiece_frame(train, altitude_deg=altitude_deg, azimuth_deg=azimuth_deg, site=site)
    facts = [*_of_pair(target, frame), *_of_shape(target, frame)]
    if counts_stars and target.kind in STARRY:
        facts += _of_stars(target)
    facts += [
        *_of_globular(target, star_limit_mag),
        *_of_galaxy(target),
        *_of_gas(target, train),
        *_of_width(target, train, seen_arcmin),
    ]
    return tuple(facts[:MOST_FACTS])


def look_for(look: Look, site: Site, *, counts_stars: bool = False) -> tuple[str, ...]:
    """Return what to look for in an entry of a plan; see `what_to_see`."""
    return what_to_see(
        look.target,
        look.view.train,
        altitude_deg=look.altitude_deg,
        azimuth_deg=look.azimuth_deg,
        site=site,
        seen_arcmin=look.view.seen_major_arcmin,
        star_limit_mag=look.view.star_limit_mag,
        counts_stars=counts_stars,
    )


def report_look_for(report: LookReport) -> tuple[str, ...]:
    """Return what to look for in the best view of a report; nothing below the horizon."""
    views = [view for view in report.views if view.train.usable]
    if not views or report.altitude_deg <= 0.0:
        return ()
    facts = what_to_see(
        report.target,
        views[0].train,
        altitude_deg=report.altitude_deg,
        azimuth_deg=report.azimuth_deg,
        site=report.night.site,
        seen_arcmin=views[0].seen_major_arcmin,
        star_limit_mag=views[0].star_limit_mag,
        counts_stars=True,
    )
    return tuple(fact for fact in facts if fact != report.target.note)  # it is told already


def eyepiece_frame(
    train: Train, *, altitude_deg: float, azimuth_deg: float, site: Site
) -> ViewOrientation:
    """Return how the sky lies in an eyepiece that points somewhere [deg].

    On an altazimuth mount the zenith is up to the unaided eye, and its position angle q follows
    from tan q = -sin A cos lat / (sin lat cos h - cos lat sin h cos A) (Meeus, Astronomical
    Algorithms, 14.1, in the horizon's coordinates); on an equatorial one the pole above the
    horizon is.
    """
    if train.telescope.mount is Mount.EQUATORIAL:
        up_deg = 0.0 if site.latitude_deg >= 0.0 else 180.0
    else:
        lat, alt, azimuth = map(math.radians, (site.latitude_deg, altitude_deg, azimuth_deg))
        across = -math.sin(azimuth) * math.cos(lat)
        along = math.sin(lat) * math.cos(alt) - math.cos(lat) * math.sin(alt) * math.cos(azimuth)
        up_deg = math.degrees(math.atan2(across, along))
    return ViewOrientation(up_deg, train.telescope.orientation)


def clock_hour(frame: ViewOrientation, position_angle_deg: float) -> int:
    """Return where a direction points on a clock face laid over the field, 1 .. 12."""
    hour = round((90.0 - frame.direction_deg(position_angle_deg)) / 30.0) % 12
    return hour or 12


def _of_pair(target: Target, frame: ViewOrientation) -> Iterator[str]:
    if target.kind is not Kind.DOUBLE_STAR:
        return
    if target.position_angle_deg is not None:
        fainter = (target.companion_magnitude or 0.0) - (primary_magnitude(target) or 0.0)
        much = f", {fainter:.0f} magnitudes fainter" if fainter >= UNEQUAL_MAG else ""
        yield f"companion at {clock_hour(frame, target.position_angle_deg)} o'clock{much}"
    yield from _colours_of_pair(target)


def _colours_of_pair(target: Target) -> Iterator[str]:
    """Name the colours of both stars, as the catalogue's note has them where it does."""
    if target.note and NAMES_A_COLOUR.search(target.note):
        yield target.note
        return
    one, other = colours_of(target.id)
    if one is None or other is None or (target.companion_magnitude or 99.0) > COLOURED_MAG:
        return
    first, second = colour_word(one), colour_word(other)
    if first == second or abs(one - other) < SAME_COLOUR_MAG:
        yield f"both {first}"
    else:
        yield f"{first} and {second}"


def colour_word(bp_rp_mag: float) -> str:
    """Name the colour of a star by its BP - RP [mag]."""
    return next(word for bound, word in COLOURS if bp_rp_mag < bound)


def _of_shape(target: Target, frame: ViewOrientation) -> Iterator[str]:
    major, minor, angle = target.major_arcmin, target.minor_arcmin, target.position_angle_deg
    if target.kind in NO_SHAPE or not major or not minor or angle is None:
        return
    if major >= LONG * minor:
        one = clock_hour(frame, angle)
        other = (one + 5) % 12 + 1
        yield f"longer from {min(one, other)} to {max(one, other)} o'clock"


def _of_stars(target: Target) -> Iterator[str]:
    from targets.field_stars import load_field_stars  # noqa: PLC0415  # half a million stars

    if target.ra_deg is None or target.dec_deg is None or not target.major_arcmin:
        return
    stars = load_field_stars().within(target.ra_deg, target.dec_deg, target.major_arcmin / 120.0)
    magnitude = stars.magnitude[stars.magnitude <= FAINTEST_COUNTED_MAG]
    if magnitude.size > 1:
        yield (
            f"{magnitude.size} stars to magnitude {FAINTEST_COUNTED_MAG:.0f} within it, the "
            f"brightest {magnitude.min():.1f}"
        )
    else:
        yield f"its stars are fainter than magnitude {FAINTEST_COUNTED_MAG:.0f}"


def _of_globular(target: Target, star_limit_mag: float | None) -> Iterator[str]:
    if target.kind is not Kind.GLOBULAR_CLUSTER:
        return
    if star_limit_mag is not None and target.magnitude is not None:
        shown = int(stars_shown(target.magnitude, star_limit_mag))
        if shown:
            yield "splits into stars" if shown > 0 else "stays a glow, its stars too faint"
        elif target.magnitude <= GREAT_MAG:
            yield "its brightest stars are at the limit"
    if target.concentration is None or target.core_radius_arcmin is None:
        return
    if target.concentration >= DENSE:
        yield f"dense: a core of {arc(2.0 * target.core_radius_arcmin)} in its middle"
    elif target.concentration <= LOOSE:
        yield f"loose: the middle {arc(2.0 * target.core_radius_arcmin)} are nearly even"
    else:
        yield f"its bright core is {arc(2.0 * target.core_radius_arcmin)} across"


def _of_galaxy(target: Target) -> Iterator[str]:
    if target.bulge_share is None:
        return
    if target.bulge_share >= BRIGHT_MIDDLE:
        yield "brightens much to its middle"
    elif target.bulge_share <= NO_MIDDLE:
        yield "an even glow without a bright middle"


def _of_gas(target: Target, train: Train) -> Iterator[str]:
    """Say which part a filter shows: what passes lines of the gas takes the light of its stars."""
    if target.kind is Kind.EMISSION_NEBULA and train.filter and train.filter.kind in GAS_FILTERS:
        yield f"{train.filter.name} shows its gas; its stars show without it"


def _of_width(target: Target, train: Train, seen_arcmin: float | None) -> Iterator[str]:
    wide_arcmin = seen_arcmin or target.major_arcmin
    if not wide_arcmin or target.kind in {Kind.DOUBLE_STAR, Kind.LUNAR_FEATURE}:
        return
    if wide_arcmin > train.true_field_arcmin:
        yield "more than the field holds"
        return
    moons = wide_arcmin * train.magnification / MOON_ARCMIN
    if LEAST_MOONS <= moons <= MOST_MOONS:
        count = "the Moon" if SAME_AS_ONE[0] < moons < SAME_AS_ONE[1] else f"{moons:.1f} Moons"
        yield f"looks as wide as {count} to the naked eye"
