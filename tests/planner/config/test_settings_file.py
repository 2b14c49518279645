"""What stands in a right file comes out right, and a file that is none says so."""

import re
from datetime import date
from itertools import pairwise
from pathlib import Path

import pytest
from numpy.testing import assert_allclose

from planner.config.settings import (
    Settings,
    SettingsError,
    example_settings,
    load_settings,
    read_settings,
)
from planner.config.toml_syntax import TomlError, read_toml
from planner.formulas.optics import true_field_from_stop_deg
from planner.model.kit import Barrel, Mount


def read(text: str, today: date) -> Settings:
    """Read a text of no particular file."""
    return read_settings(text, source="kit.toml", today=today)


def test_the_example_is_right_and_raises_no_doubt(today: date) -> None:
    """It is what a user copies, and what serves without a file."""
    example = example_settings(today=today)
    assert example.warnings == ()
    assert example.site().name == "Garden"
    assert example.site().horizon == ((0, 12), (90, 8), (180, 5), (270, 20))
    assert example.telescope().focuser is Barrel.TWO
    assert example.telescope().mount is Mount.ALTAZIMUTH
    assert not example.telescope().driven
    assert len(example.kit.telescopes) == 2


def test_a_value_can_be_left_out_where_the_example_says_so(example_text: str, today: date) -> None:
    """The position gives the zone, adapters are all smaller barrels, the rest has defaults."""
    optional = ("timezone", "extinction_mag", "seeing", "horizon", "adapters", "field_stop_mm")
    lines = [line for line in example_text.splitlines() if not line.startswith(optional)]
    settings = read("\n".join(lines), today)
    assert settings.site().timezone == "Europe/London"
    assert settings.site().extinction_mag is None
    assert settings.site().seeing == "III"
    assert settings.site().horizon == ()
    assert settings.telescope().adapters == (Barrel.SMALL, Barrel.ONE_AND_A_QUARTER)
    assert settings.kit.eyepieces[0].field_stop_mm is None


def test_the_age_gives_the_pupil(example_text: str, today: date) -> None:
    """Born in 1984 makes 42 in 2026: 8.290 - 0.0448 * 42 = 6.4 mm (Bradley et al. 2011)."""
    settings = read(example_text.replace("dark_pupil_mm = 6.2", "birth_year = 1984"), today)
    assert_allclose(settings.observer.dark_pupil_mm, 6.4, atol=0.05)
    assert settings.observer.pupil_source == "from age 42"


def test_no_pupil_at_all_is_assumed(example_text: str, today: date) -> None:
    """And says so."""
    settings = read(example_text.replace("dark_pupil_mm = 6.2", ""), today)
    assert settings.observer.pupil_source == "assumed"


# Zenith sky of each class [mag/arcsec2] as two club tables print it; they differ by as much as a
# class, and no authority has tied one to the other (common practice). The first joins 6 with 7 and
# 8 with 9; what neither bounds is open to 16, the brightest that a configuration takes.
BORTLE_BANDS = {
    1: ((21.7, 22.0), (21.99, 22.0)),
    2: ((21.5, 21.7), (21.89, 21.99)),
    3: ((21.3, 21.5), (21.69, 21.89)),
    4: ((20.8, 21.3), (20.49, 21.69)),
    5: ((19.1, 20.1), (19.50, 20.49)),
    6: ((18.0, 19.1), (18.94, 19.50)),
    7: ((18.0, 19.1), (18.38, 18.94)),
    8: ((16.0, 18.0), (16.0, 18.38)),
    9: ((16.0, 18.0), (16.0, 18.38)),
}
# From here on the two tables have about the same sky for the same class, and the second the finer
# steps: the middle must lie in it.
BOTH_TABLES_FROM_CLASS = 4


@pytest.mark.parametrize("bortle", BORTLE_BANDS)
def test_bortle_class_gives_the_sky(example_text: str, today: date, bortle: int) -> None:
    """Inside a band in use; among bright skies, inside that of the table which tells them apart."""
    text = example_text.replace("sky_mag_arcsec2 = 20.9", f"bortle = {bortle}")
    site = read(text, today).site()
    assert site.sky_source == f"Bortle class {bortle}"
    bands = BORTLE_BANDS[bortle]
    if bortle >= BOTH_TABLES_FROM_CLASS:
        bands = bands[1:]
    assert any(low <= site.sky_mag_arcsec2 <= high for low, high in bands)


