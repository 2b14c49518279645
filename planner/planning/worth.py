"""What a look is worth: how much a target is wanted, and how well it shows at a moment."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from planner.formulas.photometry import luminance_cd_m2, surface_brightness_mag_arcsec2
from planner.matcher.scoring import seen_well
from planner.model.kinds import drowning_power
from targets.arrays import Flags, Floats
from targets.catalogue.catalogue import Catalogue
from targets.frozen import frozen
from targets.model import Kind, Target

# How much a target is wanted before one knows how it will look; 1 is a showpiece. Our choice: it
# follows what observers put on their lists (common practice).
PLAIN = 0.25
WITH_A_NAME = 0.08
CALDWELL = 0.15
MESSIER = 0.22
PER_RATING = 0.08  # above or below an average visual rating of 3
BRIGHT = 0.15  # for a total magnitude of 4; nothing from 8 on
# Whatever is no showpiece is worth less.
MOST_OF_THE_REST = 0.75


@frozen
class ShowpieceRule:
    """What makes a showpiece of a kind, and its worth; a limit left out holds for everything."""

    kind: Kind
    worth: float
    least_rating: int = 0
    faintest_mag: float = np.inf
    least_arcmin: float = 0.0
    most_arcmin: float = np.inf
    is_listed: bool = False  # on the Messier or the Caldwell list


# The same rules for the whole sky. Limits and worths are our choice; they fit what observers name
# first and what next (common practice). A globular cluster of 6.2 mag shows its stars in 100 to
# 150 mm; a galaxy or a planetary must have room for detail; an open cluster must fit a field of low
# power. A look at an open cluster is short, and many are as good, so that the best of them would
# crowd out a great nebula if they were worth as much.
FIRST, NEXT, THIRD = 1.0, 0.88, 0.8
SHOWPIECE_RULES = (
    ShowpieceRule(Kind.EMISSION_NEBULA, FIRST, least_rating=5),
    ShowpieceRule(Kind.GLOBULAR_CLUSTER, FIRST, faintest_mag=5.8),
    ShowpieceRule(Kind.GALAXY, FIRST, least_rating=5, least_arcmin=8.0, most_arcmin=200.0),
    ShowpieceRule(
        Kind.PLANETARY_NEBULA, FIRST, least_rating=5, least_arcmin=1.0, faintest_mag=9.0
    ),
    ShowpieceRule(
        Kind.OPEN_CLUSTER, NEXT, faintest_mag=4.3, least_arcmin=10.0, most_arcmin=120.0,
        is_listed=True,
    ),
    ShowpieceRule(Kind.GLOBULAR_CLUSTER, THIRD, faintest_mag=6.2),
    ShowpieceRule(Kind.GALAXY, NEXT, least_rating=4, least_arcmin=8.0, faintest_mag=8.1),
    ShowpieceRule(Kind.GALAXY, THIRD, least_rating=5, least_arcmin=200.0),  # swept, not framed
    ShowpieceRule(Kind.GALAXY_GROUP, NEXT, least_arcmin=20.0, faintest_mag=9.0),
    ShowpieceRule(Kind.PLANETARY_NEBULA, THIRD, least_rating=5, least_arcmin=1.0),
)  # fmt: skip
# Fainter clusters, to 5.8 mag, that are rich in stars (class r of R. J. Trumpler 1930, Lick
# Observatory Bulletin 14, 154; from memory): M11, M35, M37 and four of the south.
RICH_CLUSTERS, RICH_CLUSTER = (
    ("NGC6705", "NGC2168", "NGC2099", "NGC2477", "NGC3114", "NGC3766", "NGC6067"),
    THIRD,
)
# On the Messier list by mistake, and seldom asked for: two stars, four stars.
CURIOSITIES = ("M40", "NGC6994")
CURIOSITY = 0.25
# Pairs and single stars go by their rating alone, 1 .. 5 (our choice). A look at a pair is short,
# so that even its best would crowd out the showpieces of the dark if it were worth as much there.
STARS = {
    Kind.DOUBLE_STAR: (0.08, 0.12, 0.2, 0.28, 0.36),
    Kind.STAR: (0.08, 0.12, 0.15, 0.2, 0.3),
    Kind.ASTERISM: (0.08, 0.12, 0.2, 0.3, 0.45),
}
# The pairs that are asked for first have a name of their own, and a companion that is bright too:
# what either adds, all of it for the first of these magnitudes and nothing for the second, is our
# choice.
NAMED_PAIR, BRIGHT_COMPANION, BRIGHT_COMPANION_MAG = 0.06, 0.1, (4.0, 7.5)
# Of a bright sky only these gain, and of a dark one they lose.
PAIRS_AND_STARS = (Kind.DOUBLE_STAR, Kind.STAR)
# Several galaxies in one field are worth more than the best of them.
GROUP, LARGE_GROUP_ARCMIN = 0.25, 10.0
# In twilight, moonlight and the glow of towns, where the deep sky drowns and pairs do not, they are
# worth more, and under a dark sky, whose hours are for the deep sky, less: skies [mag/arcsec2] and
# factors (our choice).
STARS_BY_SKY = ((18.0, 20.0, 21.5), (1.4, 1.0, 0.8))
BODIES = {
    "Moon": 0.85,
    "Saturn": 1.0,
    "Jupiter": 1.0,
    "Mars": 0.8,
    "Venus": 0.6,
    "Uranus": 0.5,
    "Neptune": 0.45,
    "Mercury": 0.45,
}
# What moonlight, twilight and towns take beyond what the eye's threshold takes counts from the
# brightness of a good dark sky (`planner.model.kinds` has the powers).
GOOD_SKY_MAG_ARCSEC2 = 21.5
# Of what is rated a showpiece under a fair sky, the brightest of their kind, less is lost: visual
# rating, and the share of the power.
BRIGHT_ONES = ((3.0, 5.0), (1.0, 0.5))
# Comets and minor planets go by the magnitude that is expected, from one bound to the other; our
# choice: a comet within reach of the eye is what everybody asks for.
BY_EXPECTED_MAG = {
    Kind.COMET: ((6.0, 10.0, 13.0), (1.3, 0.65, 0.3)),
    Kind.ASTEROID: ((6.0, 8.5, 11.5), (0.4, 0.25, 0.12)),
}
# What the observer has seen is worth less for a while: days ago, and the share that is left; what
# is new is worth a little more to somebody who has seen so many targets. Our choice.
SEEN_DAYS_AGO = ((0.0, 14.0, 90.0), (0.6, 0.7, 1.0))
NEW_SHARE, KNOWS_TARGETS = 1.08, 10
# A target wanted this much is missed when it is not in the plan.
EXPECTED = 0.6
# How much the train counts: a power of its score. A target too large for every eyepiece, but worth
# a sweep, keeps two thirds.
TRAIN_COUNTS = 0.1
LEAST_TRAIN = 0.2
# How much it counts how high a target stands against what it can reach: a power of the share. What
# culminates at 70 is not looked at at 25 unless it is leaving; what culminates at 16 is, at 16
# (common practice; the power is ours).
HEIGHT_COUNTS = 1.6
# Altitude above which air no longer spoils the view [deg].
HIGH_DEG = 50.0
# How much the air counts below that: a power of the sine, beside what a target can reach.
AIR_COUNTS = 0.45
# The least that a look may be worth; below it, it is better to wait or stop.
LEAST_WORTH = 0.08


def remembered_share(
    ids: Sequence[str], moves: Flags, last_seen: Mapping[str, datetime] | None, evening: datetime
) -> Floats:
    """Return what is left of the worth of targets to whom has seen some of them.

    Parameters
    ----------
    ids : sequence of str
        Of N targets.
    moves : ndarray of bool
        What moves looks different each time, and keeps its worth, shape (N,).
    last_seen : mapping of str to datetime or None
        When each was seen last, by its id; None where nothing is known of the observer.
    evening : datetime
        Middle of the night that is planned (UTC).

    Returns
    -------
    ndarray
        Less than 1 for what was seen lately, more for what is new, shape (N,).
    """
    if not last_seen:
        return np.ones(len(ids))
    known = len(last_seen) >= KNOWS_TARGETS
    new = NEW_SHARE if known else 1.0
    days = [days_since(last_seen.get(one), evening) for one in ids]
    shares = [new if ago is None else np.interp(ago, *SEEN_DAYS_AGO) for ago in days]
    return np.where(moves, 1.0, np.array(shares, dtype=float))


def memory_words(
    target: Target, last_seen: Mapping[str, datetime] | None, evening: datetime
) -> str:
    """Say when a target was seen last, or that it is new; empty where neither counted."""
    if not last_seen or target.moves:
        return ""
    ago = days_since(last_seen.get(target.id), evening)
    if ago is None:
        return "new to you" if len(last_seen) >= KNOWS_TARGETS else ""
    if ago >= SEEN_DAYS_AGO[0][-1]:
        return ""
    days = round(ago)
    when = "today" if days == 0 else "yesterday" if days == 1 else f"{days} days ago"
    return f"you saw it {when}"


def days_since(seen: datetime | None, evening: datetime) -> float | None:
    """Return for how long something has been seen before an evening [days]; None where it is not.

    What was seen only after the evening was new then.
    """
    if seen is None or seen > evening + timedelta(hours=12):
        return None
    return max((evening - seen) / timedelta(days=1), 0.0)


def showpiece_worth(catalogue: Catalogue) -> Floats:
    """Return what the showpieces of a catalogue are worth by the rules, else 0; shape (N,)."""
    listed = np.zeros(len(catalogue), dtype=bool)
    listed[[*catalogue.messier(), *catalogue.caldwell()]] = True
    worth = np.zeros(len(catalogue))
    for rule in SHOWPIECE_RULES:
        follows = _follows(catalogue, rule) & (listed | (not rule.is_listed))
        worth[follows] = np.maximum(worth[follows], rule.worth)
    rich = [catalogue.index_of(name) for name in RICH_CLUSTERS]
    worth[rich] = np.maximum(worth[rich], RICH_CLUSTER)
    return worth


def _follows(catalogue: Catalogue, rule: ShowpieceRule) -> NDArray[np.bool_]:
    """Tell which targets are of the rule's kind and within its limits; unknown is outside."""
    size, rating = catalogue.major_arcmin, np.nan_to_num(catalogue.visual_rating)
    follows = catalogue.of_kind(rule.kind) & (rating >= rule.least_rating)
    follows &= (size >= rule.least_arcmin) & (size <= rule.most_arcmin)
    if np.isfinite(rule.faintest_mag):
        follows &= catalogue.magnitude <= rule.faintest_mag
    return np.asarray(follows)


