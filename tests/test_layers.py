"""Who may import whom, and who may touch the clock, the screen and the home folder.

The layers are the folders: `ROOMS` lists those of the planner from the ground up, and a module
imports only from its own room and from rooms before it.
"""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
ROOMS = (
    "text", "model", "formulas", "ephemeris", "config", "matcher", "journal", "planning", "advice",
    "request", "output", "session", "interface", "cli",
)  # fmt: skip
# What stands on the same floor: neither imports the other.
APART = (("ephemeris", "config"), ("matcher", "journal"), ("advice", "request"))
MOST_MODULES = 15
PACKAGES = ("planner", "targets", "tui")


def modules(package: str) -> list[Path]:
    """All modules of a package."""
    return sorted((ROOT / package).rglob("*.py"))


MODULES = modules("planner")
EVERY_MODULE = [path for package in PACKAGES for path in modules(package)]
FOLDERS = sorted({path.parent for path in EVERY_MODULE})


def label(path: Path) -> str:
    """Name a file as it is imported."""
    return ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")


NAMES = {label(path) for path in EVERY_MODULE}


@cache
def tree_of(path: Path) -> ast.Module:
    """A file as a tree, read once."""
    return ast.parse(path.read_text("utf-8"))


@cache
def nodes_of(path: Path) -> list[ast.AST]:
    """What a file imports, calls and reaches for."""
    kinds = (ast.Import, ast.ImportFrom, ast.Call, ast.Attribute)
    return [node for node in ast.walk(tree_of(path)) if isinstance(node, kinds)]


@cache
def imported(path: Path) -> set[str]:
    """Name the modules that a file imports, for the type checker alone too, whole and dotted."""
    found = set()
    for node in nodes_of(path):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            inner = {f"{node.module}.{alias.name}" for alias in node.names} & NAMES
            found |= inner or {node.module}
    return found


def room_of(name: str) -> str | None:
    """Name the room of a module of the planner; None for its public face and ``__main__``."""
    package, _, rest = name.partition(".")
    room = rest.partition(".")[0]
    return room if package == "planner" and room and room != "__main__" else None


def test_every_room_has_its_place() -> None:
    """The list of rooms is what stands at the top of the planner, and it is short."""
    top = {path.stem for path in (ROOT / "planner").glob("*.py")}
    rooms = {path.parent.name for path in (ROOT / "planner").glob("*/__init__.py")}
    assert (top | rooms) - {"__init__", "__main__"} == set(ROOMS)
    assert len(top) <= 5
    assert len(rooms) <= 13


@pytest.mark.parametrize("path", MODULES, ids=label)
def test_imports_point_down(path: Path) -> None:
    """No module of the planner imports from a room above its own, or from the screens."""
    names = imported(path)
    assert not {name for name in names if name.split(".")[0] in {"tui", "textual"}}
    own = room_of(label(path))
    if own is None:
        return
    used = {room for name in names if (room := room_of(name)) is not None}
    above = {room for room in used if ROOMS.index(room) > ROOMS.index(own)}
    beside = {room for pair in APART if own in pair for room in pair} - {own}
    assert not used & (above | beside), f"{label(path)} must not import {used & (above | beside)}"


@pytest.mark.parametrize("folder", FOLDERS, ids=lambda folder: str(folder.relative_to(ROOT)))
def test_a_folder_says_what_it_holds_and_can_be_read_at_a_glance(folder: Path) -> None:
    """Each folder has a docstring of a sentence or more, and few enough modules."""
    assert ast.get_docstring(tree_of(folder / "__init__.py"))
    count = sum(path.name != "__init__.py" for path in folder.glob("*.py"))
    assert count <= MOST_MODULES


def circles() -> Iterator[str]:
    """The modules from which a way of imports leads back to themselves."""
    arrows = {label(path): imported(path) & NAMES for path in EVERY_MODULE}
    for name in NAMES:
        seen: set[str] = set()
        ahead = list(arrows[name])
        while ahead:
            if (at := ahead.pop()) not in seen:
                seen.add(at)
                ahead += arrows[at]
        if name in seen:
            yield name


def test_no_imports_go_in_a_circle() -> None:
    """Imports for the type checker count, and so do those inside functions."""
    assert sorted(circles()) == []


