"""The fields of the journal's records: their names, and what may stand in them.

Nothing gets from a file into the journal but through `RecordField.value`.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Mapping
from datetime import UTC, date, datetime
from typing import Any

from planner.config.fields import (
    Bounds,
    Check,
    Choice,
    Day,
    Instant,
    Items,
    Text,
    UnfitError,
    Zone,
)
from planner.journal.records import MOST_COMPANIONS, YEARS, Outcome
from planner.model.antoniadi import ANTONIADI
from planner.text import show
from targets.frozen import frozen

TEXT = Text()
TEXTS = Items(TEXT, MOST_COMPANIONS, f"a list of at most {MOST_COMPANIONS} texts")


@frozen(slots=False)
class Logged(Instant):
    """A time with its offset, in the years of a journal."""

    words: str = "a time with its offset, as in 2026-11-25T21:30:00+00:00, in 1800 to 2200"

    def take(self, value: Any) -> datetime:
        """Return it as UTC."""
        instant = super().take(value)
        if instant.year not in YEARS:
            raise ValueError(instant)
        return instant


@frozen(slots=False)
class Evening(Day):
    """A date in the years of a journal."""

    words: str = "a date of the calendar, as in 2026-11-25, in 1800 to 2200"

    def take(self, value: Any) -> date:
        """Return it."""
        evening = super().take(value)
        if evening.year not in YEARS:
            raise ValueError(evening)
        return evening


@frozen
class RecordField:
    """One field of a record: its name, what it may hold, and what stands for nothing.

    ``absent`` is None or ``""``; an empty text of a file counts as nothing.
    """

    name: str
    check: Check = TEXT
    absent: Any = None

    @property
    def is_text(self) -> bool:
        """Whether it holds free text."""
        return isinstance(self.check, Text | Items)

    def value(self, found: Any) -> Any:
        """Return what a record may hold for what a file holds.

        Raises ValueError with a sentence, when the field cannot hold that.
        """
        if found is None or found == "":
            return () if self.check is TEXTS else self.absent
        try:
            return self.check.read(found)
        except UnfitError as error:
            raise self._wrong(found, error) from None

    def in_cell(self, text: str) -> Any:
        """Return what JSON would hold for the text of a cell of a table.

        Raises ValueError with a sentence, when a number is needed and the text is none.
        """
        bare = text.strip()
        if self.check is TEXT or not bare:
            return text
        if isinstance(self.check, Bounds):
            try:
                return int(bare) if self.check.whole else float(bare)
            except ValueError:
                raise self._wrong(text, self.check.words) from None
        if self.check is not TEXTS:
            return bare
        if not bare.startswith("["):
            return re.split(" *; *", bare)
        try:
            return json.loads(bare)
        except (ValueError, RecursionError):
            raise self._wrong(text, self.check.words) from None

    def exported(self, value: Any) -> Any:
        """Return a value of a record as JSON holds it."""
        if value is None or value == "":
            return None
        if isinstance(value, datetime):
            return value.astimezone(UTC).isoformat()
        if isinstance(value, date):
            return value.isoformat()
        if isinstance(value, float) and not math.isfinite(value):
            return None
        return list(value) if isinstance(value, tuple) else value

    def _wrong(self, found: Any, allowed: object) -> ValueError:
        return ValueError(f'"{self.name}" is {show(found)}; allowed is {allowed}')


def _words(*names: str) -> tuple[RecordField, ...]:
    return tuple(RecordField(name, absent="") for name in names)


TARGET_FIELDS = (
    *_words("id", "name", "kind"),
    RecordField("constellation"),
    RecordField("ra_deg", Bounds(0.0, 360.0)),
    RecordField("dec_deg", Bounds(-90.0, 90.0)),
    RecordField("major_arcmin", Bounds(0.0, 21_600.0)),
    RecordField("minor_arcmin", Bounds(0.0, 21_600.0)),
    RecordField("magnitude", Bounds(-30.0, 40.0)),
)
TRAIN_FIELDS = (
    *_words("telescope"),
    RecordField("aperture_mm", Bounds(1.0, 50_000.0)),
    RecordField("telescope_focal_length_mm", Bounds(1.0, 1_000_000.0)),
    *_words("eyepiece"),
    RecordField("eyepiece_focal_length_mm", Bounds(0.1, 10_000.0)),
    RecordField("apparent_field_deg", Bounds(0.1, 180.0)),
    *_words("amplifier"),
    RecordField("amplifier_factor", Bounds(0.05, 20.0)),
    *_words("filter", "filter_kind"),
    # From the shortest telescope with the strongest reducer to the longest with an amplifier.
    RecordField("magnification", Bounds(0.001, 10_000_000.0)),
    RecordField("exit_pupil_mm", Bounds(0.000_000_1, 1_000_000.0)),
    RecordField("true_field_deg", Bounds(0.000_000_1, 100_000.0)),
)
CONDITION_FIELDS = (
    RecordField("seeing", Choice(ANTONIADI)),
    RecordField("transparency", Bounds(1, 5, whole=True)),
)
ENTRY_FIELDS = (
    RecordField("at", Logged()),
    RecordField("outcome", Choice(Outcome), absent=Outcome.SEEN),
    *_words("planned_train"),
    RecordField("planned_at", Logged()),
    *_words("why_skipped"),
    RecordField("rating", Bounds(1, 5, whole=True)),
    *CONDITION_FIELDS,
    *_words("note", "sketch"),
)
SESSION_FIELDS = (
    RecordField("evening", Evening()),
    *_words("site"),
    RecordField("timezone", Zone(), absent=""),
    RecordField("start", Logged()),
    RecordField("end", Logged()),
    RecordField("latitude_deg", Bounds(-90.0, 90.0)),
    RecordField("longitude_deg", Bounds(-180.0, 360.0)),
    RecordField("elevation_m", Bounds(-500.0, 9_000.0)),
    *CONDITION_FIELDS,
    RecordField("sky_mag_arcsec2", Bounds(0.0, 25.0)),
    RecordField("faintest_star_mag", Bounds(-5.0, 10.0)),
    *_words("weather", "comments", "observer"),
    RecordField("companions", TEXTS),
)


def read_fields(fields: tuple[RecordField, ...], found: Mapping[str, Any]) -> dict[str, Any]:
    """Read several fields of a record; a missing one is nothing.

    Raises ValueError with a sentence for the first field that cannot hold what is found.
    """
    return {field.name: field.value(found.get(field.name)) for field in fields}


def exported_fields(fields: tuple[RecordField, ...], record: object) -> dict[str, Any]:
    """Return several fields of a record as JSON holds them."""
    return {field.name: field.exported(getattr(record, field.name)) for field in fields}
