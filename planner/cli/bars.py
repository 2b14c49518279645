"""Shows on a terminal how far long work is; where nobody looks on, not a word."""

from __future__ import annotations

import sys
from collections.abc import Iterator, Sequence
from typing import TypeVar

import click

from targets.files import Onlooker

Part = TypeVar("Part")


def watch_at_a_terminal() -> None:
    """Show bars from now on, if standard error is a terminal."""
    if sys.stderr is not None and sys.stderr.isatty():
        Onlooker.shows = bar


def stop_watching() -> None:
    """Show no bars any more: screens have the terminal for themselves."""
    Onlooker.shows = None


def bar(parts: Sequence[Part], what: str) -> Iterator[Part]:
    """Return the parts of some work one by one, with a bar on standard error that grows."""
    with click.progressbar(parts, label=what, file=sys.stderr) as shown:
        yield from shown
