"""What the matcher says: readable, and true by the numbers that it comes from."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose

from planner.config.settings import example_settings
from planner.formulas.visibility_limit import grade_word
from planner.matcher.case import Case
from planner.matcher.train_table import tabulate_trains
from planner.matcher.trains import make_trains
from planner.matcher.views import best_view, ranked_views, view_through
from planner.matcher.words.comparisons import shortfall
from planner.matcher.words.reasons import reasons_for, warnings_for
from planner.model.kit import Barrel, Eyepiece, train_words
from planner.model.plan import Grade
from targets.model import Kind, Origin, Target

VARIED = (
    "M31 M33 M42 M45 M13 M57 M27 M81 M1 NGC7293 NGC7662 C14 NGC7789 NGC7000 NGC6992 NGC1499 B33 "
    "NGC891 M103 M74 M78 B143 M40 M73 M24 3C273 Cr399 Jupiter Saturn Mars Venus Neptune Moon"
)
# A number with one decimal, and a size with two figures, may be off by half a unit.
TENTH, WHOLE = 0.0501, 0.501
NUMBER = r"(\d+(?:\.\d+)?)"
SUITS = rf"{NUMBER} to {NUMBER} mm suits it(?:, in tonight's air about {NUMBER} mm)?"
SIZE = r"(?:about )?(\d+(?:\.\d+)?)(['\"])"


def arcmin(number: str, unit: str) -> float:
    """Read a size back."""
    return float(number) / (60.0 if unit == '"' else 1.0)


def said_close(said: str, value: float) -> bool:
    """Compare a number as written with what it stands for."""
    return abs(float(said) - value) <= (TENTH if "." in said else WHOLE)


def field_said(match: re.Match[str], case: Case, column: int) -> bool:
    """Compare ``190' in 104'`` with target and train."""
    size, field = arcmin(*match.groups()[-4:-2]), arcmin(*match.groups()[-2:])
    true_field = case.table.true_field_arcmin[column]
    wanted = (case.ratings.fill[case.row, column] * true_field, true_field)
    return all(
        abs(said - value) <= (WHOLE if value >= 9.95 else TENTH)
        for said, value in zip((size, field), wanted, strict=True)
    )


def ranges(case: Case, column: int) -> tuple[float, float]:
    """Return the exit pupils that suit."""
    asked = case.ratings.exit_pupils
    return asked.ideal_low[case.row, column], asked.ideal_high[case.row, column]


def off_wanted(case: Case, column: int) -> float:
    """Return the ratio between an exit pupil and the one that is wanted, above 1."""
    ratio = case.table.exit_pupil_mm[column] / case.ratings.exit_pupils.wanted[case.row, column]
    return float(max(ratio, 1.0 / ratio))


def fault_is_true(case: Case, winner: int, other: int, text: str) -> bool:
    """Check what is said against a train with the numbers behind it."""
    table, fill = case.table, case.ratings.fill[case.row]
    largest, most = case.ratings.fill_max[case.row], case.ratings.most_power[case.row]
    score = case.ratings.score[case.row]
    size_mm, power = table.exit_pupil_mm[other], table.magnification[other]
    low, high = ranges(case, other)
    gain = case.margin_dex(other) - case.margin_dex(int(table.unfiltered[other]))
    lost_mag = 2.5 * (case.margin_dex(winner) - case.margin_dex(other))
    in_field = rf"{SIZE} in {SIZE}"
    span = rf"\({SUITS}\)"
    checks: dict[str, Callable[[re.Match[str]], bool]] = {
        "as good": lambda _: score[other] >= 0.97 * score[winner],  # within three percent
        "better at this moment": lambda _: score[other] > score[winner],
        f"shows it small, {in_field}": lambda m: (
            fill[other] < fill[winner] and field_said(m, case, other)
        ),
        f"too small a field, {in_field}": lambda m: (
            fill[other] > largest and field_said(m, case, other)
        ),
        f"less sky around it, {in_field}": lambda m: (
            fill[winner] < fill[other] <= largest and field_said(m, case, other)
        ),
        f"exit pupil {NUMBER} mm is large {span}": lambda m: (
            size_mm > high and said_close(m[1], size_mm) and said_close(m[4] or m[3], high)
        ),
        f"exit pupil {NUMBER} mm is small {span}": lambda m: (
            size_mm < low and said_close(m[1], size_mm) and said_close(m[2], low)
        ),
        f"exit pupil {NUMBER} mm is further from the {NUMBER} mm wanted": lambda m: (
            said_close(m[1], size_mm) and off_wanted(case, other) > off_wanted(case, winner)
        ),
        f"{NUMBER}x is more than the {NUMBER}x that the air bears": lambda m: (
            power > most and said_close(m[1], power) and said_close(m[2], most)
        ),
        f"{NUMBER}x is too little for {SIZE}": lambda m: (
            power < case.ratings.least_power[case.row] and said_close(m[1], power)
        ),
        f"shows it {NUMBER} mag fainter": lambda m: lost_mag > 0.0 and said_close(m[1], lost_mag),
        "shows it a grade worse, (.+)": lambda m: (
            m[1] == str(grade_word(case.margin_dex(other))) and lost_mag > 0.0
        ),
        "shows it a little fainter": lambda _: -1e-9 <= lost_mag < 0.05,
        "its filter gains too little": lambda _: table.filter_code[other] > 0 and not gain >= 0.1,
        r"(.+) does not help (?:a|an|the) (.+)": lambda m: (
            table.trains[other].filter is not None
            and m[1] == table.trains[other].filter.name
            and m[2] == case.target.kind
            and case.value("fit", other) == 0.0
        ),
        f"it drifts across in {NUMBER} s": lambda m: said_close(
            m[1], case.ratings.drift_s[case.row, other]
        ),
        "more glass for the same view": lambda _: bool(table.amplified[other]),
        f"narrower apparent field, {NUMBER} deg": lambda m: (
            table.apparent_field_deg[other] < table.apparent_field_deg[winner]
            and said_close(m[1], table.apparent_field_deg[other])
        ),
        f"eye relief {NUMBER} mm is short(?: for spectacles)?": lambda m: said_close(
            m[1], table.eye_relief_mm[other]
        ),
    }
    found = [check(m) for pattern, check in checks.items() if (m := re.fullmatch(pattern, text))]
    assert len(found) == 1, f"not a known fault: {text}"
    return found[0]


def readable(text: str) -> bool:
    """No figure that is none, no blank too many, no stop; a clause is joined to others."""
    words = re.findall(r"[a-z]+", text.lower())
    return (
        bool(text)
        and text == text.strip()
        and "  " not in text
        and not {"nan", "inf", "none"} & set(words)
        and not text.endswith((".", ",", ":", ";"))
        and text.count("(") == text.count(")")
    )


SITUATIONS = [("80", 18.0, 30.0), ("200", 21.3, 60.0), ("400", 20.0, 25.0), ("200", 18.5, 80.0)]


@pytest.mark.parametrize(("telescope", "sky_mag", "altitude_deg"), SITUATIONS)
def test_every_clause_reads_well(
    telescope: str, sky_mag: float, altitude_deg: float, benches: Any, sky: Any
) -> None:
    """For 34 targets of all kinds in every train."""
    bench = benches[telescope].but(sky_mag_arcsec2=sky_mag, altitude_deg=altitude_deg)
    rated = bench.rate(sky.targets(VARIED))
    for row in range(len(rated.targets)):
        for view in ranked_views(rated.case(row)):
            for clause in (*view.reasons, *view.warnings):
                assert readable(clause), clause


@pytest.mark.parametrize(("telescope", "sky_mag", "altitude_deg"), SITUATIONS)
def test_every_fault_is_true(
    telescope: str, sky_mag: float, altitude_deg: float, benches: Any, sky: Any
) -> None:
    """What each train lacks beside the winner agrees with the numbers; the winner's own do too."""
    bench = benches[telescope].but(sky_mag_arcsec2=sky_mag, altitude_deg=altitude_deg)
    rated = bench.rate(sky.targets(VARIED))
    kinds_of_fault = set()
    for row, target in enumerate(rated.targets):
        case, winner = rated.case(row), rated.best(row)
        for other in range(len(rated.table)):
            if other != winner:
                text = shortfall(case, winner, other)
                kinds_of_fault.add(re.sub(r"[\d.]+", "#", text))
                assert fault_is_true(case, winner, other, text), f"{target.name}: {text}"
    assert len(kinds_of_fault) > 8


