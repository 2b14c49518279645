"""Files of elements: the lines of the two formats, good and bad."""

from __future__ import annotations

import pytest

from planner.ephemeris.mpc_files import is_element_file, read_elements
from targets.model import Kind, Target
from targets.naming.packed import day_jd
from targets.userlists.records import ListError, Reading

# C/1995 O1 (Hale-Bopp) and 2P/Encke in the layout of the Minor Planet Center's comet file; elements
# rounded from published ones (from memory), magnitudes invented where none is.
COMETS = (
    "    CJ95O010  1997 03 31.4141  0.914142  0.995086  130.5887  282.4707   89.4300  20220809"
    "  -2.0  4.0  C/1995 O1 (Hale-Bopp)                                    MPC106342\n"
    "0002P         2023 10 22.5292  0.339209  0.847359  187.2945  334.0164   11.3405  20231027"
    "  11.5  6.0  2P/Encke                                                 MPC 98765\n"
)
# (1) Ceres in the layout of MPCORB, epoch 2023 September 13; rounded published elements.
CERES = (
    "00001    3.33  0.15 K239D  17.21569   73.47045   80.26013   10.58634  0.0789126  0.21411523"
    "   2.7672543  0 E2023-F87  7283 123 1801-2023 0.65 M-v 30k MPCLINUX   4000      (1) Ceres"
    "              20230321\n"
)
UNNAMED = CERES.replace("00001  ", "K07Tf8A").replace("(1) Ceres", "         ")


def body(reading: Reading, index: int = 0) -> Target:
    """Return a body that was read."""
    target = reading.entries[index].own
    assert target is not None
    return target


def test_comets() -> None:
    """Designation, name, elements, epoch and both magnitude parameters, as they stand there."""
    reading = read_elements(COMETS)
    assert not reading.refused
    assert reading.orbits
    comet = body(reading)
    assert (comet.id, comet.name, comet.kind) == (
        "C/1995O1", "C/1995 O1 (Hale-Bopp)", Kind.COMET,
    )  # fmt: skip
    assert comet.aliases == ("C/1995 O1", "Hale-Bopp")
    assert comet.elements is not None
    assert comet.elements.perihelion_jd == pytest.approx(2450538.9141)  # 1997 March 31.4141
    assert comet.elements.epoch_jd == day_jd(2022, 8, 9)
    assert (comet.elements.perihelion_au, comet.elements.eccentricity) == (0.914142, 0.995086)
    assert comet.elements.inclination_deg == 89.43
    assert (comet.elements.absolute_mag, comet.elements.slope) == (-2.0, 4.0)
    assert body(reading, 1).id == "2P/Encke"
    assert body(reading, 1).aliases == ("2P", "Encke")


def test_minor_planets() -> None:
    """The perihelion follows from the mean anomaly: 17.21569 / 0.21411523 days before the epoch."""
    planet = body(read_elements(CERES))
    assert (planet.id, planet.name, planet.kind) == ("1Ceres", "1 Ceres", Kind.ASTEROID)
    assert "Ceres" in planet.aliases
    assert planet.elements is not None
    assert planet.elements.epoch_jd == 2460200.5  # 2023 September 13.0
    assert planet.elements.perihelion_jd == pytest.approx(2460200.5 - 80.404, abs=0.01)
    assert planet.elements.perihelion_au == pytest.approx(2.7672543 * (1.0 - 0.0789126))
    assert (planet.elements.absolute_mag, planet.elements.slope) == (3.33, 0.15)


def test_a_header_that_ends_in_dashes_is_passed_by() -> None:
    """As the whole file of orbits has one."""
    text = "MINOR PLANET CENTER ORBIT DATABASE\n\nDes'n     H     G\n" + "-" * 160 + "\n" + CERES
    reading = read_elements(text)
    assert [remark.place for remark in reading.read] == ["line 5"]


