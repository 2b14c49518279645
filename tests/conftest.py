"""How all tests are run: on all cores, the checks of the house first."""

from __future__ import annotations

import gc
import os
import signal
import sys
from pathlib import Path

import pytest
from hypothesis import settings

# What tests start loads compiled modules, as a user's program does, whatever the environment says.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
sys.dont_write_bytecode = False
# There is a worker for each core already: numpy's own threads would only get in their way.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
# What tests interrupt can be interrupted, also where a shell runs the tests behind other work.
if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    signal.signal(signal.SIGINT, signal.default_int_handler)

HERE = Path(__file__).parent
# Beside what pytest keeps: all that tests start put the catalogue together once, not each anew.
KEPT = HERE.parent / ".pytest_cache" / "program"
KEPT.mkdir(parents=True, exist_ok=True)
os.environ["XDG_CACHE_HOME"] = str(KEPT)
# The same few examples in every run, however slow the machine is; many new ones when asked for,
# with --hypothesis-profile=many.
settings.register_profile("few", max_examples=25, derandomize=True, deadline=None, database=None)
settings.register_profile("many", max_examples=1000, deadline=None)
settings.load_profile("few")


def pytest_xdist_auto_num_workers(config: pytest.Config) -> int:
    """Return 0, this process alone, for output that is to be seen (``-s``) and for single files.

    Workers swallow what a test prints, and benchmarks would disturb each other; for a file or two
    they take longer to start than to run. Else a worker more than there are cores: some tests wait
    for other programs.
    """
    files = [Path(argument.partition("::")[0]) for argument in config.args]
    if config.option.capture != "no" and not all(file.is_file() for file in files):
        return (os.cpu_count() or 1) + 1
    config.option.dist = "no"
    return 0


def pytest_collection(session: pytest.Session) -> None:
    """Have each worker begin to read the tests elsewhere, so that they share out the compiling.

    On a fresh checkout each would else compile all of them, at the same time as the others.
    """
    worker = getattr(session.config, "workerinput", None)
    if worker is None or [Path(argument).resolve() for argument in session.config.args] != [HERE]:
        return
    files = sorted(file.relative_to(HERE).parts for file in HERE.rglob("test_*.py"))
    rooms = [str(HERE.joinpath(*file[: 1 + (file[0] == "planner")])) for file in files]
    number, of = int(worker["workerid"].removeprefix("gw")), worker["workercount"]
    first = rooms[len(rooms) * number // of]
    order = list(dict.fromkeys(rooms))
    session.config.args = order[order.index(first) :] + order[: order.index(first)]


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Put the checks of the house first: type checking is the longest, and nothing waits for it.

    Then the screens, which wait for terminals, so that no worker does so alone at the end. The rest
    goes by files, whatever was read first.
    """
    early = (HERE, HERE / "tui")
    items.sort(key=lambda item: (*(item.path.parent != folder for folder in early), item.path))


def pytest_collection_finish() -> None:
    """Leave what has been collected out of every later search for garbage."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(20_000, 20, 20)  # thirty times the usual: little is left to be found
