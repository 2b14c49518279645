"""The live state of a night as plain data: what is done, what waits, where cloud stands."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime
from enum import StrEnum

from targets.frozen import frozen

# Moves that can be undone.
MOST_PAST = 50
# Entries of the journal that are known by their ids; no night has as many.
MOST_NOTED = 500
# Letters that the name of a move has at most.
LONGEST_MOVE = 120


class Status(StrEnum):
    """What has become of a look."""

    WAITING = "waiting"
    NOW = "now"
    DONE = "done"
    SKIPPED = "skipped"
    LOST = "lost"


class LossCause(StrEnum):
    """Why a look has no place in the rest of a session."""

    WINDOW = "window"
    CLOUD = "cloud"
    TOO_FAINT = "too faint"
    NO_ROOM = "no room"
    UNKNOWN_TARGET = "unknown target"


class CloudKind(StrEnum):
    """How much a cloud takes: all of the light, or some of it."""

    SOLID = "solid"
    THIN = "thin"
    HAZE = "haze"


class PauseKind(StrEnum):
    """Why nothing is looked at."""

    BREAK = "break"
    DELAY = "delay"


@frozen
class TrainKey:
    """What is in the focuser, by its names in the kit; a zoom with its setting [mm]."""

    eyepiece: str
    focal_length_mm: float
    amplifier: str | None = None
    filter: str | None = None


@frozen
class SessionLook:
    """A look and what has become of it.

    Parameters
    ----------
    start, end : datetime
        UTC; of a look that was skipped or lost, when it would have been.
    reason : str
        Why it was skipped, lost or cut short; empty otherwise.
    chosen : bool
        The observer chose the train.
    cause : LossCause or None
        Of a look that was lost; None otherwise, and where an older program wrote the session.
    sought_from : datetime or None
        UTC; from when on it is looked for. None where that is not known.
    due : datetime or None
        UTC; when a look that was begun was to end. None before.
    """

    target_id: str
    name: str
    status: Status
    start: datetime
    end: datetime
    train: TrainKey
    reason: str = ""
    chosen: bool = False
    cause: LossCause | None = None
    sought_from: datetime | None = None
    due: datetime | None = None

    @property
    def counts(self) -> bool:
        """Whether it takes time: it is done, under way or to come."""
        return self.status in {Status.DONE, Status.NOW, Status.WAITING}

    @property
    def already(self) -> str:
        """Say what has become of it, to whoever asks for that once more."""
        status = "under way" if self.status is Status.NOW else self.status
        return f"{self.name} is {status} already."


@frozen
class Closure:
    """A cloud sector.

    Parameters
    ----------
    azimuth_from_deg, azimuth_to_deg : float
        From north through east, 0 .. 360 [deg]; from 315 to 45 is across north, from 0 to 360 all
        round.
    altitude_low_deg, altitude_high_deg : float
        0 .. 90 [deg].
    loss_mag : float
        Light that it takes [mag]; of no meaning when it is solid.
    since : datetime
        UTC.
    until : datetime or None
        UTC; None until further notice.
    """

    azimuth_from_deg: float
    azimuth_to_deg: float
    altitude_low_deg: float
    altitude_high_deg: float
    kind: CloudKind
    loss_mag: float
    since: datetime
    until: datetime | None = None


@frozen
class Pause:
    """A time without looks (UTC): a break, or a delay."""

    kind: PauseKind
    start: datetime
    end: datetime


@frozen
class SkyReadings:
    """What the observer finds the sky to be like by now; None where nothing was said.

    Parameters
    ----------
    seeing : str or None
        Antoniadi scale, ``"I"`` .. ``"V"``.
    transparency : int or None
        1 (thick haze) .. 5 (clear).
    sky_mag_arcsec2 : float or None
        Moonless zenith [mag/arcsec2].
    has_dew : bool
        Whether dew lies on the optics.
    average_eye : bool
        Whether to go by the eye of the stated experience, whatever the journal tells of the own.
    """

    seeing: str | None = None
    transparency: int | None = None
    sky_mag_arcsec2: float | None = None
    has_dew: bool = False
    average_eye: bool = False


@frozen
class SessionState:
    """Where a session stands.

    Parameters
    ----------
    kit : str
        Fingerprint of telescope and trains.
    site : str
        Name.
    evening : date
        Names the night.
    start, end : datetime
        Of the session (UTC).
    clock : datetime
        The latest time that was ever given (UTC).
    looks : tuple of SessionLook
        By their start; each target once.
    closures : tuple of Closure
        Those that are not over.
    pauses : tuple of Pause
        Breaks and delays, those to come included, in time order.
    vetoed, added : tuple of str
        Targets that must not come, and those that are wanted whatever they are worth.
    focuser : TrainKey or None
        What is in it; None before the first look.
    past : tuple of SessionState
        To be undone, the latest last; these have no past of their own.
    before_leap : SessionState or None
        What stood before the clock leapt ahead, which may have been wrong; until the next move.
    move : str
        What the last move was, in words; empty before the first.
    entries : tuple of str
        The journal's entries that this night wrote, by their ids, the latest last.
    readings : SkyReadings or None
        What the sky is like by now; None while nobody said otherwise than usual.
    ahead : tuple of SessionState
        What was undone and can be made again, the next one last; these have no past of their own.
    lessons : tuple of str
        Targets whose outcome is asked before it is told how easily they should be seen.
    """

    kit: str
    site: str
    evening: date
    start: datetime
    end: datetime
    clock: datetime
    looks: tuple[SessionLook, ...] = ()
    closures: tuple[Closure, ...] = ()
    pauses: tuple[Pause, ...] = ()
    vetoed: tuple[str, ...] = ()
    added: tuple[str, ...] = ()
    focuser: TrainKey | None = None
    past: tuple[SessionState, ...] = ()
    before_leap: SessionState | None = None
    move: str = ""
    entries: tuple[str, ...] = ()
    readings: SkyReadings | None = None
    ahead: tuple[SessionState, ...] = ()
    lessons: tuple[str, ...] = ()

    @property
    def now(self) -> SessionLook | None:
        """The look under way."""
        return next(iter(self.with_status(Status.NOW)), None)

    @property
    def waiting(self) -> tuple[SessionLook, ...]:
        """The looks to come, in time order."""
        return self.with_status(Status.WAITING)

    def with_status(self, *status: Status) -> tuple[SessionLook, ...]:
        """Return the looks of a status, in time order."""
        return tuple(look for look in self.looks if look.status in status)

    def look_at(self, target_id: str) -> SessionLook | None:
        """Return the look at a target."""
        return next((look for look in self.looks if look.target_id == target_id), None)

    def with_looks(self, *changed: SessionLook) -> SessionState:
        """Put looks in the place of those at the same targets, or add them."""
        gone = {look.target_id for look in changed}
        kept = [look for look in self.looks if look.target_id not in gone]
        looks = sorted([*kept, *changed], key=lambda look: (look.start, look.end, look.target_id))
        return replace(self, looks=tuple(looks))


def with_entry(state: SessionState, entry_id: str) -> SessionState:
    """Note an entry that the last move wrote into the journal."""
    return replace(state, entries=(*state.entries, entry_id)[-MOST_NOTED:])


def alone(state: SessionState) -> SessionState:
    """Return a state without those before and after it."""
    return replace(state, past=(), before_leap=None, ahead=())


def remember(before: SessionState, after: SessionState, move: str) -> SessionState:
    """Let a state be undone to the one before it; ``move`` names what was done, in words."""
    past = (*before.past, alone(before))[-MOST_PAST:]
    return replace(after, past=past, ahead=(), move=move[:LONGEST_MOVE])


def undo(state: SessionState) -> tuple[SessionState, tuple[str, ...]]:
    """Take the last move back.

    Returns
    -------
    SessionState
        As it was before that move, which can be made again.
    tuple of str
        What changed, in words.
    """
    if not state.past:
        return state, ("There is nothing to undo.",)
    *past, before = state.past
    ahead = (*state.ahead, alone(state))[-MOST_PAST:]
    return replace(before, past=tuple(past), ahead=ahead), (f"Undone: {_named(state)}.",)


def redo(state: SessionState) -> tuple[SessionState, tuple[str, ...]]:
    """Make the move again that was undone last.

    Returns
    -------
    SessionState
        As it was after that move.
    tuple of str
        What changed, in words.
    """
    if not state.ahead:
        return state, ("There is nothing to do again.",)
    *ahead, after = state.ahead
    past = (*state.past, alone(state))[-MOST_PAST:]
    return replace(after, past=past, ahead=tuple(ahead)), (f"Done again: {_named(after)}.",)


def _named(state: SessionState) -> str:
    return state.move.rstrip(".") or "the last move"
