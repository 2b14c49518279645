"""Well-known pairs in three telescopes, against what observers' handbooks say of them.

Where a line says "common practice" it is what such books and clubs tell of these pairs: which
aperture shows them, and with how much power.
"""

from __future__ import annotations

import re
from typing import Any

import pytest

from planner.matcher.views import best_view, ranked_views
from planner.model.plan import Grade
from targets.double_stars.doubles import pair_at
from targets.model import Target

YEAR = 2026.9
SHOWN = (Grade.EASY, Grade.FAIR)
POSSIBLE = (*SHOWN, Grade.HARD, Grade.VERY_HARD)
DAWES_ARCSEC_MM = 116.0  # Dawes 1867, Memoirs of the RAS 35, 137


def pair(sky: Any, name: str) -> Target:
    """Return a pair of the catalogue as it stands late in 2026."""
    return pair_at(sky.catalogue.find(name), YEAR)


# Names, telescopes by their aperture [mm], and the grades that agree with the handbooks; common
# practice unless a reason is given.
HANDBOOK = [
    ("Albireo", "80 200 400", (Grade.EASY,)),  # steady binoculars show it
    ("Mizar", "80 200 400", (Grade.EASY,)),  # the first telescopes showed it
    ("Cor Caroli", "80 200 400", (Grade.EASY,)),
    ("Almach", "80 200 400", (Grade.EASY,)),  # 60 mm
    ("gamma Ari", "80 200 400", (Grade.EASY,)),
    ("gamma Del", "80 200 400", (Grade.EASY,)),
    ("alpha Cen", "80 200 400", (Grade.EASY,)),
    ("Castor", "80 200 400", SHOWN),  # 60 mm and 100 times
    ("Porrima", "80 200 400", SHOWN),  # 3.6" now: 2.5 times what 80 mm part
    ("Algieba", "80 200 400", SHOWN),
    ("Rasalgethi", "80 200 400", SHOWN),
    ("zeta Aqr", "80 200 400", SHOWN),
    ("eps2 Lyr", "80 200 400", SHOWN),  # 60 to 75 mm and 100 times
    ("Double Double", "80 200 400", (*SHOWN, Grade.HARD)),
    ("Izar", "80", (Grade.HARD, Grade.FAIR)),  # a test for 75 mm
    ("Izar", "200 400", SHOWN),
    ("delta Cyg", "80", (Grade.VERY_HARD, Grade.HARD)),  # 75 to 100 mm in steady air
    ("delta Cyg", "200 400", (*SHOWN, Grade.HARD)),
    ("Rigel", "200 400", (*SHOWN, Grade.HARD)),
    ("Polaris", "80 200 400", POSSIBLE),  # a test for 60 mm
    ("Antares", "80", (Grade.UNLIKELY,)),
    ("zeta Her", "80", (Grade.UNLIKELY, Grade.VERY_HARD)),
    ("zeta Her", "400", (*SHOWN, Grade.HARD)),
    ("eta CrB", "80", (Grade.UNLIKELY,)),  # 0.9" against Dawes's 1.45"
    ("zeta Boo", "80 200", (Grade.UNLIKELY,)),  # 0.4" against Dawes's 1.45" and 0.58"
    ("Sirius", "80", (Grade.UNLIKELY,)),
    ("Sirius", "200", (Grade.UNLIKELY, Grade.VERY_HARD)),  # 200 mm and more, in steady air
]


@pytest.mark.parametrize(
    ("name", "telescope", "grades"),
    [(name, one, grades) for name, many, grades in HANDBOOK for one in many.split()],
)
def test_pairs_are_graded_as_handbooks_have_it(
    name: str, telescope: str, grades: tuple[Grade, ...], benches: Any, sky: Any
) -> None:
    """In average seeing, 60 degrees up."""
    view = best_view(benches[telescope].rate([pair(sky, name)]).case())
    assert view.grade in grades


@pytest.mark.parametrize("altitude_deg", [20.0, 35.0])
def test_the_companion_of_sirius_is_never_promised(
    altitude_deg: float, benches: Any, sky: Any
) -> None:
    """In 200 mm and seeing III no train splits it, and the sentence says that it is the glare."""
    sirius = pair(sky, "Sirius")
    assert 10.0 < sirius.separation_arcsec < 11.5  # Bond et al. 2017: near its widest
    bench = benches["200"].but(altitude_deg=altitude_deg)
    for view in ranked_views(bench.rate([sirius]).case()):
        assert view.grade in {Grade.UNLIKELY, Grade.VERY_HARD}
        assert not any("splits" in reason or "wide" in reason for reason in view.reasons)
        assert any("9.9 mag fainter, its companion asks for some" in w for w in view.warnings)


