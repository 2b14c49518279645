"""The printed sheet and the page for the telephone, opened in a browser."""

from __future__ import annotations

import html
import io
import re
import shutil
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest
from kept_work import kept
from playwright.sync_api import Browser, Page, sync_playwright
from pypdf import PdfReader

from planner.config.settings import example_settings
from planner.ephemeris.kernel import load_ephemeris
from planner.model.plan import Note, Plan
from planner.output.pages.html import look_html, plan_html
from planner.output.words import span
from planner.planning.circumstances import Circumstances
from planner.planning.look import look_at
from planner.request.circumstances import circumstances_of
from planner.request.options import Readings
from targets.catalogue.catalogue import load_catalogue

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
LIMIT_BYTES = 1_000_000
# WCAG 2.2, success criterion 1.4.3 (level AA): text against its background.
LEAST_CONTRAST = 4.5
NARROW = {"width": 360, "height": 740}
WIDE = {"width": 1100, "height": 900}
SIDEWAYS = {"width": 740, "height": 360}


@pytest.fixture(scope="module")
def circumstances() -> Circumstances:
    """Return the example's kit under its usual sky."""
    settings = example_settings(today=date(2026, 10, 24))
    _, circumstances = circumstances_of(settings, site=None, telescope=None, readings=Readings())
    return circumstances


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """Return a browser; without one on the machine the tests are skipped."""
    if CHROMIUM is None:
        pytest.skip("no chromium on this machine")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield browser
        browser.close()


@pytest.fixture(scope="module")
def window(browser: Browser) -> tuple[Page, list[str]]:
    """Return the one window, which takes most of a page's time to open, and what it says."""
    page, said = browser.new_page(), list[str]()
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda error: said.append(str(error)))
    page.on("request", lambda request: said.append(request.url))
    page.on("dialog", lambda dialog: (said.append(dialog.message), dialog.dismiss()))
    return page, said


@pytest.fixture
def page(window: tuple[Page, list[str]]) -> Page:
    """Return the window with nothing in it, and nothing said."""
    page, said = window
    page.goto("about:blank")
    said.clear()
    return page


@pytest.fixture
def said(window: tuple[Page, list[str]]) -> list[str]:
    """Return what the page said, asked of a network, or put in front of the reader."""
    return window[1]


def show(page: Page, text: str, size: Any = WIDE, *, dark: bool = False) -> None:
    """Show a text in a window of a size, on a screen that asks for dark pages or for light ones."""
    page.set_viewport_size(size)
    page.emulate_media(color_scheme="dark" if dark else "light")
    page.set_content(text, wait_until="load")


plan_page, look_page = kept(plan_html), kept(look_html)


def _page(plan: Plan, circumstances: Circumstances) -> str:
    return plan_page(plan, circumstances, load_ephemeris(), session="4 hours from dusk")


def _look(circumstances: Circumstances, plan: Plan, name: str = "M57") -> str:
    target, at = load_catalogue().find(name), datetime(2026, 10, 24, 20, 0, tzinfo=UTC)
    report = look_at(target, load_ephemeris(), plan.night, circumstances, at=at)
    return look_page(report, circumstances, load_ephemeris())


def _thirty(plan: Plan) -> Plan:
    looks = (plan.looks * 5)[:30]
    return replace(plan, looks=looks)


@pytest.mark.parametrize("kind", ["plan", "look"])
@pytest.mark.parametrize("size", [NARROW, WIDE], ids=["telephone", "desk"])
def test_a_page_opens_quietly_and_fits(
    page: Page,
    said: list[str],
    autumn_plan: Plan,
    circumstances: Circumstances,
    kind: str,
    size: Any,
) -> None:
    """No word on the console, nothing asked of a network, nothing to scroll sideways."""
    text = (
        _page(autumn_plan, circumstances) if kind == "plan" else _look(circumstances, autumn_plan)
    )
    show(page, text, size)
    width = page.evaluate("document.documentElement.scrollWidth")
    assert [words for words in said if not words.startswith("data:")] == []
    assert width <= size["width"]


