"""What the audit finds in a kit, and what it leaves alone."""

from dataclasses import replace

import pytest

from planner.advice.audit import KitReport, audit_kit
from planner.config.settings import Settings
from planner.model.kit import (
    Amplifier,
    AmplifierKind,
    Barrel,
    Eyepiece,
    Filter,
    FilterKind,
    Kit,
    Observer,
    Telescope,
    train_words,
)
from planner.model.site import Site

SMALL, SHORT, LONG, HUGE = Barrel
TELESCOPE = Telescope("Dob", 200.0, 1200.0, LONG, (SHORT,))
BARLOW = Amplifier("Barlow", AmplifierKind.BARLOW, 2.0, SHORT)


def eyepiece(
    focal_length_mm: float, field_deg: float = 50.0, barrel: Barrel = SHORT, **more
) -> Eyepiece:
    """Return an eyepiece called by its focal length."""
    return Eyepiece(f"{focal_length_mm:g} mm", (focal_length_mm,), (field_deg,), barrel, **more)


def audit(
    *eyepieces: Eyepiece,
    telescope: Telescope = TELESCOPE,
    observer: Observer = Observer(dark_pupil_mm=6.0),  # noqa: B008  frozen
    amplifiers: tuple[Amplifier, ...] = (),
    filters: tuple[Filter, ...] = (),
    seeing: str = "II",
) -> KitReport:
    """Audit a kit of these parts."""
    kit = Kit((telescope,), eyepieces, amplifiers, filters)
    site = Site("Garden", 51.2, -2.4, seeing=seeing)
    return audit_kit(Settings(observer, (site,), kit), telescope)


GOOD_SET = (eyepiece(30, 70, LONG), eyepiece(18), eyepiece(10), eyepiece(6))


def test_a_good_kit_has_no_faults() -> None:
    """40, 67, 120 and 200x: no gap above two, no waste, nothing doubled."""
    report = audit(*GOOD_SET)
    assert report.faults == ()
    assert all(entry.remarks == () for entry in report.entries)
    assert report.trains == tuple(entry.train for entry in report.entries)


FAULTS = [
    (
        audit(eyepiece(10)),
        "There is only one power, 120x; an amplifier or eyepiece adds more.",
    ),
    (
        audit(eyepiece(30, 40), eyepiece(10)),
        "No power between 40x and 120x; an eyepiece of about 17 mm (69x) fills the gap.",
    ),
    (
        audit(*GOOD_SET, eyepiece(45, 45, LONG)),
        (
            "45 mm: The exit pupil of 7.5 mm is wider than your 6.0 mm: the telescope works as "
            "one of 160 mm. The longest eyepiece that wastes no light here is 36 mm."
        ),
    ),
    (
        audit(*GOOD_SET, eyepiece(3.5), amplifiers=(BARLOW,)),
        (
            "Above 300x, the most that aperture and air (seeing II) bear: 3.5 mm (343x), "
            "6 mm + Barlow (400x), "
            "3.5 mm + Barlow (686x)."
        ),
    ),
    (
        audit(*GOOD_SET, eyepiece(10.5)),
        "10 mm and 10.5 mm show nearly the same: 120x and 114x, 25 and 26 arcmin.",
    ),
    (
        audit(*GOOD_SET, telescope=replace(TELESCOPE, focuser=SHORT, adapters=())),
        "30 mm (2in) does not go into the 1.25in focuser.",
    ),
    (
        audit(eyepiece(30, 70, LONG), amplifiers=(BARLOW,)),
        "Barlow (1.25in) takes none of your eyepieces here.",
    ),
    (
        audit(*GOOD_SET, filters=(Filter("O III", FilterKind.OIII, SHORT),)),
        "O III (1.25in) does not serve 30 mm.",
    ),
    (
        audit(
            *GOOD_SET,
            eyepiece(5, eye_relief_mm=8.0),
            observer=Observer(dark_pupil_mm=6.0, spectacles=True),
        ),
        "5 mm: eye relief of 8 mm is short for spectacles, which need 15 to 20 mm.",
    ),
    (
        audit(eyepiece(30, 70, LONG), telescope=replace(TELESCOPE, focuser=SMALL, adapters=())),
        "None of your eyepieces can be used with Dob.",
    ),
]