def test_a_range_that_the_air_forbids_is_told_as_it_is(benches: Any, sky: Any) -> None:
    """A planetary of 22" low in poor air through 400 mm: not "0.5 to 5.9 mm suits it".

    Our ranges give small planetaries 0.6 to 1.5 mm, and bright ones a little less (common
    practice); in the worst air 100x is the most at the zenith, less with (sin altitude)^0.6.
    """
    rated = benches["400"].but(altitude_deg=40.0, seeing="V").rate(sky.targets("NGC6818"))
    least_mm = 400.0 / (100.0 * math.sin(math.radians(40.0)) ** 0.6)
    bare = np.where(rated.table.filter_code == 0, rated.ratings.score[0], -1.0)
    best = int(np.argmax(bare))
    (clause,) = [c for c in reasons_for(rated.case(), best) if c.startswith("exit pupil")]
    words = f"(0.5 to 1.5 mm suits it, in tonight's air about {least_mm:.1f} mm)"
    assert clause.endswith(words)


def test_the_winner_says_framing_and_exit_pupil(bench: Any, sky: Any) -> None:
    """And the numbers in both are those of its train; planets and pairs have no framing."""
    rated = bench.rate(sky.targets(VARIED))
    for row, target in enumerate(rated.targets):
        case, winner = rated.case(row), rated.best(row)
        text = " | ".join(reasons_for(case, winner))
        size = re.search(rf"exit pupil {NUMBER} mm(?: \({SUITS}\)|, where {SUITS})", text)
        assert size, target.name
        low, high = ranges(case, winner)
        suited = rated.ratings.exit_pupils.suited_high[row, winner]
        numbers = [rated.table.exit_pupil_mm[winner], low, suited]
        numbers += [high] if round(high, 1) > round(suited, 1) else []
        for said, value in zip(filter(None, size.groups()), numbers, strict=True):
            assert said_close(said, value)
        is_inside = round(low, 1) <= round(numbers[0], 1) <= round(max(suited, high), 1)
        assert (", where" in size.group()) != is_inside, target.name
        framing = re.search(rf"{SIZE} in {SIZE}", text)
        if math.isnan(rated.ratings.fill_max[row]) or target.kind is Kind.DOUBLE_STAR:
            assert framing is None
        else:
            assert framing, target.name
            assert field_said(framing, case, winner)
        if share := re.search(r"fills (\d+)% of the field", text):
            assert_allclose(float(share[1]), 100.0 * rated.ratings.fill[row, winner], atol=WHOLE)