def _colours(page: Page, text: str, size: Any, *, dark: bool, switched: bool) -> Any:
    show(page, text, size, dark=dark)
    if switched:
        page.locator("label.switch").click()
    found = page.evaluate(
        """() => [...document.querySelectorAll('.page, .page *')]
          .filter(e => [...e.childNodes].some(n => n.nodeType == 3 && n.textContent.trim()))
          .filter(e => e.tagName != 'STYLE' && e.tagName != 'title')
          .map(e => e.closest('svg') ? getComputedStyle(e).fill : getComputedStyle(e).color)
          .concat([getComputedStyle(document.querySelector('.page')).backgroundColor])"""
    )
    return [tuple(int(float(n)) for n in re.findall(r"[0-9.]+", colour)[:3]) for colour in found]


def _luminance(rgb: tuple[int, ...]) -> float:
    """Return the relative luminance of WCAG 2.2."""
    linear = [
        c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4
        for c in (channel / 255.0 for channel in rgb)
    ]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def test_the_day_face_has_contrast(
    page: Page, autumn_plan: Plan, circumstances: Circumstances
) -> None:
    """Every text stands out from the paper by 4.5 or more."""
    colours = _colours(page, _page(autumn_plan, circumstances), WIDE, dark=False, switched=True)
    *texts, paper = colours
    assert paper == (255, 255, 255)
    ratios = [1.05 / (_luminance(text) + 0.05) for text in texts]
    assert len(ratios) > 30
    assert min(ratios) >= LEAST_CONTRAST


@pytest.mark.parametrize("size", [NARROW, SIDEWAYS, WIDE], ids=["narrow", "sideways", "wide"])
@pytest.mark.parametrize("dark", [False, True])
def test_the_night_face_is_red_on_black(
    page: Page, autumn_plan: Plan, circumstances: Circumstances, size: Any, dark: bool
) -> None:
    """At any size and turn, whatever the screen asks for: pure red, every letter 4.5 or more."""
    *texts, paper = _colours(
        page, _page(autumn_plan, circumstances), size, dark=dark, switched=False
    )
    assert paper == (0, 0, 0)
    assert all(red <= 0xEB and green == blue == 0 for red, green, blue in texts)
    assert min((_luminance(text) + 0.05) / 0.05 for text in texts) >= LEAST_CONTRAST


@pytest.mark.parametrize(
    ("switched", "ground"), [(False, "rgb(0, 0, 0)"), (True, "rgb(255, 255, 255)")]
)
def test_the_root_has_the_ground_of_the_page(
    page: Page, autumn_plan: Plan, circumstances: Circumstances, switched: bool, ground: str
) -> None:
    """What lies beyond the page, as when it is pulled down on a telephone, is no white either."""
    show(page, _page(autumn_plan, circumstances), SIDEWAYS)
    if switched:
        page.locator(".switch").click()
    found = page.evaluate("getComputedStyle(document.documentElement).backgroundColor")
    assert found == ground


def test_the_switch_brings_the_day_face_to_a_telephone(
    page: Page, autumn_plan: Plan, circumstances: Circumstances
) -> None:
    """One touch, without a script."""
    *_, paper = _colours(page, _page(autumn_plan, circumstances), NARROW, dark=False, switched=True)
    assert paper == (255, 255, 255)


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("count", [7, 30])
def test_it_prints_on_one_to_three_pages(
    page: Page, autumn_plan: Plan, circumstances: Circumstances, paper: str, count: int
) -> None:
    """With the caution on the last one, black on white even where the screen is dark."""
    plan = replace(_thirty(autumn_plan), looks=_thirty(autumn_plan).looks[:count])
    show(page, _page(plan, circumstances), dark=True)
    pdf = PdfReader(io.BytesIO(page.pdf(format=paper, prefer_css_page_size=False)))
    assert 1 <= len(pdf.pages) <= 3
    assert "Caution" in pdf.pages[-1].extract_text()


