"""Makes the table of double stars anew: which pairs it holds, and how they are rated.

Run by hand with two files, the Bright Star Catalogue (CDS V/50) as a table with the columns hr,
bayer, flamsteed, constellation, usual_name, ra_deg, dec_deg, v_mag, and ``hip2.dat`` of the new
Hipparcos reduction (CDS I/311)::

    python tests/references/make_double_stars.py STARS.csv hip2.dat targets/data/double_stars.csv

A pair is in the table by the rule of ``pairs_by_rule.py``, by an orbit in
``double_orbits.csv``, or because the rule names it. Of several companions of one star the one of
the best rating is in, of equal ones the one that chance explains least. Rows that stay keep their
places, magnitudes, names and notes, each with its source; separations, colours and ratings are
worked out anew.
"""

from __future__ import annotations

import csv
import math
import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from pair_rating import ratings_of_table
from pairs_by_rule import NOT_IN_THE_STARS, MeasuredPair, pairs_by_rule

from planner.ephemeris.bodies import find_constellation
from targets.arrays import Floats
from targets.catalogue.stars import orbit_of
from targets.double_stars.orbits import Orbit, relative_place
from targets.field_stars import FieldStars, load_field_stars
from targets.sphere import angle_deg, position_angle_deg, unit_vectors
from targets.tables import Row, read_tables

COLUMNS = (
    "id", "label", "common_name", "also_known_as", "pair", "hip", "ra_deg", "dec_deg",
    "pm_ra_mas_yr", "pm_dec_mas_yr", "constellation", "v_mag_a", "v_mag_b", "separation_arcsec",
    "pa_deg", "epoch_yr", "bp_rp_a", "bp_rp_b", "visual_rating", "mag_source",
    "separation_source", "position_source", "colour_source", "note",
)  # fmt: skip
HIPPARCOS_EPOCH_YR, GAIA_EPOCH_YR = 1991.25, 2016.0
MAS_RAD = math.radians(1.0 / 3.6e6)
# One star of two catalogues: so near in place, where a magnitude counts for ten seconds of arc.
SAME_ARCSEC, ARCSEC_PER_MAG, SAME_MAG = 16.0, 10.0, 1.5
# One pair of two measurements: primary, separation and companion's light agree so far.
SAME_PRIMARY_ARCSEC, SAME_SHARE, SAME_GAP_ARCSEC, SAME_COMPANION_MAG = 120.0, 0.06, 0.6, 1.3
CLOSE_ARCSEC = 10.0


@dataclass(frozen=True, slots=True, eq=False)
class Hipparcos:
    """The new reduction: numbers, places at its epoch, proper motions, magnitudes, colours."""

    number: Floats
    ra_rad: Floats
    dec_rad: Floats
    motion_ra_mas_yr: Floats
    motion_dec_mas_yr: Floats
    magnitude: Floats
    b_v_mag: Floats

    def at(self, epoch_yr: float) -> tuple[Floats, Floats]:
        """Return right ascensions and declinations at an epoch [deg]."""
        years = epoch_yr - HIPPARCOS_EPOCH_YR
        ra = self.ra_rad + self.motion_ra_mas_yr * years * MAS_RAD / np.cos(self.dec_rad)
        dec = self.dec_rad + self.motion_dec_mas_yr * years * MAS_RAD
        return np.degrees(ra) % 360.0, np.degrees(dec)


def read_hipparcos(path: Path) -> Hipparcos:
    """Read what is needed of ``hip2.dat``; a colour of zero stands for none."""
    columns = np.loadtxt(path, usecols=(0, 4, 5, 7, 8, 19, 23)).T
    columns[6] = np.where(columns[6] == 0.0, np.nan, columns[6])
    return Hipparcos(*columns)


