"""Makes the table of bright stars from the Bright Star Catalogue and the new Hipparcos reduction.

Run by hand, when the table shall be made anew, with two files: the Bright Star Catalogue (CDS V/50)
as a table with the columns hr, bayer, flamsteed, constellation, usual_name, ra_deg, dec_deg, v_mag,
and ``hip2.dat`` of the new reduction (CDS I/311)::

    python tests/references/make_bright_stars.py STARS.csv hip2.dat targets/data/bright_stars.csv
"""

from __future__ import annotations

import csv
import sys
from pathlib import Path
from typing import Any

import numpy as np

from planner.ephemeris.bodies import find_constellation
from targets.arrays import Floats
from targets.field_stars import load_field_stars
from targets.sphere import unit_vectors

COLUMNS = (
    "hr", "bayer", "flamsteed", "constellation", "usual_name", "place_source", "ra_deg", "dec_deg",
    "pm_ra_mas_yr", "pm_dec_mas_yr", "v_mag", "b_v", "alone_deg",
)  # fmt: skip
HIPPARCOS_EPOCH_YR = 1991.25
# One star of both catalogues: so near in place, and in light after ten seconds a magnitude.
SAME_ARCSEC, ARCSEC_PER_MAG = 20.0, 10.0
# Components that a finder does not part; their light is summed.
ONE_STAR_ARCSEC = 60.0
# A star that Hipparcos saw so much fainter varies: its fainter value counts.
VARIES_MAG = 0.4
# Fainter than the Bright Star Catalogue reaches: of a variable star.
FAINTEST_MAG = 6.6
# `alone_deg`: the nearest star that is not fainter by more than this, twice in light; what stands
# nearer than its companions may is none, and nobody asks beyond the farthest.
RIVAL_MAG, COMPANION_DEG, FARTHEST_DEG = 0.75, 2.0 / 60.0, 15.0
# The list of the IAU's Working Group on Star Names, from memory, where the file has another star's.
NAMES = {"4915": "Cor Caroli", "2948": "", "7236": ""}
# Gaia is blind beside its nebula, and the Bright Star Catalogue has its light of 1970.
MAGNITUDES = {"4210": 4.4}

Star = dict[str, Any]


def hipparcos(path: Path) -> dict[str, Floats]:
    """Read places at epoch 2000, proper motions, V and B - V."""
    ra, dec, pm_ra, pm_dec, hp, b_v = np.loadtxt(path, usecols=(4, 5, 7, 8, 19, 23)).T
    years, mas = 2000.0 - HIPPARCOS_EPOCH_YR, np.radians(1.0 / 3.6e6)
    # V from Hp and B - V: a fit to standard stars, from memory; within 0.1 of V but for red stars.
    v = hp - (0.2964 * b_v - 0.1110 * b_v**2 - 0.0157 * b_v**3 - 0.0072)
    return {
        "ra_deg": np.degrees(ra + pm_ra * years * mas / np.cos(dec)),
        "dec_deg": np.degrees(dec + pm_dec * years * mas),
        "pm_ra": pm_ra,
        "pm_dec": pm_dec,
        "v_mag": v,
        "b_v": np.where(b_v == 0.0, np.nan, b_v),  # 0 stands for unknown
    }


def apart_arcsec(direction: Floats, others: Floats) -> Floats:
    """Return small angles between directions [arcsec]."""
    chord = np.linalg.norm(others - direction, axis=1)
    return np.asarray(np.degrees(2.0 * np.arcsin(chord / 2.0)) * 3600.0)