def test_a_filter_says_what_it_gains(bench: Any, sky: Any) -> None:
    """In magnitudes, against the same train without it."""
    rated = bench.rate(sky.targets("NGC6992"))
    case, winner = rated.case(), rated.best()
    said = re.search(
        rf"O III lifts the contrast by {NUMBER} mag", " ".join(reasons_for(case, winner))
    )
    assert said
    bare = int(rated.table.unfiltered[winner])
    assert rated.table.trains[bare] == replace(rated.table.trains[winner], filter=None)
    margin = rated.ratings.margin_dex[0]
    assert said_close(said[1], 2.5 * (margin[winner] - margin[bare]))


def test_the_runner_up_is_another_piece_of_glass(benches: Any, sky: Any) -> None:
    """Not the same eyepiece with another filter, and its fault is a true one."""
    for bench in benches.values():
        rated = bench.rate(sky.targets(VARIED))
        by_words = {train_words(train): k for k, train in enumerate(rated.table.trains)}
        for row in range(len(rated.targets)):
            case, winner = rated.case(row), rated.best(row)
            words, fault = best_view(case).reasons[-1].split(": ", 1)
            other, won = (rated.table.trains[k] for k in (by_words[words], winner))
            assert (other.eyepiece, other.amplifier) != (won.eyepiece, won.amplifier)
            assert fault_is_true(case, winner, by_words[words], fault)