def test_each_bortle_class_is_brighter_than_the_one_before(example_text: str, today: date) -> None:
    """By a quarter of a magnitude about, or more."""
    skies = [
        read(example_text.replace("sky_mag_arcsec2 = 20.9", f"bortle = {k}"), today)
        .site()
        .sky_mag_arcsec2
        for k in BORTLE_BANDS
    ]
    steps = [darker - brighter for darker, brighter in pairwise(skies)]
    assert min(steps) > 0.19


@pytest.mark.parametrize("text", ['"IV"', '"iv"', '" IV "', '"4"', "4"])
def test_seeing_is_read_as_on_the_command_line(example_text: str, today: date, text: str) -> None:
    """Numeral or number, in any case; kept in one spelling."""
    changed = example_text.replace('seeing = "III"', f"seeing = {text}")
    assert changed != example_text
    assert read(changed, today).site().seeing == "IV"


def test_longitude_to_the_west_of_greenwich_may_count_through_the_east(
    example_text: str, today: date
) -> None:
    """357.6 east is 2.4 west."""
    text = example_text.replace("longitude_deg = -2.4", "longitude_deg = 357.6")
    assert_allclose(read(text, today).site().longitude_deg, -2.4, atol=1e-9)


def test_a_zoom_comes_out_with_its_short_end_first(example_text: str, today: date) -> None:
    """Written long end first, the fields turn round with the focal lengths."""
    text = example_text.replace(
        "focal_length_mm = 12\napparent_field_deg = 60",
        "focal_length_mm = [20, 8]\napparent_field_deg = [46, 62]",
    )
    zoom = read(text, today).kit.eyepieces[2]
    assert zoom.focal_lengths_mm == (8.0, 20.0)
    assert zoom.apparent_fields_deg == (62.0, 46.0)


def test_order_of_keys_and_kinds_of_table_makes_no_difference(
    example_text: str, example: Settings, today: date
) -> None:
    """Tables turned round and keys turned round give the same settings but for the order of kit."""
    blocks = example_text.split("\n\n")[1:]
    turned = []
    for block in blocks:
        lines = [line for line in block.splitlines() if not line.startswith("#")]
        turned.append("\n".join([lines[0], *reversed(lines[1:])]))
    settings = read("\n\n".join(reversed(turned)), today)
    assert settings.observer == example.observer
    assert settings.sites == example.sites
    assert settings.kit.telescopes == example.kit.telescopes[::-1]
    assert settings.kit.eyepieces == example.kit.eyepieces[::-1]
    assert settings.kit.filters == example.kit.filters[::-1]


def test_the_match_table_is_passed_on(example_text: str, today: date) -> None:
    """As it stands, for the matcher."""
    settings = read(example_text + "\n[match.globular_cluster]\nfill_max = 0.7\n", today)
    assert settings.match == {"globular_cluster": {"fill_max": 0.7}}


def test_things_go_by_their_names_whatever_the_case(example: Settings) -> None:
    """The first is the default; a wrong name names the nearest, or all."""
    assert example.telescope() is example.kit.telescopes[0]
    assert example.telescope("80 MM F/6 refractor ") is example.kit.telescopes[1]
    with pytest.raises(ValueError, match='no site is called "Gardn"; did you mean "Garden"'):
        example.site("Gardn")
    with pytest.raises(ValueError, match='there is "200 mm f/6 reflector" or "80 mm f/6 refr'):
        example.telescope("xyz")


def doubt(eyepiece: str, example_text: str, today: date) -> tuple[str, ...]:
    """Return the warnings about one more eyepiece."""
    return read(f'{example_text}\n[[eyepiece]]\nname = "New"\n{eyepiece}', today).warnings