def nearest(places: Floats, magnitudes: Floats, place: Floats, magnitude: float) -> int | None:
    """Return the row of the star that is one with another in place and light, if there is one."""
    off_mag = np.abs(magnitudes - magnitude)
    apart_arcsec = 3600.0 * angle_deg(places, place)
    best = int(np.argmin(apart_arcsec + ARCSEC_PER_MAG * off_mag))
    is_one = apart_arcsec[best] < SAME_ARCSEC and off_mag[best] < SAME_MAG
    return best if is_one else None


@dataclass(frozen=True, slots=True, eq=False)
class Sky:
    """The star files, and directions to their stars."""

    stars: FieldStars
    hipparcos: Hipparcos
    names: list[Row]  # of the Bright Star Catalogue
    at_gaia: Floats
    at_2000: Floats
    named: Floats
    named_mag: Floats


def load_sky(names: Path, hip2: Path) -> Sky:
    """Read the star files."""
    hip = read_hipparcos(hip2)
    with names.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    ra, dec, v_mag = ([float(r[name]) for r in rows] for name in ("ra_deg", "dec_deg", "v_mag"))
    places = (unit_vectors(*hip.at(epoch)) for epoch in (GAIA_EPOCH_YR, 2000.0))
    return Sky(load_field_stars(), hip, rows, *places, unit_vectors(ra, dec), np.array(v_mag))


HIP_TO_GAIA = "GaiaDR3 B, HIP2 A: a few tenths of an arcsecond"
BRIGHT_MAG = 3.0  # where the star file has Hipparcos' own stars


def measured_row(sky: Sky, pair: MeasuredPair) -> Row:
    """Return a row for a pair of the rule, with what the star files have of it."""
    stars, hip = sky.stars, sky.hipparcos
    first, second = pair.primary, pair.companion
    here, there = (unit_vectors(stars.ra_deg[i], stars.dec_deg[i]) for i in (first, second))
    v_mag, separation = float(stars.magnitude[first]), pair.separation_arcsec
    angle = pair.position_angle_deg
    is_hip = math.isnan(stars.bp_rp_mag[first]) and v_mag < BRIGHT_MAG
    one = nearest(sky.at_gaia, hip.magnitude, here, v_mag)
    at_2000 = here if one is None else sky.at_2000[one]
    name = nearest(sky.named, sky.named_mag, at_2000, v_mag)
    if is_hip and one is not None and name is not None:
        separation = float(3600.0 * angle_deg(sky.at_gaia[one], there))
        angle = float(position_angle_deg(there, sky.at_gaia[one]))
        v_mag = float(sky.named_mag[name])
    number = "" if one is None else f"{hip.number[one]:.0f}"
    ra_deg = float(np.degrees(np.arctan2(at_2000[1], at_2000[0]))) % 360.0
    dec_deg = float(np.degrees(np.arcsin(at_2000[2])))
    is_close = separation < CLOSE_ARCSEC
    first_mag = stars.bp_rp_mag[first] if one is None or not is_hip else from_b_v(hip.b_v_mag[one])
    return labels({"hr": "", "usual_name": ""} if name is None else sky.names[name], number) | {
        "hip": number,
        "ra_deg": f"{ra_deg:.4f}",
        "dec_deg": f"{dec_deg:.4f}",
        "constellation": find_constellation(ra_deg, dec_deg),
        "v_mag_a": f"{v_mag:.2f}",
        "v_mag_b": f"{stars.magnitude[second]:.2f}",
        "separation_arcsec": f"{separation:.2f}" if is_close else f"{separation:.1f}",
        "pa_deg": f"{angle:.1f}" if is_close else f"{angle:.0f}",
        "epoch_yr": "2016.0",
        "bp_rp_a": colour(first_mag),
        "bp_rp_b": colour(stars.bp_rp_mag[second]),
        "mag_source": "BSC5; GAIA-V" if is_hip else "GAIA-V",
        "separation_source": HIP_TO_GAIA if is_hip else "GaiaDR3",
        "position_source": "GaiaDR3" if one is None else "HIP2",
        "colour_source": "HIP2; GaiaDR3" if is_hip else "GaiaDR3",
    }


