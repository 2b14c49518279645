"""Any usual spelling finds a target, and nonsense gets a sentence."""

from __future__ import annotations

import contextlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from targets.catalogue.catalogue import Catalogue
from targets.catalogue.texts import survey_numbers
from targets.naming.designations import compact, designation_key, name_key, spaced
from targets.naming.lookup import UnknownTarget
from targets.naming.many_names import known_of

SEPARATORS = st.sampled_from(["", " ", "  ", "-", "_", ".", "\u2013", "\u2212", "\u00a0"])
NUMBERS = st.integers(1, 7840)


def _any_case(word: str) -> st.SearchStrategy[str]:
    letters = [st.sampled_from([char.lower(), char.upper()]) for char in word]
    return st.tuples(*letters).map("".join)


@given(
    prefix=st.sampled_from(["ngc", "n"]).flatmap(_any_case),
    separator=SEPARATORS,
    number=NUMBERS,
    zeros=st.integers(0, 4),
    around=st.sampled_from(["", " ", "\t"]),
)
def test_case_blanks_dashes_and_zeros_do_not_matter(
    prefix: str, separator: str, number: int, zeros: int, around: str
) -> None:
    """All ways to write an NGC number have one key."""
    text = f"{around}{prefix}{separator}{'0' * zeros}{number}{around}"
    assert designation_key(text) == f"ngc{number}"


@given(
    word=st.sampled_from(
        [("Messier", "m"), ("Caldwell", "c"), ("Barnard", "b"), ("Melotte", "mel")]
    ),
    separator=SEPARATORS,
    number=st.integers(1, 400),
)
def test_words_and_abbreviations_are_one(
    word: tuple[str, str], separator: str, number: int
) -> None:
    """A catalogue's name and its abbreviation lead to the same key."""
    long, short = word
    assert designation_key(f"{long}{separator}{number}") == designation_key(f"{short}{number}")


@given(prefix=st.sampled_from(["NGC", "IC", "Mel", "B", "PGC"]), number=st.integers(1, 99999))
def test_spaced_and_compact_undo_each_other(prefix: str, number: int) -> None:
    """An identifier survives the way to the screen and back."""
    identifier = f"{prefix}{number}"
    assert compact(spaced(identifier)) == identifier
    assert designation_key(spaced(identifier)) == identifier.casefold()


@given(st.text(max_size=60))
def test_any_text_has_keys(text: str) -> None:
    """Neither key function fails on anything that can be typed."""
    designation_key(text)
    assert name_key(text) == name_key(f"  {text}  ")


@pytest.mark.parametrize(
    ("text", "identifier"),
    [
        ("M 31", "NGC224"),
        ("m31", "NGC224"),
        ("Messier 31", "NGC224"),
        ("NGC 224", "NGC224"),
        ("ngc0224", "NGC224"),
        ("NGC-224", "NGC224"),
        ("n224", "NGC224"),
        ("UGC 454", "NGC224"),
        ("Andromeda Galaxy", "NGC224"),
        ("andromeda galaxy", "NGC224"),
        ("M31 Andromeda Galaxy", "NGC224"),
        ("the ring nebula", "NGC6720"),
        ("Ring", "NGC6720"),
        ("C14", "C14"),
        ("caldwell 14", "C14"),
        ("h & chi Persei", "C14"),
        ("h & \u03c7 Persei", "C14"),
        ("\u03c9 Cen", "NGC5139"),
        ("\u03bb Centauri Nebula", "IC2944"),
        ("Cats Eye Nebula", "NGC6543"),
        ("CAT\u2019S EYE NEBULA", "NGC6543"),
        ("Mel 20", "Mel20"),
        ("Melotte 22", "M45"),
        ("Mel 25", "C41"),
        ("Melotte 186", "Cr359"),
        ("Collinder 399", "Cr399"),
        ("Cr 399", "Cr399"),
        ("IC 1613", "IC1613"),
        ("jupiter", "Jupiter"),
        ("The Moon", "Moon"),
        ("B 33", "B33"),
        ("Barnard 33", "B33"),
        ("Sh2-155", "C9"),
        ("sh 2-155", "C9"),
        ("Sharpless 155", "C9"),
        ("Sharpless 2-155", "C9"),
        ("Abell 21", "Abell21"),
        ("PK 164+31.1", "JnEr1"),
        ("PN G063.1+13.9", "NGC6720"),
        ("ESO 56-115", "ESO56-115"),
        ("eso056-115", "ESO56-115"),
        ("Kemble 1", "Kemble1"),
        ("3c273", "3C273"),
    ],
)
def test_spellings_in_use(catalogue: Catalogue, text: str, identifier: str) -> None:
    """Designations and names as observers write them."""
    assert catalogue.find(text).id == identifier


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("Andromdea Galaxy", r"'Andromdea Galaxy': nearest (is|are) Andromeda Galaxy \(M31\)"),
        ("M 111", "'M 111': that list runs from M1 to M110"),
        ("C0", "'C0': that list runs from C1 to C109"),
        ("NGC 7841", "that list runs from NGC 1 to NGC 7840"),
        ("IC 5387", "that list runs from IC 1 to IC 5386"),
        ("NGC 1990", "'NGC 1990' is a single star in the catalogue"),
        ("IC 67", "'IC 67' is a number with nothing at its place"),
        ("IC 4816", "'IC 4816' is an old nova"),
        ("Rosette", r"Rosette Cluster \(NGC 2244\)"),
        ("", "no target is named"),
        ("  \n", "no target is named"),
        ("M31 " + 80 * "x", "names have up to 80 characters"),
    ],
)
def test_why_there_is_no_such_target(catalogue: Catalogue, text: str, sentence: str) -> None:
    """The message says what is near, or why the number is not one to look at."""
    with pytest.raises(UnknownTarget, match=sentence):
        catalogue.find(text)


