"""Every wrong value gets its sentence: where, what was found, what is allowed."""

import re
from collections.abc import Callable
from datetime import date

import pytest

from planner.config.settings import SettingsError, read_settings

MINIMAL = """
[observer]
name = "Observer"
[[site]]
name = "Garden"
latitude_deg = 51.2
longitude_deg = -2.4
timezone = "Europe/London"
[[telescope]]
name = "200 mm"
aperture_mm = 200
focal_length_mm = 1200
focuser = "2in"
[[eyepiece]]
name = "12 mm"
focal_length_mm = 12
apparent_field_deg = 60
barrel = "1.25in"
[[eyepiece]]
name = "Zoom"
focal_length_mm = [8, 20]
apparent_field_deg = [62, 46]
barrel = "1.25in"
[[amplifier]]
name = "Barlow"
kind = "barlow"
factor = 2
barrel = "1.25in"
[[filter]]
name = "O III"
kind = "oiii"
barrel = "1.25in"
"""

SEEING_STEPS = "I (steady), II, III, IV or V (very bad), or 1 to 5"
Faults = Callable[[str], tuple[str, ...]]


@pytest.fixture
def faults_of(today: date) -> Faults:
    """Return the faults of a text that must have some."""

    def faults(text: str) -> tuple[str, ...]:
        with pytest.raises(SettingsError) as caught:
            read_settings(text, source="kit.toml", today=today)
        return caught.value.faults

    return faults


def changed(old: str, new: str) -> str:
    """Return the minimal file with its first ``old`` replaced."""
    assert old in MINIMAL
    return MINIMAL.replace(old, new, 1)


def added(table: str, lines: str) -> str:
    """Return the minimal file with lines added below the first heading of a table."""
    heading = f"[{table}]" if table == "observer" else f"[[{table}]]"
    return changed(heading, f"{heading}\n{lines}")


def test_the_minimal_file_is_right(today: date) -> None:
    """Without this, every fault below could come from the file itself."""
    assert read_settings(MINIMAL, source="kit.toml", today=today).warnings == ()