def test_the_tests_lie_as_the_packages_do() -> None:
    """A folder of tests is for the folder of a package that has its name."""
    folders = {
        path.parent
        for package in PACKAGES
        for path in (ROOT / "tests" / package).rglob("test_*.py")
    }
    assert [one for one in folders if not (ROOT / one.relative_to(ROOT / "tests")).is_dir()] == []


def test_a_class_has_its_name_to_itself() -> None:
    """One word means one thing: no two public classes are called the same."""
    names = [
        node.name
        for path in EVERY_MODULE
        for node in tree_of(path).body
        if isinstance(node, ast.ClassDef) and not node.name.startswith("_")
    ]
    assert sorted({name for name in names if names.count(name) > 1}) == []


@pytest.mark.parametrize("path", modules("targets"), ids=label)
def test_targets_know_nothing_of_the_rest(path: Path) -> None:
    """What there is to look at knows no kit, night or screen."""
    tops = {name.split(".")[0] for name in imported(path)}
    assert not tops & {"planner", "tui", "textual", "typer", "skyfield"}


@pytest.mark.parametrize("path", [*modules("tui/night"), *modules("tui/pages")], ids=label)
def test_what_runs_a_night_and_what_makes_its_lines_draw_nothing(path: Path) -> None:
    """Textual is for the screens alone."""
    names = imported(path)
    assert not {name for name in names if name.split(".")[0] == "textual"}
    assert not {name for name in names if name.startswith(("tui.screens", "tui.modals"))}


# Only the command line may reach for these.
CLOCK_AND_HOME = {
    ("datetime", "now"), ("datetime", "today"), ("datetime", "utcnow"), ("date", "today"),
    ("time", "time"), ("os", "environ"), ("os", "getenv"), ("Path", "home"), ("Path", "cwd"),
}  # fmt: skip
COMMAND_LINE = {"planner.cli.main", "planner.__main__"}


@pytest.mark.parametrize("path", [*MODULES, *modules("targets")], ids=label)
def test_only_the_command_line_reads_clock_and_home(path: Path) -> None:
    """Time, environment and home folder are arguments everywhere else."""
    if label(path) in COMMAND_LINE:
        pytest.skip("the command line")
    used = {
        (node.value.id, node.attr)
        for node in nodes_of(path)
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name)
    }
    assert not used & CLOCK_AND_HOME
    assert "platformdirs" not in imported(path)


@pytest.mark.parametrize("path", modules("planner/formulas"), ids=label)
def test_formulas_are_pure(path: Path) -> None:
    """Formula modules print, open and download nothing."""
    called = {
        node.func.id
        for node in nodes_of(path)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
    }
    assert not called & {"print", "open", "input", "exec", "eval"}
    roots = {name.split(".")[0] for name in imported(path)}
    assert roots <= {
        "__future__", "collections", "dataclasses", "enum", "functools", "math", "numpy",
        "planner", "targets", "types", "typing",
    }  # fmt: skip


@pytest.mark.parametrize("path", modules("planner/planning/scheduling"), ids=label)
def test_the_optimiser_knows_nothing_of_the_sky(path: Path) -> None:
    """It imports its neighbours, arrays and angles on a sphere, and nothing else of ours."""
    ours = {name for name in imported(path) if name.split(".")[0] in PACKAGES}
    strange = {name for name in ours if not name.startswith("planner.planning.scheduling.")}
    assert strange <= {"targets.arrays", "targets.frozen", "targets.sphere"}


def test_listing_and_help_load_no_arrays() -> None:
    """What reads the journal, or tells of the commands, needs no sky: it answers at once."""
    code = (
        "import sys, planner.cli.main, planner.cli.journal.entries, planner.output.glossary\n"
        "slow = {'numpy', 'skyfield', 'pandas'} & set(sys.modules)\n"
        "assert not slow, slow"
    )
    subprocess.run([sys.executable, "-c", code], check=True, cwd=ROOT)


def test_planning_imports_no_screen_and_nothing_slow() -> None:
    """The road of ``plan`` loads neither Textual nor what only other commands need."""
    code = (
        "import sys, planner.cli.main, planner.planning.plan, planner.planning.look\n"
        "names = {'textual', 'astropy', 'pandas', 'rich', 'ephem', 'scipy', 'pyongc', 'ssl'}\n"
        "slow = names & set(sys.modules)\n"
        "assert not slow, slow"
    )
    subprocess.run([sys.executable, "-c", code], check=True, cwd=ROOT)
