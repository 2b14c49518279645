"""How a night stood when it was left: shown until it is taken up. Imports little, to be quick."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from planner.request.options import open_settings
from planner.session.state import SessionLook, SessionState, Status
from targets.errors import UserError
from tui.night.night_file import night_path, saved_state
from tui.night.request import Request

WORDS = {Status.NOW: "NOW", Status.WAITING: "wait", Status.DONE: "done", Status.SKIPPED: "skip"}
HALF_A_DAY = timedelta(hours=12)


def last_list(request: Request, now: datetime) -> tuple[str, ...]:
    """Return how the night stood when it was left, a line for each look; nothing where it is new.

    It takes no positions and no plan, so that something stands on the screen at once.
    """
    around = request.surroundings
    try:
        site = open_settings(request.config, around)[0].site(request.site)
        # From noon to noon; what is older is tonight's no more.
        evening = request.evening or (now.astimezone(site.zone) - HALF_A_DAY).date()
        saved, _ = saved_state(night_path(around.data, evening, site.name))
    except UserError:  # opening the night says what is wrong
        return ()
    if saved is None:
        return ()
    zone, shown = site.zone, [look for look in saved.looks if look.status in WORDS]
    return tuple(
        f"{_word(look, saved):<4} {_rounded(look.start).astimezone(zone):%H:%M} {look.name}, "
        f"{_train(look)}"
        for look in shown
    )


def _word(look: SessionLook, state: SessionState) -> str:
    following = next(iter(state.waiting), None)
    return "next" if look is following else WORDS[look.status]


def _train(look: SessionLook) -> str:
    train = look.train
    return " + ".join(name for name in (train.eyepiece, train.amplifier, train.filter) if name)


def _rounded(instant: datetime) -> datetime:
    return instant.astimezone(UTC) + timedelta(seconds=30)