VALUES = [
    # change, the whole of the expected sentence
    (
        changed("latitude_deg = 51.2", "latitude_deg = 95"),
        (
            'site 1, "latitude_deg": found 95; allowed is a number from -90 to 90 degrees, '
            "north positive"
        ),
    ),
    (
        changed("longitude_deg = -2.4", "longitude_deg = -181"),
        (
            'site 1, "longitude_deg": found -181; allowed is a number from -180 to 360 degrees, '
            "east positive"
        ),
    ),
    (
        added("telescope", "obstruction_mm = true"),
        'telescope 1, "obstruction_mm": found true; allowed is a number from 0 to 3000 mm',
    ),
    (
        changed("aperture_mm = 200", 'aperture_mm = "200"'),
        'telescope 1, "aperture_mm": found "200"; allowed is a number from 20 to 3000 mm',
    ),
    (
        changed("aperture_mm = 200", "aperture_mm = nan"),
        'telescope 1, "aperture_mm": found nan; allowed is a number from 20 to 3000 mm',
    ),
    (
        changed("focal_length_mm = 1200", "focal_length_mm = inf"),
        'telescope 1, "focal_length_mm": found inf; allowed is a number from 50 to 60000 mm',
    ),
    (
        changed("focal_length_mm = 1200", "focal_length_mm = 0"),
        'telescope 1, "focal_length_mm": found 0; allowed is a number from 50 to 60000 mm',
    ),
    (
        changed("focal_length_mm = 1200", f"focal_length_mm = 0x{'f' * 9000}"),
        (
            'telescope 1, "focal_length_mm": found a number of more than 15 digits; '
            "allowed is a number from 50 to 60000 mm"
        ),
    ),
    (
        added("telescope", "obstruction_mm = 200"),
        'telescope 1, "obstruction_mm": found 200; allowed is less than the aperture of 200 mm',
    ),
    (
        added("telescope", "transmission = 1.2"),
        'telescope 1, "transmission": found 1.2; allowed is a number from 0.1 to 1',
    ),
    (
        changed('focuser = "2in"', 'focuser = "50mm"'),
        'telescope 1, "focuser": found "50mm"; allowed is "0.965in", "1.25in", "2in" or "3in"',
    ),
    (
        added("telescope", 'adapters = ["3in"]'),
        'telescope 1, "adapters": found ["3in"]; allowed is a list of "0.965in" or "1.25in"',
    ),
    (
        added("telescope", "adapters = [[]]"),
        'telescope 1, "adapters": found [[]]; allowed is a list of "0.965in" or "1.25in"',
    ),
    (
        added("telescope", 'orientation = "turned"'),
        (
            'telescope 1, "orientation": found "turned"; allowed is "upright", "inverted" or '
            '"mirrored"'
        ),
    ),
    (
        added("telescope", "orientation = true"),
        ('telescope 1, "orientation": found true; allowed is "upright", "inverted" or "mirrored"'),
    ),
    (
        added("telescope", 'mount = "fork"'),
        'telescope 1, "mount": found "fork"; allowed is "altazimuth" or "equatorial"',
    ),
    (
        added("telescope", "driven = 1"),
        'telescope 1, "driven": found 1; allowed is true or false',
    ),
    (
        added("telescope", "balance_g = -5"),
        'telescope 1, "balance_g": found -5; allowed is a number from 1 to 20000 g',
    ),
    (
        changed("focal_length_mm = 12\n", "focal_length_mm = -12\n"),
        (
            'eyepiece 1, "focal_length_mm": found -12; allowed is a number from 1.5 to 100 mm, '
            "or for a zoom a list of two"
        ),
    ),
    (
        changed("apparent_field_deg = 60\n", "apparent_field_deg = 160\n"),
        (
            'eyepiece 1, "apparent_field_deg": found 160; allowed is a number from 10 to '
            "120 degrees, or for a zoom a list of two"
        ),
    ),
    (
        changed("[8, 20]", "[8, 14, 20]"),
        (
            'eyepiece 2, "focal_length_mm": found [8, 14, 20]; allowed is a number from '
            "1.5 to 100 mm, or for a zoom a list of two"
        ),
    ),
    (
        changed("[62, 46]", "50"),
        (
            'eyepiece 2, "apparent_field_deg": found 50; allowed is two numbers, one for each end, '
            "as in focal_length_mm"
        ),
    ),
    (
        changed("apparent_field_deg = 60\n", "apparent_field_deg = [60, 50]\n"),
        (
            'eyepiece 1, "apparent_field_deg": found [60, 50]; allowed is one number, '
            "as in focal_length_mm"
        ),
    ),
    (
        changed("[8, 20]", "[8, 8]"),
        'eyepiece 2, "focal_length_mm": found [8, 8]; allowed is two different ends for a zoom',
    ),
    (
        changed("[62, 46]", "[60, 42]\nfield_stop_mm = 17"),
        (
            'eyepiece 2, "field_stop_mm": found 17; allowed is none for a zoom, whose stop changes '
            "as it turns: leave it out"
        ),
    ),
    (
        added("eyepiece", "field_stop_mm = 30"),
        (
            'eyepiece 1, "field_stop_mm": found 30; allowed is at most 28.4 mm, which a '
            "1.25in barrel leaves clear"
        ),
    ),
    (
        added("eyepiece", "eye_relief_mm = 0"),
        'eyepiece 1, "eye_relief_mm": found 0; allowed is a number from 1 to 60 mm',
    ),
    (
        changed("factor = 2", "factor = 0.9"),
        'amplifier 1, "factor": found 0.9; allowed is a number from 1.01 to 10',
    ),
    (
        changed('kind = "barlow"\nfactor = 2', 'kind = "reducer"\nfactor = 2'),
        'amplifier 1, "factor": found 2; allowed is a number from 0.1 to 0.99',
    ),
    (
        changed('kind = "barlow"\nfactor = 2', 'kind = "corrector"\nfactor = 2'),
        'amplifier 1, "factor": found 2; allowed is a number from 0.8 to 1.5',
    ),
    (
        changed('kind = "barlow"', 'kind = "doubler"'),
        (
            'amplifier 1, "kind": found "doubler"; allowed is "barlow", "reducer", "corrector" or '
            '"binoviewer"'
        ),
    ),
    (
        changed('kind = "oiii"', "kind = 3"),
        (
            'filter 1, "kind": found 3; allowed is "broadband", "narrowband", "oiii", "hbeta", '
            '"neutral" or "colour"'
        ),
    ),
    (
        added("site", "elevation_m = 9001"),
        'site 1, "elevation_m": found 9001; allowed is a number from -430 to 9000 m',
    ),
    (
        added("site", "sky_mag_arcsec2 = 5"),
        'site 1, "sky_mag_arcsec2": found 5; allowed is a number from 16 to 22.5 mag/arcsec2',
    ),
    (
        added("site", "bortle = 4.5"),
        'site 1, "bortle": found 4.5; allowed is a whole number from 1 to 9',
    ),
    (
        added("site", "bortle = 4\nsky_mag_arcsec2 = 21"),
        'site 1, "sky_mag_arcsec2": stands beside "bortle"; give only one of the two',
    ),
    (
        added("site", "extinction_mag = -0.1"),
        'site 1, "extinction_mag": found -0.1; allowed is a number from 0 to 1.5 mag per air mass',
    ),
    (
        added("site", 'seeing = "VI"'),
        f'site 1, "seeing": found "VI"; allowed is {SEEING_STEPS}',
    ),
    (
        added("site", "seeing = 2.5"),
        f'site 1, "seeing": found 2.5; allowed is {SEEING_STEPS}',
    ),
    (
        added("site", "seeing = true"),
        f'site 1, "seeing": found true; allowed is {SEEING_STEPS}',
    ),
    (
        changed("Europe/London", "Europe/Lodnon"),
        (
            'site 1, "timezone": found "Europe/Lodnon"; allowed is a name of the IANA time zone '
            'list such as "Europe/London"; did you mean "Europe/London"?'
        ),
    ),
    (
        changed('"Europe/London"', "3"),
        (
            'site 1, "timezone": found 3; allowed is a name of the IANA time zone list such as '
            '"Europe/London"'
        ),
    ),
    (
        added("site", "horizon = [[0, 10]]"),
        (
            'site 1, "horizon": found [[0, 10]]; allowed is a list of at least two points '
            "[azimuth, altitude]"
        ),
    ),
    (
        added("site", "horizon = [[90, 10], [0, 5]]"),
        'site 1, "horizon": found azimuth 0 after 90; allowed is rising order',
    ),
    (
        added("site", "horizon = [[0, 10], [0, 5]]"),
        'site 1, "horizon": found azimuth 0 twice; allowed is one altitude for each',
    ),
    (
        added("site", "horizon = [[0, 10], [360, 5]]"),
        (
            'site 1, "horizon": found [360, 5] as point 2; allowed is [azimuth from 0 to '
            "below 360, altitude from -10 to 90] in degrees"
        ),
    ),
    (
        added("site", "horizon = [[0, 91], [180, 5]]"),
        (
            'site 1, "horizon": found [0, 91] as point 1; allowed is [azimuth from 0 to below 360, '
            "altitude from -10 to 90] in degrees"
        ),
    ),
    (
        added("site", "horizon = [[0, 10], 7]"),
        (
            'site 1, "horizon": found 7 as point 2; allowed is [azimuth from 0 to below 360, '
            "altitude from -10 to 90] in degrees"
        ),
    ),
    (
        added("observer", "dark_pupil_mm = 12"),
        'observer, "dark_pupil_mm": found 12; allowed is a number from 2 to 9 mm',
    ),
    (
        added("observer", "birth_year = 2027"),
        'observer, "birth_year": found 2027; allowed is a whole number from 1900 to 2026',
    ),
    (
        added("observer", "birth_year = 1980\ndark_pupil_mm = 6"),
        'observer, "dark_pupil_mm": stands beside "birth_year"; give only one of the two',
    ),
    (
        added("observer", "lean_on_journal = 1"),
        'observer, "lean_on_journal": found 1; allowed is true or false',
    ),
    (
        added("observer", "learn_eye = 1"),
        'observer, "learn_eye": found 1; allowed is true or false',
    ),
    (
        added("observer", 'spectacles = "yes"'),
        'observer, "spectacles": found "yes"; allowed is true or false',
    ),
    (
        changed('name = "Garden"', 'name = " "'),
        'site 1, "name": found " "; allowed is text of 1 to 60 characters on one line',
    ),
    (
        changed('name = "Garden"', r'name = "a\u001b[31m"'),
        'site 1, "name": found "a?[31m"; allowed is text of 1 to 60 characters on one line',
    ),
    (
        changed('name = "Zoom"', 'name = "12 MM"'),
        'eyepiece 2, "name": found "12 MM", which is also the name of eyepiece 1',
    ),
    (
        changed("barrel", "barel"),
        'eyepiece 1, "barrel": missing; allowed is "0.965in", "1.25in", "2in" or "3in"',
    ),
    (
        added("eyepiece", "eye_releif_mm = 12"),
        'eyepiece 1, "eye_releif_mm": no such key; did you mean "eye_relief_mm"?',
    ),
    (
        added("observer", "spectackles = true"),
        'observer, "spectackles": no such key; did you mean "spectacles"?',
    ),
    (
        added("filter", "zzz = 12"),
        'filter 1, "zzz": no such key; known are "barrel", "kind" or "name"',
    ),
    ("telescop = 1\n" + MINIMAL, '"telescop": no such table; did you mean "telescope"?'),
    (
        changed("[[filter]]", "[match.nebula_of_mine]\n[[filter]]"),
        "match.nebula_of_mine: no such class; ",
    ),
    ("match = 3\n" + MINIMAL, '"match": found 3; allowed is a table under [match]'),
    (
        changed('[observer]\nname = "Observer"', 'observer = "me"'),
        '"observer": found "me"; allowed is a table under [observer]',
    ),
    (
        changed("[[filter]]", "[filter]"),
        '"filter": found a table; allowed is a list of tables, each under [[filter]]',
    ),
]