@pytest.mark.parametrize(("focal_mm", "apparent_deg"), [(32, 50), (32, 52), (40, 43)])
def test_the_longest_eyepieces_of_the_small_barrel_are_not_odd(
    focal_mm: int, apparent_deg: int, example_text: str, today: date
) -> None:
    """32 mm "50 deg" and 40 mm "43 deg" with a stop of 27 mm, as observers quote them; 32 of 52."""
    text = f'focal_length_mm = {focal_mm}\napparent_field_deg = {apparent_deg}\nbarrel = "1.25in"'
    assert doubt(text, example_text, today) == ()


def test_a_22_mm_of_82_deg_needs_the_2_inch_barrel(example_text: str, today: date) -> None:
    """Its arc law asks for 22 x 1.431 = 31.5 mm (common practice)."""
    wider = 'focal_length_mm = 22\napparent_field_deg = 82\nbarrel = "{}"'
    assert doubt(wider.format("2in"), example_text, today) == ()
    (warning,) = doubt(wider.format("1.25in"), example_text, today)
    assert warning == (
        "New: 22 mm with 82 deg asks for a field stop of 31.5 mm, but a 1.25in barrel holds "
        "27 mm; the true field is reckoned with that."
    )


def test_a_stop_that_belies_the_apparent_field_raises_a_doubt(
    example_text: str, today: date
) -> None:
    """12 mm of 60 deg: arc law 12.6 mm; 11 mm passes, 8 mm does not."""
    eyepiece = 'focal_length_mm = 12\napparent_field_deg = 60\nbarrel = "1.25in"\nfield_stop_mm = '
    assert doubt(eyepiece + "11", example_text, today) == ()
    (warning,) = doubt(eyepiece + "8", example_text, today)
    assert "about 12.6 mm, but 8 mm is stated" in warning


def test_an_odd_focal_ratio_raises_a_doubt(example_text: str, today: date) -> None:
    """A metre taken for a millimetre is a fault, a slip in a digit only looks odd."""
    text = example_text.replace("focal_length_mm = 1200", "focal_length_mm = 120")
    (warning,) = read(text, today).warnings
    assert "make f/0.6, which is unusual" in warning


def test_longest_stop_of_a_barrel_may_be_stated(example_text: str, today: date) -> None:
    """A stop of 28 mm passes the filter thread of a 1.25 inch barrel, and counts as it is."""
    eyepiece = 'focal_length_mm = 32\napparent_field_deg = 50\nbarrel = "1.25in"'
    settings = read(
        f'{example_text}\n[[eyepiece]]\nname = "New"\n{eyepiece}\nfield_stop_mm = 28', today
    )
    assert settings.kit.eyepieces[-1].field_stop_mm == 28.0
    assert true_field_from_stop_deg(28.0, 1200.0) > true_field_from_stop_deg(27.0, 1200.0)


def load_fault(path: Path, today: date) -> str:
    """Return the one fault of a file that cannot be used."""
    with pytest.raises(SettingsError) as caught:
        load_settings(path, today=today)
    (fault,) = caught.value.faults
    assert caught.value.source == str(path)
    return fault


