"""Star names in every usual spelling, and none that brings the program down."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from targets.catalogue.catalogue import Catalogue
from targets.naming.constellations import GENITIVES, NAMES
from targets.naming.lookup import UnknownTarget
from targets.naming.star_names import star_forms, star_key


@pytest.mark.parametrize(
    ("text", "identifier"),
    [
        ("Albireo", "betaCyg"),
        ("beta Cygni", "betaCyg"),
        ("bet Cyg", "betaCyg"),
        ("BETA CYG", "betaCyg"),
        ("betaCyg", "betaCyg"),
        ("\u03b2 Cyg", "betaCyg"),
        ("6 Cygni", "betaCyg"),
        ("HIP 95947", "betaCyg"),
        ("hip95947", "betaCyg"),
        ("Albireo (beta Cyg)", "betaCyg"),
        ("61 cygni", "61Cyg"),
        ("alf Cen", "alphaCen"),
        ("alpha Canum Venaticorum", "alphaCVn"),
        ("eta Cassiopeiae", "etaCas"),
        ("psi1 Piscium", "psi1Psc"),
        ("\u03c8\u00b9 Psc", "psi1Psc"),
        ("psi 1 Psc", "psi1Psc"),
        ("kappa Bo\u00f6tis", "kappaBoo"),
        ("xi Ursae Majoris", "xiUMa"),
        ("iota Cas AB", "iotaCasAB"),
        ("iota Cas", "iotaCas"),
        ("zeta Cancri AB", "zetaCncAB"),
        ("epsilon Lyrae AB-CD", "epsilonLyrAB-CD"),
        ("\u03a3 2816", "STF2816"),
        ("Struve 2816", "STF2816"),
        ("STF2816", "STF2816"),
        ("Double Double", "epsilonLyr"),
        ("eps2 Lyr", "epsilon2Lyr"),
        ("h 3945", "145CMa"),
        ("R Leporis", "RLep"),
        ("Hind's Crimson Star", "RLep"),
        ("v460 cygni", "V460Cyg"),
        ("gamma Cassiopeiae", "gammaCas"),
        ("19 Psc", "TXPsc"),
    ],
)
def test_any_usual_spelling_will_do(catalogue: Catalogue, text: str, identifier: str) -> None:
    """Bayer letter in full, short or Greek, Flamsteed and Hipparcos number, discoverer, name."""
    assert catalogue.find(text).id == identifier


def test_all_constellations_have_a_genitive() -> None:
    """Eighty-eight, all different, and each leads to its own three letters."""
    assert GENITIVES.keys() == NAMES.keys()
    for code, genitive in GENITIVES.items():
        for form in (code, NAMES[code], genitive, genitive.upper()):
            assert star_key(f"omega {form}") == f"omega{code.casefold()}"
            assert star_key(f"\u03c9 {form}") == f"omega{code.casefold()}"


@pytest.mark.parametrize("label", ["beta Cyg", "psi1 Psc", "61 Cyg", "zeta Cnc AB-C", "R Lep"])
def test_forms_of_a_label_have_one_key(label: str) -> None:
    """Whatever form is shown, it is found again."""
    assert star_forms(label)
    assert {star_key(form) for form in star_forms(label)} == {star_key(label)}


@pytest.mark.parametrize(
    "text", ["Cyg", "beta", "beta Cyg x", "", "\u03b2", "the", "ab", "1 2 3", "alpha \u03b2"]
)
def test_no_star_is_no_star(text: str) -> None:
    """A name without a constellation, or a constellation without a name, has no key."""
    assert star_key(text) is None


@pytest.mark.parametrize(
    "text",
    ["beta Xyz", "zeta Cygni AB-C", "\u03b2", "HIP 0", "STF 999999", "\x1b[31m Cyg", "😀 Cyg"],
)
def test_a_star_that_is_not_there_gets_a_sentence(catalogue: Catalogue, text: str) -> None:
    """One printable line, whatever was typed."""
    with pytest.raises(UnknownTarget, match="no target is called") as caught:
        catalogue.find(text)
    assert str(caught.value).isprintable()


@given(text=st.text(max_size=90))
def test_nothing_typed_brings_it_down(text: str) -> None:
    """Any text gives a key in lower case without blanks, or none."""
    key = star_key(text)
    assert key is None or key == "".join(key.split())