def example_case(make_bench: Any, sky: Any, name: str) -> Case:
    """Return a target in the trains of the built-in example."""
    kit = example_settings(today=date(2026, 1, 1)).kit
    bench = make_bench(kit)
    assert len(bench.table) == len(tabulate_trains(make_trains(kit.telescopes[0], kit)))
    return bench.rate(sky.targets(name)).case()  # type: ignore[no-any-return]


def test_what_does_not_fit_is_said_in_minutes(make_bench: Any, sky: Any) -> None:
    """M31 in 104' = 57.3 x 60 x 36.4 mm / 1200 mm, the widest field of the example kit.

    Some 115' of its 190' (the catalogue's size) are seen.
    """
    view = best_view(example_case(make_bench, sky, "M31"))
    assert view.train.eyepiece.name == "30 mm 70"
    seen = f"{view.seen_major_arcmin:.0f}' in 104'"
    assert f"does not fit: {seen}" in view.warnings
    assert view.reasons[0] == f"widest field of the kit, yet it does not fit: {seen}"
    assert view.fits is False
    assert view.framing is not None
    assert 90.0 < view.seen_major_arcmin < 150.0
    field_arcmin = 60.0 * math.degrees(36.4 / 1200.0)
    assert_allclose(view.framing, view.seen_major_arcmin / field_arcmin, rtol=1e-3)
    assert any(reason.startswith("you will see some ") for reason in view.reasons)


def test_only_the_widest_is_called_the_widest(make_bench: Any, sky: Any) -> None:
    """A narrower train on a target that fits in none."""
    case = example_case(make_bench, sky, "M31")
    narrow = next(k for k, t in enumerate(case.table.trains) if t.eyepiece.name == "12 mm 60")
    assert reasons_for(case, narrow)[0].startswith("does not fit: ")


@pytest.mark.parametrize(("share", "is_widest"), [(0.98, True), (0.95, False)])
def test_fields_within_three_percent_count_as_the_widest(
    share: float, *, is_widest: bool, make_bench: Any, sky: Any
) -> None:
    """What does not fit stays in the running there, and is called the widest (our choice: 0.97)."""
    kit = example_settings(today=date(2026, 1, 1)).kit
    wide = Eyepiece("wide", (30.0,), (70.0,), Barrel.TWO, eye_relief_mm=20.0)
    near = replace(wide, name="near", apparent_fields_deg=(70.0 * share,))
    rated = make_bench(replace(kit, eyepieces=(wide, near), amplifiers=(), filters=())).rate(
        sky.targets("M31")
    )
    column = {train.eyepiece.name: k for k, train in enumerate(rated.table.trains)}
    score = rated.ratings.score[0]
    said = reasons_for(rated.case(), column["near"])[0]
    assert said.startswith("widest field of the kit") == is_widest
    assert score[column["near"]] < score[column["wide"]]


def test_unknown_brightness_is_said(bench: Any) -> None:
    """As a grade, and as a warning that it may not be seen."""
    target = Target(id="X1", name="X 1", kind=Kind.GALAXY, dec_deg=0.0, major_arcmin=5.0)
    view = best_view(bench.rate([target]).case())
    assert view.grade is Grade.UNKNOWN
    assert "brightness unknown, so it may not be seen" in view.warnings


def test_unknown_size_is_said(bench: Any) -> None:
    """Framing is not judged without one."""
    target = Target(id="X1", name="X 1", kind=Kind.OPEN_CLUSTER, dec_deg=0.0, magnitude=7.0)
    assert best_view(bench.rate([target]).case()).reasons[0] == (
        "size unknown, so framing was not judged"
    )


def test_an_approximate_size_is_said_to_be_one(bench: Any, sky: Any) -> None:
    """In the framing and as a warning; a measured one is not."""
    target = sky.target("M13")
    rough = replace(target, size_origin=Origin.SCALED)
    views = [best_view(bench.rate([each]).case()) for each in (rough, target)]
    assert "(about 1" in views[0].reasons[0]
    assert "size approximate" in views[0].warnings
    assert "about" not in views[1].reasons[0]
    assert "size approximate" not in views[1].warnings