@pytest.mark.parametrize(("text", "sentence"), VALUES, ids=[sentence for _, sentence in VALUES])
def test_a_wrong_value_gets_its_sentence(faults_of: Faults, text: str, sentence: str) -> None:
    """The sentence says where, what was found, and what is allowed."""
    assert any(fault.startswith(sentence) for fault in faults_of(text)), faults_of(text)


def without(table: str) -> str:
    """Return the minimal file without the tables of one kind."""
    blocks = re.split(r"(?m)^(?=\[)", MINIMAL)
    return "".join(block for block in blocks if not block.startswith(f"[[{table}]]"))


@pytest.mark.parametrize("table", ["site", "telescope", "eyepiece"])
def test_a_table_that_is_needed_is_missed(faults_of: Faults, table: str) -> None:
    """No site, no telescope, no eyepiece: nothing can be planned."""
    assert faults_of(without(table)) == (f'"{table}": missing; at least one [[{table}]] is needed',)


@pytest.mark.parametrize(
    ("place", "key"),
    [
        ("site 1", "name"),
        ("site 1", "latitude_deg"),
        ("site 1", "longitude_deg"),
        ("telescope 1", "name"),
        ("telescope 1", "aperture_mm"),
        ("telescope 1", "focal_length_mm"),
        ("telescope 1", "focuser"),
        ("eyepiece 2", "name"),
        ("eyepiece 2", "focal_length_mm"),
        ("eyepiece 2", "apparent_field_deg"),
        ("eyepiece 2", "barrel"),
        ("amplifier 1", "name"),
        ("amplifier 1", "kind"),
        ("amplifier 1", "factor"),
        ("amplifier 1", "barrel"),
        ("filter 1", "name"),
        ("filter 1", "kind"),
        ("filter 1", "barrel"),
    ],
)
def test_a_key_that_is_needed_is_missed(faults_of: Faults, place: str, key: str) -> None:
    """Just this one fault, and it names the place and the key."""
    table, number = place.split()
    blocks = re.split(r"(?m)^(?=\[)", MINIMAL)
    which = [i for i, block in enumerate(blocks) if block.startswith(f"[[{table}]]")]
    index = which[int(number) - 1]
    blocks[index] = re.sub(rf"(?m)^{key} = .*\n", "", blocks[index])
    (fault,) = faults_of("".join(blocks))
    assert fault.startswith(f'{place}, "{key}": missing; allowed is ')


