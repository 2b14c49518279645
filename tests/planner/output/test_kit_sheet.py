"""The kit as text of 80 columns and as JSON of the contract."""

import json
from dataclasses import replace

import pytest
from numpy.testing import assert_allclose

from planner.advice.audit import audit_kit
from planner.config.settings import Settings
from planner.model.kit import Eyepiece
from planner.output.contracts.kit import kit_json
from planner.output.text.kit import kit_text
from planner.text import cell_width, fit, wrap


@pytest.fixture
def text(example: Settings) -> str:
    """Return the sheet of the example."""
    return kit_text(audit_kit(example, example.telescope()), ("A sentence.",))


def test_the_sheet_fits_an_old_screen(text: str) -> None:
    """At most 80 columns of ASCII, no blanks at the ends of lines, one line end at the end."""
    lines = text.split("\n")
    assert max(map(len, lines)) <= 80
    assert text.isascii()
    assert all(line == line.rstrip() for line in lines)
    assert text.endswith(".\n")


def test_the_heading_says_what_the_aperture_parts(text: str) -> None:
    """Dawes 116 / 200 and Rayleigh 138.4 / 200 (textbook, 550 nm), in arcseconds."""
    heading = " ".join(text.partition("\n\n")[0].split())
    assert "equal stars 0.58 arcsec apart (Dawes), clearly from 0.69 (Rayleigh)" in heading


def test_trains_stand_in_order_of_power_and_misfits_apart(text: str) -> None:
    """The table holds what can be used; what cannot stands once, with the reason."""
    table = text.split("\n\n")[1].splitlines()[1:]
    powers = [float(line[44:49].rstrip("x")) for line in table]
    assert powers == sorted(powers) == [40, 67, 100, 133, 150, 200, 240, 300, 480]
    assert text.count("30 mm 70 (2in) does not go into 2x Barlow (1.25in).") == 1


def test_a_line_of_the_table(text: str) -> None:
    """Names left, numbers right; a tilde for a rough field, an asterisk for a remark."""
    lines = text.splitlines()
    heading = next(line for line in lines if line.startswith("  train"))
    exact = next(line for line in lines if line.startswith("  30 mm 70 "))
    rough = next(line for line in lines if line.startswith("* 5 mm 60 + 2x Barlow "))
    assert exact.split()[-6:] == ["40x", "1.74", "deg", "5.0", "mm", "2in"]
    assert rough.split()[-6:] == ["480x", "~0.12", "deg", "0.4", "mm", "1.25in"]
    assert heading.index("barrel") == exact.index("2in") == rough.index("1.25in")
    assert "~ from the apparent field" in text


def test_wide_and_long_names_keep_the_columns(example: Settings) -> None:
    """Names of wide characters, and longer than their column, move nothing."""
    kit = example.kit
    named = (
        replace(kit.eyepieces[1], name="\u5e83\u8996\u91ce\u63a5\u773c" * 4),
        replace(kit.eyepieces[2], name="Eyepiece of a very long name indeed, and then some more"),
    )
    settings = replace(example, kit=replace(kit, eyepieces=named))
    lines = kit_text(audit_kit(settings, settings.telescope()), ()).splitlines()
    assert max(map(cell_width, lines)) <= 80
    rows = [line for line in lines if line.endswith("1.25in")]
    assert len({cell_width(line) for line in rows}) == 1
    assert len(rows) == 4


def test_a_kit_that_does_not_fit_makes_a_sheet_without_table(example: Settings) -> None:
    """No heading over nothing, and the reason instead."""
    huge = Eyepiece("Huge", (50.0,), (70.0,), list(type(example.telescope().focuser))[-1])
    settings = replace(example, kit=replace(example.kit, eyepieces=(huge,), amplifiers=()))
    report = audit_kit(settings, settings.telescope())
    text = kit_text(report, report.faults)
    assert "exit pupil" not in text
    assert "Huge (3in) does not go into the 2in focuser." in text


def test_json_holds_the_contract(example: Settings) -> None:
    """Every key of the contract, plain values, null for no amplifier, and it is valid JSON."""
    report = audit_kit(example, example.telescope())
    found = json.loads(json.dumps(kit_json(report), allow_nan=False))
    assert found["schema"] == "fieldstop.kit/1"
    assert found["faults"] == list(report.faults)
    assert len(found["trains"]) == 10
    first, barlowed = found["trains"][:2]
    assert (
        first.items()
        >= {
            "telescope": "200 mm f/6 reflector",
            "eyepiece": "30 mm 70",
            "amplifier": None,
            "magnification": 40.0,
            "exit_pupil_mm": 5.0,
            "usable": True,
            "reasons": [],
        }.items()
    )
    assert_allclose(first["true_field_deg"], 1.738, atol=0.5e-3)  # 57.296 * 36.4 / 1200
    assert barlowed["amplifier"] == "2x Barlow"
    assert barlowed["usable"] is False
    assert barlowed["reasons"] == ["30 mm 70 (2in) does not go into 2x Barlow (1.25in)."]


def test_cells_of_a_terminal() -> None:
    """Wide characters count two, combining ones nothing."""
    assert cell_width("abc") == 3
    assert cell_width("\u5e83\u8996") == 4
    assert cell_width("e\u0301") == 1
    assert fit("abc", 5) == "abc  "
    assert fit("abcdef", 4) == "abc."
    assert cell_width(fit("\u5e83\u8996\u91ce", 4)) == 4


def test_wrapping_keeps_words_and_width() -> None:
    """Every word comes out once, in order; only a word too long by itself sticks out."""
    words = "one two three four five six seven eight nine ten"
    lines = wrap(words, width=14, first="- ", rest="  ")
    assert all(cell_width(line) <= 14 for line in lines)
    assert lines[0].startswith("- ")
    assert all(line.startswith("  ") for line in lines[1:])
    assert " ".join(lines).removeprefix("- ").split() == words.split()
    assert wrap("extraordinarily", width=5) == ["extraordinarily"]
