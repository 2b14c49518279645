"""The rule that picks double stars: what it finds in a made sky, and that the table follows it."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose
from pairs_by_rule import NOT_IN_THE_STARS, pairs_by_rule

from targets.catalogue.catalogue import Catalogue
from targets.field_stars import FieldStars, load_field_stars
from targets.model import Kind
from targets.sphere import angle_deg, angles_of_all_deg, unit_vectors
from targets.tables import numbers, read_tables

TABLES = read_tables()
ONE_ARCSEC_DEG = 1.0 / 3600.0
# Names of pairs that observers show, over the whole sky (common practice); V, gap and angle of some
# from the Washington Double Star Catalog, from memory: angle and gap move with the years, so that
# only a tenth of the gap and 3 degrees are asked for.
WELL_KNOWN = (
    "Albireo; Almach; Castor; Mizar; epsilon Lyr; Porrima; 61 Cyg; Izar; zeta Cnc; alpha Cen; "
    "Acrux; gamma Vel; h 3945; beta1 Tuc; gamma Ari; gamma Del; theta Ser; beta Mon; iota Cnc; "
    "24 Com; eta Cas; 95 Her; alpha Her; gamma Leo; Cor Caroli; Rigel; Polaris; 70 Oph; xi Boo; "
    "16 Cyg; nu Dra; psi Dra; 31 Cyg; zeta Lyr; beta Cep; delta Cep; sigma Ori; theta Eri; 32 Eri; "
    "kappa1 Lup; xi1 Lup; iota Pic; mu1 Cru; gamma2 Vol; alpha Cir; theta Ind; beta Sco; "
    "delta1 Aps; upsilon Car; 54 Hya; p Eri; epsilon Mon; Cor Caroli; 8 Lac; 94 Aqr; zeta Aqr"
)
MEASURED_BY_OTHERS = {
    "Albireo": (34.7, 54.0), "Mizar": (14.4, 153.0), "gamma Ari": (7.4, 1.0),
    "Polaris": (18.2, 230.0), "beta1 Tuc": (27.0, 169.0), "h 3945": (26.8, 52.0),
    "theta Ser": (22.4, 104.0), "24 Com": (20.1, 271.0), "kappa1 Lup": (26.4, 143.0),
    "STF 2816": (11.8, 121.0),
}  # fmt: skip


def sky_of(*stars: tuple[float, float, float]) -> FieldStars:
    """Return a star file of right ascension and declination [deg] and V, by declination."""
    ra, dec, v_mag = np.array(sorted(stars, key=lambda star: star[1])).T
    return FieldStars(ra, dec, v_mag, np.full(len(ra), np.nan))


@pytest.mark.parametrize("dec_deg", [0.0, 60.0, -80.0])
def test_a_pair_is_found_where_it_stands(dec_deg: float) -> None:
    """Ten arcseconds east of a bright star, on the equator and far from it: 90 degrees."""
    east = 10.0 * ONE_ARCSEC_DEG / np.cos(np.radians(dec_deg))
    (pair,) = pairs_by_rule(sky_of((359.999, dec_deg, 4.0), (359.999 + east, dec_deg, 6.0)))
    assert_allclose(pair.separation_arcsec, 10.0, atol=0.001)
    assert_allclose(pair.position_angle_deg, 90.0, atol=0.02)


@pytest.mark.parametrize(
    ("primary_mag", "companion_mag", "gap_arcsec"),
    [(6.6, 7.0, 10.0), (5.0, 9.1, 10.0), (5.0, 6.0, 0.9), (5.0, 6.0, 250.0)],
)
def test_what_is_outside_the_limits_is_no_pair(
    primary_mag: float, companion_mag: float, gap_arcsec: float
) -> None:
    """A star too faint, a gap too narrow or too wide: the limits of the module's docstring."""
    dec = gap_arcsec * ONE_ARCSEC_DEG
    assert not pairs_by_rule(sky_of((10.0, 0.0, primary_mag), (10.0, dec, companion_mag)))


