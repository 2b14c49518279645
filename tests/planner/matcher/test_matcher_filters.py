"""When a filter is proposed, and when it is not."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose

from planner.formulas.filters import filter_suits
from planner.matcher.views import best_view
from planner.model.kit import Barrel, Filter, FilterKind
from targets.model import Kind

EMITTING = {Kind.EMISSION_NEBULA, Kind.PLANETARY_NEBULA, Kind.SUPERNOVA_REMNANT}
# The Horsehead is dark, on a glow that shines in H beta.
DARK_ON_GLOW = "B33"


def well_known(sky: Any) -> list[Any]:
    """Return both lists that every observer knows, and the classic targets of H beta."""
    catalogue = sky.catalogue
    rows = np.union1d(catalogue.messier(), catalogue.caldwell())
    extra = [catalogue.index_of(name) for name in ("IC434", "B33", "NGC1499", "NGC7000", "NGC1514")]
    return [catalogue.target(int(row)) for row in np.union1d(rows, extra)]


@pytest.mark.parametrize("sky_mag", [18.5, 20.5, 21.8])
def test_a_filter_is_proposed_only_where_it_lifts_the_margin(
    sky_mag: float, bench: Any, sky: Any
) -> None:
    """By a quarter of a magnitude, and only on what shines in lines."""
    targets = well_known(sky)
    rated = bench.but(sky_mag_arcsec2=sky_mag).rate(targets)
    margin = rated.ratings.margin_dex
    proposed = 0
    for row, target in enumerate(targets):
        winner = rated.best(row)
        filter_ = rated.table.trains[winner].filter
        if filter_ is None:
            continue
        proposed += 1
        gain = margin[row, winner] - margin[row, rated.table.unfiltered[winner]]
        assert gain >= 0.1, target.name
        assert target.kind in EMITTING or target.id == DARK_ON_GLOW, target.name
    assert proposed >= 3


# California, the Horsehead and the glow behind it, Cocoon, Barnard's Loop (common practice).
H_BETA_TARGETS = {"NGC1499", "B33", "IC434", "IC405", "NGC2024", "IC5146", "Sh2-276"}


@pytest.mark.parametrize("sky_mag", [18.5, 21.3])
def test_h_beta_is_only_for_its_few(sky_mag: float, bench: Any, sky: Any) -> None:
    """California, Cocoon, Horsehead and the glow behind it (common practice)."""
    rated = bench.but(sky_mag_arcsec2=sky_mag).rate(well_known(sky))
    chosen = {
        target.id
        for row, target in enumerate(rated.targets)
        if (filter_ := rated.table.trains[rated.best(row)].filter) is not None
        and filter_.kind is FilterKind.HBETA
    }
    assert chosen <= H_BETA_TARGETS
    assert "NGC1499" in chosen
    h_beta = np.array(
        [bool(t.filter and t.filter.kind is FilterKind.HBETA) for t in rated.table.trains]
    )
    for row, target in enumerate(rated.targets):
        fit = rated.ratings.parts["fit"][row]
        assert (fit[h_beta] == float(target.id in H_BETA_TARGETS)).all(), target.name


@pytest.mark.parametrize("name", ["M57", "NGC7662", "NGC7009"])
def test_what_a_filter_hardly_lifts_gets_none(name: str, bench: Any, sky: Any) -> None:
    """Small bright planetaries under a dark sky, in 200 mm (common practice)."""
    assert best_view(bench.rate(sky.targets(name)).case()).train.filter is None


@pytest.mark.parametrize("name", ["M1", "M78", "NGC7023", "M31", "M13", "M45", "M24", "M40", "M73"])
def test_what_shines_by_starlight_gets_no_filter(name: str, bench: Any, sky: Any) -> None:
    """Under a town's sky too: no train with a filter has a score at all."""
    rated = bench.but(sky_mag_arcsec2=18.0).rate(sky.targets(name))
    assert rated.table.trains[rated.best()].filter is None
    assert (rated.ratings.score[0, rated.table.filter_code > 0] == 0.0).all()


@pytest.mark.parametrize(
    ("name", "kind"),
    [
        ("NGC6992", FilterKind.OIII),
        ("NGC7000", FilterKind.OIII),
        ("NGC7293", None),
        ("M97", None),
        ("NGC1499", FilterKind.HBETA),
    ],
)
def test_the_classic_targets_of_filters_get_them(
    name: str, kind: FilterKind | None, bench: Any, sky: Any
) -> None:
    """Common practice: O III on the Veil, H-beta on California; one of the two on large ones."""
    filter_ = best_view(bench.rate(sky.targets(name)).case()).train.filter
    assert filter_ is not None
    assert kind is None or filter_.kind is kind