def test_thirty_looks_are_less_than_a_megabyte(
    autumn_plan: Plan, circumstances: Circumstances
) -> None:
    """Drawings included."""
    plan = _thirty(autumn_plan)
    text = _page(plan, circumstances)
    led = sum(bool(look.finding and look.finding.steps) for look in plan.looks)
    assert text.count("<title>The way to") == led > 0
    assert text.count('class="field-drawing"') == 30 + led
    assert len(text.encode()) <= LIMIT_BYTES


def test_nothing_is_loaded_and_nothing_runs(
    autumn_plan: Plan, circumstances: Circumstances
) -> None:
    """No script, no address of anything outside."""
    for text in (_page(autumn_plan, circumstances), _look(circumstances, autumn_plan)):
        assert "<script" not in text
        assert not re.findall(r"(?:src|href)=\"(?!data:)", text)
        assert not re.findall(r"url\((?!#)", text)


HOSTILE = [
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "</title></style><script>alert(1)</script>",
    "{{ 7 * 7 }}{% raw %}",
    "&lt;b&gt; & 'quotes' \"double\"",
    "\u202eM31 \U0001f30c",
]


@pytest.mark.parametrize("name", HOSTILE)
def test_no_name_breaks_out_of_a_page(
    page: Page,
    said: list[str],
    named: Callable[[str], Plan],
    circumstances: Circumstances,
    name: str,
) -> None:
    """A hostile name is shown as it is written, and runs in nothing."""
    show(page, _page(named(name), circumstances))
    shown = page.locator("span.name").first.inner_text()
    scripts = page.evaluate("document.querySelectorAll('script, img').length")
    assert shown == name
    assert scripts == 0
    assert [words for words in said if not words.startswith("data:")] == []


def test_what_happens_on_a_body_stands_beside_its_look(
    autumn_plan: Plan, circumstances: Circumstances
) -> None:
    """A note with its time in the site's clock (UTC and an hour then), and one without."""
    notes = (Note("Io goes behind", datetime(2026, 10, 24, 23, 40, tzinfo=UTC)), Note("rings open"))
    first = replace(autumn_plan.looks[0], notes=notes)
    text = _page(replace(autumn_plan, looks=(first,)), circumstances)
    assert "Io goes behind 00:40; rings open" in text


def test_no_option_of_the_command_stands_on_paper(
    autumn_plan: Plan, circumstances: Circumstances
) -> None:
    """How the session was found is told, what would change it is not."""
    session = "4 hours from dusk; --from and --until change it"
    text = plan_html(autumn_plan, circumstances, load_ephemeris(), session=session)
    assert "4 hours from dusk" in text
    assert "--from" not in text


def test_the_curves_say_what_they_show(autumn_plan: Plan, circumstances: Circumstances) -> None:
    """Looks in a plan, the moment in a look, and no skyline where the site has none."""
    plan, look = _page(autumn_plan, circumstances), _look(circumstances, autumn_plan)
    assert "thick: the looks by their numbers; short lines below them: the skyline there" in plan
    assert plan.count('class="skyline-there"') == plan.count('class="look"') > 0
    assert "filled: the skyline there" in look
    assert "upright line: 21:00." in look
    night = autumn_plan.night
    open_site = replace(night, site=replace(night.site, horizon=()))
    bare = _page(replace(autumn_plan, night=open_site), circumstances)
    assert "the skyline there" not in bare
    assert 'class="skyline-there"' not in bare


