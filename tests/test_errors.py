"""Only errors of the project's own base class are shown as the user's to mend."""

from __future__ import annotations

import importlib
import inspect
import pkgutil

import pytest

import planner
import targets
import tui
from planner.config.settings import SettingsError
from planner.model.errors import Faults, InputError, NothingToPlanError
from targets.errors import UserError
from targets.userlists.records import ListError

# Not the user's: a caller's mistake, a row that the journal's reader answers for, and the case in
# which all was right and still nothing can be planned (status 1); a value is unfit until its field
# says where it stands, and what is odd or too exact for the quick reader goes to the careful one.
OTHERS = {
    "UnknownBodyError", "UnreadableRowError", "SuspectError", "NothingToPlanError", "UnfitError",
    "TomlError", "_OddError", "_TooExactError",
}  # fmt: skip


def own_errors() -> dict[str, type[Exception]]:
    """Return the classes of errors that are defined in the three packages."""
    packages = (planner, tui, targets)
    names = [
        module.name
        for package in packages
        for module in pkgutil.walk_packages(package.__path__, f"{package.__name__}.")
        if not module.name.endswith("__main__")
    ]
    tops = {package.__name__ for package in packages}
    return {
        name: item
        for module in names
        for name, item in inspect.getmembers(importlib.import_module(module), inspect.isclass)
        if issubclass(item, Exception) and item.__module__.split(".")[0] in tops
    }


def test_every_error_for_the_user_has_the_base_class() -> None:
    """A new class of errors derives from it, or is named above with its reason."""
    errors = own_errors()
    assert {"InputError", "DatabaseError", "ListError", "UnknownTarget"} <= set(errors)
    strangers = {name for name, one in errors.items() if not issubclass(one, UserError)}
    assert strangers == OTHERS
    assert not issubclass(NothingToPlanError, UserError)


def test_faults_are_sentences_and_the_message_holds_them_all() -> None:
    """Whoever prints the error as text loses nothing."""
    error = InputError(["One.", "Two."])
    assert error.faults == error.sentences == ("One.", "Two.")
    assert str(error) == "One.\nTwo."
    assert ListError("one", "two").sentences == ("one.", "two.")


def test_a_configuration_is_told_as_a_whole() -> None:
    """Its faults stand below the name of the file."""
    error = SettingsError("kit.toml", ["One.", "Two."])
    assert error.sentences == ("kit.toml: 2 faults\n  One.\n  Two.",)
    assert error.faults == ("One.", "Two.")


def test_the_collector_lets_a_bug_through() -> None:
    """It takes what the user can mend and nothing else."""

    def blunder() -> None:
        raise ValueError("a mistake in the code")

    faults = Faults()
    with pytest.raises(ValueError, match="a mistake in the code"):
        faults.attempt(blunder)
    assert faults.found == []
