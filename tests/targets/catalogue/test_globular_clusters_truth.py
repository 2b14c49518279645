"""Globular clusters against W. E. Harris 1996, AJ 112, 1487, 2010 edition: place and total V."""

from __future__ import annotations

import csv
from pathlib import Path

from targets.catalogue.catalogue import Catalogue
from targets.model import Kind
from targets.sphere import separation_deg

HARRIS = Path(__file__).parents[2] / "references" / "globular_clusters_harris.csv"


def test_globular_clusters_are_those_of_the_list(catalogue: Catalogue) -> None:
    """All that both have: within a minute of arc, and a tenth of a magnitude."""
    with HARRIS.open(encoding="utf-8", newline="") as file:
        lines = list(csv.DictReader(file))
    shared = 0
    for line in lines:
        index = catalogue.texts.index.known(line["id"])
        if index is None:
            continue
        target = catalogue.target(index)
        there = float(line["ra_deg"]), float(line["dec_deg"])
        assert target.kind is Kind.GLOBULAR_CLUSTER, target.name
        assert 60.0 * separation_deg(target.ra_deg, target.dec_deg, *there) < 1.0, target.name
        assert abs(target.magnitude - float(line["v_mag"])) <= 0.1, target.name
        shared += 1
    assert shared >= 110