def test_steady_air_and_aperture_show_the_companion_of_sirius(benches: Any, sky: Any) -> None:
    """150 mm at the best, 250 to 300 mm as a rule, by 200 times and more (common practice)."""
    sirius = pair(sky, "Sirius")
    steady = {name: benches[name].but(altitude_deg=35.0, seeing="I") for name in ("80", "200")}
    assert best_view(steady["80"].rate([sirius]).case()).grade is Grade.UNLIKELY
    view = best_view(steady["200"].rate([sirius]).case())
    assert view.grade in {Grade.HARD, Grade.FAIR}
    assert view.train.magnification >= 200.0


@pytest.mark.parametrize("telescope", ["80", "200", "400"])
def test_the_double_double_wants_a_hundred_times(telescope: str, benches: Any, sky: Any) -> None:
    """Common practice: 100 times and more for both halves."""
    for name in ("epsilon Lyr", "epsilon2 Lyr"):
        view = best_view(benches[telescope].rate([pair(sky, name)]).case())
        assert view.train.magnification >= 100.0
        assert any(re.search("splits its|wide apart", reason) for reason in view.reasons)


@pytest.mark.parametrize("telescope", ["80", "200"])
def test_albireo_is_wide_at_low_power(telescope: str, benches: Any, sky: Any) -> None:
    """Its colours show at an exit pupil of 1.5 to 3 mm (common practice), and it is far apart."""
    view = best_view(benches[telescope].rate([pair(sky, "Albireo")]).case())
    assert 1.5 <= view.train.exit_pupil_mm <= 3.0
    power = view.train.magnification
    assert f'its 34.6" are wide apart at {power:.0f}x (magnitudes 3.1 and 5.1)' in view.reasons
    assert power * 34.6 > 4.0 * 150.0  # four times what the eye needs is ample (our choice)


def test_seeing_decides_over_close_pairs(benches: Any, sky: Any) -> None:
    """1.2" in 200 mm, which part 0.58" (Dawes): fair at I, lost at V; worse at each step."""
    bench, tight = benches["200"], pair(sky, "36 And")
    assert 0.5 * tight.separation_arcsec > DAWES_ARCSEC_MM / 200.0
    views = {
        step: best_view(bench.but(seeing=step).rate([tight]).case())
        for step in ("I", "II", "III", "IV", "V")
    }
    margins = [view.margin_dex for view in views.values()]
    assert margins == sorted(margins, reverse=True)
    assert views["I"].grade in SHOWN
    assert views["V"].grade is Grade.UNLIKELY
    assert any("that the air leaves apart 60 deg up" in w for w in views["V"].warnings)


def test_low_down_the_air_is_thicker(benches: Any, sky: Any) -> None:
    """What is split at the zenith is not at 15 degrees."""
    tight = pair(sky, "xi UMa")
    high, low = (
        best_view(benches["200"].but(altitude_deg=altitude).rate([tight]).case())
        for altitude in (90.0, 15.0)
    )
    assert high.margin_dex > low.margin_dex + 0.2


def test_a_faint_companion_has_to_be_seen_itself(bench: Any, make_double: Any) -> None:
    """Wide apart, but of magnitude 15 under a moonlit sky: not the gap, the light is wanting."""
    moonlit = bench.but(sky_mag_arcsec2=18.0)
    view = best_view(moonlit.rate([make_double(120.0, 11.99, 15.0)]).case())
    assert view.grade in (Grade.UNLIKELY, Grade.VERY_HARD)
    assert "its companion of magnitude 15.0 is close to the faintest that is seen" in view.warnings
    bright = best_view(bench.rate([make_double(120.0, 6.0, 7.0)]).case())
    assert bright.grade is Grade.EASY
    assert not any("companion" in warning for warning in bright.warnings)


def test_an_unequal_pair_is_harder_than_an_equal_one(bench: Any, make_double: Any) -> None:
    """Lewis 1914: the fainter the companion, the farther off it must stand."""
    margins = [
        best_view(bench.rate([make_double(3.0, 5.0, companion)]).case()).margin_dex
        for companion in (5.8, 7.0, 9.0, 11.0)
    ]
    assert margins == sorted(margins, reverse=True)
    assert margins[0] > margins[-1] + 0.5


@pytest.mark.parametrize("telescope", ["80", "200", "400"])
@pytest.mark.parametrize("name", ["R Lep", "mu Cep", "TX Psc", "Y CVn"])
def test_red_stars_are_shown_at_low_power(
    name: str, telescope: str, benches: Any, sky: Any
) -> None:
    """Common practice: 2 to 4 mm of exit pupil, so that there is light enough for the colour."""
    view = best_view(benches[telescope].rate([sky.target(name)]).case())
    assert 2.0 <= view.train.exit_pupil_mm <= 4.0
    assert view.grade is Grade.EASY
    assert view.framing is None
