"""An evening at the telescope without a telescope: a frozen clock, a folder of its own."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from kept_work import keep
from rich.color import ColorSystem
from textual import events
from textual.css.model import RuleSet
from textual.css.stylesheet import Stylesheet
from textual.pilot import Pilot

from planner.config.settings import example_settings
from planner.ephemeris.almanac import find_night
from planner.ephemeris.kernel import load_ephemeris
from planner.model.night import Night
from planner.request.options import Surroundings
from planner.session.files import load_state
from planner.session.state import SessionState
from planner.session.state_json import to_json
from tui.app import NightApp
from tui.night.request import Request
from tui.night.scene import Scene

DUSK = datetime(2026, 12, 8, 16, 30, tzinfo=UTC)


@dataclass
class Clock:
    """A clock that is set by hand."""

    now: datetime = DUSK

    def __call__(self) -> datetime:
        """Return the time."""
        return self.now

    def forward(self, minutes: float) -> None:
        """Let time pass."""
        self.now += timedelta(minutes=minutes)


class CheckedApp(NightApp):
    """The application; nothing is shown that is not on disk."""

    checks_disk = True

    def _show(self, scene: Scene | None) -> None:
        if scene is not None and self.checks_disk and not scene.read_only and not scene.warning:
            (path,) = (self.desk._request.surroundings.data / "nights").glob("*.json")  # noqa: SLF001
            assert path.read_text("ascii") == to_json(scene.state)
        super()._show(scene)


Story = Callable[[Pilot[Any], NightApp], Awaitable[None]]


@dataclass
class Evening:
    """Runs stories with the application."""

    folder: Path
    clock: Clock = field(default_factory=Clock)
    size: tuple[int, int] = (80, 24)
    evening: date | None = date(2026, 12, 8)
    configuration: str | None = None
    unicode: bool = True

    @property
    def data(self) -> Path:
        """The program's folder."""
        return self.folder / "data"

    def app(self) -> CheckedApp:
        """Make an application."""
        path = self.folder / "fieldstop.toml"
        text = self.configuration
        if text is None:
            text = files("planner.config").joinpath("example.toml").read_text("utf-8")
        path.write_text(text, "utf-8")
        around = Surroundings(self.clock.now, path, self.data)
        app = CheckedApp(Request(around, evening=self.evening), self.clock, unicode=self.unicode)
        app.console._color_system = ColorSystem.TRUECOLOR  # noqa: SLF001  # whatever runs the test
        return app

    def tell(self, story: Story, app: NightApp | None = None) -> NightApp:
        """Open the night, let a story happen, leave."""
        app = app or self.app()

        async def run() -> None:
            async with app.run_test(size=self.size, notifications=True) as pilot:
                await settle(pilot, app)
                await story(pilot, app)

        asyncio.run(run())
        return app

    def saved(self) -> SessionState:
        """Return what is on disk of the night."""
        (path,) = (self.data / "nights").glob("*.json")
        return load_state(path)[0]


async def settle(pilot: Pilot[Any], app: NightApp) -> None:
    """Wait until nothing is under way: no work, no message, nothing to paint."""
    quiet = 0
    while quiet < 2 and not app._exit:  # noqa: SLF001
        await pilot._wait_for_screen()  # noqa: SLF001
        await app.workers.wait_for_complete()
        app.screen._on_timer_update()  # noqa: SLF001
        await asyncio.sleep(0)
        quiet = 0 if is_busy(app) else quiet + 1


def is_busy(app: NightApp) -> bool:
    """Whether something is under way."""
    nodes = [app, *app.screen.walk_children(with_self=True)]
    return bool(
        app._holding  # noqa: SLF001
        or app._working  # noqa: SLF001
        or app._resize_event  # noqa: SLF001
        or app.screen._callbacks  # noqa: SLF001
        or any(not node._message_queue.empty() for node in nodes)  # noqa: SLF001
    )


@pytest.fixture
def evening(tmp_path: Path) -> Evening:
    """Return an evening."""
    return Evening(tmp_path)


@pytest.fixture(scope="session")
def garden_night() -> Night:
    """Return the night of the tests at the example's site."""
    site = example_settings(today=date(2026, 3, 1)).sites[0]
    return find_night(load_ephemeris(), site, date(2026, 12, 8))


@pytest.fixture
def press() -> Callable[..., Awaitable[None]]:
    """Return a function that presses keys one after the other and waits for what they do."""

    async def press(pilot: Pilot[Any], app: NightApp, *keys: str) -> None:
        await settle(pilot, app)
        for key in keys:
            await pilot.press(key)
            await settle(pilot, app)

    return press


@pytest.fixture
def burst() -> Callable[..., Awaitable[None]]:
    """Return a function that sends keys all at once, as a slow line does."""

    async def burst(pilot: Pilot[Any], app: NightApp, *keys: str) -> None:
        await settle(pilot, app)
        for key in keys:
            app.post_message(events.Key(key, key if len(key) == 1 else None))
        await settle(pilot, app)

    return burst


@pytest.fixture
def shown() -> Callable[[NightApp], str]:
    """Return a function that tells what stands on the screen, line by line."""

    def shown(app: NightApp) -> str:
        width, height = app.size
        strips = app.screen._compositor.render_strips()  # noqa: SLF001
        assert len(strips) == height
        assert all(strip.cell_length == width for strip in strips)
        return "\n".join(strip.text for strip in strips)

    return shown


@pytest.fixture
def settled() -> Callable[[Pilot[Any], NightApp], Awaitable[None]]:
    """Return a function that waits until nothing is under way."""
    return settle


@pytest.fixture(autouse=True)
def nobody_naps(monkeypatch: pytest.MonkeyPatch) -> None:
    """Wait after a key for what is under way (`settle`), not until the machine is idle."""

    async def give_way(*_: Any, **__: Any) -> None:
        await asyncio.sleep(0)

    monkeypatch.setattr("textual.app.wait_for_idle", give_way)


@pytest.fixture(autouse=True)
def nights_are_shared(monkeypatch: pytest.MonkeyPatch) -> None:
    """Plan, survey and begin each night once for all tests."""
    keep(
        monkeypatch,
        "planner.planning.plan.plan_night",
        "tui.night.opening.survey_night",
        "tui.night.night_desk.begin_at_once",
    )


PARSED = Stylesheet._parse_rules  # noqa: SLF001


@cache
def _parsed_once(variables: tuple[tuple[str, str], ...], css: str, **named: Any) -> list[RuleSet]:
    return PARSED(Stylesheet(variables=dict(variables)), css, **named)


@pytest.fixture(autouse=True)
def styles_are_shared(monkeypatch: pytest.MonkeyPatch) -> None:
    """Parse the toolkit's styles once for each set of colours, not once for each application."""

    def parsed(sheet: Stylesheet, css: str, **named: Any) -> list[RuleSet]:
        return _parsed_once(tuple(sheet._variables.items()), css, **named)  # noqa: SLF001

    monkeypatch.setattr(Stylesheet, "_parse_rules", parsed)