def test_all_faults_come_at_once(faults_of: Faults) -> None:
    """Six tables with one fault each give six sentences, and a fault hides no other."""
    text = MINIMAL
    for old, new in [
        ('name = "Observer"', "name = 1"),
        ("latitude_deg = 51.2", "latitude_deg = -91"),
        ("aperture_mm = 200", "aperture_mm = 2"),
        ("apparent_field_deg = 60\n", "apparent_field_deg = 5\n"),
        ("factor = 2", "factor = 20"),
        ('kind = "oiii"', 'kind = "red"'),
    ]:
        text = text.replace(old, new, 1)
    places = [fault.split(":")[0] for fault in faults_of(text)]
    assert places == [
        'observer, "name"',
        'site 1, "latitude_deg"',
        'telescope 1, "aperture_mm"',
        'eyepiece 1, "apparent_field_deg"',
        'amplifier 1, "factor"',
        'filter 1, "kind"',
    ]


def test_one_mistake_makes_one_fault(faults_of: Faults) -> None:
    """A wrong barrel does not make the field stop wrong too, nor a wrong focuser the adapters."""
    text = changed('barrel = "1.25in"', 'barrel = "32mm"\nfield_stop_mm = 27')
    assert len(faults_of(text)) == 1
    text = changed('focuser = "2in"', 'focuser = "51mm"\nadapters = ["1.25in"]')
    assert len(faults_of(text)) == 1
    assert len(faults_of(added("site", "bortle = 12"))) == 1


def test_the_error_reads_as_a_list(today: date) -> None:
    """The file first, then a line for each fault."""
    text = changed("aperture_mm = 200", "aperture_mm = 2")
    with pytest.raises(SettingsError) as caught:
        read_settings(text, source="kit.toml", today=today)
    assert str(caught.value) == (
        "kit.toml: 1 fault\n"
        '  telescope 1, "aperture_mm": found 2; allowed is a number from 20 to 3000 mm'
    )


def test_keys_without_number_are_counted(faults_of: Faults) -> None:
    """Ten are named, the rest is a sentence."""
    faults = faults_of(added("filter", "\n".join(f"zzz{n} = 1" for n in range(20_000))))
    assert len(faults) == 11
    assert faults[-1] == "filter 1: 19990 more unknown keys"