def wanted_before(catalogue: Catalogue, rows: NDArray[np.intp]) -> Floats:
    """Return how much targets are wanted, from what they are and not from tonight.

    Parameters
    ----------
    rows : ndarray of int
        Which of its targets, shape (N,).

    Returns
    -------
    ndarray
        0 .. 1, shape (N,).
    """
    worth = np.full(len(catalogue), PLAIN)
    worth[catalogue.caldwell()] += CALDWELL
    worth[catalogue.messier()] += MESSIER
    rating = catalogue.visual_rating - 3.0
    worth += PER_RATING * np.where(np.isnan(rating), 0.0, rating)
    worth += BRIGHT * np.nan_to_num(np.interp(catalogue.magnitude, [4.0, 8.0], [1.0, 0.0]))
    has_name = np.zeros(len(catalogue), dtype=bool)
    has_name[list(catalogue.texts.titles)] = True
    worth[has_name] += WITH_A_NAME
    is_large = catalogue.major_arcmin > LARGE_GROUP_ARCMIN
    worth[catalogue.of_kind(Kind.GALAXY_GROUP) & is_large] += GROUP
    worth = np.clip(worth, 0.0, MOST_OF_THE_REST)
    for kind, by_rating in STARS.items():
        rated = np.flatnonzero(catalogue.of_kind(kind) & ~np.isnan(rating))
        worth[rated] = np.take(by_rating, catalogue.visual_rating[rated].astype(int) - 1)
    pairs = np.flatnonzero(catalogue.of_kind(Kind.DOUBLE_STAR) & (rating >= 1.0))
    bright = np.interp(catalogue.companion_magnitude[pairs], BRIGHT_COMPANION_MAG, (1.0, 0.0))
    worth[pairs] += NAMED_PAIR * has_name[pairs] + BRIGHT_COMPANION * np.nan_to_num(bright)
    worth = np.maximum(worth, showpiece_worth(catalogue))
    worth[[catalogue.index_of(name) for name in CURIOSITIES]] = CURIOSITY
    for name, value in BODIES.items():
        worth[catalogue.index_of(name)] = value
    for kind, (bounds, values) in BY_EXPECTED_MAG.items():
        minor = np.flatnonzero(catalogue.of_kind(kind))
        worth[minor] = np.nan_to_num(
            np.interp(catalogue.magnitude[minor], bounds, values), nan=values[-1]
        )
    return np.asarray(worth[rows])


