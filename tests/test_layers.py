"""Who may import whom, and who may touch the clock, the screen and the home folder."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
MODULES = sorted((ROOT / "planner").rglob("*.py"))

# Groups of planner modules, and the groups that each may import beside itself. A folder counts as
# one module, with all that is in it.
GROUPS = {
    "formulas": {
        "atmosphere", "crossings", "discs", "eye", "filters", "galilean", "kepler", "lunar_light",
        "lunar_places", "magnitudes", "moonlight", "optics", "orientation", "photometry", "pupil",
        "ratings", "refraction", "resolution", "saturn_moons", "scoring", "seeing", "sky",
        "tangent", "threshold", "twilight",
    },
    "words": {
        "columns", "faults", "kit", "leaning", "night", "red_spot", "site", "spreadsheet", "view",
    },
    "settings": {
        "conditions", "entries", "kit_report", "plausibility", "preferences", "settings",
        "trains", "validation", "zones",
    },
    "ephemeris": {
        "almanac", "aspect", "bodies", "element_files", "ephemeris", "grid", "jupiter", "lunar",
        "lunar_calendar", "minor_bodies", "minor_targets", "motion", "phases", "satellites",
        "saturn", "tracks",
    },
    "matcher": {
        "briefs", "cores", "habits", "matcher", "pair_reasons", "pairs", "reasons", "shortfalls",
        "target_table", "trains_table", "views", "visibility", "wanted",
    },
    "ordering": {
        "candidates", "closing", "ordering", "pace", "polish", "prices", "search", "windows",
        "worth",
    },
    "planning": {
        "body_report", "companions", "look_notes", "looking", "nights", "omissions", "outlook",
        "planning", "prospects", "roster", "roster_parts", "session_times", "shortlist", "slack",
        "spares", "survey", "watching",
    },
    "journal": {"journal"},
    "drawing": {"field"},
    "sheets": {
        "body_json", "body_sheet", "journal_sheet", "pages", "targets_sheet",
        "contract", "field_sheet", "night_curves", "kit_sheet", "look_sheet", "nights_sheet",
        "plan_sheet", "sheet_words", "why_now",
    },
    "session": {
        "losses", "night_field", "open_sky", "replanning", "sectors", "session", "session_clock",
        "session_clouds", "session_course", "session_files", "session_leaps", "session_report",
        "session_json", "session_state", "session_words", "session_targets", "swaps",
    },
    "advice": {"advice"},
    "command": {
        "screens", "setup", "setup_command",
        "journal_cli", "journal_command", "journal_corrections", "journal_exchange",
        "journal_files_cli", "journal_leaning", "journal_reading", "journal_removal",
        "journal_report", "journal_texts", "__init__", "__main__", "arguments", "cli",
        "delivery", "experience", "kit_advice", "kit_candidates", "kit_cli", "kit_command",
        "look_command", "nights_command", "occasion", "options", "plan_command", "requests",
        "target_lists", "kept_targets", "targets_adding", "targets_cli", "targets_command",
    },
}  # fmt: skip
MAY_IMPORT = {
    "formulas": {"words"},
    "words": set(),
    "settings": {"formulas", "words"},
    "ephemeris": {"formulas", "words"},
    "matcher": {"formulas", "words", "settings"},
    "ordering": {"formulas", "words", "settings"},
    "planning": {"formulas", "words", "settings", "ephemeris", "matcher", "ordering"},
    "journal": {"formulas", "words", "settings"},
    "drawing": {"formulas", "words", "settings", "ephemeris"},
    "sheets": {
        "formulas", "words", "settings", "ephemeris", "matcher", "ordering", "planning", "drawing",
        "journal",
    },
    # A session speaks in the words of the sheets; no sheet knows a session.
    "session": {
        "formulas", "words", "settings", "ephemeris", "matcher", "ordering", "planning", "sheets",
    },
    "advice": {
        "formulas", "words", "settings", "ephemeris", "matcher", "ordering", "planning", "sheets",
        "drawing",
    },
    "command": {
        "formulas", "words", "settings", "ephemeris", "matcher", "ordering", "planning", "sheets",
        "session", "journal", "drawing", "advice",
    },
}  # fmt: skip
GROUP_OF = {module: group for group, modules in GROUPS.items() for module in modules}


def module_of(path: Path) -> str:
    """Name the module of the planner that a file belongs to: itself, or its folder."""
    return path.relative_to(ROOT / "planner").parts[0].removesuffix(".py")


def label(path: Path) -> str:
    """Name a file as it is imported."""
    return ".".join(path.relative_to(ROOT).with_suffix("").parts)


def imported(path: Path) -> set[str]:
    """Name the modules that a file imports, whole and dotted."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            found.add(node.module)
    return found


