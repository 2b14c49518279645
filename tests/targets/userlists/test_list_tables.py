"""Users' tables: what is read, what is guessed, what is refused, line by line."""

from __future__ import annotations

import io
from typing import Any

import numpy as np
import pytest
from astropy.coordinates import SkyCoord
from astropy.table import Table
from astropy.time import Time
from numpy.testing import assert_allclose

from targets.model import Kind, Target
from targets.userlists.records import ListError, Reading

# Right ascension and declination of M42's Trapezium in both spellings: 05h35m17s is
# (5 + 35/60 + 17/3600) * 15 = 83.82083 deg, -05 23' 28" is -(5 + 23/60 + 28/3600) = -5.39111 deg.
SEXAGESIMAL = ("05:35:17", "-05:23:28")
DEGREES = (83.820833, -5.391111)
HALF_AN_ARCSECOND_DEG = 0.5 / 3600.0
VOTABLE = (
    "<VOTABLE><RESOURCE><TABLE><DATA><BINARY><STREAM {}</STREAM></BINARY></DATA></TABLE>"
    "</RESOURCE></VOTABLE>"
)


def own(reading: Reading, index: int = 0) -> Target:
    """Return a target of the list's own; nothing may have been refused."""
    assert not reading.refused
    target = reading.entries[index].own
    assert target is not None
    return target


@pytest.mark.parametrize(
    ("header", "fields"),
    [
        ("name,ra,dec", SEXAGESIMAL),
        ("Object,RAJ2000,DEJ2000", ("05h35m17s", "-05d23m28s")),
        ("Target,Right Ascension,Declination", ("5 35 17", "-5 23 28")),
        ("id,RA (hh:mm:ss),Dec (dd:mm:ss)", SEXAGESIMAL),
        ("name,RA (J2000),Dec (J2000)", ("83.820833", "-5.391111")),
        ("name,ra_deg,dec_deg", ("83.820833", "-5.391111")),
        ("name,RA [hours],Dec [deg]", ("5.5880556", "-5.3911111")),
        ("name,RA (rad),Dec (arcmin)", ("1.4629495", "-323.466667")),
        ("name,ra,dec", ("83.820833", "\u22125.391111")),
    ],
)
def test_usual_spellings_of_a_place(read: Any, header: str, fields: tuple[str, str]) -> None:
    """All of these mean the same place."""
    target = own(read(f"{header}\nMy spot,{','.join(fields)}\n"))
    assert_allclose([target.ra_deg, target.dec_deg], DEGREES, rtol=0, atol=HALF_AN_ARCSECOND_DEG)
    assert (target.name, target.id, target.kind) == ("My spot", "Myspot", Kind.OTHER)


def test_hours_in_a_column_of_degrees_are_refused(read: Any) -> None:
    """Mixed units are not guessed at; a field that names its own unit is right."""
    reading = read("name,ra_deg,dec_deg\nX1,05:35:17,10\nX2,83d49m15s,10\n")
    assert "looks like hours, though its column is in degrees" in reading.refused[0].text
    assert reading.entries[0].own.ra_deg == pytest.approx(83.820833)


def test_the_minus_of_a_small_declination_counts(read: Any) -> None:
    """Between 0 and -1 degree the sign stands before a zero."""
    assert own(read("name,ra,dec\nX1,10,-00:30:00\n")).dec_deg == pytest.approx(-0.5)


def test_semicolons_and_decimal_commas(read: Any) -> None:
    """As spreadsheets of many countries write them."""
    text = "Name;RA;Dec;Größe;Size;Mag\nFleck;83,820833;-5,391111;x;12,5;9,4\n"
    target = own(read(text))
    assert_allclose([target.ra_deg, target.dec_deg], DEGREES, atol=HALF_AN_ARCSECOND_DEG)
    assert (target.major_arcmin, target.magnitude) == (12.5, 9.4)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_encodings(read: Any, encoding: str) -> None:
    """A mark or the bytes themselves tell; a guess is told."""
    reading = read("name,ra,dec,note\nFleck,83,-5,schön\n".encode(encoding))
    assert reading.entries[0].note == "schön"
    assert bool(reading.guessed and "text is" in reading.guessed[0]) == (
        encoding in {"utf-16", "cp1252"}
    )