CONTENTS = [
    (b"", "the file is empty; needed are at least [[site]], [[telescope]], [[eyepiece]]"),
    (b"\xef\xbb\xbf \n", "the file is empty;"),
    (b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", "not a text file; a TOML file in UTF-8 is needed"),
    ("[observer]".encode("utf-16"), "text in UTF-16; save it as UTF-8"),
    ("[observer]".encode("utf-16-le"), "not a text file; a TOML file in UTF-8 is needed"),
    ('[observer]\nname="Renée"'.encode("latin-1"), "line 2 holds a character that is not UTF-8"),
    (b"#" * 1_000_001, "larger than 1000 kB; this is hardly a configuration"),
    (b"[observer]\nname = \n", "not valid TOML, line 2, column 8: this is not a value; text needs"),
    (b'[observer]\nname = "Obs', "not valid TOML, line 2, where the file ends: "),
    (b"[observer]\nname = 1\nname = 2\n", "not valid TOML, line 3, column 9: this key stands"),
    (b"[observer\n", 'not valid TOML, line 1, column 10: the heading lacks its "]"'),
    (
        b'[observer]\nname = "Obs\n',
        "not valid TOML, line 2, column 12: a text lacks its closing quotation mark",
    ),
    (b"[[eyepiece]]\nname = 25 mm\n", "not valid TOML, line 2, column 11: more stands here than"),
    (b'name = "C:\\query"\n', "not valid TOML, line 1, column 13: in a text a backslash is"),
    (b"[observer]\nage 42\n", 'not valid TOML, line 2, column 5: a key lacks the "="'),
    (b"kinds = [1, 2\n", "not valid TOML, line 1, where the file ends: a list lacks its"),
    (b"[site]\n[site]\n", "not valid TOML, line 2, column 6: [site] stands there twice; tables "),
    (b"a = " + b"[" * 50_000, "not a configuration: brackets within brackets without end"),
    (b"a = " + b"1" * 50_000, "not a configuration: a number of thousands of digits"),
]


@pytest.mark.parametrize(("content", "sentence"), CONTENTS, ids=[text for _, text in CONTENTS])
def test_a_file_that_is_no_configuration_says_what_it_is(
    tmp_path: Path, today: date, content: bytes, sentence: str
) -> None:
    """One sentence, with the line where there is one."""
    path = tmp_path / "kit.toml"
    path.write_bytes(content)
    assert load_fault(path, today).startswith(sentence)


def test_a_path_that_cannot_be_read_says_why(tmp_path: Path, today: date) -> None:
    """Missing, a folder, through a file, impossible."""
    assert load_fault(tmp_path / "none.toml", today).startswith("no such file; ")
    assert load_fault(tmp_path, today) == "this is a folder; a TOML file is needed"
    (tmp_path / "file").write_text("x")
    assert load_fault(tmp_path / "file" / "kit.toml", today).startswith("cannot be read: ")
    assert load_fault(tmp_path / ("n" * 300), today).startswith("cannot be read: ")
    assert load_fault(Path("a\0b"), today) == "cannot be read: this is not a path"


def test_a_byte_order_mark_and_other_line_ends_are_borne(
    tmp_path: Path, example_text: str, example: Settings, today: date
) -> None:
    """Some editors write them."""
    path = tmp_path / "kit.toml"
    path.write_bytes(b"\xef\xbb\xbf" + example_text.replace("\n", "\r\n").encode())
    assert load_settings(path, today=today) == example
    assert read("\ufeff" + example_text, today) == example


@pytest.mark.parametrize(
    ("obstruction_mm", "line", "seen"),
    [
        (50, "", "inverted"),
        (0, "", "mirrored"),
        (0, 'orientation = "upright"', "upright"),
        (50, 'orientation = "mirrored"', "mirrored"),
    ],
)
def test_which_way_up_a_telescope_shows_things(
    example_text: str, today: date, obstruction_mm: int, line: str, seen: str
) -> None:
    """A refractor is taken to have a star diagonal, a reflector none, unless the file says so."""
    lines = example_text.splitlines()
    plain = [text for text in lines if not text.startswith(("obstruction_mm", "orientation"))]
    put = f"[[telescope]]\nobstruction_mm = {obstruction_mm}\n{line}"
    text = "\n".join(plain).replace("[[telescope]]", put, 1)
    assert read(text, today).telescope().orientation == seen


def test_of_thousands_of_faults_a_screen_is_shown(tmp_path: Path) -> None:
    """With the number of the others."""
    path = tmp_path / "fieldstop.toml"
    path.write_text("".join(f"key{n} = 1\n" for n in range(5_000)), "utf-8")
    with pytest.raises(SettingsError) as caught:
        load_settings(path, today=date(2026, 11, 28))
    lines = str(caught.value).splitlines()
    assert len(lines) < 25
    assert lines[-1].strip() == "and 4,983 more"


@pytest.mark.parametrize("text", ["[a", "a", "a =", "a = 1 2", 'a = "', "a = [", "= 1", "a.b = {"])
def test_faults_are_told_in_plain_words(text: str) -> None:
    """None of the reader's own sentences comes through, and none is unknown."""
    with pytest.raises(TomlError) as caught:
        read_toml(text)
    assert not re.search("Expected|Invalid|Unclosed|declaration|statement", str(caught.value))
    assert "cannot be read" not in str(caught.value)