def wanted_under(
    wanted: Floats, kinds: NDArray[np.str_], sky_cd_m2: Floats, *, rating: Floats
) -> Floats:
    """Return how much targets are wanted under a sky: pairs the more, diffuse ones the less.

    Parameters
    ----------
    wanted : ndarray
        From `wanted_before`, shape (N,).
    kinds : ndarray of str
        Of the targets, shape (N,).
    sky_cd_m2 : ndarray
        Luminance of the sky behind each, shape (N, T) [cd/m2].
    rating : ndarray
        Visual rating of each, 1 .. 5, NaN where there is none, shape (N,).

    Returns
    -------
    ndarray
        0 .. 1, shape (N, T).
    """
    sky_mag_arcsec2 = np.asarray(surface_brightness_mag_arcsec2(sky_cd_m2))
    gain = np.interp(sky_mag_arcsec2, *STARS_BY_SKY)
    is_star = np.isin(kinds, [str(kind) for kind in PAIRS_AND_STARS])[:, None]
    drowns = np.array([drowning_power(Kind(kind)) for kind in kinds])
    drowns *= np.nan_to_num(np.interp(rating, *BRIGHT_ONES), nan=1.0)
    good_cd_m2 = luminance_cd_m2(GOOD_SKY_MAG_ARCSEC2)
    left = np.minimum(good_cd_m2 / sky_cd_m2, 1.0) ** drowns[:, None]
    return np.asarray(np.where(is_star, gain, left) * wanted[:, None])