@pytest.mark.parametrize(
    ("header", "size", "major", "minor"),
    [
        ("size", "12", 12.0, None),
        ("size", "12x8", 12.0, 8.0),
        ("size", "8' x 12'", 12.0, 8.0),
        ("size", '40"', 40.0 / 60.0, None),
        ("size (arcsec)", "90", 1.5, None),
        ("diameter [deg]", "1.5", 90.0, None),
        ("size_arcmin", "", None, None),
    ],
)
def test_sizes(read: Any, header: str, size: str, major: float | None, minor: float | None) -> None:
    """With and without units, one axis or two."""
    quoted = size.replace('"', '""')
    target = own(read(f'name,ra,dec,{header}\nX1,10,10,"{quoted}"\n'))
    assert target.major_arcmin == (None if major is None else pytest.approx(major))
    assert target.minor_arcmin == minor


@pytest.mark.parametrize(
    ("word", "kind"),
    [
        ("galaxy", Kind.GALAXY), ("Gx", Kind.GALAXY), ("OCl", Kind.OPEN_CLUSTER),
        ("Planetary Nebulas", Kind.PLANETARY_NEBULA), ("dark nebula", Kind.DARK_NEBULA),
        ("**", Kind.DOUBLE_STAR), ("carbon star", Kind.STAR), ("teapot", Kind.OTHER),
    ],
)  # fmt: skip
def test_kinds(read: Any, word: str, kind: Kind) -> None:
    """By their names, by usual abbreviations; an unknown one is told and counts as other."""
    reading = read(f"name,ra,dec,type\nX1,10,10,{word}\n")
    assert own(reading).kind is kind
    assert any("teapot" in guess for guess in reading.guessed) == (word == "teapot")


def test_a_pair_has_its_separation(read: Any) -> None:
    """In seconds of arc, as everywhere."""
    target = own(read("name,ra,dec,type,sep,pa\nX1,10,10,double,4.5,200\n"))
    assert target.separation_arcsec == pytest.approx(4.5)
    assert target.position_angle_deg == 200.0


def test_names_are_looked_up(read: Any) -> None:
    """The catalogue's targets need no place, in any spelling; a note stays with each."""
    reading = read("Object,Notes\nm 31,big\nthe ring nebula,\nSaturn,rings\n")
    assert [(entry.id, entry.note) for entry in reading.entries] == [
        ("NGC224", "big"), ("NGC6720", ""), ("Saturn", "rings"),
    ]  # fmt: skip
    assert all(entry.own is None for entry in reading.entries)


def test_a_place_far_from_the_catalogues_is_told(read: Any) -> None:
    """Hours taken for degrees show so; the catalogue's place stays."""
    reading = read("name,ra,dec\nM57,18.89,33.03\n")
    assert reading.entries[0].own is None
    assert any("M57" in guess and "hours instead of degrees" in guess for guess in reading.guessed)


def test_plain_lists_have_notes_behind_a_hash(read: Any) -> None:
    """A target in each line, as ``plan --list FILE`` reads them."""
    reading = read("# spring\nM3 # a ball\n\nNGC 4565\n")
    assert [(entry.id, entry.note) for entry in reading.entries] == [
        ("NGC5272", "a ball"), ("NGC4565", ""),
    ]  # fmt: skip
    assert reading.read[0].place == "line 2"


def test_a_table_without_a_header(read: Any) -> None:
    """Its first line is a target; that this is a guess is told."""
    reading = read("M3,13.7,28.4\nM13,16.7,36.5\n")
    assert [entry.id for entry in reading.entries] == ["NGC5272", "NGC6205"]
    assert "no header" in reading.guessed[0]


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("Nowhere,,", "no target is called 'Nowhere'"),
        (",,", ""),
        (",5,", "only one half"),
        ("X1,400,5", "outside 0 to 360"),
        ("X1,40,95", "outside -90 to 90"),
        ("X1,40,-95", "outside -90 to 90"),
        ("X1,-1,5", "outside 0 to 360"),
        ("X1,nan,5", "only one half"),
        ("X1,inf,5", "is not a number"),
        ("X1,5,abc", "is not an angle"),
        ("X1,25:00:00,5", "right ascension"),
        ("X1,05:99:00,5", "is not an angle"),
        ("X1,05:60:00,5", "is not an angle"),
        ("X1,05:35:60,5", "is not an angle"),
        ("X1,1,2,3,4,5", "has 6 fields, the header 3"),
        ("Sun,10,10", "the Sun is never a target"),
        (f"{'x' * 90},10,10", "longer than 80 characters"),
    ],
)
def test_bad_lines_are_refused_and_good_ones_read(read: Any, line: str, said: str) -> None:
    """Each with its place and a reason; the lines around it do not suffer."""
    reading = read(f"name,ra,dec\nM1,,\n{line}\nM2,,\n")
    assert [entry.id for entry in reading.entries] == ["NGC1952", "NGC7089"]
    refused = [remark for remark in reading.refused if remark.place == "line 3"]
    assert len(refused) == (1 if said else 0)
    assert not said or said in refused[0].text


