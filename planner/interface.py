"""The planner from Python, for notebooks and scripts: a plan, a look, the trains, the journal.

Each answer is a frozen object with ``.table()``, a pandas frame with units in its column names. No
clock and no home folder is read: dates, files and folders are arguments.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from planner.config.settings import Settings, example_settings, load_settings
from planner.ephemeris.kernel import load_ephemeris
from planner.journal.records import JournalEntry
from planner.model.errors import InputError
from planner.model.kit import Train, train_words
from planner.model.plan import Plan
from planner.model.site import Site
from planner.planning.circumstances import Circumstances, Wishes
from planner.planning.look import LookReport, look_at
from planner.planning.plan import plan_night
from planner.planning.session_times import instant_of, session_times
from planner.request.circumstances import check_kit, circumstances_of, night_of
from planner.request.options import Readings
from planner.request.target_selection import chosen_rows, target_called
from targets.catalogue.catalogue import load_catalogue
from targets.frozen import frozen

if TYPE_CHECKING:
    import pandas as pd

# The day on which a configuration is checked where no night is asked for. It decides nothing but
# whether a year of birth is possible.
SOME_DAY = date(2026, 1, 1)


@frozen
class NightPlan:
    """The looks of one session, in order; ``plan`` holds all that is known of them."""

    plan: Plan

    def table(self) -> pd.DataFrame:
        """The looks, a row each: the columns of ``plan --format csv``; times by the site."""
        import pandas as pd  # noqa: PLC0415  # a third of a second

        from planner.output.pages.tables import plan_frame  # noqa: PLC0415  # loads pandas

        frame = plan_frame(self.plan)
        for column in ("start", "end"):
            times = pd.to_datetime(frame[column], utc=True)
            frame[column] = times.dt.tz_convert(self.plan.night.site.zone)
        return frame


@frozen
class TargetLook:
    """One target on one night: its course, its best moment, and every train for it."""

    report: LookReport

    def table(self) -> pd.DataFrame:
        """The views, best first, a row each, with ``usable`` and the ``reasons``."""
        import pandas as pd  # noqa: PLC0415  # a third of a second

        from planner.output.contracts.plan import look_json  # noqa: PLC0415

        views = look_json(self.report)["views"]
        frame = pd.DataFrame(views)
        for column in ("reasons", "warnings"):
            if column in frame:
                frame[column] = frame[column].map("; ".join)
        return frame


@frozen
class KitTrains:
    """Every eyepiece in the telescope, with and without each amplifier."""

    trains: tuple[Train, ...]

    def table(self) -> pd.DataFrame:
        """The trains, a row each: what is in them, power, true field, exit pupil."""
        import pandas as pd  # noqa: PLC0415  # a third of a second

        return pd.DataFrame([_train_row(train) for train in self.trains])


@frozen
class JournalLooks:
    """The looks that a journal holds, the earliest first."""

    entries: tuple[JournalEntry, ...]

    def table(self) -> pd.DataFrame:
        """The looks, a row each: when (UTC), what, with what, and what came of it."""
        import pandas as pd  # noqa: PLC0415  # a third of a second

        return pd.DataFrame([_entry_row(entry) for entry in self.entries])


@frozen(slots=False)
class Observatory:
    """A configuration, ready to be asked: whose eye, which sites, which kit.

    Parameters
    ----------
    configuration : Path or None
        The file; None for the built-in example.
    """

    configuration: Path | None = None

    def settings(self, day: date = SOME_DAY) -> Settings:
        """Return the configuration as it holds on a day; the eye's pupil follows from the age."""
        if self.configuration is None:
            return example_settings(today=day)
        return load_settings(self.configuration, today=day)

    def plan(
        self,
        date: str | date,
        *,
        site: str | None = None,
        telescope: str | Sequence[str] | None = None,
        observers: int = 1,
        readings: Readings = Readings(),  # noqa: B008  # frozen
        targets: str | None = None,
        count: int | None = None,
        min_altitude_deg: float | None = None,
    ) -> NightPlan:
        """Plan the session of a night, as ``fieldstop plan`` does.

        Parameters
        ----------
        date : str or date
            Of the evening, such as ``2027-01-07``.
        site, telescope : str, optional
            By their names in the configuration; else the first of each. Two telescopes, in a list,
            are planned side by side.
        observers : int
            With two telescopes: 1, who turns from one to the other, or 2.
        readings : Readings
            What is different tonight: sky, extinction, seeing, transparency.
        targets : str, optional
            A programme such as ``messier``, or the path of a file with a target in each line.
        count : int, optional
            Most looks.
        min_altitude_deg : float, optional
            Floor instead of each class's own [deg].

        Returns
        -------
        NightPlan
            Without looks when nothing can be planned; the ``notes`` of its plan say why.

        Raises
        ------
        InputError, SettingsError, NothingToPlanError
            With a sentence for all that is wrong.
        """
        evening = _day(date)
        if observers not in {1, 2}:
            raise InputError([f"observers is {observers}; allowed is 1 or 2."])
        if telescope is None or isinstance(telescope, str):
            if observers > 1:
                raise InputError(["Two observers need two telescopes: name both in a list."])
            where, circumstances = self._circumstances(evening, site, telescope, readings)
            asked = _Asked(evening, where, targets, count, min_altitude_deg)
            return NightPlan(plan_night(**asked.what(), circumstances=circumstances))

        from planner.planning.two_telescopes.parts_in_use import things_owned  # noqa: PLC0415
        from planner.planning.two_telescopes.plan import TwoTelescopes, plan_both  # noqa: PLC0415
        from planner.request.two_telescopes import check_two, usable, with_own_corrector  # noqa: PLC0415  # few ask for two

        settings = self.settings(evening)
        check_two(settings, telescope, observers)
        (where, first), (_, second) = (
            circumstances_of(settings, site=site, telescope=name, readings=readings)
            for name in telescope
        )
        second, remark = with_own_corrector((first, second), settings.kit)
        able, note = usable((first, second))
        asked = _Asked(evening, where, targets, count, min_altitude_deg)
        if len(able) == 1:
            plan = plan_night(**asked.what(), circumstances=able[0])
        else:
            two = TwoTelescopes((first, second), observers, things_owned(settings.kit))
            plan = plan_both(**asked.what(), two=two)
        return NightPlan(replace(plan, notes=(*plan.notes, *filter(None, (remark, note)))))

    def look(
        self,
        target: str,
        date: str | date,
        *,
        at: datetime | None = None,
        site: str | None = None,
        telescope: str | None = None,
        readings: Readings = Readings(),  # noqa: B008  # frozen
    ) -> TargetLook:
        """Rate every train for one target, as ``fieldstop look`` does.

        Parameters
        ----------
        target : str
            In any usual spelling.
        date : str or date
            Of the evening.
        at : datetime, optional
            In that night, at the site's clock unless it has an offset; else the best moment.
        site, telescope, readings
            As for `plan`.

        Raises
        ------
        InputError, SettingsError, NothingToPlanError
            With a sentence for all that is wrong.
        """
        evening = _day(date)
        where, circumstances = self._circumstances(evening, site, telescope, readings)
        ephemeris = load_ephemeris()
        night = night_of(ephemeris, where, evening=evening, now=_noon(evening))
        found = target_called(load_catalogue(), target)
        instant = None if at is None else instant_of(at, where)
        if instant is not None and not night.start <= instant <= night.end:
            raise InputError([f"{at} is not in the night of {evening}."])
        return TargetLook(look_at(found, ephemeris, night, circumstances, at=instant))

    def trains(self, *, telescope: str | None = None) -> KitTrains:
        """Return what the kit can be put together to; raises as `plan` does."""
        _, circumstances = self._circumstances(SOME_DAY, None, telescope, Readings())
        trains = (*circumstances.table.trains, *circumstances.misfits)
        return KitTrains(tuple(train for train in trains if train.filter is None))

    def journal(self, path: str | Path) -> JournalLooks:
        """Read the journal in a file; raises InputError where there is none."""
        from planner.journal.store.journal import open_journal  # noqa: PLC0415  # loads sqlite

        if not Path(path).is_file():
            raise InputError([f"{path}: there is no journal."])
        with open_journal(Path(path)) as journal:
            return JournalLooks(tuple(journal.entries()))

    def _circumstances(
        self, day: date, site: str | None, telescope: str | None, readings: Readings
    ) -> tuple[Site, Circumstances]:
        where, circumstances = circumstances_of(
            self.settings(day), site=site, telescope=telescope, readings=readings
        )
        check_kit(circumstances)
        return where, circumstances