def test_details_of_a_body_are_on_its_page(autumn_plan: Plan, circumstances: Circumstances) -> None:
    """They stand below where it is."""
    target, at = load_catalogue().find("Saturn"), datetime(2026, 10, 24, 20, 0, tzinfo=UTC)
    report = look_at(target, load_ephemeris(), autumn_plan.night, circumstances, at=at)
    details = [("Rings", "6 deg open & <b>wide</b>")]
    text = look_html(report, circumstances, load_ephemeris(), details=details)
    assert "<dt>Rings</dt><dd>6 deg open &amp; &lt;b&gt;wide&lt;/b&gt;</dd>" in text
    assert text.count('class="ring"') == 2 * text.count("<figure>")


def test_a_plan_without_looks_is_a_page_that_says_why(
    autumn_plan: Plan, circumstances: Circumstances
) -> None:
    """The notes are there; no table, no curves."""
    plan = replace(autumn_plan, looks=(), spares=(), notes=("Nothing is up.",))
    text = _page(plan, circumstances)
    assert "Nothing is up." in text
    assert "<table" not in text
    assert "Caution" in text


def test_what_has_no_view_can_still_be_shown(
    autumn_plan: Plan, circumstances: Circumstances
) -> None:
    """A target below the horizon: its course and its reason, no field."""
    text = _look(circumstances, autumn_plan, "NGC 104")
    assert "does not rise" in text
    assert "<figure" not in text


def test_spares_stand_under_their_direction(
    autumn_plan: Plan, circumstances: Circumstances
) -> None:
    """From north through east, none that is planned."""
    assert autumn_plan.spares
    planned = {look.target.id for look in autumn_plan.looks}
    assert not planned & {spare.target.id for spare in autumn_plan.spares}
    sectors = [round(spare.azimuth_deg / 45.0) % 8 for spare in autumn_plan.spares]
    assert sectors == sorted(sectors)
    assert "When cloud comes" in _page(autumn_plan, circumstances)


@pytest.mark.parametrize("name", ["p.html"])
def test_the_command_writes_a_page(tmp_path: Path, name: str) -> None:
    """From the command line into a file."""
    from planner.cli.main import main  # noqa: PLC0415
    from planner.request.options import Surroundings  # noqa: PLC0415

    around = Surroundings(datetime(2026, 12, 8, 12, tzinfo=UTC), tmp_path / "no.toml", tmp_path)
    path = tmp_path / name
    argv = ["plan", "--date", "2026-12-08", "--count", "2", "--format", "html", "--output"]
    assert main([*argv, str(path)], surroundings=around) == 0
    assert path.read_text("utf-8").startswith("<!DOCTYPE html>")


def test_breaks_and_what_is_left_out_stand_on_the_page(
    autumn_plan: Plan, circumstances: Circumstances
) -> None:
    """As in the plan as text: between the looks, and below them with the reasons."""
    text = _page(autumn_plan, circumstances)
    when = span(*autumn_plan.breaks[0], autumn_plan.night.site)
    row = re.search(rf'<tr class="between"><td class="time">{when}</td>.*?</tr>', text)
    assert row
    assert "break: warm up" in row[0]
    assert "<h2>Left out</h2>" in text
    assert autumn_plan.left_out[0].target.name in html.unescape(text)
    numbers = re.findall(r'<div class="small">(\d+)(?: &middot;|</div>)', text)
    assert numbers == [str(number + 1) for number in range(len(autumn_plan.looks))]


def test_the_page_of_a_look_shows_how_it_will_look(
    autumn_plan: Plan, circumstances: Circumstances
) -> None:
    """Each eyepiece once, as a picture in the page, as wide as its apparent field."""
    text = _look(circumstances, autumn_plan)
    figures = re.findall(r'style="--deg: ([\d.]+)".*?<img src="data:image/png;base64,', text)
    assert 2 <= len(figures) <= 6
    # The example's eyepieces have apparent fields of 60 to 70 degrees.
    assert all(50.0 < float(degrees) < 75.0 for degrees in figures)
    assert "A model to compare eyepieces by, not a photograph" in html.unescape(text)