def test_spectacles_need_eye_relief(bench: Any, sky: Any) -> None:
    """8 mm of it at 2.5 mm of exit pupil is short; at 1.2 mm glasses come off (common practice)."""
    kit = bench.kit
    short = tuple(replace(eyepiece, eye_relief_mm=8.0) for eyepiece in kit.eyepieces)
    observer = replace(bench.observer, spectacles=True)
    near = bench.but(kit=replace(kit, eyepieces=short), observer=observer)
    case = near.rate(sky.targets("M81")).case()
    for column in range(len(case.table)):
        warned = "eye relief 8 mm is short for spectacles" in warnings_for(case, column)
        assert warned is bool(case.table.exit_pupil_mm[column] >= 1.7)


def test_a_train_that_is_not_the_best_at_its_moment_says_so(bench: Any, sky: Any) -> None:
    """The plan may keep an eyepiece that was best half an hour ago."""
    case = bench.rate(sky.targets("M13")).case()
    worst = int(np.argmin(np.where(case.table.filter_code == 0, case.ratings.score[0], 2.0)))
    assert view_through(case, worst).reasons[-1].endswith(": better at this moment")
    grades = [view.score for view in ranked_views(case)]
    assert grades == sorted(grades, reverse=True)


def test_warnings_of_a_train_that_is_too_much_or_too_little(bench: Any, sky: Any) -> None:
    """Each with its number, and only where the number calls for it."""
    long = replace(
        bench.kit.eyepieces[0], name="55 mm", focal_lengths_mm=(55.0,), apparent_fields_deg=(48.0,)
    )
    kit = replace(bench.kit, eyepieces=(*bench.kit.eyepieces, long))
    case = bench.but(kit=kit).rate(sky.targets("Saturn")).case()
    table, most = case.table, case.ratings.most_power[0]
    said = [" | ".join(warnings_for(case, column)) for column in range(len(table))]
    for column, text in enumerate(said):
        power, size_mm = table.magnification[column], table.exit_pupil_mm[column]
        assert (f"{power:.0f}x is more than the {most:.0f}x" in text) is bool(power > 1.05 * most)
        assert ("wider than the eye's 6.5 mm" in text) is bool(size_mm > 6.7)
        # A shadow of a quarter of the beam, against a third of the pupil.
        assert ("the secondary's shadow, " in text) is bool(0.25 * size_mm > 0.35 * 6.5)
        assert ("drifts across the field in " in text) is bool(
            case.ratings.drift_s[0, column] < 45.0
        )
    for phrase in ("more than", "wider", "shadow", "drifts"):
        assert any(phrase in text for text in said), phrase
        assert not all(phrase in text for text in said), phrase
    wide = " | ".join(said)
    assert "works as 142 mm of aperture" in wide  # 200 mm x 6.5 / 9.17
    assert "shadow, 2.3 mm wide" in wide  # 9.17 mm x 50 / 200


def test_power_near_the_limit_of_the_air_is_said(bench: Any, sky: Any) -> None:
    """160x where 220 (sin 60 deg)^0.6 = 202 are borne."""
    view = best_view(bench.rate(sky.targets("Saturn")).case())
    assert "160x is near the 202x that the air bears 60 deg up" in view.reasons


def test_trains_that_do_not_go_together_come_last_with_their_faults(bench: Any, sky: Any) -> None:
    """As unusable, after all others."""
    trains = make_trains(bench.kit.telescopes[0], bench.kit)
    misfits = [train for train in trains if not train.usable]
    views = ranked_views(bench.rate(sky.targets("M13")).case(), misfits)
    assert misfits
    assert [view.train for view in views[-len(misfits) :]] == misfits
    for view in views[-len(misfits) :]:
        assert view.reasons == view.train.faults
        assert view.score == 0.0
        assert view.parts == {"fit": 0.0}


def test_what_fits_and_what_does_not(bench: Any, sky: Any) -> None:
    """By the share of the field that suits the kind; a planet always fits."""
    rated = bench.rate(sky.targets("M45 M44 Saturn"))
    for row in range(3):
        case = rated.case(row)
        for column in range(len(case.table)):
            view = view_through(case, column)
            assert view.fits is bool(view.framing <= (0.75 if row < 2 else 1.0))