def labels(star: Row, hip: str) -> Row:
    """Return the names of a star of the Bright Star Catalogue: as shown, in use, and others."""
    known = [star.get("bayer"), star.get("flamsteed"), star["hr"] and f"HR {star['hr']}"]
    shown, *others = [name for name in known if name] or [f"HIP {hip}"]
    return {
        "id": shown.replace(" ", ""),
        "label": shown,
        "common_name": star["usual_name"],
        "also_known_as": ", ".join(others),
        "pair": "",
        "note": "",
    }


def from_b_v(b_v_mag: float) -> float:
    """Return BP - RP from B - V: a straight line through 1943 stars of both catalogues, sd 0.11."""
    return 0.03 + 1.18 * b_v_mag


def colour(bp_rp_mag: float) -> str:
    """Write a colour; empty where it is not known."""
    return "" if math.isnan(bp_rp_mag) else f"{bp_rp_mag:.2f}"


def gap_at_gaia(row: Row, orbits: dict[str, Orbit]) -> float:
    """Return the separation of a row at Gaia's epoch [arcsec], by its orbit where it has one."""
    gap = float(row["separation_arcsec"])
    if row["separation_source"] != "by orbit":
        return gap
    return float(relative_place(orbits[row["id"]], GAIA_EPOCH_YR)[0])


def is_same(row: Row, former: Row, orbits: dict[str, Orbit]) -> bool:
    """Tell whether two rows are one pair, by primary, separation and the companion's light."""
    places = ([float(each[name]) for name in ("ra_deg", "dec_deg")] for each in (row, former))
    first, second = (unit_vectors(*place) for place in places)
    gap, gap_before = float(row["separation_arcsec"]), gap_at_gaia(former, orbits)
    off_mag = abs(float(row["v_mag_b"]) - float(former["v_mag_b"]))
    return (
        3600.0 * float(angle_deg(first, second)) < SAME_PRIMARY_ARCSEC
        and abs(gap - gap_before) < max(SAME_GAP_ARCSEC, SAME_SHARE * gap)
        and off_mag < SAME_COMPANION_MAG
    )


def chosen(rows: list[tuple[MeasuredPair, Row]]) -> list[Row]:
    """Keep one pair for each primary and for each companion.

    Of several companions that with the best rating, of equal ones the one that chance explains
    least; of several primaries the brightest.
    """
    best: dict[int, tuple[MeasuredPair, Row]] = {}
    for pair, row in sorted(rows, key=lambda each: float(each[1]["v_mag_a"])):
        if pair.companion not in best:
            best[pair.companion] = (pair, row)
    by_primary: dict[int, Row] = {}
    for pair, row in sorted(best.values(), key=_merit, reverse=True):
        by_primary.setdefault(pair.primary, row)
    return list(by_primary.values())


def _merit(found: tuple[MeasuredPair, Row]) -> tuple[int, float]:
    return ratings_of_table([found[1]])[0], -found[0].expected


def table(sky: Sky, former: list[Row], orbits: dict[str, Orbit], taken: set[str]) -> list[Row]:
    """Return all rows of the table, by declination from the north.

    Parameters
    ----------
    sky : Sky
        The star files.
    former : list of Row
        The table as it is.
    orbits : dict of str to Orbit
        By the identifier of the pair.
    taken : set of str
        Identifiers and names of other stars.
    """
    measured = [(pair, measured_row(sky, pair)) for pair in pairs_by_rule(sky.stars)]
    stays = set(orbits) | set(NOT_IN_THE_STARS)
    rows = {row["id"]: row for row in former if row["id"] in stays}
    for new in chosen(measured):
        same = next((row for row in former if is_same(new, row, orbits)), None)
        if same is not None:
            rows[same["id"]] = measured_anew(same, new)
        elif new["id"] in rows or taken & {new["id"], new["label"]} or moves_on_an_orbit(new, rows):
            sys.stderr.write(f"left out, another has the name: {new['label']}\n")
        else:
            given = taken | {each["common_name"] for each in (*former, *rows.values())}
            rows[new["id"]] = new | {
                "common_name": "" if new["common_name"] in given else new["common_name"]
            }
    for row in rows.values():
        if "bp_rp_a" not in row:
            row.update(colour_of_primary(sky, row))
        row.update(motion_of(sky, row))
        row["note"] = row["note"] or colour_words(row)
    ordered = sorted(rows.values(), key=lambda row: -float(row["dec_deg"]))
    for row, rating in zip(ordered, ratings_of_table(ordered), strict=True):
        row["visual_rating"] = str(rating)
    return ordered