@pytest.mark.parametrize(
    "text",
    ["x" * 10_000, "9" * 10_000, "🌌", "\x00\x1b[31mM31", "[bold]M31[/bold]", "M31\nM32", "{}%s"],
)
def test_nonsense_gets_one_short_line(catalogue: Catalogue, text: str) -> None:
    """Whatever was typed, the message is one printable line of bearable length."""
    with pytest.raises(UnknownTarget, match="no target is called") as caught:
        catalogue.find(text)
    assert str(caught.value).isprintable()
    assert len(str(caught.value)) < 250


@given(text=st.text(max_size=100))
def test_find_gives_a_target_or_a_sentence(catalogue: Catalogue, text: str) -> None:
    """No text makes the search fail in any other way."""
    with contextlib.suppress(UnknownTarget):
        assert catalogue.find(text).id in catalogue.ids


@given(
    st.lists(
        st.sampled_from(
            ("M 31", "ngc0224", "Sh 2-155", "sharpless 2-155", "3C 273", "pn g 060.8-03.6",
             "beta Cyg", "61 cyg", "The Cat's Eye", "Whirlpool", "ESO 350-40", "sigma 2816",
             "HIP 11767", "beta Cygni", "HR 424", "UGC 1", "Field 12", "Own 3", "zeta Cancri AB-C",
             "Cr 399", "x", "", "NGC", "4C 1", "the", "ngc 9999", "Barnard's Loop")
        )
        | st.from_regex(r"[a-zA-Z]{1,3} ?-?[0-9]{1,4}[a-z]?", fullmatch=True)
    )
)  # fmt: skip
def test_many_names_at_once_are_found_as_one_by_one(catalogue: Catalogue, names: list[str]) -> None:
    """Whatever may be a name of the catalogue is looked up."""
    index = catalogue.texts.index
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr("targets.naming.many_names.FEW", 0)
        assert known_of(index, names) == [index.known(name) for name in names]


def test_survey_numbers_are_those_that_people_look_for() -> None:
    """Members, remarks and numbers run together are left out, zeros and stray blanks dropped."""
    field = (
        "2MASX J01000000+1000000,MCG  +00-09-015,MCG +00-09-015 NED01, ,UGC 02688 NOTES01,"
        "PGC 123456SDSS J010000.00+100000.0,UGC 04460,Cl 399"
    )
    assert survey_numbers(field) == ["MCG +00-09-015", "UGC 4460", "Cr 399"]


def test_parts_are_only_known_by_the_number_of_the_whole(catalogue: Catalogue) -> None:
    """No alias is a remark; a member is one of a catalogue number, such as IC 80 NED1."""
    aliases = [alias for i in range(len(catalogue)) for alias in catalogue.target(i).aliases]
    assert not [alias for alias in aliases if "NOTES" in alias or "SDSS" in alias]
    members = [alias for alias in aliases if " NED" in alias]
    assert "IC 80 NED1" in members
    assert not [alias for alias in members if not alias.startswith(("NGC ", "IC "))]
