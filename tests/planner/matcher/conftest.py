"""Kits, skies and a way to rate targets that the tests of the matcher share."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from functools import cache, cached_property

import numpy as np
import pytest

from planner.config.conditions import Conditions
from planner.config.preferences import Preferences, default_preferences
from planner.formulas.extinction import extinction_loss_mag
from planner.formulas.photometry import luminance_cd_m2
from planner.formulas.sky_brightness import glow_over_zenith
from planner.matcher.case import Case
from planner.matcher.lens import Moment
from planner.matcher.rating import Ratings, rate_trains
from planner.matcher.target_classes import TargetTable, target_table_of
from planner.matcher.train_table import TrainTable, tabulate_trains
from planner.matcher.trains import make_trains
from planner.model.kit import (
    Amplifier,
    AmplifierKind,
    Barrel,
    Eyepiece,
    Filter,
    FilterKind,
    Kit,
    Observer,
    Telescope,
)
from targets.catalogue.catalogue import Catalogue, load_catalogue
from targets.model import Kind, Target

SMALL, TWO = Barrel.ONE_AND_A_QUARTER, Barrel.TWO
# Bodies as they look on a good night; the matcher gets them from the ephemeris.
BODIES = {
    "Jupiter": (44.0, -2.5),
    "Saturn": (43.0, 0.5),
    "Mars": (14.0, -1.0),
    "Venus": (20.0, -4.0),
    "Uranus": (3.7, 5.7),
    "Neptune": (2.3, 7.8),
    "Moon": (31.1 * 60.0, -10.0),
}


def eyepiece(focal_length_mm: float, apparent_field_deg: float, barrel: Barrel = SMALL) -> Eyepiece:
    """Invent an eyepiece with eye relief enough for anybody."""
    return Eyepiece(
        name=f"{focal_length_mm:g} mm {apparent_field_deg:g}",
        focal_lengths_mm=(focal_length_mm,),
        apparent_fields_deg=(apparent_field_deg,),
        barrel=barrel,
        eye_relief_mm=20.0,
        mass_g=250.0,
    )


BARLOW = Amplifier("2x Barlow", AmplifierKind.BARLOW, 2.0, SMALL)
NARROWBAND = Filter("Narrowband", FilterKind.NARROWBAND, TWO)
O_III = Filter("O III", FilterKind.OIII, TWO)
H_BETA = Filter("H-beta", FilterKind.HBETA, TWO)
REFRACTOR_80 = Telescope(
    "80 mm f/6", 80.0, 480.0, TWO, (SMALL,), transmission=0.92, driven=True, obstruction_mm=0.0
)
REFLECTOR_200 = Telescope("200 mm f/6", 200.0, 1200.0, TWO, (SMALL,), obstruction_mm=50.0)
REFLECTOR_400 = Telescope("400 mm f/4.5", 400.0, 1800.0, TWO, (SMALL,), obstruction_mm=80.0)
KITS = {
    "80": Kit(
        (REFRACTOR_80,),
        (
            eyepiece(32.0, 68.0, TWO),
            *(eyepiece(*pair) for pair in ((24.0, 65.0), (18.0, 65.0), (13.0, 65.0))),
            *(eyepiece(*pair) for pair in ((9.0, 60.0), (6.0, 60.0), (4.0, 60.0))),
        ),
        filters=(NARROWBAND, O_III),
    ),
    "200": Kit(
        (REFLECTOR_200,),
        (
            eyepiece(36.0, 72.0, TWO),
            eyepiece(28.0, 82.0, TWO),
            *(eyepiece(*pair) for pair in ((25.0, 50.0), (20.0, 70.0), (15.0, 65.0))),
            *(eyepiece(*pair) for pair in ((11.0, 80.0), (8.0, 60.0), (5.0, 60.0))),
        ),
        (BARLOW,),
        (NARROWBAND, O_III, H_BETA),
    ),
    "400": Kit(
        (REFLECTOR_400,),
        (
            eyepiece(28.0, 82.0, TWO),
            eyepiece(21.0, 82.0, TWO),
            *(eyepiece(*pair) for pair in ((16.0, 82.0), (12.0, 80.0), (9.0, 80.0))),
            *(eyepiece(*pair) for pair in ((7.0, 70.0), (5.0, 70.0))),
        ),
        filters=(NARROWBAND, O_III),
    ),
}


# How much deeper than an ordinary eye a practised one sees (2.5 log10 of Crumey's 2 over 1.6).
PRACTISED_MAG = 0.24


@dataclass(frozen=True)
class Rated:
    """Targets rated with a kit, and a way to talk about each."""

    targets: tuple[Target, ...]
    table: TrainTable
    ratings: Ratings
    observer: Observer
    conditions: Conditions
    altitude_deg: float

    def case(self, row: int = 0) -> Case:
        """Return what the reasons are made from."""
        return Case(
            target=self.targets[row],
            row=row,
            ratings=self.ratings,
            table=self.table,
            observer=self.observer,
            pupil_mm=self.conditions.pupil_mm,
            altitude_deg=self.altitude_deg,
        )

    def best(self, row: int = 0) -> int:
        """Return the winning column."""
        return int(np.argmax(self.ratings.score[row]))


@dataclass(frozen=True)
class Bench:
    """A telescope and kit under a moonless sky."""

    kit: Kit
    sky_mag_arcsec2: float = 21.3
    altitude_deg: float = 60.0
    seeing: str = "III"
    pupil_mm: float = 6.5
    extinction_mag: float = 0.25
    observer: Observer = field(default_factory=Observer)
    preferences: Preferences = field(default_factory=default_preferences)

    @cached_property
    def table(self) -> TrainTable:
        """All usable trains of the first telescope."""
        return tabulate_trains(make_trains(self.kit.telescopes[0], self.kit))

    @property
    def conditions(self) -> Conditions:
        """The night."""
        return Conditions(
            self.sky_mag_arcsec2,
            self.extinction_mag,
            self.seeing,
            self.pupil_mm,
            PRACTISED_MAG,
        )

    def moment(self, count: int) -> Moment:
        """Return the moonless sky behind so many targets."""
        air = {"altitude_deg": self.altitude_deg, "extinction_mag": self.extinction_mag}
        sky = luminance_cd_m2(self.sky_mag_arcsec2) * glow_over_zenith(**air)
        column = np.ones((count, 1))
        return Moment(
            self.altitude_deg * column,
            sky * column,
            extinction_loss_mag(**air) * column,
            self.conditions.seeing_step,
            PRACTISED_MAG,
        )

    def rate_subjects(self, target_table: TargetTable, moment: Moment | None = None) -> Ratings:
        """Rate all trains."""
        return rate_trains(
            target_table,
            moment or self.moment(len(target_table)),
            self.table,
            telescope=self.kit.telescopes[0],
            observer=self.observer,
            conditions=self.conditions,
            preferences=self.preferences,
        )

    def rate(self, targets: Sequence[Target]) -> Rated:
        """Rate all trains for targets."""
        return Rated(
            tuple(targets),
            self.table,
            self.rate_subjects(target_table_of(targets, self.preferences)),
            self.observer,
            self.conditions,
            self.altitude_deg,
        )

    def but(self, **changes: object) -> Bench:
        """Return the same with changes."""
        return replace(self, **changes)  # type: ignore[arg-type]


@dataclass(frozen=True)
class Sky:
    """The catalogue, with bodies as they look on a good night."""

    catalogue: Catalogue

    def target(self, name: str) -> Target:
        """Find a target."""
        found = self.catalogue.find(name)
        if found.id not in BODIES:
            return found
        size_arcsec, magnitude = BODIES[found.id]
        return replace(
            found, major_arcmin=size_arcsec / 60.0, magnitude=magnitude, dec_deg=10.0, ra_deg=0.0
        )

    def targets(self, names: str) -> list[Target]:
        """Find several, named between blanks."""
        return [self.target(name) for name in names.split()]


@pytest.fixture(scope="session")
def sky() -> Sky:
    """Return the catalogue."""
    return Sky(load_catalogue())


@pytest.fixture(scope="session")
def bench() -> Bench:
    """Return the 200 mm reflector with its kit under 21.3 mag/arcsec2."""
    return Bench(KITS["200"])


@pytest.fixture(scope="session")
def benches() -> dict[str, Bench]:
    """Return all three telescopes with their kits."""
    return {name: Bench(kit) for name, kit in KITS.items()}


# The focal ratios that are usual for apertures [mm]; eyepieces a factor of 1.4 apart.
USUAL_RATIOS = {60.0: 7.0, 80.0: 6.0, 100.0: 9.0, 130.0: 5.0, 150.0: 6.0, 300.0: 5.0, 400.0: 4.5}
A_STEP_APART = (
    *(eyepiece(focal_length_mm, 70.0, TWO) for focal_length_mm in (38.0, 30.0)),
    *(eyepiece(each, 60.0) for each in (24.0, 18.0, 13.0, 10.0, 7.5, 5.5, 4.0, 3.0)),
)


@cache
def bench_of_aperture(aperture_mm: float, focal_ratio: float | None = None) -> Bench:
    """Return a driven telescope, a refractor up to 100 mm, with eyepieces for every target."""
    focal_ratio = focal_ratio or USUAL_RATIOS.get(aperture_mm, 6.0)
    is_refractor = aperture_mm <= 100.0
    telescope = Telescope(
        f"{aperture_mm:g} mm",
        aperture_mm,
        focal_ratio * aperture_mm,
        TWO,
        (SMALL,),
        driven=True,
        transmission=0.92 if is_refractor else 0.8,
        obstruction_mm=0.0 if is_refractor else 0.25 * aperture_mm,
    )
    return Bench(Kit((telescope,), A_STEP_APART, filters=(NARROWBAND, O_III)))


@pytest.fixture(scope="session")
def aperture_bench() -> Callable[..., Bench]:
    """Return the way to set up a telescope by its aperture and focal ratio."""
    return bench_of_aperture


@pytest.fixture(scope="session")
def make_bench() -> type[Bench]:
    """Return the way to set up other kits."""
    return Bench


@pytest.fixture(scope="session")
def make_double() -> object:
    """Return the way to invent a double star."""

    def double(
        separation_arcsec: float, magnitude: float = 5.0, companion: float | None = None
    ) -> Target:
        return Target(
            id="Pair",
            name="a pair",
            kind=Kind.DOUBLE_STAR,
            dec_deg=10.0,
            major_arcmin=separation_arcsec / 60.0,
            magnitude=magnitude,
            companion_magnitude=companion,
        )

    return double
