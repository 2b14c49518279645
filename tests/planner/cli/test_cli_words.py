"""What the program says of its own commands is so."""

from __future__ import annotations

import ast
import re
from pathlib import Path
from typing import Any

import pytest

from planner.cli.main import program

PLANNER = Path(__file__).parents[3] / "planner"
COMMANDS = frozenset(program.commands)
MENTION = re.compile(r"\bfieldstop ([a-z]+)")


def texts_of(path: Path) -> list[str]:
    """Return the strings of a module, the plain parts of f-strings too; any other file whole."""
    text = path.read_text("utf-8")
    if path.suffix != ".py":
        return [text]
    constants = (node for node in ast.walk(ast.parse(text)) if isinstance(node, ast.Constant))
    return [node.value for node in constants if isinstance(node.value, str)]


def test_every_command_that_is_named_exists() -> None:
    """Nobody is sent to a command that there is not."""
    paths = [*PLANNER.rglob("*.py"), *PLANNER.rglob("*.toml")]
    named = {word for path in paths for text in texts_of(path) for word in MENTION.findall(text)}
    assert {"plan", "look", "kit", "nights"} <= named
    assert named <= COMMANDS


@pytest.mark.parametrize("argv", [("--help",), ("-h",)])
def test_help_gives_each_command_a_line(run: Any, argv: tuple[str, ...]) -> None:
    """Name and sentence on one line of at most 80 columns, nothing cut off."""
    result = run(*argv)
    assert result.status == 0
    lines = result.out.partition("Commands:\n")[2].partition("\n\n")[0].splitlines()
    assert {line.split()[0] for line in lines} == COMMANDS
    assert all(len(line) <= 80 and line.endswith(".") for line in lines)
    assert all(not line.endswith("...") for line in lines)