def placed(rows: list[Star], found: dict[str, Floats]) -> list[Star]:
    """Give each star of the Bright Star Catalogue the best place and the proper motion there is."""
    hip = unit_vectors(found["ra_deg"], found["dec_deg"])
    gaia = load_field_stars()
    gaia_places = unit_vectors(gaia.ra_deg, gaia.dec_deg)
    for row in rows:
        row["v_mag"] = MAGNITUDES.get(row["hr"], float(row["v_mag"]))
        own = unit_vectors(float(row["ra_deg"]), float(row["dec_deg"]))
        apart = apart_arcsec(own, hip)
        best = int(np.argmin(apart + ARCSEC_PER_MAG * np.abs(found["v_mag"] - row["v_mag"])))
        row |= {"pm_ra": 0.0, "pm_dec": 0.0, "b_v": np.nan, "seen_mag": np.nan, "source": "BSC5"}
        if apart[best] < SAME_ARCSEC:
            row |= {name: float(found[name][best]) for name in found if name != "v_mag"}
            row |= {"source": "HIP2", "seen_mag": float(found["v_mag"][best])}
            continue
        apart = apart_arcsec(own, gaia_places)
        best = int(np.argmin(apart + ARCSEC_PER_MAG * np.abs(gaia.magnitude - row["v_mag"])))
        if apart[best] < SAME_ARCSEC and abs(gaia.magnitude[best] - row["v_mag"]) < 1.0:
            place = {"ra_deg": gaia.ra_deg[best], "dec_deg": gaia.dec_deg[best]}
            row |= {"source": "GaiaDR3", **place}
    return rows


def merged(rows: list[Star]) -> list[Star]:
    """Take components for one star, in the order of their light, and leave out what is faint."""
    places = unit_vectors([float(r["ra_deg"]) for r in rows], [float(r["dec_deg"]) for r in rows])
    light = np.array([row["v_mag"] for row in rows])
    taken, stars = np.zeros(len(rows), dtype=bool), []
    for index in np.argsort(light, kind="stable"):
        if taken[index]:
            continue
        near = np.flatnonzero((apart_arcsec(places[index], places) < ONE_STAR_ARCSEC) & ~taken)
        taken[near] = True
        star = rows[index]
        if len(near) == 1 and star["seen_mag"] - star["v_mag"] > VARIES_MAG:
            star["v_mag"] = star["seen_mag"]
        else:
            star["v_mag"] = -2.5 * np.log10(np.sum(10.0 ** (-0.4 * light[near])))
        if star["v_mag"] <= FAINTEST_MAG:
            stars.append(star)
    return sorted(stars, key=lambda star: int(star["hr"]))


def alone_deg(star: Star, places: Floats, magnitude: Floats) -> float:
    """Return how far the nearest star is that is not much fainter [deg]."""
    rivals = places[magnitude < star["v_mag"] + RIVAL_MAG]
    own = unit_vectors(float(star["ra_deg"]), float(star["dec_deg"]))
    apart = np.degrees(np.arccos(np.clip(rivals @ own, -1.0, 1.0)))
    return float(np.min(apart[apart > COMPANION_DEG], initial=FARTHEST_DEG))


def main(stars: Path, hip2: Path, out: Path) -> None:
    """Write the table; the same input gives the same bytes."""
    with stars.open(encoding="utf-8", newline="") as file:
        rows = merged(placed(list(csv.DictReader(file)), hipparcos(hip2)))
    gaia = load_field_stars()
    places = unit_vectors(gaia.ra_deg, gaia.dec_deg)
    with out.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(COLUMNS)
        for star in rows:
            ra, dec = float(star["ra_deg"]) % 360.0, float(star["dec_deg"])
            writer.writerow(
                [
                    star["hr"],
                    star["bayer"],
                    star["flamsteed"],
                    star["constellation"] or find_constellation(ra, dec),
                    NAMES.get(star["hr"], star["usual_name"]),
                    star["source"],
                    f"{ra:.5f}",
                    f"{dec:.5f}",
                    f"{star['pm_ra']:.1f}",
                    f"{star['pm_dec']:.1f}",
                    f"{star['v_mag']:.2f}",
                    f"{star['b_v']:.2f}",
                    f"{alone_deg(star, places, gaia.magnitude):.2f}",
                ]
            )


if __name__ == "__main__":
    main(*map(Path, sys.argv[1:]))