@pytest.mark.parametrize("kind", ["planet", "comet", "Moon", "asteroid", "lunar feature"])
def test_what_moves_has_no_place_to_keep(read: Any, kind: str) -> None:
    """It would be shown where it no longer is."""
    reading = read(f"name,ra,dec,type\nX1,10,10,{kind}\n")
    assert "moves" in reading.refused[0].text


def test_repeated_names(read: Any) -> None:
    """The same target again is passed over; another place under the same name is refused."""
    reading = read("name,ra,dec\nM1,,\nmessier 1,,\nX1,10,10\nx1,10,10\nX1,20,20\n")
    assert [entry.id for entry in reading.entries] == ["NGC1952", "X1"]
    assert [remark.place for remark in reading.passed_over] == ["line 3"]
    assert [remark.place for remark in reading.refused] == ["line 5", "line 6"]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("# nothing\n", "holds no targets"),
        ("a,b,c\n1,2,3\n", "no column tells the targets"),
        ("name,ra,RAJ2000,dec\nX,1,2,3\n", "both tell the ra"),
        ("name,ra (kg),dec\nX,1,2\n", "not a unit of angle"),
        ("name,RA B1950,Dec B1950\nX,1,2\n", "not of J2000"),
        ('name,note\nM1,"never ends\nM2,x\n' + ("y" * 99 + "\n") * 2_000, "does not end"),
        ("name,note\n" + "y" * 30_000, "line 2 has 30,000 characters"),
        ("name" + "," * 600 + "\n", "601 columns"),
        ("name\n" + "M1\n" * 1_001_000, "1,001,001 rows"),
        (b"\x00\x01\x02\x03", "no text file"),
        ("<?xml version='1.0'?><html/>", "no VOTable"),
        ("<?xml version='1.0'?><!DOCTYPE x [<!ENTITY a 'b'>]><VOTABLE/>", "entities"),
        (VOTABLE.format("href='http://a.invalid/b'>"), "another place"),
        (VOTABLE.format("encoding='gzip'>H4s"), "compressed"),
        ("<VOTABLE><RESOURCE>", "cannot be read as a VOTable"),
        (b"SIMPLE  =                    T", "cannot be read as a FITS table"),
        ("# %ECSV 1.0\n# ---\n# datatype:\n# - {name: a\n", "cannot be read as an ECSV"),
    ],
)  # fmt: skip
def test_files_that_are_no_list(read: Any, text: str | bytes, said: str) -> None:
    """One sentence for the file as a whole."""
    with pytest.raises(ListError, match=said):
        read(text)


def _table() -> Any:
    from astropy import units  # noqa: PLC0415  # half a second, for a few tests
    from astropy.table import Column, MaskedColumn, Table  # noqa: PLC0415

    return Table(
        {
            "Target": ["M57", "Spot", "NGC 891"],
            "RAJ2000": Column([18.89, 5.5880556, 2.376], unit=units.hourangle),
            "DEJ2000": Column([33.03, -5.391111, 42.35], unit=units.deg),
            "diam": MaskedColumn([60.0, 120.0, 0.0], mask=[False, False, True], unit=units.arcsec),
            "Vmag": [8.8, 9.9, 10.0],
            "remarks": ["ring", "own", "edge"],
        }
    )