@pytest.mark.parametrize(("report", "sentence"), FAULTS, ids=[text for _, text in FAULTS])
def test_a_fault_of_the_kit_is_told_once(report: KitReport, sentence: str) -> None:
    """With numbers, so that one can check it."""
    assert report.faults.count(sentence) == 1, report.faults


def test_a_step_of_exactly_two_is_no_gap() -> None:
    """20, 10 and 5 mm: the classic doubling set (Sky & Telescope, May 1991)."""
    assert audit(eyepiece(20), eyepiece(10), eyepiece(5)).faults == ()


def test_same_power_with_another_field_is_no_duplicate() -> None:
    """A narrow and a wide 10 mm serve different targets."""
    assert audit(*GOOD_SET, replace(eyepiece(10, 100), name="Wide")).faults == ()


def test_a_zoom_does_not_double_itself_but_an_eyepiece_within_it() -> None:
    """At 8 mm it is an 8 mm, and it fills its own gaps."""
    zoom = Eyepiece("Zoom", (8.0, 20.0), (62.0, 46.0), SHORT)
    assert audit(zoom).faults == ()
    (fault,) = audit(zoom, eyepiece(8, 60)).faults
    assert fault == "Zoom at 8 mm and 8 mm show nearly the same: 150x and 150x, 25 and 24 arcmin."


def test_a_short_zoom_is_told_once_and_not_against_itself() -> None:
    """Both its ends are near the 10 mm of the set, and near each other."""
    zoom = Eyepiece("Zoom", (10.2, 10.6), (51.0, 49.0), SHORT)
    (fault,) = audit(*GOOD_SET, zoom).faults
    assert fault.startswith("10 mm and Zoom at 10.2 mm show nearly the same")


def test_a_barlow_that_doubles_other_eyepieces_is_no_duplicate() -> None:
    """That is what it is for; only the power beyond the aperture is told."""
    (fault,) = audit(eyepiece(20), eyepiece(10), eyepiece(5), amplifiers=(BARLOW,)).faults
    assert fault.endswith("bear: 5 mm + Barlow (480x).")


def test_no_gap_is_told_beyond_the_useful_power() -> None:
    """From 200x to 600x nothing is missed: it could not be used."""
    (fault,) = audit(*GOOD_SET, eyepiece(2)).faults
    assert fault == ("Above 300x, the most that aperture and air (seeing II) bear: 2 mm (600x).")


@pytest.mark.parametrize(
    ("aperture_mm", "seeing", "most"),
    [(200.0, "III", 220), (200.0, "V", 100), (80.0, "II", 160), (400.0, "I", 800)],
)
def test_the_air_of_the_site_sets_the_highest_power(
    aperture_mm: float, seeing: str, most: int
) -> None:
    """As for the views: 220x in average air, 100x in the worst, never above twice the aperture."""
    telescope = replace(TELESCOPE, aperture_mm=aperture_mm, focal_length_mm=6.0 * aperture_mm)
    report = audit(eyepiece(30, 50, LONG), eyepiece(1.0), telescope=telescope, seeing=seeing)
    assert report.highest_power == pytest.approx(most)
    assert any(fault.startswith(f"Above {most}x, ") for fault in report.faults)


@pytest.mark.parametrize(("wider", "told"), [(1.04, False), (1.06, True)])
def test_a_beam_a_little_too_wide_is_told_nowhere_or_everywhere(
    wider: float, *, told: bool
) -> None:
    """The kit's remarks begin where the warnings of a view do: a tenth of the light wasted."""
    observer = Observer(dark_pupil_mm=5.0 / wider)
    report = audit(eyepiece(30, 70, LONG), observer=observer)
    assert any("is wider than your" in fault for fault in report.faults) is told


def test_wasted_light_is_told_of_the_bare_eyepiece_only() -> None:
    """With a corrector of 1.1x it is the same eyepiece's fault."""
    corrector = Amplifier("Corrector", AmplifierKind.CORRECTOR, 1.1, LONG)
    report = audit(*GOOD_SET, eyepiece(45, 45, LONG), amplifiers=(corrector,))
    assert sum("wastes no light" in fault for fault in report.faults) == 1