# Exit pupils under a dark sky [mm]: common practice, from memory. Within half a step of eyepieces.
DARK_RANGES = {
    FilterKind.NARROWBAND: (2.0, 6.0),
    FilterKind.OIII: (3.0, 7.0),
    FilterKind.HBETA: (4.0, 7.0),
}
HALF_A_STEP = 1.19


def test_a_filter_comes_with_an_exit_pupil_that_serves_it(benches: Any, sky: Any) -> None:
    """On emission nebulae and remnants under a dark sky; planetaries bear smaller ones."""
    targets = [
        target
        for target in well_known(sky)
        if target.kind in {Kind.EMISSION_NEBULA, Kind.SUPERNOVA_REMNANT}
    ]
    for bench in benches.values():
        rated = bench.rate(targets)
        for row, target in enumerate(targets):
            train = rated.table.trains[rated.best(row)]
            if train.filter is not None:
                low, high = DARK_RANGES[train.filter.kind]
                assert low / HALF_A_STEP <= train.exit_pupil_mm <= high * HALF_A_STEP, target.name


def test_nothing_known_of_the_brightness_means_no_filter(bench: Any, sky: Any) -> None:
    """Nobody can tell whether it would help."""
    unknown = [
        target
        for row in np.flatnonzero(sky.catalogue.of_kind(Kind.EMISSION_NEBULA))[:150]
        if (target := sky.catalogue.target(int(row))).visual_rating is None
    ]
    rated = bench.rate(unknown)
    assert len(unknown) > 20
    assert all(rated.table.trains[rated.best(row)].filter is None for row in range(len(unknown)))


def test_each_filter_fits_what_it_suits(bench: Any, sky: Any) -> None:
    """By kind for most and by name for a few: as `filter_suits` says for each alone."""
    kit = replace(
        bench.kit, filters=tuple(Filter(str(kind), kind, Barrel.TWO) for kind in FilterKind)
    )
    targets = [*well_known(sky), *sky.targets("Venus Mars Moon Jupiter 3C273 M73")]
    rated = bench.but(kit=kit).rate(targets)
    for row, target in enumerate(targets):
        for column, train in enumerate(rated.table.trains):
            suits = train.filter is None or filter_suits(
                train.filter.kind, kind=target.kind, target_id=target.id
            )
            assert rated.ratings.parts["fit"][row, column] == float(suits), target.name


def test_the_nebulae_of_h_beta_show_best_in_it(bench: Any, sky: Any) -> None:
    """California: H-beta before narrowband before none before O III (common practice)."""
    rated = bench.rate(sky.targets("NGC1499"))
    at_6_mm = np.flatnonzero(np.abs(rated.table.exit_pupil_mm - 6.0) < 0.01)
    margin = {
        train.filter.name
        if (train := rated.table.trains[column]).filter
        else "none": rated.ratings.margin_dex[0, column]
        for column in at_6_mm
    }
    assert sorted(margin, key=lambda name: -margin[name]) == [
        "H-beta", "Narrowband", "none", "O III",
    ]  # fmt: skip


@pytest.mark.parametrize(("sky_mag", "largest_mm"), [(21.3, 4.0), (19.0, 2.0)])
def test_a_broadband_filter_keeps_to_its_own_exit_pupils(
    sky_mag: float, largest_mm: float, bench: Any, sky: Any
) -> None:
    """At most 4 mm under a dark sky, 2 mm under a bright one (common practice, from memory)."""
    kit = replace(bench.kit, filters=(Filter("Broad", FilterKind.BROADBAND, Barrel.TWO),))
    rated = bench.but(kit=kit, sky_mag_arcsec2=sky_mag).rate(sky.targets("NGC7000"))
    gain = rated.ratings.margin_dex[0] - rated.ratings.margin_dex[0, rated.table.unfiltered]
    useful = (rated.table.filter_code > 0) & (gain >= 0.1)
    assert useful.any()
    assert_allclose(rated.ratings.exit_pupils.ideal_high[0, useful], largest_mm, rtol=0.01)


def test_a_filter_that_lifts_nothing_keeps_seven_tenths(bench: Any, sky: Any) -> None:
    """Of what the train scores without it: M42 is easy without (our choice: 0.7, and no more)."""
    rated = bench.rate(sky.targets("M42"))
    part, table = rated.ratings.parts["visibility"][0], rated.table
    margin_dex = rated.ratings.margin_dex[0]
    # A quarter of a magnitude is what a filter has to lift to be worth the trouble.
    lifts = margin_dex >= margin_dex[table.unfiltered] + 0.1
    filtered = (table.filter_code > 0) & np.isfinite(margin_dex) & ~lifts
    assert filtered.any()
    bare = part[table.unfiltered[filtered]]
    assert (part[filtered] <= 0.7 * bare + 1e-12).all()
    assert_allclose((part[filtered] / bare).max(), 0.7)