@pytest.mark.parametrize(
    ("form", "options"),
    [
        ("ascii.ecsv", {}), ("fits", {}), ("votable", {}),
        ("votable", {"tabledata_format": "binary2"}), ("votable", {"tabledata_format": "binary"}),
    ],
)  # fmt: skip
def test_tables_of_astronomy_with_their_units(read: Any, form: str, options: Any) -> None:
    """What astropy writes comes back in degrees and minutes of arc, notes and all."""
    table = _table()
    file: Any = io.StringIO() if form == "ascii.ecsv" else io.BytesIO()
    if form != "ascii.ecsv":  # the hour as a unit of angle is not in these standards
        table["RAJ2000"] = table["RAJ2000"].quantity.to("deg")
    table.write(file, format=form, **options)
    reading = read(file.getvalue())
    target = own(reading, 1)
    assert_allclose([target.ra_deg, target.dec_deg], DEGREES, atol=HALF_AN_ARCSECOND_DEG)
    assert target.major_arcmin == pytest.approx(2.0)
    assert [entry.id for entry in reading.entries] == ["NGC6720", "Spot", "NGC891"]
    assert [entry.note for entry in reading.entries] == ["ring", "own", "edge"]
    assert reading.read[1].place == "row 2"
    assert not any("unit" in guess for guess in reading.guessed)


@pytest.mark.parametrize("form", ["ascii.ecsv", "fits"])
def test_tables_with_places_and_times_as_objects(read: Any, form: str) -> None:
    """A column of places stands for both halves, in whatever frame; times are passed by."""
    frame: dict[str, Any] = {"frame": "icrs"} if form == "fits" else {"frame": "galactic"}
    spot = SkyCoord([DEGREES[0], 10.0], [DEGREES[1], 20.0], unit="deg").transform_to(frame["frame"])
    table = Table(
        {
            "name": ["Spot", "Other"],
            "coord": spot,
            "seen": Time(["2026-01-01", "2026-02-02"]),
            "shape": [[1.0, 2.0], [3.0, 4.0]],
        }
    )
    file: Any = io.StringIO() if form == "ascii.ecsv" else io.BytesIO()
    table.write(file, format=form)
    target = own(read(file.getvalue()))
    assert_allclose([target.ra_deg, target.dec_deg], DEGREES, atol=HALF_AN_ARCSECOND_DEG)


def test_objects_that_are_not_needed_do_no_harm(read: Any) -> None:
    """Where the table has right ascension and declination, another column of places is unread."""
    elsewhere = SkyCoord([1.0], [2.0], unit="deg")
    table = Table({"name": ["Spot"], "ra": [10.0], "dec": [20.0], "guide": elsewhere})
    table["note"] = Time(["2026-01-01"])
    file = io.StringIO()
    table.write(file, format="ascii.ecsv")
    reading = read(file.getvalue())
    assert own(reading).ra_deg == 10.0
    assert reading.entries[0].note.startswith("2026-01-01")


@pytest.mark.parametrize(
    "rows",
    [
        '7 "My "" spot" 83.8 -5.4 9.5 "a, b"\n8 Other 1e1 20 "" ""\n"" M31 "" "" nan big\n',
        '7 "My "" spot" 83.8 -5.4 9.5\n', "7 Spot ten -5.4 9.5 x\n", "7 Spot inf 5 9 x\n",
        "7.5 Spot 10 5 9 x\n", '7 "Spot 10 5 9 x\n', "7 Spot 10 5 9 x\n\n# no\n8 Two 11 5 9 y\n",
        '7 "Two\nlines" 10 5 9 x\n', "",
    ],
)  # fmt: skip
@pytest.mark.parametrize("delimiter", [" ", ","])
def test_a_long_ecsv_table_is_read_as_a_short_one(
    read: Any, monkeypatch: pytest.MonkeyPatch, rows: str, delimiter: str
) -> None:
    """The same targets, and the same that is wrong."""
    kinds = (
        "n: int64",
        "name: string",
        "ra: float64",
        "dec: float64",
        "mag: float32",
        "note: string",
    )
    names = [kind.partition(":")[0] for kind in kinds]
    unit = {"ra": ", unit: deg", "dec": ", unit: deg"}
    columns = [
        f"# - {{name: {name}, datatype: {kind.partition(': ')[2]}{unit.get(name, '')}}}\n"
        for name, kind in zip(names, kinds, strict=True)
    ]
    head = ["# %ECSV 1.0\n# ---\n", f"# delimiter: '{delimiter}'\n", "# datatype:\n", *columns]
    text = "".join([*head, delimiter.join(names), "\n", rows.replace(" ", delimiter)])

    def told() -> Any:
        try:
            found = read(text)
        except ListError as error:
            return error.faults
        return [*found.entries], [*found.read], found.refused, found.guessed, found.passed_over

    before = told()
    monkeypatch.setattr("targets.userlists.tables.LONG_COUNT", -1)
    assert told() == before


