"""What the README shows and promises is what the program does.

``python tests/test_readme.py --refresh`` writes the present output of its command into it.
"""

from __future__ import annotations

import re
import subprocess
import sys
import tempfile
from datetime import date
from pathlib import Path

import pytest

from planner.config.preferences import preferences_with
from planner.config.settings import read_settings
from tui.keys import help_lines

ROOT = Path(__file__).parent.parent
PAGE = ROOT / "README.md"
README = PAGE.read_text("utf-8")
BLOCKS = re.findall(r"```(\w*)\n(.*?)```", README, flags=re.DOTALL)
SCREEN = re.compile(r"```\n\$ fieldstop (.*)\n((?:.*\n)*?)```")


def run(*words: str, cwd: Path) -> subprocess.CompletedProcess[str]:
    """Run the program as a person does, away from any configuration."""
    return subprocess.run(
        [sys.executable, "-m", "planner", *words],
        cwd=cwd,
        env={"PYTHONPATH": str(ROOT), "HOME": str(cwd), "XDG_CONFIG_HOME": str(cwd)},
        capture_output=True,
        text=True,
        check=False,
    )


def test_the_screen_is_what_the_command_prints(tmp_path: Path) -> None:
    """The block that begins with a prompt is the command and its whole output."""
    ((command, shown),) = SCREEN.findall(README)
    result = run(*command.split(), cwd=tmp_path)
    assert result.returncode == 0
    assert shown == result.stdout


def test_the_configuration_is_valid() -> None:
    """The TOML block reads without a fault or a warning, and changes what it says it does."""
    (kit,) = (text for language, text in BLOCKS if language == "toml")
    settings = read_settings(kit, source="README.md", today=date(2026, 12, 8))
    assert not settings.warnings
    assert preferences_with(settings.match) != preferences_with({})


EVERYWHERE = {"--site", "--telescope", "--config", "--format", "--output"}
FOR_A_NIGHT = {"--date", "--sky", "--seeing", "--transparency", "--extinction"}


@pytest.mark.parametrize("command", ["plan", "look", "nights", "kit"])
def test_every_command_is_told_of_with_options_that_exist(command: str, tmp_path: Path) -> None:
    """The table of commands names each command, and only options that its help names."""
    (row,) = (line for line in README.splitlines() if line.startswith(f"| `fieldstop {command}"))
    known = set(re.findall(r"--[a-z-]+", run(command, "--help", cwd=tmp_path).stdout))
    assert set(re.findall(r"--[a-z-]+", row)) <= known
    assert known >= EVERYWHERE
    assert FOR_A_NIGHT & known == (set() if command == "kit" else FOR_A_NIGHT)


def test_the_keys_that_are_named_are_those_of_the_table() -> None:
    """Each letter does what the help screen says, in the same words or shorter."""
    (told,) = re.findall(r"Enter takes a target.*?every key", README, flags=re.DOTALL)
    keys = {line.split()[0] for line in help_lines()}
    assert set(re.findall(r"`(\S)`", told)) <= keys


def test_lines_have_one_width() -> None:
    """No line of prose is longer than 120 characters, in both pages."""
    for page in (PAGE, ROOT / "DEVELOPERS.md"):
        long = [line for line in page.read_text("utf-8").splitlines() if len(line) > 120]
        assert all(line.startswith("|") for line in long), long


def test_the_lines_of_python_run(tmp_path: Path) -> None:
    """As they stand, with the configuration of the page."""
    (code,) = (text for language, text in BLOCKS if language == "python")
    (tmp_path / "kit.toml").write_text(
        "".join(text for language, text in BLOCKS if language == "toml"), "utf-8"
    )
    result = subprocess.run(
        [sys.executable, "-c", code],
        cwd=tmp_path,
        env={"PYTHONPATH": str(ROOT), "HOME": str(tmp_path)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert result.returncode == 0, result.stderr
    assert "rows x" in result.stdout


def test_every_exit_status_is_told() -> None:
    """The page names the statuses of the program, and no others."""
    (told_of,) = re.findall(r"The exit\s+status\s+is\s(.*?)\.", README, flags=re.DOTALL)
    told = {int(number) for number in re.findall(r"\d+", told_of)}
    assert told == {0, 1, 2, 70, 130}


@pytest.mark.parametrize("link", sorted(set(re.findall(r"\]\(([^)#]+)\)", README))))
def test_every_file_that_is_linked_exists(link: str) -> None:
    """A path from the folder of the README."""
    assert link.startswith("https://") or (ROOT / link).is_file()


def test_no_command_is_kept_quiet(tmp_path: Path) -> None:
    """Every command of the program's help stands in the README."""
    listed = run("--help", cwd=tmp_path).stdout.partition("Commands:\n")[2].partition("\n\n")[0]
    commands = re.findall(r"^  (\w+)", listed, flags=re.MULTILINE)
    assert commands
    assert all(f"`fieldstop {command}" in README for command in commands)


def refresh() -> None:
    """Write what the command of the README prints now into it."""
    with tempfile.TemporaryDirectory() as folder:
        result = run(*SCREEN.findall(README)[0][0].split(), cwd=Path(folder))
    result.check_returncode()
    shown = SCREEN.sub(lambda m: f"```\n$ fieldstop {m[1]}\n{result.stdout}```", README)
    PAGE.write_text(shown, "utf-8")


if __name__ == "__main__":
    if sys.argv[1:] == ["--refresh"]:
        refresh()
    else:
        sys.exit("Give --refresh to write the present output into the README.")