@frozen
class _Asked:
    """Which night, where, and what to choose from."""

    evening: date
    site: Site
    targets: str | None
    count: int | None
    min_altitude_deg: float | None

    def what(self) -> dict[str, Any]:
        """Return what every planner is given."""
        ephemeris, catalogue = load_ephemeris(), load_catalogue()
        night = night_of(ephemeris, self.site, evening=self.evening, now=_noon(self.evening))
        times, rows = session_times(night), chosen_rows(catalogue, list_name=self.targets)
        return {
            "catalogue": catalogue,
            "ephemeris": ephemeris,
            "night": night,
            "start": times.start,
            "end": times.end,
            "wishes": Wishes(rows, self.targets is not None, self.count, self.min_altitude_deg),
        }


def open_config(path: str | Path | None = None) -> Observatory:
    """Open a configuration.

    Parameters
    ----------
    path : str or Path, optional
        Of the TOML file; without it, the built-in example: an invented kit and site.

    Raises
    ------
    SettingsError
        With every fault in the file.
    """
    observatory = Observatory(None if path is None else Path(path))
    observatory.settings()
    return observatory


def _day(day: str | date) -> date:
    if isinstance(day, date):
        return day
    try:
        return date.fromisoformat(day)
    except ValueError:
        raise InputError([f'"{day}" is not a date; it is written YYYY-MM-DD.']) from None


def _noon(day: date) -> datetime:
    return datetime(day.year, day.month, day.day, 12, tzinfo=UTC)


def _train_row(train: Train) -> dict[str, Any]:
    return {
        "train": train_words(train),
        "telescope": train.telescope.name,
        "eyepiece": train.eyepiece.name,
        "amplifier": train.amplifier.name if train.amplifier else None,
        "magnification": train.magnification,
        "true_field_arcmin": train.true_field_arcmin,
        "exit_pupil_mm": train.exit_pupil_mm,
        "usable": train.usable,
        "faults": "; ".join(train.faults),
    }


def _entry_row(entry: JournalEntry) -> dict[str, Any]:
    return {
        "at": entry.at,
        "target_id": entry.target.id,
        "target": entry.target.name,
        "kind": entry.target.kind,
        "telescope": entry.train.telescope,
        "eyepiece": entry.train.eyepiece,
        "amplifier": entry.train.amplifier,
        "filter": entry.train.filter,
        "magnification": entry.train.magnification,
        "exit_pupil_mm": entry.train.exit_pupil_mm,
        "outcome": str(entry.outcome),
        "rating": entry.rating,
        "seeing": entry.seeing,
        "transparency": entry.transparency,
        "note": entry.note,
    }