def test_chance_leaves_out_faint_wide_pairs_of_a_crowded_field() -> None:
    """Two stars 100" apart, alone and among 300 of the companion's light within three degrees.

    300 stars in 28.3 square degrees put 300 (100 / 10800)^2 = 0.026 into the circle, above 1 / 500.
    """
    pair = [(100.0, 0.0, 5.0), (100.0, 100.0 * ONE_ARCSEC_DEG, 8.0)]
    grid = [(100.0 + x, y, 8.0) for x in np.linspace(-2, 2, 18) for y in np.linspace(-2, 2, 18)]
    assert len(pairs_by_rule(sky_of(*pair))) == 1
    crowd = pairs_by_rule(sky_of(*pair, *(star for star in grid if abs(star[1]) > 0.05)))
    assert crowd == []


def test_two_equal_stars_are_one_pair() -> None:
    """Not two, each with the other as its companion."""
    assert len(pairs_by_rule(sky_of((10.0, 0.0, 5.0), (10.0, 0.002, 5.0)))) == 1


def test_the_table_holds_what_the_rule_finds() -> None:
    """Each primary of the rule has a pair in the table, or is a star of the table of stars."""
    stars = load_field_stars()
    found = pairs_by_rule(stars)
    primaries = [pair.primary for pair in found]
    listed = [(float(line["ra_deg"]), float(line["dec_deg"])) for line in TABLES.pairs]
    listed += [(float(line["ra_deg"]), float(line["dec_deg"])) for line in TABLES.stars]
    here = unit_vectors(stars.ra_deg[primaries], stars.dec_deg[primaries])
    apart = angles_of_all_deg(here, unit_vectors(*np.transpose(listed)))
    assert len(found) > 500
    # 61 Cygni moves 84" from 2000 to 2016; a pair's companions may be primaries themselves.
    assert np.max(np.min(apart, axis=1)) * 3600.0 < 240.0


def test_the_table_holds_nothing_else() -> None:
    """Each row is a pair of the rule, as measured there, or has an orbit, or the rule names it."""
    stars = load_field_stars()
    found = pairs_by_rule(stars)
    there = unit_vectors(*np.transpose([_place(stars, pair.primary) for pair in found]))
    gaps = np.array([pair.separation_arcsec for pair in found])
    others = {line["id"] for line in TABLES.orbits} | set(NOT_IN_THE_STARS)
    for line in TABLES.pairs:
        if line["id"] in others:
            continue
        here = unit_vectors(float(line["ra_deg"]), float(line["dec_deg"]))
        near = 3600.0 * angle_deg(there, here) < 100.0
        # Polaris stands 1.1" off in the star file.
        agree = np.abs(gaps - float(line["separation_arcsec"])) < 1.2
        assert np.any(near & agree), line["id"]


def test_the_whole_sky_has_its_pairs() -> None:
    """The rule knows no north: either half of the sky has 45 percent and more."""
    dec = numbers(TABLES.pairs, "dec_deg")
    assert 0.45 < np.mean(dec > 0.0) < 0.55


@pytest.mark.parametrize("name", WELL_KNOWN.split("; "))
def test_well_known_pairs_are_there(catalogue: Catalogue, name: str) -> None:
    """By any of their names."""
    assert catalogue.find(name).kind is Kind.DOUBLE_STAR


@pytest.mark.parametrize("name", MEASURED_BY_OTHERS)
def test_pairs_are_as_others_measured_them(catalogue: Catalogue, name: str) -> None:
    """Gap and angle of the Washington Double Star Catalog, from memory; of STF 2816 the pair AC."""
    target = catalogue.find(name)
    gap_arcsec, angle = MEASURED_BY_OTHERS[name]
    assert_allclose(target.separation_arcsec, gap_arcsec, rtol=0.02)
    assert_allclose(target.position_angle_deg, angle, atol=3.0)


def _place(stars: FieldStars, star: int) -> tuple[float, float]:
    return float(stars.ra_deg[star]), float(stars.dec_deg[star])