def test_a_long_ecsv_table_of_plain_columns_is_not_left_to_astropy(
    read: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As it would take more than twice the memory."""
    monkeypatch.setattr("targets.userlists.tables.LONG_COUNT", -1)
    monkeypatch.setattr("targets.userlists.tables._raw", None)
    file = io.StringIO()
    _table().write(file, format="ascii.ecsv")
    assert [entry.id for entry in read(file.getvalue()).entries] == ["NGC6720", "Spot", "NGC891"]


def test_a_magnitude_that_is_no_number_is_none(read: Any) -> None:
    """As NaN in a table of astronomy, and as a word in a text."""
    table = Table({"name": ["Spot"], "ra": [10.0], "dec": [20.0], "mag": [np.nan]})
    file = io.StringIO()
    table.write(file, format="ascii.ecsv")
    for content in (file.getvalue(), "name,ra,dec,mag\nSpot,10,20,NaN\n"):
        assert own(read(content)).magnitude is None


def test_a_decimal_comma_in_seconds(read: Any) -> None:
    """As spreadsheets of half of Europe write them, with semicolons between the fields."""
    target = own(read("name;ra;dec\nSpot;05:35:17,0;-05:23:28,0\n"))
    assert_allclose([target.ra_deg, target.dec_deg], DEGREES, atol=HALF_AN_ARCSECOND_DEG)


@pytest.mark.parametrize("units", ["deg\tdeg\t\n", "", "\th\tdeg\n"])
def test_rows_of_units_and_dashes_below_the_header(read: Any, units: str) -> None:
    """As tables of data centres have them, between tabs."""
    header = "ra\tdec\tname" if units.startswith("deg") else "name\tra\tdec"
    ra = "83.820833" if not units.startswith("\th") else "5.5880556"
    row = f"{ra}\t-5.391111\tSpot" if units.startswith("deg") else f"Spot\t{ra}\t-5.391111"
    reading = read(f"{header}\n{units}-------\t-----\t-----\n{row}\n")
    target = own(reading)
    assert len(reading.entries) == 1
    assert_allclose([target.ra_deg, target.dec_deg], DEGREES, atol=HALF_AN_ARCSECOND_DEG)
    assert bool(units) != any("names no unit" in guess for guess in reading.guessed)


@pytest.mark.parametrize(("second", "hinted"), [("23.5", True), ("24.5", False), ("", True)])
def test_right_ascensions_that_may_be_hours(read: Any, second: str, hinted: bool) -> None:
    """Where no number is above 24, the degrees that are taken are told, and the way to hours."""
    rest = f"Other,{second},5\n" if second else ""
    reading = read(f"name,ra,dec\nSpot,5.588,-5.39\n{rest}")
    assert own(reading).ra_deg == 5.588
    assert any("if they are hours" in guess for guess in reading.guessed) == hinted


def test_a_fits_table_that_announces_more_than_it_has(read: Any) -> None:
    """No memory is asked for what is not there."""
    table, file = _table(), io.BytesIO()
    table["RAJ2000"] = table["RAJ2000"].quantity.to("deg")
    table.write(file, format="fits")
    content = file.getvalue().replace(
        b"NAXIS2  =                    3", b"NAXIS2  =           2000000000"
    )
    with pytest.raises(ListError, match=r"cut off|rows"):
        read(content)


def test_texts_are_plain_words(read: Any) -> None:
    """Control characters go, markup and formulas stay what they are: text."""
    reading = read('name,ra,dec,note\n=1+1,10,10,"[bold]a\x1b[31mb\nc\x00"\n'.replace("\x00", ""))
    assert own(reading).name == "=1+1"
    assert reading.entries[0].note == "[bold]a [31mb c"