def test_what_fits_nowhere_is_told_once_and_not_of_its_filters_too() -> None:
    """A zoom of 2 inch in a 1.25 inch focuser, with a filter that would not serve it either."""
    zoom = Eyepiece("Zoom", (8.0, 20.0), (62.0, 46.0), LONG)
    narrow = replace(TELESCOPE, focuser=SHORT, adapters=())
    filters = (Filter("O III", FilterKind.OIII, SHORT),)
    report = audit(eyepiece(18), eyepiece(10), zoom, telescope=narrow, filters=filters)
    assert report.faults == ("Zoom (2in) does not go into the 1.25in focuser.",)


def test_no_spectacles_no_complaint() -> None:
    """Short eye relief matters only to those who keep glasses on."""
    assert audit(*GOOD_SET, eyepiece(5, eye_relief_mm=8.0)).faults == ()


def test_a_filter_that_serves_all_is_no_fault() -> None:
    """A 2 inch filter goes ahead of the small eyepieces too."""
    assert audit(*GOOD_SET, filters=(Filter("O III", FilterKind.OIII, LONG),)).faults == ()


def test_twenty_eyepieces_name_every_pair_once() -> None:
    """20 eyepieces a twentieth apart: 19 pairs of neighbours lie within a tenth, no others."""
    box = [eyepiece(round(5.0 * 1.06**number, 3)) for number in range(20)]
    faults = audit(*box).faults
    pairs = [fault for fault in faults if "show nearly the same" in fault]
    assert len(pairs) == len(set(pairs)) == 19
    assert len(faults) == 19


def remarks(name: str, report: KitReport) -> tuple[str, ...]:
    """Return the remarks on the train of this name."""
    (entry,) = [entry for entry in report.entries if train_words(entry.train) == name]
    return entry.remarks


def test_remarks_stand_at_their_train() -> None:
    """Too much power, more than the air bears, a shadow, and the misfit alone."""
    telescope = replace(TELESCOPE, obstruction_mm=80.0)
    report = audit(
        eyepiece(45, 45, LONG), eyepiece(7), eyepiece(4), telescope=telescope, amplifiers=(BARLOW,)
    )
    assert remarks("4 mm + Barlow", report) == (
        "600x is above 400x, twice the aperture in mm: the exit pupil of 0.33 mm is dim and soft.",
    )
    assert remarks("7 mm + Barlow", report) == (
        "343x is more than the 300x that the air of your site bears (seeing II, overhead).",
    )
    assert remarks("45 mm", report)[1] == (
        "The shadow of the secondary is 3.0 mm wide in the exit pupil and may show as a dark spot."
    )
    assert remarks("45 mm + Barlow", report) == ("45 mm (2in) does not go into Barlow (1.25in).",)
    assert remarks("7 mm", report) == ()


def test_a_reducer_that_cuts_the_field_says_so() -> None:
    """30 mm of 50 deg at 0.5x asks for 52 mm of image; a 1.25 inch barrel passes 27."""
    reducer = Amplifier("Reducer", AmplifierKind.REDUCER, 0.5, SHORT)
    report = audit(eyepiece(30), amplifiers=(reducer,))
    assert remarks("30 mm + Reducer", report)[-1] == (
        "The barrel of Reducer cuts the field from 150 to 77 arcmin."
    )


def test_doubts_of_the_file_are_among_the_faults(example: Settings) -> None:
    """What the reader of the file found odd belongs in the audit."""
    doubted = replace(example, warnings=("New: odd.",))
    assert audit_kit(doubted, doubted.telescope()).faults[0] == "New: odd."


def test_the_order_of_the_kit_changes_no_finding(example: Settings) -> None:
    """Turned round, the same faults come out in another order."""
    kit = example.kit
    turned = replace(example, kit=replace(kit, eyepieces=kit.eyepieces[::-1]))
    one, other = (audit_kit(settings, settings.telescope()) for settings in (example, turned))
    assert set(one.faults) == set(other.faults)
    assert set(one.entries) == set(other.entries)