def air_share(altitude_deg: Floats) -> Floats:
    """Return what the air leaves of a view at an altitude [deg], beyond extinction: 0 .. 1."""
    sine = np.sin(np.radians(np.clip(altitude_deg, 0.0, HIGH_DEG)))
    return np.asarray((sine / np.sin(np.radians(HIGH_DEG))) ** AIR_COUNTS)


def look_worth(
    wanted: Floats,
    *,
    margin_dex: Floats,
    altitude_deg: Floats,
    train_share: Floats,
    height: Floats | float = 1.0,
) -> Floats:
    """Return the worth of looks.

    Parameters
    ----------
    wanted : ndarray
        From `wanted_before`.
    margin_dex, altitude_deg : ndarray
        At that moment [dex, deg].
    train_share : ndarray
        Score of the train without its visibility, 0 .. 1.
    height : ndarray or float
        How high it stands against what it can reach, from `planner.planning.season`, 0 .. 1.

    Returns
    -------
    ndarray
        0 .. 1; the arguments broadcast.
    """
    shown = seen_well(margin_dex) * air_share(altitude_deg) * height**HEIGHT_COUNTS
    framed = np.where(train_share > 0.0, np.maximum(train_share, LEAST_TRAIN), 0.0)
    return np.asarray(wanted * shown * framed**TRAIN_COUNTS)
