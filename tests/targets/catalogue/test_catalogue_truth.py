"""What the catalogue says against handbooks, SIMBAD and the constellation borders.

Sources are in ``tests/references/deepsky_lists.md``.
"""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest
from astropy import units as u
from astropy.coordinates import Angle, SkyCoord, get_constellation
from numpy.testing import assert_allclose

from targets.catalogue.catalogue import Catalogue
from targets.model import Kind
from targets.tables import read_tables

REFERENCES = Path(__file__).parents[2] / "references"

# Handbooks round to the tenth and differ among each other by aperture and isophote.
HANDBOOK_SPREAD_MAG = 0.3
# Diameters of globulars go to different isophotes; those of others by the plate that was used.
GLOBULAR_SPREAD_FACTOR = 1.5
SIZE_SPREAD_FACTOR = 1.4
# The centre of a cluster or a nebula is itself not better defined.
ONE_ARCMINUTE_DEG = 1 / 60
# Ways to precess to the borders' equinox, 1875, differ by about this; looked up in five places.
BORDER_DEG = 3 / 60
BORDER_STEPS = ((0, 0), (1, 0), (-1, 0), (0, 1), (0, -1))


def _table(name: str) -> list[dict[str, str]]:
    with (REFERENCES / name).open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


MESSIER = _table("messier.csv")
CALDWELL = _table("caldwell.csv")
POSITIONS = _table("famous_positions.csv")


@pytest.mark.parametrize("line", MESSIER, ids=lambda line: f"M{line['number']}")
def test_messier_objects_are_what_the_handbook_says(
    catalogue: Catalogue, line: dict[str, str]
) -> None:
    """Number, identifier, kind, constellation, magnitude and size of each Messier object."""
    target = catalogue.find(f"M{line['number']}")
    assert (target.id, target.kind, target.constellation) == (
        line["id"],
        line["kind"],
        line["constellation"],
    )
    if line["v_mag"]:
        assert target.magnitude is not None
        assert_allclose(target.magnitude, float(line["v_mag"]), atol=HANDBOOK_SPREAD_MAG)
    else:
        assert target.magnitude is None
        assert target.visual_rating is not None
    globular = target.kind is Kind.GLOBULAR_CLUSTER
    factor = GLOBULAR_SPREAD_FACTOR if globular else SIZE_SPREAD_FACTOR
    assert target.major_arcmin is not None
    assert 1 / factor <= target.major_arcmin / float(line["size_arcmin"]) <= factor


@pytest.mark.parametrize("line", CALDWELL, ids=lambda line: f"C{line['number']}")
def test_caldwell_objects_are_what_the_list_says(
    catalogue: Catalogue, line: dict[str, str]
) -> None:
    """Number, identifier, kind and constellation of each Caldwell object."""
    target = catalogue.find(f"C{line['number']}")
    assert (target.id, target.kind) == (line["id"], line["kind"])
    assert target.constellation in line["constellation"].split("/")


@pytest.mark.parametrize("line", POSITIONS, ids=lambda line: line["name"])
def test_famous_objects_are_where_they_are(catalogue: Catalogue, line: dict[str, str]) -> None:
    """Positions agree with SIMBAD within a minute of arc."""
    target = catalogue.find(line["name"])
    published = SkyCoord(
        Angle(line["ra_hms"], unit=u.hourangle), Angle(line["dec_dms"], unit=u.deg)
    )
    ours = SkyCoord(target.ra_deg, target.dec_deg, unit="deg")
    assert ours.separation(published).deg <= ONE_ARCMINUTE_DEG


@pytest.mark.parametrize(
    ("name", "ra_deg", "dec_deg"),
    [
        # Clusters in the middle of a nebula, SIMBAD (from memory): NGC 2244, 2175 and 6823.
        ("Rosette Nebula", 97.98, 4.94),
        ("NGC 2174", 92.41, 20.49),
        ("NGC 6820", 295.79, 23.30),
    ],
)
def test_a_nebula_has_the_middle_of_its_extent(
    catalogue: Catalogue, name: str, ra_deg: float, dec_deg: float
) -> None:
    """Where the database has a knot at the edge, one would point 11 to 19 minutes off."""
    target = catalogue.find(name)
    ours = SkyCoord(target.ra_deg, target.dec_deg, unit="deg")
    assert ours.separation(SkyCoord(ra_deg, dec_deg, unit="deg")).deg <= ONE_ARCMINUTE_DEG


def test_a_position_that_is_corrected_says_why() -> None:
    """The remark names the place that it comes from."""
    moved = [line for line in read_tables().corrections if line["ra_deg"] or line["dec_deg"]]
    assert moved
    for line in moved:
        assert "position" in line["remark"], line["name"]


def test_the_christmas_tree_is_looked_at_as_a_cluster(catalogue: Catalogue) -> None:
    """NGC 2264: V 3.9 and 20 minutes (Lynga 1987); its nebula is beyond most telescopes."""
    target = catalogue.find("NGC 2264")
    assert (target.kind, target.magnitude) == (Kind.OPEN_CLUSTER, 3.9)


def test_each_target_is_in_its_constellation(catalogue: Catalogue) -> None:
    """The constellation follows from the borders of Roman (1987), for every fixed target."""
    fixed = np.flatnonzero(~catalogue.moves)
    ours, ra, dec = (
        column[fixed] for column in (catalogue.constellation, catalogue.ra_deg, catalogue.dec_deg)
    )
    wrong = np.ones(len(fixed), dtype=bool)
    for ra_step, dec_step in BORDER_STEPS:
        east = BORDER_DEG * ra_step / np.cos(np.radians(dec[wrong]))
        place = SkyCoord(ra[wrong] + east, dec[wrong] + BORDER_DEG * dec_step, unit="deg")
        wrong[wrong] = get_constellation(place, short_name=True) != ours[wrong]
    assert [catalogue.ids[index] for index in fixed[wrong]] == []


@pytest.mark.parametrize(
    ("name", "v_mag"),
    [
        # Bright galaxies for which a catalogue's small-aperture V is out by a magnitude or more:
        # V from de Vaucouleurs et al. 1991 (RC3), from memory.
        ("NGC 253", 7.2),
        ("NGC 4945", 8.4),
        ("NGC 6822", 8.8),
        # Globular clusters of Harris 1996 (2010 edition).
        ("NGC 6388", 6.72),
        ("NGC 6441", 7.15),
        ("NGC 5139", 3.68),
        # Open clusters, Sky Catalogue 2000.0, from memory.
        ("NGC 2451", 2.8),
        ("IC 2602", 1.9),
    ],
)
def test_magnitudes_that_the_database_has_wrong(
    catalogue: Catalogue, name: str, v_mag: float
) -> None:
    """Objects with a grossly wrong magnitude in the database have the published one."""
    assert_allclose(catalogue.find(name).magnitude, v_mag, atol=HANDBOOK_SPREAD_MAG)