def test_every_module_has_one_group() -> None:
    """None is left out, none stands twice, and no group names one that is gone."""
    listed = [module for modules in GROUPS.values() for module in modules]
    assert sorted(listed) == sorted({module_of(path) for path in MODULES})
    assert set(MAY_IMPORT) == set(GROUPS)


@pytest.mark.parametrize("path", MODULES, ids=label)
def test_imports_point_down(path: Path) -> None:
    """No module of the planner imports from a group above its own, or from the screens."""
    own = GROUP_OF[module_of(path)]
    names = imported(path)
    assert not {name for name in names if name.split(".")[0] in {"tui", "textual"}}
    used = {name.split(".")[1] for name in names if name.startswith("planner.")}
    above = {module for module in used if GROUP_OF[module] not in MAY_IMPORT[own] | {own}}
    assert not above, f"{label(path)} ({own}) must not import {', '.join(sorted(above))}"


@pytest.mark.parametrize("path", sorted((ROOT / "targets").rglob("*.py")), ids=label)
def test_targets_know_nothing_of_the_rest(path: Path) -> None:
    """What there is to look at knows no kit, night or screen."""
    tops = {name.split(".")[0] for name in imported(path)}
    assert not tops & {"planner", "tui", "textual", "typer", "skyfield"}


# Only the command line may reach for these.
CLOCK_AND_HOME = {
    ("datetime", "now"), ("datetime", "today"), ("datetime", "utcnow"), ("date", "today"),
    ("time", "time"), ("os", "environ"), ("os", "getenv"), ("Path", "home"), ("Path", "cwd"),
}  # fmt: skip


@pytest.mark.parametrize(
    "path",
    [*MODULES, *sorted((ROOT / "targets").rglob("*.py"))],
    ids=label,
)
def test_only_the_command_line_reads_clock_and_home(path: Path) -> None:
    """Time, environment and home folder are arguments everywhere else."""
    if path.stem.startswith("cli") or path.stem == "__main__":
        pytest.skip("the command line")
    tree = ast.parse(path.read_text("utf-8"))
    used = {
        (node.value.id, node.attr)
        for node in ast.walk(tree)
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name)
    }
    assert not used & CLOCK_AND_HOME
    assert "platformdirs" not in imported(path)


@pytest.mark.parametrize("module", sorted(GROUPS["formulas"]))
def test_formulas_are_pure(module: str) -> None:
    """Formula modules print, open and download nothing."""
    tree = ast.parse((ROOT / "planner" / f"{module}.py").read_text("utf-8"))
    called = {
        node.func.id
        for node in ast.walk(tree)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
    }
    assert not called & {"print", "open", "input", "exec", "eval"}
    roots = {name.split(".")[0] for name in imported(ROOT / "planner" / f"{module}.py")}
    assert roots <= {
        "__future__", "collections", "dataclasses", "enum", "functools", "math", "numpy",
        "planner", "targets", "types", "typing",
    }  # fmt: skip


def test_planning_imports_no_screen_and_nothing_slow() -> None:
    """The road of ``plan`` loads neither Textual nor what only other commands need."""
    code = (
        "import sys, planner.cli.main, planner.planning.plan, planner.planning.look\n"
        "slow = {'textual', 'astropy', 'pandas', 'rich', 'ephem', 'scipy'} & set(sys.modules)\n"
        "assert not slow, slow"
    )
    subprocess.run([sys.executable, "-c", code], check=True, cwd=ROOT)