def test_a_packed_designation_serves_where_no_name_is() -> None:
    """Seven characters become what people write."""
    assert body(read_elements(UNNAMED)).name == "2007 TA418"


def test_what_never_comes_within_reach_is_passed_over() -> None:
    """A body of magnitude 20 at best has no place in a list for the eye."""
    again = read_elements(COMETS + COMETS)
    assert [remark.text for remark in again.passed_over] == [
        "C/1995 O1 (Hale-Bopp) again", "2P/Encke again",
    ]  # fmt: skip
    faint = read_elements(COMETS.replace("11.5  6.0", "29.0  6.0"))
    assert len(faint.entries) == 1
    assert "never gets brighter" in faint.passed_over[0].text


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (
            "0.914142",
            "0.9x4142",
            'distance "0.9x4142" in columns 31 to 39 is not a number',
        ),
        ("0.995086", "        ", "eccentricity"),
        ("0.995086", "-0.99508", "eccentricity"),
        ("1997 03 31", "1997 13 31", "not in the calendar"),
        ("1997 03 31", "1997 02 31", "not in the calendar"),
        (" 89.4300", "189.4300", "inclination"),
        ("130.5887", "930.5887", "argument of perihelion"),
        ("  -2.0  4.0", "  -2.0  a.0", "slope"),
        ("Hale-Bopp", "Hal\u00e9-Bopp", "characters"),
        ("C/1995 O1 (Hale-Bopp)", "                     ", "no designation"),
        ("  1997 03", "1997 03", "columns"),
    ],
)
def test_a_bad_line_is_refused_and_the_other_read(old: str, new: str, said: str) -> None:
    """With its place and what is wrong with it."""
    reading = read_elements(
        COMETS.splitlines()[1] + "\n" + COMETS.splitlines()[0].replace(old, new)
    )
    assert [entry.id for entry in reading.entries] == ["2P/Encke"]
    assert reading.refused[0].place == "line 2"
    assert said in reading.refused[0].text


def test_missing_magnitudes_are_unknown() -> None:
    """Blank columns are no zero."""
    comet = body(read_elements(COMETS.replace("  -2.0  4.0", "           ")))
    assert comet.elements is not None
    assert comet.elements.absolute_mag is None
    assert comet.elements.slope is None


@pytest.mark.parametrize("text", ["", "M31\nM42\n", "name,ra,dec\nX,1,2\n", "# %ECSV 1.0\n"])
def test_other_files_are_none(text: str) -> None:
    """Lists and tables are not taken for elements."""
    assert not is_element_file(text)
    with pytest.raises(ListError, match="no orbital elements"):
        read_elements(text)


def test_too_many_bodies() -> None:
    """The whole database of orbits is refused with advice, before anything is computed."""
    with pytest.raises(ListError, match="bright ones only"):
        read_elements(CERES * 20_001)


def minor_planets(numbers: range, absolute_mag: float) -> str:
    """Return lines like that of Ceres, with other numbers and magnitudes."""
    line = CERES.rstrip()
    return "".join(
        f"{number:05d}{line[5:8]}{absolute_mag:5.2f}{line[13:166]}({number}) Body{number}\n"
        for number in numbers
    )


def test_as_many_lines_as_are_allowed_are_read_in_one_go() -> None:
    """Twenty thousand: 2,900 bodies within reach, and the same again and again (was: a minute)."""
    bodies = minor_planets(range(1, 2_901), 9.0)
    lines = (bodies * 7).splitlines(keepends=True)[:20_000]
    reading = read_elements("".join(lines))
    assert len(reading.entries) == 2_900
    assert len(reading.passed_over) == 17_100


def test_the_first_body_too_many_is_named() -> None:
    """With the number that is allowed, and what to do."""
    with pytest.raises(ListError, match=r"3,000.*line 3001 .*bright ones only"):
        read_elements(minor_planets(range(1, 3_500), 9.0))
