"""Looks over a kit: what each train does, and what is wasted, doubled or missing."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import combinations, pairwise

import numpy as np

from planner.config.settings import Settings
from planner.formulas.optics import effective_aperture_mm, longest_useful_focal_length_mm
from planner.formulas.pupil import SHADOW_OF_PUPIL, WIDE_BEAM
from planner.formulas.resolution import POWER_PER_MM
from planner.formulas.seeing import seeing_power_cap
from planner.matcher.scoring import EYE_RELIEF_LEAST_WITH_SPECTACLES_MM
from planner.matcher.trains import make_trains
from planner.model.antoniadi import antoniadi_step
from planner.model.kit import Eyepiece, Observer, Telescope, Train, train_words
from planner.model.site import Site
from targets.frozen import frozen

# Common practice, each a matter of degree.
DUPLICATE_RATIO = 1.10  # in power and in field: nobody changes eyepieces for less
GAP_RATIO = 2.0
NEAR_STEP = 1.2  # in power alone: hardly a step
# With these words the remark on wasted light begins.
WIDE_PUPIL_WORDS = "The exit pupil of"
FIELD_CUT = 0.85  # of the field that the apparent field promises


@frozen
class AuditedTrain:
    """A train and what there is to say about it; the faults of one that does not fit too."""

    train: Train
    remarks: tuple[str, ...]


@frozen
class KitReport:
    """The kit with one telescope, without filters.

    Parameters
    ----------
    observer : Observer
        Whose pupil counts.
    entries : tuple of AuditedTrain
        Every train, also those that do not fit.
    highest_power : float
        What the aperture and the site's usual air bear at the zenith.
    seeing : str
        Of the site, on the Antoniadi scale.
    faults : tuple of str
        What is wrong with the kit as a whole, a sentence each.
    """

    observer: Observer
    telescope: Telescope
    highest_power: float
    seeing: str
    entries: tuple[AuditedTrain, ...]
    faults: tuple[str, ...]

    @property
    def trains(self) -> tuple[Train, ...]:
        """The trains alone."""
        return tuple(entry.train for entry in self.entries)


def audit_kit(settings: Settings, telescope: Telescope, site: Site | None = None) -> KitReport:
    """Look over the kit with one of its telescopes.

    Parameters
    ----------
    settings : Settings
        Observer, kit and sites.
    site : Site, optional
        Tells how steady the air is; without it, the first one.

    Returns
    -------
    KitReport
        Trains in the order of the kit, and the faults.
    """
    observer, seeing = settings.observer, (site or settings.site()).seeing
    highest_power = float(
        seeing_power_cap(
            antoniadi_step(seeing), altitude_deg=90.0, aperture_mm=telescope.aperture_mm
        )
    )
    trains = make_trains(telescope, settings.kit, with_filters=False)
    usable = [train for train in trains if train.usable]
    faults = (
        *settings.warnings,
        *_parts_that_fit_nowhere(settings, telescope, usable),
        *_wasted_light(observer, telescope, usable),
        *_too_much_power(highest_power, seeing, usable),
        *_missing_powers(highest_power, telescope, usable),
        *_near_duplicates(usable),
        *_short_eye_relief(settings),
        *_mass_changes(telescope, usable),
    )
    entries = tuple(
        AuditedTrain(train, train_remarks(train, observer, highest_power, seeing))
        for train in trains
    )
    return KitReport(observer, telescope, highest_power, seeing, entries, faults)


def train_remarks(
    train: Train, observer: Observer, highest_power: float, seeing: str
) -> tuple[str, ...]:
    """Return what is to be said of one train; of one that does not fit, only why.

    Parameters
    ----------
    train, observer
        What is looked through, and who looks.
    highest_power : float
        What aperture and air bear overhead.
    seeing : str
        Of the site, on the Antoniadi scale.
    """
    if train.faults:
        return train.faults
    pupil_mm = observer.dark_pupil_mm
    found = (
        _wide_pupil(train, pupil_mm),
        _power(train, highest_power, seeing),
        _shadow(train, pupil_mm),
        _cut(train),
    )
    return tuple(filter(None, found))


def _wide_pupil(train: Train, pupil_mm: float) -> str | None:
    if train.exit_pupil_mm <= pupil_mm * WIDE_BEAM:
        return None
    aperture_mm = train.telescope.aperture_mm
    working_mm = effective_aperture_mm(aperture_mm, train.magnification, pupil_mm=pupil_mm)
    return (
        f"{WIDE_PUPIL_WORDS} {train.exit_pupil_mm:.1f} mm is wider than your {pupil_mm:.1f} mm: "
        f"the telescope works as one of {working_mm:.0f} mm."
    )


def _power(train: Train, highest_power: float, seeing: str) -> str | None:
    aperture_mm = train.telescope.aperture_mm
    if train.magnification > POWER_PER_MM * aperture_mm:
        return (
            f"{train.magnification:.0f}x is above {POWER_PER_MM * aperture_mm:.0f}x, twice the "
            f"aperture in mm: the exit pupil of {train.exit_pupil_mm:.2f} mm is dim and soft."
        )
    if train.magnification > highest_power:
        return (
            f"{train.magnification:.0f}x is more than the {highest_power:.0f}x that the air of "
            f"your site bears (seeing {seeing}, overhead)."
        )
    return None


def _shadow(train: Train, pupil_mm: float) -> str | None:
    telescope = train.telescope
    shadow_mm = telescope.obstruction_mm / telescope.aperture_mm * train.exit_pupil_mm
    if shadow_mm <= SHADOW_OF_PUPIL * pupil_mm:
        return None
    return (
        f"The shadow of the secondary is {shadow_mm:.1f} mm wide in the exit pupil and may show "
        "as a dark spot."
    )


def _cut(train: Train) -> str | None:
    """Say how far the barrel of a reducer cuts the field that the eyepiece could show."""
    amplifier = train.amplifier
    if amplifier is None or amplifier.factor >= 1.0:
        return None
    promised_arcmin = 60.0 * train.apparent_field_deg / train.magnification
    if train.true_field_arcmin >= FIELD_CUT * promised_arcmin:
        return None
    return (
        f"The barrel of {amplifier.name} cuts the field from {promised_arcmin:.0f} to "
        f"{train.true_field_arcmin:.0f} arcmin."
    )


def _parts_that_fit_nowhere(
    settings: Settings, telescope: Telescope, usable: list[Train]
) -> Iterator[str]:
    """Name what cannot be used with this telescope, and eyepieces that a filter does not serve."""
    kit = settings.kit
    used = {part for train in usable for part in (train.eyepiece, train.amplifier)}
    trains = [train for train in make_trains(telescope, kit) if train.amplifier is None]
    yield from dict.fromkeys(  # a zoom comes up once for every setting
        fault for train in trains if train.filter is None for fault in train.faults
    )
    for amplifier in kit.amplifiers:
        if amplifier not in used:
            yield f"{amplifier.name} ({amplifier.barrel}) takes none of your eyepieces here."
    for filter_ in kit.filters:
        unserved = dict.fromkeys(
            train.eyepiece.name
            for train in trains
            if train.filter == filter_ and not train.usable and train.eyepiece in used
        )
        if unserved:
            yield f"{filter_.name} ({filter_.barrel}) does not serve {', '.join(unserved)}."


def _wasted_light(observer: Observer, telescope: Telescope, usable: list[Train]) -> Iterator[str]:
    """Say which eyepieces give more light than the eye takes."""
    pupil_mm = observer.dark_pupil_mm
    limit_mm = longest_useful_focal_length_mm(telescope.focal_ratio, pupil_mm)
    for train in usable:
        remark = _wide_pupil(train, pupil_mm)
        if remark and train.amplifier is None:
            yield (
                f"{train_words(train)}: {remark} The longest eyepiece that wastes no light here "
                f"is {limit_mm:.0f} mm."
            )


def _too_much_power(limit: float, seeing: str, usable: list[Train]) -> Iterator[str]:
    """Name the trains above what aperture and air bear, in one sentence."""
    above = sorted(
        (train.magnification, train_words(train)) for train in usable if train.magnification > limit
    )
    if above:
        names = ", ".join(f"{name} ({power:.0f}x)" for power, name in above)
        yield f"Above {limit:.0f}x, the most that aperture and air (seeing {seeing}) bear: {names}."


def _missing_powers(limit: float, telescope: Telescope, usable: Iterable[Train]) -> Iterator[str]:
    """Find steps above a factor of two up to the highest useful power, and kits of one power."""
    powers = sorted({round(train.magnification, 3) for train in usable})
    useful = [power for power in powers if power <= limit]
    if not powers:
        yield f"None of your eyepieces can be used with {telescope.name}."
    if len(powers) == 1:
        yield f"There is only one power, {powers[0]:.0f}x; an amplifier or eyepiece adds more."
    for low, high in pairwise(useful):
        if high > GAP_RATIO * low:
            middle = float(np.sqrt(low * high))
            yield (
                f"No power between {low:.0f}x and {high:.0f}x; an eyepiece of about "
                f"{telescope.focal_length_mm / middle:.0f} mm ({middle:.0f}x) fills the gap."
            )


def _near_duplicates(usable: Iterable[Train]) -> Iterator[str]:
    """Find pairs of bare eyepieces that show nearly the same, each pair once."""
    bare = [train for train in usable if train.amplifier is None]
    told = set()
    for one, other in combinations(bare, 2):
        pair = frozenset({one.eyepiece.name, other.eyepiece.name})
        if len(pair) == 2 and pair not in told and alike(one, other):
            told.add(pair)
            yield (
                f"{train_words(one)} and {train_words(other)} show nearly the same: "
                f"{one.magnification:.0f}x and {other.magnification:.0f}x, "
                f"{one.true_field_arcmin:.0f} and {other.true_field_arcmin:.0f} arcmin."
            )


def alike(one: Train, other: Train) -> bool:
    """Whether power and field of two trains both differ by no more than a tenth."""
    ratios = (
        one.magnification / other.magnification,
        one.true_field_arcmin / other.true_field_arcmin,
    )
    return all(1.0 / DUPLICATE_RATIO <= ratio <= DUPLICATE_RATIO for ratio in ratios)


def _short_eye_relief(settings: Settings) -> Iterator[str]:
    """Name eyepieces that are too short for an observer who keeps spectacles on."""
    for eyepiece in settings.kit.eyepieces:
        remark = eye_relief_remark(eyepiece, settings.observer)
        if remark:
            yield remark


def eye_relief_remark(eyepiece: Eyepiece, observer: Observer) -> str | None:
    """Say that an eyepiece's eye relief is too short for spectacles; None when it is not."""
    relief_mm = eyepiece.eye_relief_mm
    if not observer.spectacles or relief_mm is None:
        return None
    if relief_mm >= EYE_RELIEF_LEAST_WITH_SPECTACLES_MM:
        return None
    return (
        f"{eyepiece.name}: eye relief of {relief_mm:g} mm is short for spectacles, "
        "which need 15 to 20 mm."
    )


def _mass_changes(telescope: Telescope, usable: Iterable[Train]) -> Iterator[str]:
    """Say when a change between the bare eyepieces is more than the mount bears."""
    masses = {
        (train.mass_g, train.eyepiece.name)
        for train in usable
        if train.amplifier is None and train.mass_g is not None
    }
    if telescope.balance_g is None or not masses:
        return
    (light_g, light), (heavy_g, heavy) = min(masses), max(masses)
    if heavy_g - light_g > telescope.balance_g:
        yield (
            f"From {light} ({light_g:g} g) to {heavy} ({heavy_g:g} g) the mass changes by "
            f"{heavy_g - light_g:g} g; {telescope.name} must be balanced anew above "
            f"{telescope.balance_g:g} g."
        )
