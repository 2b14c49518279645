"""The program as the shell starts it: ``fieldstop``, or ``python -m planner``.

Streams that are closed get stand-ins, and whoever interrupts it sees no traceback, also while it
loads. Hence nothing is loaded here that Python has not loaded itself: all else comes after that.
"""

import _signal  # type: ignore[import-not-found]  # `signal` without names, which cost a few ms
import os
import sys

TYPE_CHECKING = False
if TYPE_CHECKING:
    from types import FrameType
    from typing import NoReturn

INTERRUPTED, TERMINATED = 130, 143
# New objects after which Python looks for circles of them. Here few are made, and looking after
# every 700 takes a tenth of the time of a short command (measured).
OBJECTS_BETWEEN_SEARCHES = 100_000
# Products of matrices are small here: a second thread that waits for its share costs more than it
# does (an eighth of a plan's time, measured).
ONE_THREAD = {"OPENBLAS_NUM_THREADS": "1"}


def run() -> "NoReturn":
    """Run the program and end with its status."""
    is_listening = _signal.getsignal(_signal.SIGINT) is _signal.default_int_handler
    if is_listening:
        _signal.signal(_signal.SIGINT, _leave)
    _signal.signal(_signal.SIGTERM, _terminate)
    os.environ |= ONE_THREAD | os.environ  # before the arrays' library is loaded
    try:
        _stand_in_for_streams()
        import gc  # noqa: PLC0415  # from here on an interruption is heard

        gc.set_threshold(OBJECTS_BETWEEN_SEARCHES)
        from planner.cli.main import main  # noqa: PLC0415  # takes its time

        if is_listening:
            _signal.signal(_signal.SIGINT, _signal.default_int_handler)
        status = main()
    except KeyboardInterrupt:
        status = INTERRUPTED
    except SystemExit as left:  # from `_terminate`
        status = left.code if isinstance(left.code, int) else TERMINATED
    if is_listening:
        _signal.signal(_signal.SIGINT, _leave)
    _end(status)


def _end(status: int) -> "NoReturn":
    """End, also where a thread still waits for keys from a terminal that is gone."""
    import gc  # noqa: PLC0415  # loaded long ago
    import threading  # noqa: PLC0415

    gc.freeze()  # nothing is searched on the way out: 60 ms of a plan
    if any(not one.daemon for one in threading.enumerate() if one is not threading.main_thread()):
        for stream in (sys.stdout, sys.stderr):
            try:
                stream.flush()
            except (OSError, ValueError):
                continue
        os._exit(status)
    sys.exit(status)


def _leave(number: int, frame: "FrameType | None") -> "NoReturn":  # noqa: ARG001  # a handler
    os._exit(INTERRUPTED)


def _terminate(number: int, frame: "FrameType | None") -> "NoReturn":  # noqa: ARG001  # a handler
    """End as after an interruption: half-written files are removed on the way out."""
    sys.exit(TERMINATED)


def _stand_in_for_streams() -> None:
    """Open nothing in place of closed streams, so that no file gets their numbers."""
    for number, name, mode in ((0, "stdin", "r"), (1, "stdout", "w"), (2, "stderr", "w")):
        try:
            os.fstat(number)
        except OSError:
            os.open(os.devnull, os.O_RDWR)
        if getattr(sys, name) is None:
            setattr(sys, name, open(number, mode, encoding="utf-8", closefd=False))  # noqa: SIM115


if __name__ == "__main__":
    run()