def moves_on_an_orbit(new: Row, rows: dict[str, Row]) -> bool:
    """Tell whether two stars of Hipparcos, moved on in straight lines, are a pair with an orbit."""
    return not new["bp_rp_b"] and new["hip"] in {row["hip"] for row in rows.values()}


MEASURED = ("separation_arcsec", "pa_deg", "epoch_yr", "separation_source")
COLOURS = ("bp_rp_a", "bp_rp_b", "colour_source")


def measured_anew(row: Row, new: Row) -> Row:
    """Return a row that stays with the new colours, and place where an orbit has not moved it."""
    turn = abs((float(row["pa_deg"]) - float(new["pa_deg"]) + 180.0) % 360.0 - 180.0)
    # Of two equal stars the former row may have taken the other for the primary.
    columns = (
        COLOURS if turn > 90.0 or row["separation_source"] == "by orbit" else MEASURED + COLOURS
    )
    return row | {name: new[name] for name in columns}


def motion_of(sky: Sky, row: Row) -> Row:
    """Return the proper motion of the primary after Hipparcos, where it has the star."""
    found = np.flatnonzero(sky.hipparcos.number == float(row["hip"] or "nan"))
    columns = (sky.hipparcos.motion_ra_mas_yr, sky.hipparcos.motion_dec_mas_yr)
    names = ("pm_ra_mas_yr", "pm_dec_mas_yr")
    return {
        name: f"{column[found[0]]:.1f}" if len(found) else row.get(name, "")
        for name, column in zip(names, columns, strict=True)
    }


def colour_of_primary(sky: Sky, row: Row) -> Row:
    """Return the colour of a star that the rule has no pair of, after Hipparcos."""
    found = np.flatnonzero(sky.hipparcos.number == float(row["hip"] or "nan"))
    b_v_mag = float(sky.hipparcos.b_v_mag[found[0]]) if len(found) else math.nan
    return {
        "bp_rp_a": colour(from_b_v(b_v_mag)),
        "bp_rp_b": "",
        "colour_source": "" if math.isnan(b_v_mag) else "HIP2",
    }


# From these BP - RP on [mag]; the words are those of observers (common practice).
COLOUR_WORDS = ((1.6, "reddish"), (1.2, "orange"), (0.85, "yellow"), (0.3, "yellowish"))


def colour_words(row: Row) -> str:
    """Say the colours, as ``orange and white``, where they differ or are both warm."""
    first, second = (float(row[name] or "nan") for name in ("bp_rp_a", "bp_rp_b"))
    if not (abs(first - second) >= CONTRAST_MAG or min(first, second) >= COLOUR_WORDS[1][0]):
        return ""
    words = [next((w for least, w in COLOUR_WORDS if c >= least), "white") for c in (first, second)]
    return " and ".join(words) if words[0] != words[1] else f"two {words[0]} stars"


CONTRAST_MAG = 0.6


def main(names: Path, hip2: Path, out: Path) -> None:
    """Write the table; the same input gives the same bytes."""
    tables = read_tables()
    others = (*tables.stars, *tables.extras)
    taken = {
        line[name] for line in others for name in ("id", "label", "common_name") if name in line
    }
    rows = table(
        load_sky(names, hip2),
        list(tables.pairs),
        {line["id"]: orbit_of(line) for line in tables.orbits},
        taken - {""},
    )
    with out.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, COLUMNS, lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)


if __name__ == "__main__":
    main(*map(Path, sys.argv[1:]))
