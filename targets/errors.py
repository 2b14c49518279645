"""The base class of everything that a user can mend."""

from __future__ import annotations


class UserError(Exception):
    """Something that the user can mend: what was typed, a file, a list, the installation.

    Only errors of this class are shown as the user's. Anything else is a fault of the program.

    Parameters
    ----------
    *faults : str
        A sentence for each thing that is wrong.
    """

    def __init__(self, *faults: str) -> None:
        self.faults: tuple[str, ...] = faults
        super().__init__("\n".join(faults))

    @property
    def sentences(self) -> tuple[str, ...]:
        """What the user is told, each on a line of its own."""
        return self.faults


class DatabaseError(UserError, RuntimeError):
    """The installed database is not the one that this program's tables fit; says which does."""
